"""Whether turning the lens of a case would help, from what is on record."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from case.doubts import codes
from fakes.examples import ordinary_axis_visit, ordinary_keratometry
from fakes.memory_record import MemoryRecord
from workflow.clinic import INTENT, KEY, OPERATED_ON, clean_lens, clinic, operate, review, sign
from zonule.case.axis_visit import AxisVisit
from zonule.case.biometry import CorneaKind
from zonule.case.case import Case
from zonule.case.operation import Fixation
from zonule.case.refraction import Refraction
from zonule.case.rotation import Advice, Because, ResidualCause, RotationReview
from zonule.case.toric import CorneaModelName, MarkingName
from zonule.drawings.rotation import sweep_drawing
from zonule.errors import InputError
from zonule.workflow.turning import marks_of_refraction, turning

WISHED = replace(
    INTENT,
    incision_meridian_deg=180.0,
    incision_width_mm=2.2,
    incision_flattening_dpt=0.1,
    cornea_model=CorneaModelName.ANTERIOR,
    marking=MarkingName.UPRIGHT_INK,
    lens_cylinder_dpt=1.5,
)
SEEN = Refraction(0.5, -1.0, 40.0, 12.0, 6.0)


def operated() -> MemoryRecord:
    record = clinic(lens=clean_lens(cylinders_dpt=(1.0, 1.5, 2.25)), intent=WISHED)
    sign(record)
    operate(record, lens_cylinder_dpt=1.5, lens_meridian_deg=95.0)
    return record


def reviewed(**changes: Any) -> Case:
    record = operated()
    review(record, SEEN, **changes)
    return record.case(KEY)


def found(case: Case) -> RotationReview:
    answer = turning(case)
    assert isinstance(answer, RotationReview), answer
    return answer


def test_the_lens_is_worth_at_the_cornea_what_the_signed_plan_says() -> None:
    answer = found(reviewed(lens_meridian_deg=115.0))
    assert 0.9 < answer.outcome.lens_at_cornea_dpt < 1.2
    assert answer.outcome.planned is not None
    assert answer.outcome.planned.lens_meridian_deg == 95.0
    assert answer.days_after == 35


def test_causes_are_told_and_the_incision_apart_with_the_cornea_measured_again() -> None:
    plain = found(reviewed(lens_meridian_deg=115.0))
    assert [one.kind for one in plain.causes] == [
        ResidualCause.PLANNED,
        ResidualCause.TURNED,
        ResidualCause.REST,
    ]
    again = ordinary_keratometry(43.0, 44.3, steep_meridian_deg=90.0)
    assert ResidualCause.INCISION in {
        one.kind for one in found(reviewed(lens_meridian_deg=115.0, keratometry=again)).causes
    }


def test_without_marks_it_says_what_is_missing() -> None:
    assert "where the marks of the lens lie" in str(turning(reviewed()))


def test_the_latest_look_at_the_marks_counts_where_the_refraction_has_none() -> None:
    case = replace(reviewed(), axis_visits=(ordinary_axis_visit(lens_meridian_deg=108.0),))
    assert found(case).outcome.lens_meridian_deg == 108.0


def test_a_lens_without_cylinder_is_no_case_for_turning() -> None:
    record = clinic()
    sign(record)
    operate(record)
    review(record, SEEN)
    assert "No lens with cylinder" in str(turning(record.case(KEY)))


def test_a_meridian_of_0_is_kept_as_180() -> None:
    case = reviewed(lens_meridian_deg=0.0)
    marks = marks_of_refraction(case)
    assert marks is not None
    assert marks.lens_meridian_deg == 180.0


@pytest.mark.parametrize(
    "nonsense",
    [
        {"lens_meridian_deg": 181.0},
        {"keratometry": ordinary_keratometry(45.0, 43.0)},
        {"keratometry": ordinary_keratometry(43.0, 44.0, steep_meridian_deg=None)},
        {"keratometry": ordinary_keratometry(43.0, 44.0, keratometric_index=None)},
    ],
)
def test_marks_and_corneas_that_cannot_be_are_refused(nonsense: dict[str, Any]) -> None:
    with pytest.raises(InputError):
        review(operated(), SEEN, **nonsense)


def test_the_drawing_tells_now_best_and_planned() -> None:
    said = sweep_drawing(found(reviewed(lens_meridian_deg=115.0))).description
    assert "Now at 115\u00b0" in said
    assert "Planned for 95\u00b0" in said


def visits(*looks: tuple[int, float]) -> tuple[AxisVisit, ...]:
    """Looks at the marks some days after the operation."""
    return tuple(AxisVisit(OPERATED_ON + timedelta(days=days), at_deg) for days, at_deg in looks)


def test_a_refraction_is_paired_with_the_marks_of_its_own_day_not_with_later_ones() -> None:
    """The lens was turned after the refraction: its new place says nothing of what was seen before."""
    case = replace(reviewed(lens_meridian_deg=115.0), axis_visits=visits((1, 96.0), (35, 99.0), (60, 95.0)))
    answer = found(case)
    assert answer.outcome.lens_meridian_deg == 115.0
    assert (answer.advice, answer.because) == (Advice.WAIT, (Because.LENS_MOVED,))
    assert "lens-turned-since" in codes(answer.findings)
    assert "marks-of-another-day" not in codes(answer.findings)


def test_without_marks_of_its_day_the_nearest_look_is_taken_and_said() -> None:
    case = replace(reviewed(), axis_visits=visits((1, 96.0), (30, 112.0), (70, 113.0)))
    answer = found(case)
    assert answer.outcome.lens_meridian_deg == 112.0
    assert "marks-of-another-day" in codes(answer.findings)
    assert "lens-turned-since" not in codes(answer.findings)


def test_the_look_at_the_end_of_the_operation_is_never_taken_for_a_later_one() -> None:
    assert marks_of_refraction(reviewed()) is None


def test_a_lens_outside_the_bag_is_not_turned_without_a_warning() -> None:
    case = reviewed(lens_meridian_deg=115.0)
    assert case.operation is not None
    assert "turning-outside-the-bag" not in codes(found(case).findings)
    outside = replace(case, operation=replace(case.operation, fixation=Fixation.SULCUS))
    assert "turning-outside-the-bag" in codes(found(outside).findings)


def test_a_front_reading_is_not_compared_with_one_of_the_whole_cornea() -> None:
    whole = ordinary_keratometry(42.0, 43.0, steep_meridian_deg=90.0, kind=CorneaKind.TOTAL)
    answer = found(reviewed(lens_meridian_deg=115.0, keratometry=whole))
    assert ResidualCause.INCISION not in {one.kind for one in answer.causes}
    assert "corneas-not-compared" in codes(answer.findings)


def test_another_lens_than_planned_is_not_judged() -> None:
    case = reviewed(lens_meridian_deg=115.0)
    assert case.operation is not None
    other = replace(case, operation=replace(case.operation, lens_model="Another Toric"))
    assert "Another lens went in" in str(turning(other))


def test_a_plan_signed_after_the_operation_is_not_what_was_promised() -> None:
    case = reviewed(lens_meridian_deg=115.0)
    assert case.operation is not None
    other = replace(case, operation=replace(case.operation, plan_digest="another"))
    assert [one.kind for one in found(other).causes] == [ResidualCause.PLACE, ResidualCause.STRENGTH]
    assert "plan-not-given" in codes(found(other).findings)
