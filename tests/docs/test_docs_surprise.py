"""The worked example and the constants on the page about surprises are what the code gives."""

from __future__ import annotations

import math

import pytest

from docs.manual import table_rows, text_of
from zonule.case.surprise import LARGE_ERROR_DPT, LARGE_IN_DEVIATIONS
from zonule.drawings.numbers import plain_text
from zonule.drawings.surprise_sentences import CAUSE_TITLES
from zonule.science.lens_power.formulas import FORMULAS, EyeNumbers, seen_eye
from zonule.science.lens_power.moved_lens import SULCUS
from zonule.science.lens_power.remedies import (
    HYPEROPIC_RULE,
    MYOPIC_RULE,
    add_on_power_dpt,
    eye_as_it_turned_out,
    position_scatter_dpt,
)
from zonule.science.lens_power.surprise import (
    LENS_POSITION_SD_MM,
    REFRACTION_SD_DPT,
    axial_length_that_explains_mm,
    mean_k_that_explains_dpt,
    position_that_explains_mm,
)
from zonule.science.lens_power.thin_lens import lens_power_dpt, refraction_dpt
from zonule.science.statistics.shrinkage import SURGEON_BIAS_SD_DPT
from zonule.science.uncertainty.repeatability import AXIAL_LENGTH_SD_MM, MEAN_K_SD_DPT
from zonule.workflow.causes import ANY_BOX_DEVIATIONS, NAMED_MIX_UP_DEVIATIONS
from zonule.workflow.remedies import READ_TWICE_DPT

PAGE = "docs/how-to/look-into-a-surprise.md"
SRK_T, EYE, CONSTANTS = FORMULAS["srk_t"], EyeNumbers(23.5, 43.5, 3.1), [118.4]
POWER, GOT, K_AGAIN = 20.5, 1.5, 41.8
SEEN = seen_eye(SRK_T, EYE, CONSTANTS)
ERROR = GOT - float(refraction_dpt(SEEN, POWER))
MEAN_K = float(mean_k_that_explains_dpt(SRK_T, EYE, CONSTANTS, POWER, GOT))
LENGTH = float(axial_length_that_explains_mm(SRK_T, EYE, CONSTANTS, POWER, GOT))
MOVED = float(position_that_explains_mm(SEEN, POWER, GOT)) - float(SEEN.lens_position_mm)


def number(cell: str) -> float:
    return float(cell.split(maxsplit=1)[0].replace("\u2212", "-"))


def words() -> str:
    return " ".join(text_of(PAGE).split())


def test_the_causes_of_the_example_are_what_the_code_gives() -> None:
    found = {
        "The lens lies elsewhere": (MOVED, LENS_POSITION_SD_MM),
        "The refraction itself": (-ERROR, REFRACTION_SD_DPT),
        "The constant of this lens": (ERROR, SURGEON_BIAS_SD_DPT),
        "The corneal power": (MEAN_K - float(EYE.mean_k_dpt), MEAN_K_SD_DPT),
        "The length of the eye": (LENGTH - float(EYE.axial_length_mm), AXIAL_LENGTH_SD_MM),
    }
    rows = {cells[0]: cells[1:] for cells in table_rows(PAGE, "An example")}
    assert rows.keys() == found.keys()
    assert rows.keys() < set(CAUSE_TITLES.values())
    for name, (needed, sd) in found.items():
        assert number(rows[name][0]) == pytest.approx(needed, abs=0.0051), name
        assert rows[name][1] == plain_text(abs(needed) / sd, 1), name


def test_the_sentences_of_the_example_are_right() -> None:
    said = words()
    assert f"expected at +{plain_text(float(refraction_dpt(SEEN, POWER)), 2)} D" in said
    assert f"A lens of {plain_text(float(lens_power_dpt(SEEN, GOT)), 1)} D would have given the same" in said
    with_k_again = seen_eye(SRK_T, EYE._replace(mean_k_dpt=K_AGAIN), CONSTANTS)
    left = GOT - float(refraction_dpt(with_k_again, POWER))
    assert f"reads {K_AGAIN} D, it goes to the top: with that, {plain_text(left, 2)} D" in said
    assert left / 0.6 < ANY_BOX_DEVIATIONS < abs(MOVED) / LENS_POSITION_SD_MM


def test_the_exchanges_of_the_example_are_what_the_code_gives() -> None:
    corneal = seen_eye(SRK_T, EYE._replace(mean_k_dpt=MEAN_K), CONSTANTS)
    axial = seen_eye(SRK_T, EYE._replace(axial_length_mm=LENGTH), CONSTANTS)
    found = {
        "The lens lies elsewhere": lens_power_dpt(eye_as_it_turned_out(SEEN, POWER, GOT), 0.0),
        "The corneal power": lens_power_dpt(corneal, 0.0),
        "The length of the eye": lens_power_dpt(axial, 0.0),
        "Another lens than recorded": lens_power_dpt(SEEN, 0.0),
    }
    rows = {cells[0]: cells[1] for cells in table_rows(PAGE, "What each remedy comes to")}
    assert rows.keys() == found.keys()
    for name, power in found.items():
        assert number(rows[name]) == pytest.approx(float(power), abs=0.0051), name


def test_the_add_on_lenses_of_the_page_are_what_the_code_gives() -> None:
    said = words()
    net = EYE.mean_k_dpt * (4.0 / 3.0 - 1.0) / 0.3375
    place = float(SEEN.lens_position_mm) - SULCUS.middle_mm
    for now, rule in ((2.0, HYPEROPIC_RULE), (-2.0, MYOPIC_RULE)):
        by_vergence = plain_text(float(add_on_power_dpt(now, 0.0, net, place)), 1)
        written = plain_text(now * rule, 1)
        assert f"vergence gives {by_vergence} D and the rule {written} D" in said
    assert f"lie {SULCUS.middle_mm} mm in front" in said
    assert f"for {SULCUS.least_mm} to {SULCUS.most_mm} mm" in said


def test_the_limits_scatters_and_charges_of_the_page_are_those_in_use() -> None:
    said = words()
    assert f"larger than {LARGE_ERROR_DPT} D" in said
    assert LARGE_IN_DEVIATIONS == 2.0
    assert f"{LENS_POSITION_SD_MM} mm" in said
    assert f"{REFRACTION_SD_DPT} D" in said
    assert f"is **charged**: {NAMED_MIX_UP_DEVIATIONS:g} where" in said
    assert f"{ANY_BOX_DEVIATIONS:g} where only the power fits" in said
    assert f"together that is {plain_text(READ_TWICE_DPT, 2)} D" in said
    within = math.erf(0.5 / READ_TWICE_DPT / math.sqrt(2.0))
    assert f"at most {100 * within:.0f} in 100" in said
    turned_out = eye_as_it_turned_out(SEEN, POWER, GOT)
    exchange = math.hypot(READ_TWICE_DPT, float(position_scatter_dpt(turned_out, 23.0, LENS_POSITION_SD_MM)))
    assert f"makes {plain_text(exchange, 2)} D in the example" in said
