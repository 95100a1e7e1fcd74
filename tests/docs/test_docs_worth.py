"""Figures on the page about repeating are what the code gives."""

import numpy as np
import pytest

from docs.manual import prose, table_rows
from zonule.case.worth import WORTH_REPEATING, InputWorth, Worth
from zonule.drawings.numbers import in_100_text
from zonule.drawings.worth_sentences import worth_sentence
from zonule.science.lens_power.formulas import FORMULAS, EyeNumbers, seen_eye
from zonule.science.uncertainty.propagation import (
    AVERAGE_EYE,
    PUBLISHED_SDS,
    average_eye_variance_dpt2,
    drawn_eyes,
    measurement_variance,
)
from zonule.science.uncertainty.spread import ROUTINE_SCALE_DPT, error_law, fraction_within
from zonule.workflow.worth import worth_repeating

PAGE = "docs/explanation/which-measurement-to-repeat.md"
SRK_T, CONSTANTS = FORMULAS["srk_t"], (118.4,)
POWERS = np.arange(6.0, 36.5, 0.5)
SDS = {
    "optical": PUBLISHED_SDS,
    "optical, corneal SD 0.05 D": PUBLISHED_SDS._replace(mean_k_dpt=0.05),
    "optical, corneal SD 0.50 D": PUBLISHED_SDS._replace(mean_k_dpt=0.50),
    "immersion ultrasound": PUBLISHED_SDS._replace(axial_length_mm=0.10),
    "contact ultrasound": PUBLISHED_SDS._replace(axial_length_mm=0.15),
}


def worth_of(length_mm: float, sds: EyeNumbers, offset_dpt: float = 0.0) -> Worth:
    """One eye under SRK/T, its aim moved so far from what the nearest power gives."""
    eye = AVERAGE_EYE._replace(axial_length_mm=length_mm)
    predicted = np.asarray(SRK_T.optics.refraction_dpt(seen_eye(SRK_T, eye, CONSTANTS), POWERS))
    nearest = int(np.abs(predicted).argmin())
    target = float(predicted[nearest]) - offset_dpt
    variances = measurement_variance(SRK_T, CONSTANTS, drawn_eyes(eye, sds, seed=1), POWERS).variance_dpt2
    law = error_law(ROUTINE_SCALE_DPT, average_eye_variance_dpt2("srk_t", CONSTANTS), variances)
    chosen = int(fraction_within(0.5, target, predicted, law).argmax())
    return worth_repeating([(SRK_T, CONSTANTS)], eye, sds, POWERS, predicted, chosen, law, target, seed=1)


def part(worth: Worth, name: str) -> InputWorth:
    return next(one for one in worth.inputs if name in one.quantities)


ROWS = [row for row in table_rows(PAGE) if row[1] in SDS]


def sentences() -> str:
    """The page with its line breaks taken out."""
    return " ".join(prose(PAGE).split())


def as_number(cell: str) -> float:
    return float(cell.split(maxsplit=1)[0])


@pytest.mark.parametrize("row", ROWS, ids=[" ".join(row[:3]) for row in ROWS])
def test_what_repeating_buys_is_what_the_page_says(row: list[str]) -> None:
    length, how, offset, spread, now, cornea, axial = row
    worth = worth_of(as_number(length), SDS[how], as_number(offset))
    assert f"{worth.measurement_sd_dpt:.2f} D" == spread
    assert in_100_text(worth.within_0_50) == now
    assert in_100_text(part(worth, "mean_k_dpt").repeated[0].within_0_50) == cornea
    assert in_100_text(part(worth, "axial_length_mm").repeated[0].within_0_50) == axial


def test_the_table_has_all_its_rows() -> None:
    assert len(ROWS) == 7


def test_the_sentence_at_the_head_of_the_page_is_what_that_eye_is_told() -> None:
    assert worth_sentence(worth_of(23.5, SDS["contact ultrasound"])) in sentences()


def test_the_sentence_about_nothing_worth_repeating_is_on_the_page() -> None:
    assert worth_sentence(worth_of(23.5, SDS["optical"])) in sentences()
    assert WORTH_REPEATING == 0.01


def test_the_formula_leaves_open_four_fifths_or_more_of_an_ordinary_spread() -> None:
    law = error_law(ROUTINE_SCALE_DPT, average_eye_variance_dpt2("srk_t", CONSTANTS), 0.0185)
    assert law.residual_variance_dpt2 / float(law.sd_dpt) ** 2 > 0.8
