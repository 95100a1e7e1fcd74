"""A record with a catalogue and a case in it, and the acts of a surgeon upon it, told shortly."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from functools import cache
from typing import Any

from fakes.examples import (
    LENS_NAME,
    SURGEON,
    ordinary_eye,
    ordinary_lens,
    ordinary_operation,
    ordinary_patient,
    ordinary_readiness,
)
from fakes.memory_record import MemoryRecord
from zonule.case.case import Case, case_key
from zonule.case.eye import Eye
from zonule.case.lens import LensModel, PowerRange
from zonule.case.operation import Operation
from zonule.case.patient import Side
from zonule.case.plan import Intent, Plan, PlanRequest, SignedPlan
from zonule.case.refraction import Refraction
from zonule.case.review import Review
from zonule.workflow.forecast import plan_eye
from zonule.workflow.operate import record_operation
from zonule.workflow.plan import request_for, sign_plan
from zonule.workflow.review import record_review

TODAY = date(2026, 11, 10)
NOW = datetime(2026, 11, 10, 9, 0, tzinfo=UTC)
OPERATED_ON = date(2026, 11, 16)
OPERATED_AT = datetime(2026, 11, 16, 12, 0, tzinfo=UTC)
REVIEWED_ON = date(2026, 12, 21)
REVIEWED_AT = datetime(2026, 12, 21, 12, 0, tzinfo=UTC)
KEY = case_key("demo-0042", Side.RIGHT)
FEW_POWERS = PowerRange(16.0, 24.0, 0.5)
INTENT = Intent(lens_model=LENS_NAME, target_refraction_dpt=0.0, surgeon=SURGEON)


def clean_eye(side: Side = Side.RIGHT, **changes: Any) -> Eye:
    """An ordinary eye of which every question has been answered."""
    return ordinary_eye(side, **{"readiness": ordinary_readiness()} | changes)


def clean_fellow(**changes: Any) -> Eye:
    """Its ordinary but not identical fellow."""
    return clean_eye(Side.LEFT, **{"axial_length_mm": 23.45, "flat_power_dpt": 43.1} | changes)


def clean_lens(**changes: Any) -> LensModel:
    """The ordinary lens in few powers, with the lane of its constants known."""
    few: dict[str, Any] = {"constants_lane_m": 6.0, "powers": FEW_POWERS}
    return ordinary_lens(**few | changes)


def clean_request(**changes: Any) -> PlanRequest:
    """A request that raises notes only."""
    request = PlanRequest(clean_eye(), clean_lens(), 0.0, clean_fellow(), surgeon=SURGEON)
    return replace(request, **changes)


def clinic(
    eye: Eye | None = None, fellow: Eye | None = None, lens: LensModel | None = None, intent: Intent = INTENT
) -> MemoryRecord:
    """A record with one case, `KEY`, that wants only a signature."""
    record = MemoryRecord()
    patient = ordinary_patient()
    with record.act(who=SURGEON, verb="fill", subject=KEY, at=NOW) as act:
        act.put_lens(lens or clean_lens())
        act.put_patient(patient)
        act.put_eye(patient.key, eye or clean_eye())
        act.put_eye(patient.key, fellow or clean_fellow())
        act.put_case(KEY, patient.key, Side.RIGHT, OPERATED_ON)
        act.put_intent(KEY, intent, 0)
    return record


def plan_of(record: MemoryRecord) -> Plan:
    """The plan of the case as it stands."""
    return plan_eye(request_for(record.case(KEY), record), TODAY)


def sign(record: MemoryRecord, **changes: Any) -> SignedPlan:
    """Sign the plan of the case for 20.5 D."""
    case = record.case(KEY)
    how: dict[str, Any] = {
        "power_dpt": 20.5,
        "reasons": "",
        "revision": case.revision,
        "who": SURGEON,
        "now": NOW,
    }
    if "asked" not in changes:
        how["asked"] = plan_of(record).asked
    return sign_plan(record, KEY, **how | changes)


@cache
def _signed_once() -> SignedPlan:
    return sign(clinic())


def signed_clinic() -> MemoryRecord:
    """The same record with a plan signed in it."""
    record = clinic()
    signed = _signed_once()
    with record.act(who=SURGEON, verb="sign plan", subject=KEY, at=NOW) as act:
        act.put_intent(KEY, signed.intent, record.case(KEY).revision)
        act.add_signed_plan(KEY, signed)
    return record


def operation_for(case: Case, **changes: Any) -> Operation:
    """The signed lens, implanted in the bag."""
    assert case.signed is not None
    done = {"lens_power_dpt": case.signed.intent.lens_power_dpt, "operated_on": OPERATED_ON}
    return ordinary_operation(case.signed.digest, **done | changes)


def operate(record: MemoryRecord, revision: int | None = None, **changes: Any) -> None:
    """Record the operation."""
    case = record.case(KEY)
    record_operation(
        record,
        KEY,
        operation_for(case, **changes),
        revision=case.revision if revision is None else revision,
        who=SURGEON,
        now=OPERATED_AT,
    )


def review(record: MemoryRecord, refraction: Refraction, **changes: Any) -> Review:
    """Record the refraction five weeks later."""
    how: dict[str, Any] = {
        "refracted_on": REVIEWED_ON,
        "acuity_logmar": 0.0,
        "notes": "",
        "revision": record.case(KEY).revision,
        "who": SURGEON,
        "now": REVIEWED_AT,
    }
    return record_review(record, KEY, refraction=refraction, **how | changes)
