"""Figures on the pages are what the code gives."""

import math
import re

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import optimize, stats

from docs.manual import code_words, table_rows, text_of
from zonule.case import (
    applicability,
    cornea_agreement,
    eye_checks,
    limits,
    pair,
    pair_checks,
    posterior_checks,
    readiness_checks,
    repeat_checks,
    request_checks,
)
from zonule.case.eye import ContactLens, CornealSurgery
from zonule.case.operation import Complication, Fixation
from zonule.case.outcome_rules import why_left_out
from zonule.science.lens_power.formulas import FORMULAS, UNTOUCHED, EyeNumbers, seen_eye
from zonule.science.lens_power.four_surface_lens import FourSurfaceEye
from zonule.science.lens_power.four_surface_lens import lens_power_dpt as four_surface_power_dpt
from zonule.science.lens_power.thin_lens import lens_power_dpt, refraction_dpt
from zonule.science.optics.keratometry import corneal_power_dpt
from zonule.science.optics.vergence import refraction_at_cornea_dpt, refraction_in_reported_lane_dpt
from zonule.science.statistics.shrinkage import (
    PRIOR_EYES_FOR_SPREAD,
    SURGEON_BIAS_SD_DPT,
    blended_scale_dpt,
    effective_eyes,
    shrunk_offset,
)
from zonule.science.uncertainty.label import excess_label_variance_dpt2
from zonule.science.uncertainty.propagation import (
    PUBLISHED_SDS,
    average_eye_variance_dpt2,
    drawn_eyes,
    measurement_variance,
)
from zonule.science.uncertainty.repeatability import ULTRASOUND_LENGTH_SD_MM
from zonule.science.uncertainty.spread import (
    COMPONENT_WEIGHTS,
    DEGREES_OF_FREEDOM,
    ROUTINE_SCALE_DPT,
    ErrorLaw,
    error_law,
    fraction_within,
    sd_dpt,
)
from zonule.workflow import review

SPREAD, LESSONS = "docs/explanation/spread-and-odds.md", "docs/explanation/lessons.md"
TRUST, CONVENTIONS = "docs/explanation/can-these-numbers-be-trusted.md", "docs/explanation/conventions.md"
DECISION = "docs/decisions/0003-measurement-error-is-convolved.md"
LAW_SD = float(sd_dpt(ROUTINE_SCALE_DPT))
AVERAGE_DPT2 = average_eye_variance_dpt2("srk_t", (118.4,))


def number(cell: str) -> float:
    """The number a cell holds."""
    found = re.search(r"[+-]?\d+(?:\.\d+)?", cell)
    assert found, cell
    return float(found.group())


def as_shown(value: float, cell: str) -> bool:
    """Whether a value rounds to what the cell says."""
    shown = re.search(r"[+-]?\d+(?:\.(\d+))?", cell)
    assert shown, cell
    half_a_digit = 0.5 * 0.1 ** len(shown.group(1) or "")
    return abs(value - float(shown.group())) <= half_a_digit + 1e-9


def percent_within(limit: float, law: ErrorLaw) -> float:
    return 100.0 * float(fraction_within(limit, 0.0, 0.0, law))


def percent_of_many_eyes(limit: float, sd: float = LAW_SD) -> float:
    scale = sd * math.sqrt(1.0 - 2.0 / DEGREES_OF_FREEDOM)
    return 100.0 * (2.0 * float(stats.t.cdf(limit / scale, DEGREES_OF_FREEDOM)) - 1.0)


def normal_shares(sd: float) -> list[float]:
    return [100.0 * (2.0 * float(stats.norm.cdf(limit / sd)) - 1.0) for limit in (0.25, 0.50, 1.00)]


def test_the_table_of_laws_is_what_the_laws_give() -> None:
    rows = {cells[0].partition(" (SD")[0]: cells for cells in table_rows(SPREAD, "The law")}
    law = [percent_of_many_eyes(limit) for limit in (0.25, 0.50, 1.00)]
    mean_size = stats.t(DEGREES_OF_FREEDOM, scale=ROUTINE_SCALE_DPT).expect(abs)
    assert all(as_shown(*pair) for pair in zip([*law, mean_size], rows["this law"][1:], strict=True))
    for name, share, limit in (("fits 0.50 D", 0.727, 0.5), ("fits 1.00 D", 0.930, 1.0)):
        sd = limit / float(stats.norm.ppf((1.0 + share) / 2.0))
        cells = rows[f"normal law that {name}"]
        expected = [*normal_shares(sd), sd * math.sqrt(2.0 / math.pi)]
        assert all(as_shown(*pair) for pair in zip(expected, cells[1:], strict=True))
        assert as_shown(sd, cells[0].partition("SD ")[2])


def test_the_law_on_the_page_is_the_law_in_use() -> None:
    page = " ".join(text_of(SPREAD).split())
    assert f"{DEGREES_OF_FREEDOM:g} degrees of freedom and a scale of {ROUTINE_SCALE_DPT:g} D" in page
    assert f"standard deviation of this law is {LAW_SD:.3f} D" in page
    assert f"{AVERAGE_DPT2:.4f} D² for SRK/T, an SD of {math.sqrt(AVERAGE_DPT2):.3f} D" in page
    average = error_law(ROUTINE_SCALE_DPT, AVERAGE_DPT2, AVERAGE_DPT2)
    assert f"{average.residual_degrees_of_freedom:.2f} degrees of freedom for SRK/T" in page
    assert f"length {PUBLISHED_SDS.axial_length_mm:g} mm, mean K {PUBLISHED_SDS.mean_k_dpt:g} D" in page


def spread_of(length_mm: float, sds: EyeNumbers) -> tuple[float, float, float]:
    """Measurement SD, spread and share within half a dioptre of an eye with SRK/T at its power for plano."""
    formula, eye = FORMULAS["srk_t"], EyeNumbers(length_mm, 43.5, 3.1)
    power = np.array([float(lens_power_dpt(seen_eye(formula, eye, [118.4]), 0.0))])
    variance = measurement_variance(formula, [118.4], drawn_eyes(eye, sds, seed=1), power).variance_dpt2[0]
    law = error_law(ROUTINE_SCALE_DPT, AVERAGE_DPT2, float(variance))
    return math.sqrt(variance), float(law.sd_dpt), percent_within(0.5, law)


def test_the_table_of_badly_measured_eyes_is_what_the_code_gives() -> None:
    rows = [cells for cells in table_rows(SPREAD) if cells[0].endswith(" mm") and len(cells) == 5]
    assert len(rows) == 6
    for cells in rows:
        method = cells[1].partition(" ")[0]
        cornea = (
            number(cells[1].partition("corneal SD ")[2])
            if "corneal" in cells[1]
            else PUBLISHED_SDS.mean_k_dpt
        )
        length = ULTRASOUND_LENGTH_SD_MM.get(method, PUBLISHED_SDS.axial_length_mm)
        sds = EyeNumbers(length, cornea, PUBLISHED_SDS.anterior_chamber_depth_mm)
        found = spread_of(number(cells[0]), sds)
        assert all(as_shown(*pair) for pair in zip(found, cells[2:], strict=True)), (cells, found)


def test_a_strong_lens_costs_what_the_page_says() -> None:
    label = float(excess_label_variance_dpt2(28.0, -0.72))
    law = error_law(ROUTINE_SCALE_DPT, AVERAGE_DPT2, AVERAGE_DPT2 + label)
    page = " ".join(text_of(SPREAD).split())
    assert f"a standard deviation of {math.sqrt(label):.2f} D of refraction at 28 D" in page
    usual = error_law(ROUTINE_SCALE_DPT, AVERAGE_DPT2, AVERAGE_DPT2)
    chances = [percent_within(0.5, law), percent_within(0.5, usual)]
    assert "within 0.50 D in {:.0f} instead of {:.0f} of 100".format(*chances) in page


def test_the_worked_example_of_lessons_is_what_the_code_gives() -> None:
    rows = [cells for cells in table_rows(LESSONS, "How much to believe") if len(cells) == 7]
    assert len(rows) == 5
    for cells in rows:
        eyes, patients = int(cells[0]), int(cells[1])
        independent = effective_eyes(np.full(patients, eyes // patients))
        offset = shrunk_offset(np.full(eyes, number(cells[3])), independent)
        found = (independent, offset.mean_error_dpt, offset.weight, offset.offset_dpt, offset.offset_sd_dpt)
        assert all(as_shown(*pair) for pair in zip(found, cells[2:], strict=True)), (cells, found)


def test_the_constants_of_lessons_are_those_in_use() -> None:
    page = " ".join(text_of(LESSONS).split())
    prior_eyes = LAW_SD**2 / SURGEON_BIAS_SD_DPT**2
    assert f"*tau* is {SURGEON_BIAS_SD_DPT:g} D" in page
    assert f"*k* is {prior_eyes:.1f} eyes" in page
    assert f"counts for {PRIOR_EYES_FOR_SPREAD:g} eyes" in page
    errors = np.array([-0.2, 0.2] * 6)
    blended = blended_scale_dpt(errors, 12.0)
    assert f"from {ROUTINE_SCALE_DPT:g} D to {blended:.3f} D" in page


def test_every_reason_to_learn_nothing_from_an_eye_is_on_the_page() -> None:
    page = text_of(LESSONS)
    none, bag = CornealSurgery.NONE, Fixation.BAG
    told = [
        why_left_out(CornealSurgery.UNKNOWN, bag, Complication.NONE, 30).partition(":")[0],
        why_left_out(none, None, Complication.NONE, 30),
        why_left_out(none, Fixation.SULCUS, Complication.NONE, 30),
        why_left_out(none, bag, None, 30),
        why_left_out(none, bag, Complication.OTHER, 30),
        why_left_out(none, bag, Complication.NONE, None),
        why_left_out(none, bag, Complication.NONE, 27),
    ]
    rules = text_of("src/zonule/workflow/learn.py")
    told += re.findall(r'^ +reason = "([^"]+)"$', rules, flags=re.MULTILINE)
    assert len(told) == 9
    assert [reason for reason in told if f"`{reason}`" not in page] == []


def plain(value: float) -> str:
    return f"{value:g}"


def test_the_table_of_limits_is_the_one_that_is_checked() -> None:
    rows = {cells[0]: cells for cells in table_rows(TRUST) if len(cells) == 4 and " to " in cells[1]}
    assert set(rows) == {one.words for one in limits.LIMITS.values()}
    for one in limits.LIMITS.values():
        _, possible, usual, authority = rows[one.words]
        assert possible == f"{plain(one.possible[0])} to {plain(one.possible[1])} {one.unit}"
        assert usual == f"{plain(one.usual[0])} to {plain(one.usual[1])} {one.unit}"
        assert authority == one.usual_source


CHECKS = {
    "corneal cylinder": limits.MAX_CORNEAL_CYLINDER_DPT,
    "difference of length between the eyes, unless the glasses explain it": pair_checks.LENGTH_DIFFERENCE_MM,
    "difference of mean K between the eyes": pair_checks.MEAN_K_DIFFERENCE_DPT,
    "scatter of repeated lengths": repeat_checks.REPEAT_SD_LENGTH_MM,
    "range of repeated corneal powers": repeat_checks.REPEAT_RANGE_K_DPT,
    "spread of repeated steep meridians": repeat_checks.REPEAT_RANGE_AXIS_DEG,
    "difference of mean K between two devices": cornea_agreement.MEAN_K_APART_DPT,
    "difference of corneal cylinder between two devices, as vectors": cornea_agreement.CYLINDERS_APART_DPT,
    "difference of the steep meridian between two devices": cornea_agreement.MERIDIANS_APART_DEG,
    "steep meridian of the back of the cornea from upright": posterior_checks.UPRIGHT_WITHIN_DEG,
    "age of the biometry": eye_checks.OLD_AFTER_DAYS,
    "soft contact lenses out": readiness_checks.OUT_DAYS[ContactLens.SOFT],
    "rigid contact lenses out": readiness_checks.OUT_DAYS[ContactLens.RIGID],
    "mean K from which keratoconus is asked": applicability.KERATOCONUS_ASKED_K_DPT,
    "flat cornea on a long eye, surgery unknown": applicability.FLAT_AFTER_LASER_K_DPT,
    "back radius of the cornea over its front radius": posterior_checks.USUAL_BACK_TO_FRONT[0],
    "difference the aim would leave between the eyes": request_checks.ANISOMETROPIA_DPT,
    "aim": pair.AIM_RANGE_DPT[0],
    "disagreement of the methods": round(LAW_SD, 1),
    "refractive surprise": review.SURPRISE_DPT,
}


def test_the_table_of_checks_is_the_one_that_is_checked() -> None:
    rows = {cells[0]: cells[1] for cells in table_rows(TRUST) if len(cells) == 3 and cells[0] in CHECKS}
    assert {name: number(cell) for name, cell in rows.items()} == CHECKS


@pytest.mark.parametrize("key", sorted(UNTOUCHED))
def test_the_example_eye_of_the_formulas_is_what_they_give(key: str) -> None:
    rows = {
        cells[0].strip("`"): cells
        for cells in table_rows("docs/reference/formulas.md", "One eye through all of them")
    }
    guesses = {
        cells[0].strip("`"): cells[1]
        for cells in table_rows("docs/reference/formulas.md", "First guesses from an A-constant")
    }
    constants = FORMULAS[key].first_guess(118.4)
    seen = seen_eye(FORMULAS[key], EyeNumbers(23.5, 43.5, 3.1), constants)
    assert as_shown(float(lens_power_dpt(seen, 0.0)), rows[key][1])
    assert as_shown(float(refraction_dpt(seen, 20.5)), rows[key][2])
    assert [float(one) for one in guesses[key].split(", ")] == pytest.approx(constants, abs=1e-6)


def test_the_figures_of_the_conventions_are_right() -> None:
    page = text_of(CONVENTIONS)
    assert f"-10.00 D at 12 mm is {float(refraction_at_cornea_dpt(-10.0, 12.0)):.2f} D at the cornea" in page
    assert f"{abs(float(refraction_in_reported_lane_dpt(0.0, 4.0))):.2f} D less short-sightedness" in page
    powers = [float(corneal_power_dpt(7.70, index)) for index in (1.3375, 1.332)]
    assert f"A 7.70 mm cornea is {powers[0]:.2f} D with 1.3375 and" in page
    assert f"{powers[1]:.2f} D with 1.332: one cornea, {powers[0] - powers[1]:.2f} D apart" in page


def test_the_average_eye_keeps_the_published_figures_as_closely_as_the_decision_says() -> None:
    rows = {cells[0]: cells[1:] for cells in table_rows(DECISION) if len(cells) == 6}
    names = {formula.name: key for key, formula in UNTOUCHED.items()}
    assert names.keys() <= rows.keys()
    for name, key in names.items():
        average = average_eye_variance_dpt2(key, FORMULAS[key].first_guess(118.4))
        law = error_law(ROUTINE_SCALE_DPT, average, average)
        shares = [percent_within(limit, law) for limit in (0.25, 0.5, 1.0)]
        mean_size = math.sqrt(2.0 / math.pi) * float(COMPONENT_WEIGHTS @ law.component_sds_dpt)
        found = [law.residual_degrees_of_freedom, *shares, mean_size]
        assert all(as_shown(*pair) for pair in zip(found, rows[name], strict=True)), (name, found)


def test_the_shares_of_badly_measured_eyes_are_what_a_convolution_says() -> None:
    rows = [cells for cells in table_rows(DECISION) if cells[0][0].isdigit() and len(cells) == 4]
    assert len(rows) == 4
    average = error_law(ROUTINE_SCALE_DPT, AVERAGE_DPT2, AVERAGE_DPT2)
    freedom = average.residual_degrees_of_freedom
    used = math.sqrt(average.residual_variance_dpt2 * (1.0 - 2.0 / freedom)), freedom
    met = _residual_meeting_both_shares()
    for said, kept, mixed, other in rows:
        sd = number(said)
        whole = math.sqrt(average.residual_variance_dpt2 + sd**2)
        found = [percent_of_many_eyes(limit, whole) for limit in (0.5, 1.0)]
        found += [100.0 * _mixed(limit, *used, sd) for limit in (0.5, 1.0)]
        found += [100.0 * _mixed(limit, *met, sd) for limit in (0.5, 1.0)]
        shown = [shown for cell in (kept, mixed, other) for shown in re.findall(r"[\d.]+", cell)]
        assert all(as_shown(*pair) for pair in zip(found, shown, strict=True)), (said, found)


def _residual_meeting_both_shares() -> tuple[float, float]:
    """Scale and degrees of freedom."""
    sd = math.sqrt(AVERAGE_DPT2)

    def misses(shape: NDArray[np.float64]) -> list[float]:
        scale, freedom = (float(one) for one in shape)
        return [
            _mixed(limit, scale, freedom, sd) - percent_of_many_eyes(limit) / 100.0 for limit in (0.5, 1.0)
        ]

    scale, freedom = optimize.fsolve(misses, [0.35, 3.0])
    return float(scale), float(freedom)


def _mixed(limit: float, scale: float, freedom: float, normal_sd: float) -> float:
    """Share within a limit when t and normal errors are added, by sums over a fine grid."""
    grid = np.linspace(-8.0 * normal_sd, 8.0 * normal_sd, 4001)
    weights = stats.norm.pdf(grid, scale=normal_sd)
    law = stats.t(freedom, scale=scale)
    shares = law.cdf(limit - grid) - law.cdf(-limit - grid)
    return float(np.sum(weights * shares) / np.sum(weights))


def test_the_page_of_four_surfaces_computes_its_example() -> None:
    example = text_of("docs/methods/four-surfaces.md").split("## Worked example")[1]
    length, front, back, thickness, place = (float(one) for one in re.findall(r"([\d.]+) mm", example)[:5])
    eye = FourSurfaceEye(length, front, back, thickness, place, 0)
    for power, refraction in re.findall(r"([\d.]+) D for (-?[\d.]+) D", example):
        found = float(np.asarray(four_surface_power_dpt(eye, float(refraction))))
        assert found == pytest.approx(float(power), abs=0.005)


def test_the_page_of_four_surfaces_says_what_the_row_says() -> None:
    row = FORMULAS["four_surface"]
    (cells,) = (
        cells for cells in table_rows("docs/methods/four-surfaces.md") if cells[0] == "`four_surface`"
    )
    assert tuple(code_words(cells[2])) == row.reads
    assert (cells[1], cells[4], cells[5]) == (row.name, row.source, row.status)
