"""When the first eye's error may be carried to the second."""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fakes.examples import LENS_NAME, ordinary_eye, ordinary_lens
from zonule.case.biometry import LensStatus, Method, Vitreous
from zonule.case.eye import CornealSurgery, Eye
from zonule.case.operation import Complication, Fixation
from zonule.case.patient import Side
from zonule.case.refraction import Refraction
from zonule.case.second_eye import FellowOutcome, SecondEye
from zonule.case.second_eye_rules import why_not_carried
from zonule.science.statistics.fellow_eye import LearnedWeight

OPERATED_ON = date(2026, 9, 1)
OUTCOME = FellowOutcome(
    refraction=Refraction(0.5, lane_m=6.0),
    lens_model=LENS_NAME,
    lens_power_dpt=21.0,
    operated_on=OPERATED_ON,
    refracted_on=OPERATED_ON + timedelta(days=35),
    fixation=Fixation.BAG,
    complication=Complication.NONE,
)


def reasons(outcome: FellowOutcome = OUTCOME, *, eye: Eye | None = None, **fellow: Any) -> list[str]:
    """Codes of the reasons, for an ordinary eye and a fellow with changes."""
    first = ordinary_eye(Side.LEFT, **fellow)
    found = why_not_carried(eye or ordinary_eye(), first, ordinary_lens(), outcome)
    assert all(one.sentence.endswith("Its error is not carried to this eye.") for one in found)
    return [one.code for one in found]


def test_a_settled_uncomplicated_first_eye_like_this_one_may_be_carried() -> None:
    assert reasons() == []


def test_a_lens_in_the_sulcus_at_week_two_is_refused_and_both_reasons_are_named() -> None:
    outcome = replace(OUTCOME, fixation=Fixation.SULCUS, refracted_on=OPERATED_ON + timedelta(days=14))
    assert reasons(outcome) == ["first-eye-not-in-bag", "first-eye-not-settled"]
    said = " ".join(
        one.sentence
        for one in why_not_carried(ordinary_eye(), ordinary_eye(Side.LEFT), ordinary_lens(), outcome)
    )
    assert "in the sulcus" in said
    assert "14 days" in said


@pytest.mark.parametrize(("days", "is_carried"), [(0, False), (27, False), (28, True), (400, True)])
def test_a_refraction_counts_from_28_days_on(days: int, is_carried: bool) -> None:
    outcome = replace(OUTCOME, refracted_on=OPERATED_ON + timedelta(days=days))
    assert reasons(outcome) == ([] if is_carried else ["first-eye-not-settled"])


@pytest.mark.parametrize("fixation", [one for one in Fixation if one is not Fixation.BAG])
def test_only_a_lens_in_the_bag_is_carried(fixation: Fixation) -> None:
    assert reasons(replace(OUTCOME, fixation=fixation)) == ["first-eye-not-in-bag"]


@pytest.mark.parametrize("complication", [one for one in Complication if one is not Complication.NONE])
def test_a_complicated_first_eye_is_not_carried(complication: Complication) -> None:
    assert reasons(replace(OUTCOME, complication=complication)) == ["first-eye-complicated"]


@pytest.mark.parametrize(
    ("field", "code"),
    [
        ("lens_power_dpt", "first-eye-lens-unknown"),
        ("operated_on", "first-eye-not-settled"),
        ("refracted_on", "first-eye-not-settled"),
        ("fixation", "first-eye-not-in-bag"),
        ("complication", "first-eye-complicated"),
    ],
)
def test_what_nobody_recorded_is_a_reason_and_never_taken_as_fine(field: str, code: str) -> None:
    unrecorded: dict[str, Any] = {field: None}
    assert reasons(replace(OUTCOME, **unrecorded)) == [code]


def test_another_lens_model_is_not_carried() -> None:
    assert reasons(replace(OUTCOME, lens_model="Harbour Two")) == ["first-eye-other-lens"]
    assert reasons(replace(OUTCOME, lens_model="")) == ["first-eye-lens-unknown"]


@pytest.mark.parametrize("surgery", [one for one in CornealSurgery if one is not CornealSurgery.NONE])
def test_both_corneas_must_be_known_to_be_untouched(surgery: CornealSurgery) -> None:
    assert reasons(corneal_surgery=surgery) == ["first-eye-cornea-touched"]
    assert reasons(eye=ordinary_eye(corneal_surgery=surgery)) == ["first-eye-cornea-touched"]


@given(tenths=st.integers(-40, 40))
def test_lengths_may_differ_by_three_tenths_of_a_millimetre(tenths: int) -> None:
    difference = tenths / 20.0
    wanted = [] if abs(tenths) <= 6 else ["first-eye-unlike"]
    assert reasons(axial_length_mm=23.5 + difference) == wanted


@given(hundredths=st.integers(-150, 150))
def test_corneas_may_differ_by_six_tenths_of_a_dioptre(hundredths: int) -> None:
    shift = hundredths / 100.0
    wanted = [] if abs(hundredths) <= 60 else ["first-eye-unlike"]
    assert reasons(flat_power_dpt=43.0 + shift, steep_power_dpt=44.0 + shift) == wanted


@given(hundredths=st.integers(-80, 80))
def test_depths_may_differ_by_three_tenths_of_a_millimetre(hundredths: int) -> None:
    wanted = [] if abs(hundredths) <= 30 else ["first-eye-unlike"]
    assert reasons(anterior_chamber_depth_mm=3.1 + hundredths / 100.0) == wanted


@pytest.mark.parametrize("quantity", ["axial_length_mm", "anterior_chamber_depth_mm"])
def test_eyes_that_nobody_can_compare_are_not_taken_as_alike(quantity: str) -> None:
    unmeasured: dict[str, Any] = {quantity: None}
    assert reasons(**unmeasured) == ["first-eye-unlike"]
    assert reasons(eye=ordinary_eye(**unmeasured)) == ["first-eye-unlike"]


def test_a_first_eye_that_is_not_given_or_was_measured_after_its_operation_predicts_nothing() -> None:
    found = why_not_carried(ordinary_eye(), None, ordinary_lens(), OUTCOME)
    assert [one.code for one in found] == ["first-eye-not-measured"]
    assert reasons(lens_status=LensStatus.PSEUDOPHAKIC) == ["first-eye-not-measured"]


def test_unlike_fillings_and_unlike_ways_of_measuring_are_not_carried() -> None:
    assert reasons(vitreous=Vitreous.SILICONE_OIL) == ["first-eye-unlike"]
    assert reasons(method=Method.CONTACT) == ["first-eye-unlike"]
    assert reasons(method=None) == []


def test_every_reason_is_named_when_there_are_many() -> None:
    outcome = replace(
        OUTCOME, fixation=None, complication=Complication.VITREOUS_LOSS, refracted_on=None, lens_model="Other"
    )
    codes = reasons(outcome, corneal_surgery=CornealSurgery.GRAFT, axial_length_mm=25.0)
    assert codes == [
        "first-eye-other-lens",
        "first-eye-not-in-bag",
        "first-eye-complicated",
        "first-eye-not-settled",
        "first-eye-cornea-touched",
        "first-eye-unlike",
    ]


def test_the_published_half_is_the_weight_until_own_pairs_are_asked() -> None:
    assert OUTCOME.weight == 0.5
    assert replace(OUTCOME, learned=LearnedWeight(0.4, 0.3, 90)).weight == 0.4


def test_a_first_eye_that_is_not_used_narrows_nothing() -> None:
    assert SecondEye(used=False, weight=0.5).variance_left == 1.0
    assert SecondEye(used=True, weight=0.5).variance_left == 0.75


def test_a_method_without_an_own_error_takes_the_middle_one() -> None:
    second = SecondEye(used=True, weight=0.5, shifts_dpt=(("srk_t", 0.2),), shift_dpt=0.25)
    assert (second.shift_of("srk_t"), second.shift_of("haigis")) == (0.2, 0.25)
