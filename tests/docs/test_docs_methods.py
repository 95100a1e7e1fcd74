"""The pages of the methods say what the table says; their examples and pictures are what the code gives."""

import math
import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest

from docs.manual import DOCS, code_words, section, table_rows, text_of
from docs.test_docs_reference import tool
from properties.paper_algebra import (
    TouchedEye,
    long_eye_power_dpt,
    paper_power_dpt,
    touched_power_dpt,
)
from zonule.science.lens_power.corrected_cornea import (
    CORRECTIONS,
    is_like_an_emmetropic_eye,
    refraction_from_length_and_cornea_dpt,
)
from zonule.science.lens_power.formulas import (
    FORMULAS,
    EyeNumbers,
    Family,
    Formula,
    formulas_for,
    seen_eye,
)
from zonule.science.lens_power.length_convention import segmental_length
from zonule.science.lens_power.long_eyes import ADJUSTMENTS, both_lengths

PICTURES = DOCS / "pictures" / "methods"
LARGEST_PICTURE_BYTES = 20_000
A_CONSTANT = 118.4
SECTIONS = ("Equation", "Needs", "Range", "When not to use it", "Worked example")
DRAW = tool("draw_methods")
PAGES = [f"docs/methods/{name}.md" for name in DRAW.CHARTS]
WITHOUT_PAGE_HERE = {Family.ANATOMICAL}
METHOD_PAGES = [
    page for page in PAGES if not page.endswith(("corrected-corneas.md", "length-conventions.md"))
]


def number(cell: str) -> float:
    """The number a cell holds; a dash is a number that is not known."""
    found = re.search(r"[+-]?\d+(?:\.\d+)?", cell)
    return float(found.group()) if found else math.nan


def as_shown(value: float, cell: str) -> bool:
    decimals = len(re.search(r"\d(?:\.(\d+))?( |$)", cell).group(1) or "")  # type: ignore[union-attr]
    return abs(value - number(cell)) <= 0.5 * 0.1**decimals + 1e-9


def glance(page: str) -> Iterator[list[str]]:
    """The rows of the table at the top of a page."""
    yield from (
        cells
        for cells in table_rows(page)
        if len(cells) == 6 and f"`{cells[4]}`" in text_of("docs/sources.md")
    )


def examples(page: str) -> list[list[str]]:
    return list(table_rows(page, "Worked example"))


def eye_of(cells: list[str]) -> EyeNumbers:
    length, k, depth, before, treated = (number(cell) for cell in cells[2:7])
    return EyeNumbers(length, k, depth, mean_k_before_dpt=before, treated_at_cornea_dpt=treated)


def by_paper_dpt(row: Formula, cornea: str, eye: EyeNumbers) -> float:
    """Lens power for plano by the papers' own algebra."""
    length, k, depth = (float(np.asarray(value)) for value in eye[:3])
    constants = row.first_guess(A_CONSTANT)
    if row.family is Family.LONG_EYE:
        return long_eye_power_dpt(row.key, length, k, depth, constants, 0.0)
    if cornea == "none":
        return paper_power_dpt(row.key, length, k, depth, constants, 0.0)
    before, treated = float(eye.mean_k_before_dpt), float(eye.treated_at_cornea_dpt)
    before = 43.5 if math.isnan(before) else before
    return touched_power_dpt(
        row.method, cornea, TouchedEye(length, k, depth, before, treated), constants, 0.0
    )


def test_every_method_has_its_page_and_no_page_speaks_of_another() -> None:
    told = [cells[0].strip("`") for page in METHOD_PAGES for cells in glance(page)]
    assert len(told) == len(set(told))
    assert set(told) == {key for key, row in FORMULAS.items() if row.family not in WITHOUT_PAGE_HERE}


@pytest.mark.parametrize("page", METHOD_PAGES)
def test_a_page_opens_with_its_methods_as_the_table_has_them(page: str) -> None:
    rows = list(glance(page))
    assert rows
    for key, name, reads, corneas, source, status in rows:
        row = FORMULAS[key.strip("`")]
        assert (name, source, status) == (row.name, row.source, row.status)
        assert tuple(code_words(reads)) == row.reads
        assert tuple(re.findall(r"`(\w+)` \(may be missing\)", reads)) == row.may_lack
        assert corneas == ", ".join(one.replace("_", " ") for one in row.corneas)


@pytest.mark.parametrize("page", PAGES)
def test_a_page_has_equation_needs_range_warnings_and_an_example(page: str) -> None:
    for heading in SECTIONS:
        assert section(page, heading).strip()
    assert section(page, "When not to use it").count("\n- ") >= 2
    assert "```text" in section(page, "Equation")


@pytest.mark.parametrize("page", METHOD_PAGES)
def test_the_worked_example_is_what_the_code_and_the_papers_algebra_give(page: str) -> None:
    rows = examples(page)
    assert {cells[0] for cells in rows} >= {cells[0] for cells in glance(page)}
    for cells in rows:
        cornea, eye = cells[1].replace(" ", "_"), eye_of(cells)
        row = FORMULAS[cells[0].strip("`")]
        assert cornea in row.corneas
        seen = seen_eye(row, eye, row.first_guess(A_CONSTANT))
        assert as_shown(float(row.optics.lens_power_dpt(seen, 0.0)), cells[7]), cells
        assert as_shown(by_paper_dpt(row, cornea, eye), cells[7]), cells


@pytest.mark.parametrize("page", METHOD_PAGES)
def test_the_constants_beside_an_example_are_the_first_guesses(page: str) -> None:
    said = re.findall(r"\d+\.\d+", section(page, "Worked example").partition("|")[0])
    guesses = [FORMULAS[key].first_guess(A_CONSTANT) for key in ("holladay_1", "hoffer_q", "haigis")]
    expected = [A_CONSTANT, *(value for guess in guesses for value in guess)]
    assert [float(one) for one in said] == pytest.approx(expected, abs=1e-6)


def test_the_ways_to_a_corrected_cornea_are_on_their_page() -> None:
    rows = {cells[0].strip("`"): cells for cells in glance("docs/methods/corrected-corneas.md")}
    assert set(rows) == set(CORRECTIONS)
    for key, correction in CORRECTIONS.items():
        _, name, reads, corneas, source, status = rows[key]
        assert (name, source, status) == (correction.name, correction.source, correction.status)
        assert tuple(code_words(reads)) == correction.reads
        assert corneas == ", ".join(one.replace("_", " ") for one in correction.corneas)
        assert f"\n{key} " in section("docs/methods/corrected-corneas.md", "Equation")


def test_the_worked_example_of_corrected_corneas_is_what_they_give() -> None:
    rows = examples("docs/methods/corrected-corneas.md")
    assert {cells[0].strip("`") for cells in rows} == set(CORRECTIONS)
    names = ("mean_k_dpt", "mean_k_before_dpt", "treated_at_cornea_dpt", "axial_length_mm")
    for cells in rows:
        correction = CORRECTIONS[cells[0].strip("`")]
        given = dict(zip(names, (number(cell) for cell in cells[1:5]), strict=True))
        assert {name for name, value in given.items() if not math.isnan(value)} == set(correction.reads)
        found = correction.corrected(*(given[name] for name in correction.reads))
        assert as_shown(float(found.power_dpt), cells[5]), cells


def test_the_rough_check_of_short_sight_is_told_with_its_numbers() -> None:
    said = " ".join(
        section("docs/methods/corrected-corneas.md", "Is the short sight from the cataract?").split()
    )
    assert f"is at {26.0 * 38.0:.2f}" in said
    assert f"{float(refraction_from_length_and_cornea_dpt(26.0, 38.0)):.2f} D would be expected" in said
    mean = float(refraction_from_length_and_cornea_dpt(1005.91 / 40.0, 40.0))
    assert f"would be called {mean:.2f} D" in said
    for inside in (954.0, 1058.0):
        assert is_like_an_emmetropic_eye(inside, 1.0)
    assert "954 to 1058 in 95 %" in said


def test_the_steps_of_the_long_eye_adjustments_are_as_told() -> None:
    said = " ".join(text_of("docs/methods/long-eyes.md").split())
    for key, words in (
        ("haigis_long_eye_2011", "{:.2f} mm for Haigis at 25.0 mm"),
        ("holladay_1_long_eye_2018", "{:.2f} mm for Holladay 1 (2018) at 26.5 mm"),
        ("srk_t_long_eye_2018", "{:.2f} mm for SRK/T (2018) at 27.0 mm"),
    ):
        both = both_lengths(ADJUSTMENTS[key], ADJUSTMENTS[key].lengths_from_mm)
        assert words.format(float(both.adjusted_mm) - float(both.measured_mm)) in said


def test_the_effect_of_the_cornea_before_surgery_is_as_told() -> None:
    rows = list(table_rows("docs/methods/double-k.md", "How much the cornea before surgery matters"))
    assert len(rows) == 3
    for key, shown in rows:
        row = formulas_for("myopic_laser")[key.strip("`")]

        def power(before: float, row: Formula = row) -> Any:
            eye = EyeNumbers(24.5, 39.0, math.nan, mean_k_before_dpt=before)
            return row.optics.lens_power_dpt(seen_eye(row, eye, row.first_guess(A_CONSTANT)), 0.0)

        assert as_shown(float(power(44.0) - power(43.0)), shown)


def test_the_example_of_length_conventions_is_what_the_equation_gives() -> None:
    rows = examples("docs/methods/length-conventions.md")
    assert len(rows) >= 5
    for length, thickness, total, difference in rows:
        found = float(segmental_length(number(length), number(thickness)).length_mm)
        assert as_shown(found, total)
        assert as_shown(found - number(length), difference)


@pytest.mark.parametrize("name", DRAW.CHARTS)
def test_a_picture_is_small_and_is_the_one_that_the_code_draws(name: str) -> None:
    found = (PICTURES / f"{name}.svg").read_text(encoding="utf-8")
    assert found == DRAW.drawn(DRAW.CHARTS[name]()), "run python tools/draw_methods.py"
    assert len(found.encode()) < LARGEST_PICTURE_BYTES
    ET.fromstring(found)  # noqa: S314 - our own picture
    assert f"](../pictures/methods/{name}.svg)" in text_of(f"docs/methods/{name}.md")


def test_no_picture_of_a_method_lies_idle() -> None:
    assert {path.stem for path in PICTURES.glob("*.svg")} == set(DRAW.CHARTS)


def test_every_curve_of_a_picture_has_points_to_show() -> None:
    for chart in (make() for make in DRAW.CHARTS.values()):
        for curve in chart.curves:
            inside = (curve.up >= chart.up.low) & (curve.up <= chart.up.high)
            assert np.mean(inside) > 0.5, (chart.title, curve.name)


def test_the_index_leads_to_the_page_of_each_method() -> None:
    for cells in table_rows("docs/reference/formulas.md"):
        key = cells[0].strip("`")
        if len(cells) == 8 and FORMULAS[key].family not in WITHOUT_PAGE_HERE:
            (name,) = re.findall(r"\(\.\./methods/([\w-]+)\.md\)", cells[5])
            assert any(one[0].strip("`") == key for one in glance(f"docs/methods/{name}.md")), key


def test_the_index_says_which_methods_are_for_which_surgery() -> None:
    rows = {
        cells[0]: set(code_words(cells[1]))
        for cells in table_rows("docs/reference/formulas.md", "Corneas after surgery")
        if len(cells) == 2
    }
    assert rows == {
        "laser for short sight": set(formulas_for("myopic_laser")) - anatomical(),
        "laser for long sight": set(formulas_for("hyperopic_laser")) - anatomical(),
        "radial keratotomy": set(formulas_for("radial_keratotomy")) - anatomical(),
    }


def anatomical() -> set[str]:
    return {key for key, row in FORMULAS.items() if row.family is Family.ANATOMICAL}
