"""Operate: record what was done, against the plan that was signed."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from zonule.case.axis_looks import (
    is_toric,
    kept_meridian_deg,
    meridian_signed_deg,
    slip_of,
)
from zonule.case.case import Case
from zonule.case.finding import Finding, warning
from zonule.case.limits import refuse_impossible
from zonule.case.operation import Complication, Fixation, Operation
from zonule.case.plan import SignedPlan
from zonule.errors import InconsistentRecordError, InputError
from zonule.workflow.axis_findings import SLIP_WORDS, placed_findings
from zonule.workflow.expectation import with_errors
from zonule.workflow.ports import Record

LENS_POWERS_DPT = (-20.0, 60.0)


def record_operation(
    record: Record, key: str, operation: Operation, *, revision: int, who: str, now: datetime
) -> None:
    """Add the operation record; a lens other than the one signed for needs its reason.

    So does a lens whose marks lie where a known slip would put them. A meridian of 0 is kept as 180.
    Correcting one that has been reviewed computes the errors of the review anew.
    """
    case = record.case(key)
    signed = _plan_carried_out(case, operation)
    _refuse_nonsense(case, operation, signed, now)
    if operation.lens_meridian_deg is not None:
        operation = replace(operation, lens_meridian_deg=kept_meridian_deg(operation.lens_meridian_deg))
    verb = "record operation" if case.operation is None else "correct operation"
    with record.act(who=who, verb=verb, subject=key, at=now, detail=operation.plan_digest) as act:
        act.touch(key, revision)
        act.add_operation(key, operation)
        if case.review is not None:
            act.add_review(key, with_errors(case.review, signed, operation))


def differs_from_plan(case: Case, operation: Operation) -> bool:
    """Whether another lens, power or cylinder went in than was signed for."""
    signed = case.signed
    if signed is None or signed.request.lens is None:
        return True
    return (
        operation.lens_model != signed.request.lens.name
        or operation.lens_power_dpt != signed.intent.lens_power_dpt
        or (operation.lens_cylinder_dpt or 0.0) != (signed.intent.lens_cylinder_dpt or 0.0)
    )


def operation_findings(operation: Operation, signed: SignedPlan) -> list[Finding]:
    """What about this operation will matter for the refraction and for learning."""
    found: list[Finding] = []
    if operation.fixation is not Fixation.BAG:
        found.append(
            warning(
                "not-in-the-bag",
                "The lens is not in the capsular bag. The prediction assumed that it would be; this eye is "
                "not learned from.",
                "operation.fixation",
            )
        )
    if operation.complication is not Complication.NONE:
        found.append(
            warning(
                "complication",
                "There was a complication; this eye is not learned from.",
                "operation.complication",
            )
        )
    return [*found, *placed_findings(operation, signed)]


def _plan_carried_out(case: Case, operation: Operation) -> SignedPlan:
    if case.signed is None:
        raise InconsistentRecordError("There is no signed plan. Sign one before you record the operation.")
    if operation.plan_digest != case.signed.digest:
        raise InconsistentRecordError("The plan was signed anew meanwhile. Open the page again.")
    return case.signed


def _refuse_nonsense(case: Case, operation: Operation, signed: SignedPlan, now: datetime) -> None:
    if operation.operated_on > now.date():
        raise InputError("The day of operation lies in the future.")
    if operation.operated_on < signed.signed_on:
        raise InputError("The day of operation lies before the day the plan was signed.")
    if case.review is not None and operation.operated_on > case.review.refracted_on:
        raise InputError("The day of operation lies after the refraction that is on record.")
    if case.axis_visits and operation.operated_on > case.axis_visits[0].seen_on:
        raise InputError("The day of operation lies after an axis visit that is on record.")
    if not operation.surgeon.strip():
        raise InputError("Name the surgeon: lessons are learned for each surgeon apart.")
    _refuse_impossible_lens(operation)
    refuse_impossible(
        operation,
        *("incision_meridian_deg", "incision_width_mm", "capsulorhexis_mm", "pupil_smallest_mm"),
        *("lens_cylinder_dpt", "lens_meridian_deg"),
    )
    if differs_from_plan(case, operation) and not operation.changed_from_plan.strip():
        raise InputError("This is not the lens that was signed for. Write why it was changed.")
    _refuse_slip(operation, signed)


def _refuse_impossible_lens(operation: Operation) -> None:
    model, power_dpt = operation.lens_model, operation.lens_power_dpt
    if operation.fixation is Fixation.NO_LENS:
        if model is not None or power_dpt is not None:
            raise InputError("No lens was implanted, so leave its model and power empty.")
        if is_toric(operation) or operation.lens_meridian_deg is not None:
            raise InputError("No lens was implanted, so leave its cylinder and the place of its marks empty.")
    elif not model or power_dpt is None:
        raise InputError("Name the lens model and power that were implanted, or choose that no lens was.")
    elif not LENS_POWERS_DPT[0] <= power_dpt <= LENS_POWERS_DPT[1]:
        raise InputError(f"{power_dpt:g} D is not a power in which lenses are made. Read the box again.")
    elif operation.lens_meridian_deg is not None and not is_toric(operation):
        raise InputError(
            "A lens without cylinder has no marks. Enter its cylinder, or leave the marks empty."
        )


def _refuse_slip(operation: Operation, signed: SignedPlan) -> None:
    """Refuse marks that lie where a known slip would put them, unless somebody wrote why."""
    placed_deg = operation.lens_meridian_deg
    planned_deg = meridian_signed_deg(signed)
    if placed_deg is None or planned_deg is None or operation.changed_from_plan.strip():
        return
    slip = slip_of(placed_deg, planned_deg)
    if slip is not None:
        raise InputError(
            f"The marks were entered at {placed_deg:g}\u00b0; the plan says {planned_deg:g}\u00b0. "
            f"{SLIP_WORDS[slip]} Read the marks again; if the lens was meant to lie so, write why."
        )
