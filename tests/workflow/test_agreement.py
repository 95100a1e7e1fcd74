"""Whether the methods say the same of an eye, and what drives them apart."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from zonule.case.finding import Severity
from zonule.science.lens_power.formulas import FORMULAS, EyeNumbers, seen_eye
from zonule.science.uncertainty.propagation import AVERAGE_EYE, AVERAGE_STEEPENED_EYE
from zonule.workflow.agreement import Method, agreement, disagreement_findings

OWN_SPREAD = 0.6
KEYS = ("srk_t", "holladay_1", "hoffer_q", "haigis")
TUNED = {"haigis": (0.93, 0.4, 0.1)}
"""So that Haigis meets the others in the average eye; its converted constants run 0.7 D high there."""
METHODS: list[Method] = [
    (FORMULAS[key], TUNED.get(key, FORMULAS[key].first_guess(118.4)), 0.0) for key in KEYS
]


def sentence_of(eye: EyeNumbers, methods: list[Method] = METHODS, spread: float = OWN_SPREAD) -> str:
    return " ".join(
        one.sentence for one in disagreement_findings(agreement(methods, eye, spread, 0.0), operated=False)
    )


def test_the_methods_agree_about_the_average_eye() -> None:
    found = agreement(METHODS, AVERAGE_EYE, OWN_SPREAD, 0.0)
    assert found is not None
    assert found.agrees
    assert found.disagreement_dpt == found.in_average_eye_dpt < 0.2
    assert sentence_of(AVERAGE_EYE) == ""


def test_an_odd_chamber_depth_is_named_as_what_drives_them_apart() -> None:
    # Only Haigis reads the depth of these four: 1.4 mm deeper moves its lens 0.56 mm and nothing else.
    eye = AVERAGE_EYE._replace(anterior_chamber_depth_mm=4.5)
    found = agreement(METHODS, eye, OWN_SPREAD, 0.0)
    assert found is not None
    assert found.driver is not None
    assert found.driver.quantity == "anterior_chamber_depth_mm"
    assert found.most_hyperopic == "haigis"
    assert "The chamber depth of 4.50 mm drives them apart: with 3.10 mm" in sentence_of(eye)


def test_a_short_eye_drives_them_apart_by_its_length() -> None:
    eye = AVERAGE_EYE._replace(axial_length_mm=20.0)
    found = agreement(METHODS, eye, OWN_SPREAD, 0.0)
    assert found is not None
    assert found.drivers[0].quantity == "axial_length_mm"
    assert not found.agrees
    assert "The axial length of 20.00 mm drives them apart" in sentence_of(eye)


def test_constants_that_do_not_belong_together_are_told_from_an_odd_eye() -> None:
    spoilt = [*METHODS[:3], (FORMULAS["haigis"], (2.2, 0.4, 0.1), 0.0)]
    assert "look at their constants" in sentence_of(AVERAGE_EYE, spoilt)


def test_a_personal_offset_counts_as_what_the_method_says() -> None:
    plain = agreement(METHODS[:2], AVERAGE_EYE, OWN_SPREAD, 0.0)
    formula, own, _ = METHODS[0]
    moved = agreement([(formula, own, -0.8), METHODS[1]], AVERAGE_EYE, OWN_SPREAD, 0.0)
    assert plain is not None
    assert moved is not None
    assert moved.most_myopic == formula.key
    assert moved.disagreement_dpt == pytest.approx(0.8, abs=plain.disagreement_dpt + 1e-9)


def test_methods_that_each_leave_much_open_may_differ_more() -> None:
    eye = AVERAGE_EYE._replace(anterior_chamber_depth_mm=4.5)
    assert sentence_of(eye)
    assert sentence_of(eye, spread=2.0) == ""


def test_the_finding_is_a_warning_about_the_methods() -> None:
    eye = AVERAGE_EYE._replace(axial_length_mm=20.0)
    (finding,) = disagreement_findings(agreement(METHODS, eye, OWN_SPREAD, 0.0), operated=False)
    assert (finding.severity, finding.code, finding.where) == (
        Severity.WARNING,
        "methods-disagree",
        "methods",
    )


def test_one_method_alone_cannot_disagree() -> None:
    assert agreement(METHODS[:1], AVERAGE_EYE, OWN_SPREAD, 0.0) is None
    assert sentence_of(AVERAGE_EYE, METHODS[:1]) == ""


def test_a_method_without_a_number_leaves_the_question_open() -> None:
    eye = AVERAGE_EYE._replace(anterior_chamber_depth_mm=math.nan)
    assert agreement(METHODS, eye, OWN_SPREAD, 0.0) is None
    assert agreement(METHODS[:3], eye, OWN_SPREAD, 0.0) is not None


@given(
    length=st.floats(21.0, 27.0),
    cornea=st.floats(41.0, 46.0),
    depth=st.floats(2.4, 4.0),
    target=st.floats(-3, 0.5),
)
@settings(max_examples=40, deadline=None)
def test_the_disagreement_is_the_range_of_the_predictions(
    length: float, cornea: float, depth: float, target: float
) -> None:
    eye = AVERAGE_EYE._replace(axial_length_mm=length, mean_k_dpt=cornea, anterior_chamber_depth_mm=depth)
    found = agreement(METHODS, eye, OWN_SPREAD, target)
    assert found is not None
    said = [
        float(one.optics.refraction_dpt(seen_eye(one, eye, own), found.lens_power_dpt))
        for one, own, _ in METHODS
    ]
    assert found.disagreement_dpt == pytest.approx(np.ptp(said), abs=1e-12)
    assert min(said) - 1e-9 <= target <= max(said) + 1e-9
    assert [one.disagreement_dpt for one in found.drivers] == sorted(
        one.disagreement_dpt for one in found.drivers
    )


AFTER_LONG_SIGHT = [
    (FORMULAS[key], FORMULAS[key].first_guess(118.4), 0.0)
    for key in ("srk_t_double_k_hyperopic", "hoffer_q_double_k_hyperopic", "shammas_phl")
]


def test_an_eye_after_laser_for_long_sight_is_not_held_against_one_after_laser_for_short_sight() -> None:
    eye = AVERAGE_STEEPENED_EYE._replace(axial_length_mm=20.0, mean_k_before_dpt=math.nan)
    found = agreement(AFTER_LONG_SIGHT, eye, OWN_SPREAD, 0.0)
    assert found is not None
    averages = {one.quantity: one.average for one in found.drivers}
    assert averages["axial_length_mm"] < 23.0
    assert averages["mean_k_dpt"] > 44.0


def test_methods_for_operated_corneas_are_told_apart_by_what_they_do_and_not_by_their_constants() -> None:
    apart = [(formula, own, 1.2 * place) for place, (formula, own, _) in enumerate(AFTER_LONG_SIGHT)]
    found = agreement(apart, AVERAGE_STEEPENED_EYE, OWN_SPREAD, 0.0)
    (finding,) = disagreement_findings(found, operated=True)
    assert (
        "in a usual eye after such surgery: the methods correct such a cornea differently" in finding.sentence
    )
    assert "constants" not in finding.sentence
