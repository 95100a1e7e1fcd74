"""Look at the marks of a toric lens after the operation, and keep where they lie."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from zonule.case.axis_looks import is_toric, kept_meridian_deg
from zonule.case.axis_visit import AxisVisit
from zonule.case.limits import refuse_impossible
from zonule.case.operation import Operation
from zonule.errors import InconsistentRecordError, InputError
from zonule.workflow.ports import Record


def record_axis_visit(
    record: Record, key: str, visit: AxisVisit, *, revision: int, who: str, now: datetime
) -> AxisVisit:
    """Add a look at the marks; a second one on a day takes the place of the first, which the trail keeps.

    The visit as it was kept: a meridian of 0 is 180.
    """
    case = record.case(key)
    _refuse_impossible(visit, case.operation, now)
    kept = replace(visit, lens_meridian_deg=kept_meridian_deg(visit.lens_meridian_deg))
    before = next((one for one in case.axis_visits if one.seen_on == kept.seen_on), None)
    others = [one for one in case.axis_visits if one is not before]
    visits = tuple(sorted((*others, kept), key=lambda one: one.seen_on))
    verb = "record axis visit" if before is None else "correct axis visit"
    with record.act(who=who, verb=verb, subject=key, at=now, detail=_detail(kept, before)) as act:
        act.touch(key, revision)
        act.put_axis_visits(key, visits)
    return kept


def _refuse_impossible(visit: AxisVisit, operation: Operation | None, now: datetime) -> None:
    if operation is None:
        raise InconsistentRecordError("Record the operation before a look at the marks of its lens.")
    if not is_toric(operation):
        raise InconsistentRecordError(
            "The lens on record has no cylinder, so it has no marks. If a toric lens went in, correct the "
            "record of the operation first."
        )
    if visit.seen_on > now.date():
        raise InputError("The day of the axis visit lies in the future.")
    if visit.seen_on < operation.operated_on:
        raise InputError("The day of the axis visit lies before the operation.")
    refuse_impossible(visit, "lens_meridian_deg")


def _detail(kept: AxisVisit, before: AxisVisit | None) -> str:
    seen = f"{kept.seen_on.isoformat()}: {kept.lens_meridian_deg:g} degrees"
    return seen if before is None else f"{seen} in place of {before.lens_meridian_deg:g}"
