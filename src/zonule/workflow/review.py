"""Review: what the eye got, and how far that is from what was promised."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from zonule.case.case import Case
from zonule.case.finding import Finding, note, warning
from zonule.case.operation import Operation
from zonule.case.plan import SignedPlan
from zonule.case.refraction import Refraction
from zonule.case.review import STABLE_AFTER_DAYS, Review
from zonule.errors import InconsistentRecordError, InputError
from zonule.workflow.forecast import plan_eye, prediction_at
from zonule.workflow.ports import Record

SURPRISE_DPT = 1.0
"""An error beyond which the eye is looked at again (uk benchmark: 85 % lie within it; gale-2009)."""

MAX_SPHERE_DPT = 20.0
MAX_CYLINDER_DPT = 10.0


@dataclass(frozen=True, slots=True)
class Expected:
    """What was predicted for the lens that went in."""

    refraction_dpt: float
    """The middle of the methods that counted, personal offsets included."""
    by_method_dpt: dict[str, float]
    """Each method without any personal offset."""


def expected_refraction(signed: SignedPlan, operation: Operation) -> Expected | None:
    """What the signed plan predicts for the power that was implanted; None for another lens model."""
    lens = signed.request.lens
    power = operation.lens_power_dpt
    if lens is None or power is None or operation.lens_model != lens.name:
        return None
    if power == signed.intent.lens_power_dpt:
        return Expected(signed.predicted_refraction_dpt, dict(signed.method_predictions_dpt))
    again = plan_eye(signed.request, signed.signed_on)
    middle = prediction_at(again, power)
    if middle is None:
        return None
    by_method = {
        method.method: at.refraction_dpt - method.offset_dpt
        for method in again.methods
        for at in method.predictions
        if at.lens_power_dpt == power
    }
    return Expected(middle.refraction_dpt, by_method)


def record_review(
    record: Record,
    key: str,
    *,
    refraction: Refraction,
    refracted_on: date,
    acuity_logmar: float | None,
    notes: str,
    revision: int,
    who: str,
    now: datetime,
) -> Review:
    """Add a refraction after the operation, with the prediction errors it reveals."""
    case = record.case(key)
    if case.operation is None or case.signed is None:
        raise InconsistentRecordError("Record the operation before the refraction after it.")
    _refuse_nonsense(refraction, refracted_on, case.operation, now.date())
    expected = expected_refraction(case.signed, case.operation)
    achieved = refraction.reported_equivalent_dpt
    by_method = {} if expected is None else expected.by_method_dpt
    review = Review(
        refracted_on=refracted_on,
        refraction=refraction,
        days_after=(refracted_on - case.operation.operated_on).days,
        error_dpt=None if expected is None else achieved - expected.refraction_dpt,
        method_errors_dpt={method: achieved - predicted for method, predicted in by_method.items()},
        acuity_logmar=acuity_logmar,
        notes=notes,
    )
    verb = "record review" if case.review is None else "correct review"
    with record.act(who=who, verb=verb, subject=key, at=now) as act:
        act.touch(key, revision)
        act.add_review(key, review)
    return review


def review_findings(case: Case) -> list[Finding]:
    """What this result means for the patient and for learning."""
    review = case.review
    if review is None:
        return []
    found: list[Finding] = []
    if not review.is_stable:
        found.append(
            note(
                "too-early-to-learn",
                f"Refracted {review.days_after} days after the operation; eyes are learned from after "
                f"{STABLE_AFTER_DAYS} days. Refract again then.",
                "review.refracted_on",
            )
        )
    if review.refraction.lane_m is None:
        found.append(
            note(
                "lane-missing",
                "The length of the refraction lane is not recorded; 6 m is assumed, and a 4 m lane would "
                "shift the result by 0.08 D.",
                "review.lane_m",
                "formulas-2.3",
            )
        )
    if review.error_dpt is None:
        found.append(
            note("nothing-predicted", "Nothing was predicted for the lens that went in.", "review.error_dpt")
        )
    elif abs(review.error_dpt) > SURPRISE_DPT:
        found.append(
            warning(
                "refractive-surprise",
                f"The eye ended {review.error_dpt:+.2f} D from the prediction, more than {SURPRISE_DPT:g} "
                "D. Check the lens label, the side and the biometry, refract again, and look for an early "
                "cause before the second eye is planned.",
                "review.error_dpt",
                "gale-2009",
            )
        )
    return found


def _refuse_nonsense(refraction: Refraction, refracted_on: date, operation: Operation, today: date) -> None:
    if refracted_on > today:
        raise InputError("The day of refraction lies in the future.")
    if refracted_on < operation.operated_on:
        raise InputError("The day of refraction lies before the operation.")
    if abs(refraction.sphere_dpt) > MAX_SPHERE_DPT or abs(refraction.cylinder_dpt) > MAX_CYLINDER_DPT:
        raise InputError(
            f"A sphere beyond {MAX_SPHERE_DPT:g} D or a cylinder beyond {MAX_CYLINDER_DPT:g} D cannot be. "
            "Check signs and decimal points."
        )
    if refraction.axis_deg is not None and not 0 < refraction.axis_deg <= 180:  # noqa: PLR2004 - half a turn
        raise InputError("An axis lies above 0 and up to 180 degrees.")
