"""A record with a toric lens signed for 95 degrees, and what a surgeon does with it afterwards."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from functools import cache
from typing import Any

from fakes.examples import SURGEON
from fakes.memory_record import MemoryRecord
from workflow.clinic import KEY, NOW, OPERATED_ON, operate, sign
from workflow.test_signing_toric import toric_clinic
from zonule.case.axis_visit import AxisVisit
from zonule.case.plan import SignedPlan
from zonule.workflow.axis_visits import record_axis_visit

PLANNED_DEG = 95.0
CYLINDER_DPT = 1.5


@cache
def _signed_once() -> SignedPlan:
    return sign(toric_clinic())


def signed_toric_clinic(planned_deg: float = PLANNED_DEG) -> MemoryRecord:
    """The record with that plan signed in it, for another meridian if that is asked for."""
    record = toric_clinic()
    once = _signed_once()
    signed = replace(once, intent=replace(once.intent, lens_meridian_deg=planned_deg))
    with record.act(who=SURGEON, verb="sign plan", subject=KEY, at=NOW) as act:
        act.put_intent(KEY, signed.intent, record.case(KEY).revision)
        act.add_signed_plan(KEY, signed)
    return record


def operated_toric_clinic(
    lens_meridian_deg: float | None = PLANNED_DEG, planned_deg: float = PLANNED_DEG, **changes: Any
) -> MemoryRecord:
    """The same after the operation."""
    record = signed_toric_clinic(planned_deg)
    operate(record, lens_cylinder_dpt=CYLINDER_DPT, lens_meridian_deg=lens_meridian_deg, **changes)
    return record


def day_after(days: int) -> date:
    """So many days after the operation."""
    return OPERATED_ON + timedelta(days=days)


def look(record: MemoryRecord, days: int, lens_meridian_deg: float, **changes: Any) -> AxisVisit:
    """Record a look at the marks, on the day itself."""
    how: dict[str, Any] = {
        "revision": record.case(KEY).revision,
        "who": SURGEON,
        "now": datetime(2026, 12, 31, 12, 0, tzinfo=UTC),
        "notes": "",
    } | changes
    visit = AxisVisit(day_after(days), lens_meridian_deg, how.pop("notes"))
    return record_axis_visit(record, KEY, visit, **how)
