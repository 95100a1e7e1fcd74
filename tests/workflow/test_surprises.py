"""When the refraction surprises: planted causes are ranked where they belong, and remedies say their limits.

The planted eyes come from another model than the formulas: a chain of four surfaces, in which the lens lies
where the plan was right. Then one thing is changed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

import pytest

from case.doubts import codes, the_one
from fakes.examples import (
    ordinary_case,
    ordinary_lesson,
    ordinary_operation,
    ordinary_review,
    ordinary_signed_plan,
)
from fakes.memory_record import MemoryRecord
from workflow.clinic import KEY, TODAY, clean_eye, clean_lens, clinic, operate, review, sign, signed_clinic
from zonule.case.case import Case
from zonule.case.eye import CornealSurgery
from zonule.case.finding import Severity
from zonule.case.lens import LensConstants, PowerRange
from zonule.case.operation import Fixation
from zonule.case.patient import Side
from zonule.case.refraction import Refraction
from zonule.case.surprise import (
    Cause,
    CauseKind,
    ClueKind,
    MeasuredAgain,
    MixUpKind,
    Remedy,
    RemedyKind,
    Room,
    Surprise,
)
from zonule.science.optics.four_surface import Cornea, thin_lens_refraction_dpt
from zonule.science.optics.keratometry import corneal_radius_mm
from zonule.workflow.causes import digits_swapped_dpt
from zonule.workflow.forecast import plan_eye
from zonule.workflow.surprise import deserves_a_look, look_into_surprise

POWER, LENGTH_MM, MEAN_K_DPT = 20.5, 23.5, 43.5
MANY_POWERS = PowerRange(5.0, 34.0, 0.5)


@dataclass(frozen=True)
class Truth:
    """An eye of four surfaces in which the plan of the ordinary eye comes true."""

    place_mm: float

    def refraction_dpt(
        self,
        power: float = POWER,
        *,
        forward_mm: float = 0.0,
        mean_k: float = MEAN_K_DPT,
        length: float = LENGTH_MM,
    ) -> float:
        radius = float(corneal_radius_mm(mean_k))
        cornea = Cornea(radius, 0.84 * radius, 0.54)
        return float(thin_lens_refraction_dpt(cornea, length, self.place_mm - forward_mm, power))


def true_eye(predicted_dpt: float) -> Truth:
    """The place of the lens at which the chain gives what was predicted, by halving."""
    front, back = 3.0, 8.0
    for _ in range(60):
        middle = (front + back) / 2.0
        if Truth(middle).refraction_dpt() < predicted_dpt:
            front = middle
        else:
            back = middle
    return Truth((front + back) / 2.0)


def operated(**changes: Any) -> MemoryRecord:
    record = clinic(lens=clean_lens(powers=MANY_POWERS))
    sign(record)
    operate(record, **changes)
    return record


def reviewed(refraction_dpt: float, record: MemoryRecord | None = None, **changes: Any) -> Case:
    kept = record or operated()
    review(kept, Refraction(refraction_dpt, lane_m=6.0), **changes)
    return kept.case(KEY)


def predicted() -> float:
    signed = operated().case(KEY).signed
    assert signed is not None
    return signed.predicted_refraction_dpt


def looked_into(case: Case, **more: Any) -> Surprise:
    found = look_into_surprise(case, **more)
    assert found is not None
    return found


def cause(surprise: Surprise, kind: CauseKind) -> Cause:
    return next(one for one in surprise.causes if one.kind is kind)


def remedy(surprise: Surprise, kind: RemedyKind) -> Remedy:
    return next(one for one in surprise.remedies if one.kind is kind)


def planted(**changes: float) -> Surprise:
    return looked_into(reviewed(true_eye(predicted()).refraction_dpt(**changes)))


def test_the_other_model_agrees_with_the_plan_before_anything_is_planted() -> None:
    truth = true_eye(predicted())
    assert truth.refraction_dpt() == pytest.approx(predicted(), abs=1e-9)
    assert 4.0 < truth.place_mm < 6.5


@pytest.mark.parametrize("really", [16.0, 17.0, 24.0, 25.5])
def test_a_wrong_lens_in_the_eye_is_ranked_first_and_its_power_found(really: float) -> None:
    surprise = planted(power=really)
    first = surprise.causes[0]
    assert first.kind is CauseKind.WRONG_LENS
    assert surprise.explaining_power_dpt == pytest.approx(really, abs=0.3)
    assert first.mix_up is not None
    assert first.mix_up.lens_power_dpt == pytest.approx(really, abs=0.5)


@pytest.mark.parametrize("forward_mm", [0.5, -0.5, 0.7, -0.7])
def test_a_lens_that_moved_is_ranked_as_its_position(forward_mm: float) -> None:
    surprise = planted(forward_mm=forward_mm)
    first = surprise.causes[0]
    assert first.kind is CauseKind.LENS_POSITION
    assert first.needed == pytest.approx(-forward_mm, abs=0.1)
    assert surprise.room is Room.INSIDE


@pytest.mark.parametrize("really", [42.0, 42.5, 44.5, 45.0])
def test_a_cornea_read_wrongly_is_found_by_measuring_it_again(really: float) -> None:
    case = reviewed(true_eye(predicted()).refraction_dpt(mean_k=really))
    before = cause(looked_into(case), CauseKind.CORNEA)
    assert math.copysign(1.0, before.needed) == math.copysign(1.0, really - MEAN_K_DPT)
    again = looked_into(case, again=MeasuredAgain(mean_k_dpt=really))
    corneal = again.causes[0]
    assert corneal.kind is CauseKind.CORNEA
    assert corneal.unexplained_dpt == pytest.approx(0.0, abs=0.35)
    assert corneal.deviations == pytest.approx(abs(corneal.unexplained_dpt or 0.0) / again.sd_dpt)
    assert corneal.needed == before.needed


def test_a_cornea_measured_again_and_found_as_before_explains_nothing() -> None:
    case = reviewed(1.5)
    before = cause(looked_into(case), CauseKind.CORNEA)
    same = cause(looked_into(case, again=MeasuredAgain(mean_k_dpt=MEAN_K_DPT)), CauseKind.CORNEA)
    assert same.deviations == pytest.approx(before.deviations)
    assert same.unexplained_dpt is None


def test_a_cornea_measured_again_and_found_off_the_other_way_explains_nothing() -> None:
    case = reviewed(1.5)
    before = cause(looked_into(case), CauseKind.CORNEA)
    other = cause(looked_into(case, again=MeasuredAgain(mean_k_dpt=45.0)), CauseKind.CORNEA)
    assert (other.deviations, other.unexplained_dpt) == (before.deviations, None)


def test_a_length_measured_again_is_weighed_in_the_same_way() -> None:
    case = reviewed(true_eye(predicted()).refraction_dpt(length=23.0))
    first = looked_into(case, again=MeasuredAgain(axial_length_mm=23.0)).causes[0]
    assert first.kind is CauseKind.LENGTH
    assert first.unexplained_dpt == pytest.approx(0.0, abs=0.3)


@pytest.mark.parametrize("really", [22.9, 23.2, 23.8, 24.1])
def test_a_length_read_wrongly_is_told_in_the_right_direction_and_size(really: float) -> None:
    needed = cause(planted(length=really), CauseKind.LENGTH).needed
    assert needed == pytest.approx(really - LENGTH_MM, rel=0.3)


def test_causes_stand_in_the_order_of_what_they_take() -> None:
    deviations = [one.deviations for one in planted(power=17.0).causes]
    assert deviations == sorted(deviations)
    assert len(deviations) == len(CauseKind)


def test_a_lesson_that_says_the_same_makes_the_constant_the_first_cause() -> None:
    case = reviewed(predicted() + 0.8)
    plain = cause(looked_into(case), CauseKind.CONSTANT)
    lesson = ordinary_lesson(offset_dpt=0.75, offset_sd_dpt=0.1, mean_error_dpt=0.8, eyes=60)
    taught = looked_into(case, lessons=(lesson,))
    assert plain.deviations > 4.0
    assert taught.causes[0].kind is CauseKind.CONSTANT
    assert taught.lesson_eyes == 60


def test_a_lesson_of_another_surgeon_or_lens_says_nothing() -> None:
    case = reviewed(predicted() + 0.8)
    others = (
        ordinary_lesson(surgeon="Somebody Else", offset_dpt=0.8),
        ordinary_lesson(lens_model="Another", offset_dpt=0.8),
        ordinary_lesson(constants=(118.9,), offset_dpt=0.8),
    )
    assert looked_into(case, lessons=others).lesson_eyes == 0


def fellow_case(**changes: Any) -> Case:
    signed = ordinary_signed_plan(Side.LEFT)
    signed = replace(signed, intent=replace(signed.intent, lens_power_dpt=24.0))
    return replace(ordinary_case(Side.LEFT), signed=signed, **changes)


def test_the_other_eyes_lens_is_named_when_it_fits() -> None:
    case = reviewed(true_eye(predicted()).refraction_dpt(24.0))
    best = looked_into(case, fellow=fellow_case()).causes[0].mix_up
    assert best is not None
    assert (best.kind, best.lens_power_dpt) == (MixUpKind.OTHER_EYE, 24.0)


def test_another_model_in_the_same_power_is_named_when_it_fits() -> None:
    deep = clean_lens(name="Deep Two", constants=LensConstants(a_constant=120.0), powers=MANY_POWERS)
    found = looked_into(reviewed(predicted() + 1.0), catalogue=(deep,)).mix_ups
    assert (MixUpKind.OTHER_MODEL, "Deep Two", POWER) in [
        (one.kind, one.lens_model, one.lens_power_dpt) for one in found
    ]


def test_a_box_that_leaves_most_of_the_error_is_not_named() -> None:
    surprise = looked_into(reviewed(predicted() + 2.0))
    assert all(abs(one.unexplained_dpt) <= 1.0 for one in surprise.mix_ups)
    assert MixUpKind.NEXT_BOX not in {one.kind for one in surprise.mix_ups}


def test_digits_in_each_others_place() -> None:
    assert digits_swapped_dpt(21.5) == 12.5
    assert digits_swapped_dpt(20.5) == 2.5
    assert digits_swapped_dpt(-12.0) == -21.0


def test_after_laser_the_cornea_is_the_first_to_be_doubted() -> None:
    treated = clean_eye(
        corneal_surgery=CornealSurgery.MYOPIC_LASER,
        axial_length_mm=26.5,
        flat_power_dpt=38.5,
        steep_power_dpt=39.0,
    )
    record = clinic(eye=treated, lens=clean_lens(powers=MANY_POWERS))
    sign(record, reasons="Discussed with the patient.")
    operate(record)
    for refraction in (1.5, -1.8):
        surprise = looked_into(reviewed(refraction, record))
        first = surprise.causes[0]
        assert abs(surprise.error_dpt) > 1.0
        assert (first.kind, first.usual_sd) == (CauseKind.CORNEA, surprise.sd_dpt)


def clues(surprise: Surprise) -> set[ClueKind]:
    return {one.kind for one in surprise.clues}


def test_a_short_sighted_surprise_in_the_bag_asks_for_a_distended_capsule() -> None:
    surprise = looked_into(reviewed(-1.5, refracted_on=date(2026, 11, 20)))
    assert {ClueKind.CAPSULAR_BLOCK, ClueKind.NOT_SETTLED} <= clues(surprise)
    assert the_one(surprise.findings, "surprise-not-settled").severity is Severity.WARNING
    assert ClueKind.CAPSULAR_BLOCK not in clues(looked_into(reviewed(1.5)))
    assert ClueKind.CAPSULAR_BLOCK not in clues(looked_into(reviewed(-4.0)))


def test_a_lens_outside_the_bag_is_told_before_anything_is_made_of_its_place() -> None:
    record = operated(fixation=Fixation.SULCUS)
    surprise = looked_into(reviewed(-1.0, record))
    assert ClueKind.LENS_NOT_IN_BAG in clues(surprise)
    assert ClueKind.CAPSULAR_BLOCK not in clues(surprise)
    assert "lens-not-where-planned" in codes(surprise.findings)


def test_a_long_sighted_surprise_with_an_unasked_cornea_asks_for_laser() -> None:
    case = reviewed(1.5)
    unasked = replace(case.eye, history=replace(case.eye.history, corneal_surgery=CornealSurgery.UNKNOWN))
    assert ClueKind.LASER_NOT_RECORDED in clues(looked_into(replace(case, eye=unasked)))
    assert ClueKind.LASER_NOT_RECORDED not in clues(looked_into(case))


def test_a_fellow_eye_that_missed_alike_is_told() -> None:
    fellow = fellow_case(operation=ordinary_operation(), review=ordinary_review(error_dpt=0.9))
    assert ClueKind.FELLOW_ALIKE in clues(looked_into(reviewed(1.5), fellow=fellow))
    assert ClueKind.FELLOW_ALIKE not in clues(looked_into(reviewed(-1.5), fellow=fellow))


def test_the_exchange_worked_out_for_a_moved_lens_lands_on_the_aim_in_the_other_model() -> None:
    truth = true_eye(predicted())
    surprise = planted(forward_mm=-0.8)
    exchange = remedy(surprise, RemedyKind.EXCHANGE)
    left = truth.refraction_dpt(exchange.amount_dpt, forward_mm=-0.8)
    assert surprise.error_dpt > 0.9
    assert left == pytest.approx(surprise.target_dpt, abs=0.1)


def test_the_exchange_is_another_lens_if_another_lens_is_in_the_eye() -> None:
    surprise = planted(power=18.0)
    readings = {one.if_cause: one.power_dpt for one in remedy(surprise, RemedyKind.EXCHANGE).exchanges}
    assert readings[CauseKind.WRONG_LENS] == pytest.approx(POWER, abs=0.3)
    assert readings[CauseKind.LENS_POSITION] - readings[CauseKind.WRONG_LENS] == pytest.approx(2.5, abs=0.5)
    doubt = the_one(surprise.findings, "exchange-depends-on-cause")
    assert doubt.severity is Severity.WARNING
    apart = max(readings.values()) - min(readings.values())
    assert f"differs by {apart:.1f} D" in doubt.sentence


def test_an_exchange_for_a_power_that_is_not_made_says_so() -> None:
    record = signed_clinic()
    operate(record)
    surprise = looked_into(reviewed(3.0, record))
    assert "exchange-power-not-made" in codes(surprise.findings)
    assert "exchange-power-not-made" not in codes(looked_into(reviewed(1.0)).findings)


def test_every_remedy_says_what_it_leaves_and_never_more_than_refraction_allows() -> None:
    surprise = looked_into(reviewed(1.5))
    assert {one.kind for one in surprise.remedies} == set(RemedyKind)
    for one in surprise.remedies:
        assert one.outlook.sd_dpt >= math.sqrt(2.0) * 0.25 - 1e-12
        assert 0.5 < one.outlook.within_0_50 < 0.85
    assert "remedy-odds-are-limits" in codes(surprise.findings)


def test_the_difference_between_the_eyes_is_given_where_the_other_is_known() -> None:
    case = reviewed(1.5)
    fellow = fellow_case(operation=ordinary_operation(), review=ordinary_review())
    surprise = looked_into(case, fellow=fellow)
    other = ordinary_review().refraction.reported_equivalent_dpt
    assert surprise.fellow_refraction_dpt == other
    assert remedy(surprise, RemedyKind.GLASSES).outlook.beside_fellow_dpt == pytest.approx(1.5 - other)
    assert remedy(surprise, RemedyKind.LASER).outlook.beside_fellow_dpt == pytest.approx(-other)
    operated_unseen = looked_into(case, fellow=fellow_case(operation=ordinary_operation()))
    assert operated_unseen.fellow_refraction_dpt is None


def test_a_look_is_deserved_beyond_three_quarters_of_a_dioptre() -> None:
    assert deserves_a_look(reviewed(predicted() + 0.76))
    assert deserves_a_look(reviewed(predicted() - 0.76))
    assert not deserves_a_look(reviewed(predicted() + 0.74))
    assert not deserves_a_look(operated().case(KEY))


def test_own_results_that_make_the_spread_small_lower_the_limit() -> None:
    case = reviewed(predicted() + 0.6)
    assert case.signed is not None
    narrow = tuple(
        ordinary_lesson(method=one.method, constants=one.constants, scale_dpt=0.15, offset_dpt=0.0)
        for one in plan_eye(case.signed.request, TODAY).methods
    )
    request = replace(case.signed.request, lessons=narrow)
    taught = replace(case, signed=replace(case.signed, request=request))
    assert looked_into(taught).sd_dpt < 0.3
    assert deserves_a_look(taught)
    assert not deserves_a_look(case)


def test_where_nothing_was_predicted_there_is_nothing_to_look_into() -> None:
    record = operated(lens_model="Another Lens", changed_from_plan="not in stock")
    assert look_into_surprise(reviewed(1.5, record)) is None
    assert look_into_surprise(operated().case(KEY)) is None


def test_a_weak_lens_does_not_tell_its_place() -> None:
    record = clinic(lens=clean_lens(powers=PowerRange(-5.0, 34.0, 0.5)))
    sign(record)
    operate(record, lens_power_dpt=1.0, changed_from_plan="for this test")
    surprise = looked_into(reviewed(9.0, record))
    assert the_one(surprise.findings, "position-not-to-be-told").severity is Severity.WARNING
    assert "position-not-to-be-told" not in codes(looked_into(reviewed(1.5)).findings)
