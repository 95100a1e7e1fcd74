"""The follow-up list, read from the record."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from fakes.examples import SURGEON
from workflow.clinic import KEY, NOW
from workflow.toric_clinic import day_after, look, operated_toric_clinic, signed_toric_clinic
from zonule.case.case import case_key
from zonule.case.follow_up import Need
from zonule.case.operation import Operation
from zonule.case.patient import Side
from zonule.workflow.follow_up import follow_up_list


def test_a_toric_eye_is_on_the_list_until_somebody_has_looked_at_it() -> None:
    record = operated_toric_clinic()
    (found,) = follow_up_list(record, day_after(2))
    assert (found.case, found.need) == (record.case(KEY), Need.LOOK)
    look(record, 2, 97.0)
    assert follow_up_list(record, day_after(2)) == ()


def test_an_eye_not_yet_operated_is_not_on_the_list() -> None:
    assert follow_up_list(signed_toric_clinic(), date(2026, 11, 20)) == ()


def test_the_eye_whose_window_closes_first_stands_first() -> None:
    record = operated_toric_clinic()
    case = record.case(KEY)
    other = case_key(case.patient.key, Side.LEFT)
    assert case.operation is not None
    assert case.signed is not None
    with record.act(who=SURGEON, verb="fill", subject=other, at=NOW) as act:
        act.put_case(other, case.patient.key, Side.LEFT, day_after(-3))
        act.add_signed_plan(other, case.signed)
        act.add_operation(other, _moved(case.operation, -3))
    assert [one.case.key for one in follow_up_list(record, day_after(5))] == [other, KEY]
    assert [one.case.key for one in follow_up_list(record, day_after(20))] == [KEY, other]


def _moved(operation: Operation, days: int) -> Operation:
    return replace(operation, operated_on=day_after(days))
