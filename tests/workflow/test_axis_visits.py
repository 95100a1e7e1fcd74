"""A look at the marks of a toric lens is kept, compared, and asked about when it looks like a slip."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, datetime

import pytest

from case.doubts import codes
from fakes.examples import ordinary_signed_plan
from fakes.memory_record import MemoryRecord
from workflow.clinic import KEY, OPERATED_AT, operate, operation_for, review, signed_clinic
from workflow.toric_clinic import CYLINDER_DPT, day_after, look, operated_toric_clinic, signed_toric_clinic
from zonule.case.finding import Finding, Severity
from zonule.case.refraction import Refraction
from zonule.errors import ChangedMeanwhileError, InconsistentRecordError, InputError, OutOfRangeError
from zonule.workflow.axis_findings import seen_findings, turn_costs_dpt
from zonule.workflow.forecast import plan_eye
from zonule.workflow.operate import record_operation
from zonule.workflow.toric import toric_answer


@pytest.fixture
def record() -> MemoryRecord:
    return operated_toric_clinic()


def doubts(record: MemoryRecord) -> list[Finding]:
    return list(seen_findings(record.case(KEY)))


def meridians(record: MemoryRecord) -> list[float]:
    return [one.lens_meridian_deg for one in record.case(KEY).axis_visits]


def test_looks_are_kept_earliest_first_whenever_they_were_written_down(record: MemoryRecord) -> None:
    for days, meridian_deg in ((6, 99.0), (1, 97.0), (20, 98.0)):
        look(record, days, meridian_deg)
    assert meridians(record) == [97.0, 99.0, 98.0]
    assert record.trail(KEY)[0].verb == "record axis visit"


def test_a_second_look_on_one_day_takes_the_place_of_the_first_and_the_trail_keeps_both(
    record: MemoryRecord,
) -> None:
    look(record, 1, 79.0)
    look(record, 6, 99.0)
    look(record, 1, 97.0)
    assert meridians(record) == [97.0, 99.0]
    (entry, _, first) = record.trail(KEY)[:3]
    assert (entry.verb, entry.detail) == ("correct axis visit", "2026-11-17: 97 degrees in place of 79")
    assert first.detail == "2026-11-17: 79 degrees"


def test_a_meridian_of_0_is_kept_as_180(record: MemoryRecord) -> None:
    assert look(record, 1, 0.0).lens_meridian_deg == 180.0
    assert meridians(record) == [180.0]


def test_a_look_on_the_day_of_the_operation_is_taken(record: MemoryRecord) -> None:
    assert look(record, 0, 95.0).notes == ""


@pytest.mark.parametrize("meridian_deg", [-1.0, 180.5, 270.0, math.nan, math.inf])
def test_a_meridian_outside_half_a_turn_is_refused(record: MemoryRecord, meridian_deg: float) -> None:
    with pytest.raises(OutOfRangeError, match="0 to 180"):
        look(record, 1, meridian_deg)
    assert meridians(record) == []


def test_a_day_before_the_operation_is_refused(record: MemoryRecord) -> None:
    with pytest.raises(InputError, match="before the operation"):
        look(record, -1, 95.0)


def test_a_day_in_the_future_is_refused(record: MemoryRecord) -> None:
    with pytest.raises(InputError, match="future"):
        look(record, 2, 95.0, now=datetime(2026, 11, 17, 23, 0, tzinfo=UTC))


def test_a_stale_page_keeps_nothing(record: MemoryRecord) -> None:
    with pytest.raises(ChangedMeanwhileError):
        look(record, 1, 95.0, revision=0)
    assert meridians(record) == []


def test_there_is_no_look_before_the_operation_is_on_record() -> None:
    with pytest.raises(InconsistentRecordError, match="Record the operation"):
        look(signed_toric_clinic(), 1, 95.0)


def test_a_lens_without_cylinder_has_no_marks() -> None:
    record = signed_clinic()
    operate(record)
    with pytest.raises(InconsistentRecordError, match="no cylinder"):
        look(record, 1, 95.0)


def test_an_operation_is_not_moved_behind_a_look_that_is_on_record(record: MemoryRecord) -> None:
    look(record, 0, 95.0)
    case = record.case(KEY)
    later = operation_for(case, operated_on=day_after(1), lens_cylinder_dpt=CYLINDER_DPT)
    with pytest.raises(InputError, match="after an axis visit"):
        record_operation(record, KEY, later, revision=case.revision, who="x", now=OPERATED_AT.replace(day=20))


@pytest.mark.parametrize("meridian_deg", [90.0, 95.0, 100.0])
def test_a_lens_on_its_plan_raises_nothing(record: MemoryRecord, meridian_deg: float) -> None:
    look(record, 1, meridian_deg)
    assert doubts(record) == []


def test_nothing_is_said_before_anybody_looked(record: MemoryRecord) -> None:
    assert doubts(record) == []


@pytest.mark.parametrize(
    ("meridian_deg", "severity", "words"),
    [
        (101.0, Severity.NOTE, "6 degrees counter-clockwise of the plan"),
        (105.0, Severity.NOTE, "10 degrees counter-clockwise of the plan"),
        (106.0, Severity.WARNING, "11 degrees counter-clockwise of the plan"),
        (77.0, Severity.WARNING, "18 degrees clockwise of the plan"),
    ],
)
def test_a_lens_off_its_plan_is_told_and_loudly_beyond_10_degrees(
    record: MemoryRecord, meridian_deg: float, severity: Severity, words: str
) -> None:
    look(record, 1, meridian_deg)
    (found,) = doubts(record)
    assert (found.code, found.severity) == ("lens-off-plan", severity)
    assert words in found.sentence


def test_the_latest_look_counts(record: MemoryRecord) -> None:
    look(record, 1, 115.0)
    look(record, 6, 96.0)
    assert doubts(record) == []


@pytest.mark.parametrize(
    ("left_deg", "words"),
    [
        (
            95.0,
            "At the end of the operation they lay at 95\u00b0: it has turned by 20 degrees counter-clockwise",
        ),
        (113.0, "it lies about where it was left"),
    ],
)
def test_a_lens_that_turned_is_told_from_one_that_was_left_there(left_deg: float, words: str) -> None:
    record = operated_toric_clinic(left_deg)
    look(record, 1, 115.0)
    assert words in doubts(record)[0].sentence


def test_without_the_meridian_at_the_end_nothing_is_said_of_turning() -> None:
    record = operated_toric_clinic(None)
    look(record, 1, 115.0)
    assert "end of the operation" not in doubts(record)[0].sentence


@pytest.mark.parametrize(
    ("meridian_deg", "code", "words"),
    [
        (5.0, "lens-seems-flipped", "90 degrees off"),
        (1.0, "lens-seems-flipped", "90 degrees off"),
    ],
)
def test_a_look_that_is_more_likely_a_slip_is_asked_about(
    record: MemoryRecord, meridian_deg: float, code: str, words: str
) -> None:
    look(record, 1, meridian_deg)
    (found,) = doubts(record)
    assert (found.code, found.severity) == (code, Severity.WARNING)
    assert words in found.sentence
    assert "A slip of reading or of the chart is more often the cause" in found.sentence


def test_a_look_at_the_mirror_of_the_plan_is_asked_about() -> None:
    record = operated_toric_clinic(120.0, planned_deg=120.0)
    look(record, 1, 60.0)
    (found,) = doubts(record)
    assert (found.code, found.severity) == ("lens-seems-mirrored", Severity.WARNING)
    assert "180 minus it" in found.sentence


def test_a_mirror_that_a_lens_can_reach_by_turning_is_told_as_a_turn_with_the_question(
    record: MemoryRecord,
) -> None:
    look(record, 1, 84.0)
    (found,) = doubts(record)
    assert found.code == "lens-off-plan"
    assert "11 degrees clockwise of the plan" in found.sentence
    assert "also about 180 minus the planned meridian" in found.sentence
    assert "more often the cause" not in found.sentence


def test_the_cost_is_twice_the_lens_at_the_cornea_times_the_sine_of_the_turn(record: MemoryRecord) -> None:
    case = record.case(KEY)
    assert case.signed is not None
    assert case.operation is not None
    plan = plan_eye(case.signed.request, case.signed.signed_on)
    option = toric_answer(plan, case.signed.intent.lens_power_dpt).toric
    assert option is not None
    chosen = option.option(CYLINDER_DPT)
    assert chosen is not None
    worth_dpt = chosen.cylinder_at_cornea_dpt
    for turn_deg in (-12.0, 6.0, 30.0, 90.0):
        costs = turn_costs_dpt(case.signed, case.operation, 95.0, 95.0 + turn_deg)
        assert costs == pytest.approx(2.0 * worth_dpt * math.sin(math.radians(abs(turn_deg))), abs=1e-9)
    look(record, 1, 125.0)
    assert f"adds a cylinder of {worth_dpt:.2f} D" in doubts(record)[0].sentence  # 2 sin 30 degrees is 1


def test_nothing_is_said_of_the_cost_with_another_lens_than_planned() -> None:
    record = operated_toric_clinic(lens_model="Heath Two", changed_from_plan="Out of stock.")
    look(record, 1, 115.0)
    (found,) = doubts(record)
    assert "adds a cylinder" not in found.sentence
    assert "20 degrees counter-clockwise of the plan" in found.sentence


def test_a_plan_signed_since_is_not_what_the_lens_is_compared_with(record: MemoryRecord) -> None:
    look(record, 1, 115.0)
    with record.act(who="x", verb="sign plan", subject=KEY, at=OPERATED_AT) as act:
        act.add_signed_plan(KEY, ordinary_signed_plan())
    assert codes(doubts(record)) == {"lens-meridian-not-planned"}


def test_the_marks_read_with_the_refraction_are_a_look_too(record: MemoryRecord) -> None:
    look(record, 1, 96.0)
    seen = replace(review(record, Refraction(0.0, lane_m=6.0)), lens_meridian_deg=109.0)
    with record.act(who="x", verb="record review", subject=KEY, at=OPERATED_AT) as act:
        act.add_review(KEY, seen)
    (found,) = doubts(record)
    assert (found.code, found.where) == ("lens-off-plan", "review.lens_meridian_deg")
