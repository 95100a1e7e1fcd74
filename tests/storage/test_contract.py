"""What every record promises about writing, whatever it is kept in."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import date, timedelta

import pytest

from fakes.acts import open_case, ordinary_act
from fakes.examples import (
    LISTED_ON,
    SIGNED_AT,
    ordinary_axis_visit,
    ordinary_case,
    ordinary_eye,
    ordinary_incision_lesson,
    ordinary_intent,
    ordinary_lens,
    ordinary_lesson,
    ordinary_operation,
    ordinary_patient,
    ordinary_review,
    ordinary_signed_plan,
)
from zonule.case.case import Stage
from zonule.case.patient import Side
from zonule.case.plan import Intent
from zonule.errors import (
    ChangedMeanwhileError,
    InconsistentRecordError,
    InputError,
    NotInRecordError,
)
from zonule.workflow.ports import Act, Record

NEXT_DAY = LISTED_ON + timedelta(days=1)


class _SomethingElseError(Exception):
    pass


def _write_everything(act: Act, key: str) -> None:
    act.put_patient(ordinary_patient(name="Somebody Else"))
    act.put_eye("demo-0042", ordinary_eye(axial_length_mm=30.0))
    act.put_case(key, "demo-0042", Side.RIGHT, NEXT_DAY)
    act.put_intent(key, ordinary_intent(), revision=0)
    act.add_signed_plan(key, ordinary_signed_plan())
    act.add_operation(key, ordinary_operation())
    act.put_axis_visits(key, (ordinary_axis_visit(),))
    act.add_review(key, ordinary_review())
    act.put_lens(ordinary_lens())
    act.add_lesson(ordinary_lesson())
    act.add_incision_lesson(ordinary_incision_lesson())
    act.add_source("c" * 64, "eyes.csv")
    raise _SomethingElseError


def test_a_new_record_is_empty(record: Record) -> None:
    assert record.listings() == ()
    assert record.days() == ()
    assert record.reviewed_cases() == ()
    assert record.lenses() == ()
    assert record.lessons() == ()
    assert record.incision_lessons() == ()
    assert record.toric_cases(since=date.min) == ()
    assert record.trail() == ()
    assert record.broken_trail_entries() == ()


def test_what_is_not_on_record_is_none(record: Record) -> None:
    assert record.patient("nobody") is None
    assert record.eye("nobody", Side.LEFT) is None
    assert record.lens("nothing") is None
    assert not record.has_source("0" * 64)


def test_a_case_comes_back_as_it_was_put(record: Record) -> None:
    key = open_case(record)
    assert record.case(key) == ordinary_case()


def test_a_case_carries_everything_that_is_current(record: Record) -> None:
    key = open_case(record)
    with ordinary_act(record) as act:
        act.put_eye("demo-0042", ordinary_eye(Side.LEFT))
        act.put_intent(key, ordinary_intent(), revision=0)
        act.add_signed_plan(key, ordinary_signed_plan())
        act.add_operation(key, ordinary_operation())
        act.put_axis_visits(key, (ordinary_axis_visit(),))
        act.add_review(key, ordinary_review())
    assert record.case(key) == ordinary_case(
        fellow=ordinary_eye(Side.LEFT),
        intent=ordinary_intent(),
        signed=ordinary_signed_plan(),
        operation=ordinary_operation(),
        review=ordinary_review(),
        axis_visits=(ordinary_axis_visit(),),
        revision=1,
    )


def test_the_latest_plan_operation_and_review_count(record: Record) -> None:
    key = open_case(record)
    for digest, notes in (("a" * 64, "first"), ("b" * 64, "second")):
        with ordinary_act(record) as act:
            act.add_signed_plan(key, ordinary_signed_plan(digest=digest))
            act.add_operation(key, ordinary_operation(digest, notes=notes))
            act.add_review(key, ordinary_review(notes=notes))
    case = record.case(key)
    assert case.signed == ordinary_signed_plan(digest="b" * 64)
    assert case.operation == ordinary_operation("b" * 64, notes="second")
    assert case.review == ordinary_review(notes="second")


def test_the_looks_at_the_axis_put_last_are_the_ones_that_count(record: Record) -> None:
    key = open_case(record)
    first, later = ordinary_axis_visit(), ordinary_axis_visit(seen_on=NEXT_DAY, notes="Pupil small.")
    for visits in ((first,), (first, later), (later,)):
        with ordinary_act(record) as act:
            act.put_axis_visits(key, visits)
        assert record.case(key).axis_visits == visits


def test_an_operation_stays_with_its_case_when_the_plan_is_signed_anew(record: Record) -> None:
    key = open_case(record)
    with ordinary_act(record) as act:
        act.add_signed_plan(key, ordinary_signed_plan(digest="a" * 64))
        act.add_operation(key, ordinary_operation("a" * 64))
    with ordinary_act(record) as act:
        act.add_signed_plan(key, ordinary_signed_plan(digest="b" * 64, replaces="a" * 64))
    assert record.case(key).operation == ordinary_operation("a" * 64)
    assert record.case(key).stage is Stage.REVIEW


def test_the_other_eye_is_the_fellow_of_each(record: Record) -> None:
    right, left = open_case(record), open_case(record, side=Side.LEFT)
    assert record.case(right).fellow == record.case(left).eye
    assert record.case(left).fellow == record.case(right).eye


def test_an_unknown_case_is_named(record: Record) -> None:
    with pytest.raises(NotInRecordError, match="demo-0099-left"):
        record.case("demo-0099-left")


def test_no_write_to_an_unknown_case_is_taken(record: Record) -> None:
    key = "demo-0099-left"
    with pytest.raises(NotInRecordError, match=key), ordinary_act(record) as act:
        act.put_intent(key, ordinary_intent(), revision=0)
    with pytest.raises(NotInRecordError, match=key), ordinary_act(record) as act:
        act.touch(key, revision=0)
    with pytest.raises(NotInRecordError, match=key), ordinary_act(record) as act:
        act.add_signed_plan(key, ordinary_signed_plan())
    with pytest.raises(NotInRecordError, match=key), ordinary_act(record) as act:
        act.add_operation(key, ordinary_operation())
    with pytest.raises(NotInRecordError, match=key), ordinary_act(record) as act:
        act.put_axis_visits(key, (ordinary_axis_visit(),))
    with pytest.raises(NotInRecordError, match=key), ordinary_act(record) as act:
        act.add_review(key, ordinary_review())
    assert record.trail() == ()


def test_an_eye_needs_its_patient_first(record: Record) -> None:
    with pytest.raises(NotInRecordError, match="demo-0042"), ordinary_act(record) as act:
        act.put_eye("demo-0042", ordinary_eye())


def test_a_case_needs_its_eye_first(record: Record) -> None:
    open_case(record, side=Side.RIGHT)
    with pytest.raises(NotInRecordError, match="left eye of demo-0042"), ordinary_act(record) as act:
        act.put_case("demo-0042-left", "demo-0042", Side.LEFT, LISTED_ON)


def test_a_case_is_never_moved_to_another_eye(record: Record) -> None:
    key = open_case(record)
    open_case(record, side=Side.LEFT)
    with pytest.raises(InconsistentRecordError, match=key), ordinary_act(record) as act:
        act.put_case(key, "demo-0042", Side.LEFT, LISTED_ON)


def test_the_same_eye_again_is_no_new_version(record: Record) -> None:
    key = open_case(record)
    with ordinary_act(record) as act:
        assert act.put_eye("demo-0042", ordinary_eye()) is False
    assert record.case(key).revision == 0


def test_an_eye_measured_anew_takes_the_place_of_the_old_one(record: Record) -> None:
    key = open_case(record)
    longer = ordinary_eye(axial_length_mm=23.61)
    with ordinary_act(record) as act:
        assert act.put_eye("demo-0042", longer) is True
    assert record.eye("demo-0042", Side.RIGHT) == longer
    assert record.case(key).eye == longer


def test_an_eye_that_goes_back_to_earlier_numbers_is_a_new_version(record: Record) -> None:
    open_case(record)
    for length_mm in (23.61, 23.5):
        with ordinary_act(record) as act:
            assert act.put_eye("demo-0042", ordinary_eye(axial_length_mm=length_mm)) is True
    assert record.eye("demo-0042", Side.RIGHT) == ordinary_eye()


def test_a_patient_is_replaced_by_key(record: Record) -> None:
    key = open_case(record)
    renamed = ordinary_patient(name="Ada Summerfield")
    with ordinary_act(record) as act:
        act.put_patient(renamed)
    assert record.patient("demo-0042") == renamed
    assert record.case(key).patient == renamed


def test_a_draft_makes_the_revision_grow(record: Record) -> None:
    key = open_case(record)
    with ordinary_act(record) as act:
        assert act.put_intent(key, ordinary_intent(), revision=0) == 1
    assert record.case(key).revision == 1
    assert record.case(key).intent == ordinary_intent()


def test_a_draft_that_names_an_older_revision_is_refused_with_advice(record: Record) -> None:
    key = open_case(record)
    with ordinary_act(record) as act:
        act.put_intent(key, ordinary_intent(), revision=0)
    with (
        pytest.raises(ChangedMeanwhileError, match=r"demo-0042-right.*Reload it.*save again"),
        ordinary_act(record) as act,
    ):
        act.put_intent(key, Intent(), revision=0)
    assert record.case(key).intent == ordinary_intent()
    assert record.case(key).revision == 1


@pytest.mark.parametrize("revision", [-1, 1, 2])
def test_a_revision_that_never_was_is_refused(record: Record, revision: int) -> None:
    key = open_case(record)
    with pytest.raises(ChangedMeanwhileError), ordinary_act(record) as act:
        act.touch(key, revision)


def test_touching_claims_a_case_without_a_draft(record: Record) -> None:
    key = open_case(record)
    with ordinary_act(record) as act:
        assert act.touch(key, revision=0) == 1
    assert record.case(key) == ordinary_case(revision=1)
    with pytest.raises(ChangedMeanwhileError), ordinary_act(record) as act:
        act.touch(key, revision=0)


def test_one_act_is_one_change_of_a_case(record: Record) -> None:
    key = open_case(record)
    with ordinary_act(record) as act:
        act.put_eye("demo-0042", ordinary_eye(axial_length_mm=23.61))
        claimed = act.touch(key, revision=0)
        assert act.put_intent(key, ordinary_intent(), claimed) == claimed
        act.add_signed_plan(key, ordinary_signed_plan())
    assert record.case(key).revision == claimed == 1


_UNSEEN: dict[str, Callable[[Act], object]] = {
    "the patient": lambda act: act.put_patient(ordinary_patient(name="Ada Summerfield")),
    "the eye": lambda act: act.put_eye("demo-0042", ordinary_eye(axial_length_mm=23.61)),
    "the fellow eye": lambda act: act.put_eye("demo-0042", ordinary_eye(Side.LEFT)),
    "the day": lambda act: act.put_case("demo-0042-right", "demo-0042", Side.RIGHT, NEXT_DAY),
    "the plan": lambda act: act.add_signed_plan("demo-0042-right", ordinary_signed_plan()),
    "the operation": lambda act: act.add_operation("demo-0042-right", ordinary_operation()),
    "the looks at the axis": lambda act: act.put_axis_visits("demo-0042-right", (ordinary_axis_visit(),)),
    "the review": lambda act: act.add_review("demo-0042-right", ordinary_review()),
}


@pytest.mark.parametrize("what", _UNSEEN)
def test_a_draft_is_refused_after_a_change_that_its_author_has_not_seen(record: Record, what: str) -> None:
    key = open_case(record)
    with ordinary_act(record) as act:
        _UNSEEN[what](act)
    with pytest.raises(ChangedMeanwhileError), ordinary_act(record) as act:
        act.put_intent(key, ordinary_intent(), revision=0)


def test_what_changes_nothing_leaves_the_revision_alone(record: Record) -> None:
    key = open_case(record)
    other = open_case(record, ordinary_patient("demo-0043"))
    with ordinary_act(record) as act:
        act.put_patient(ordinary_patient())
        act.put_case(key, "demo-0042", Side.RIGHT, LISTED_ON)
        act.touch(other, revision=0)
    assert record.case(key).revision == 0


def test_an_act_that_fails_leaves_nothing_behind(record: Record) -> None:
    key = open_case(record)
    before = (record.case(key), record.trail())
    with pytest.raises(_SomethingElseError), ordinary_act(record) as act:
        _write_everything(act, key)
    assert (record.case(key), record.trail()) == before
    assert record.lenses() == ()
    assert record.lessons() == ()
    assert record.incision_lessons() == ()
    assert not record.has_source("c" * 64)


def test_the_record_can_be_written_after_an_act_that_failed(record: Record) -> None:
    with pytest.raises(_SomethingElseError), ordinary_act(record):
        raise _SomethingElseError
    key = open_case(record)
    assert record.case(key) == ordinary_case()
    assert [entry.number for entry in record.trail()] == [1]


def test_an_act_is_not_seen_before_it_is_done(record: Record) -> None:
    key = open_case(record)
    with ordinary_act(record) as act:
        act.put_intent(key, ordinary_intent(), revision=0)
        assert record.case(key) == ordinary_case()
        assert len(record.trail()) == 1
    assert record.case(key).intent == ordinary_intent()


def test_numbers_that_are_none_are_refused(record: Record) -> None:
    open_case(record)
    for value in (math.nan, math.inf, -math.inf):
        with pytest.raises(InputError, match="infinite or not a number"), ordinary_act(record) as act:
            act.put_eye("demo-0042", ordinary_eye(axial_length_mm=value))
    assert record.eye("demo-0042", Side.RIGHT) == ordinary_eye()


def test_a_meridian_that_is_no_number_is_refused(record: Record) -> None:
    key = open_case(record)
    with pytest.raises(InputError, match="infinite or not a number"), ordinary_act(record) as act:
        act.put_axis_visits(key, (ordinary_axis_visit(lens_meridian_deg=math.nan),))
    assert record.case(key).axis_visits == ()


@pytest.mark.parametrize("who", ["", "  ", "\n"])
def test_nobody_changes_the_record_without_a_name(record: Record, who: str) -> None:
    with (
        pytest.raises(InputError, match="Say who"),
        record.act(who=who, verb="imports", subject="eyes.csv", at=SIGNED_AT) as act,
    ):
        act.put_lens(ordinary_lens())
    assert record.lenses() == ()


def test_a_time_without_a_zone_is_refused(record: Record) -> None:
    at = SIGNED_AT.replace(tzinfo=None)
    with pytest.raises(InputError, match="time zone"), record.act(who="A", verb="b", subject="c", at=at):
        pass
