"""Review: what the eye got, and how far that is from what was promised."""

from __future__ import annotations

from datetime import date, datetime

from zonule.case.axis_looks import kept_meridian_deg
from zonule.case.biometry import Keratometry
from zonule.case.case import Case
from zonule.case.cornea_checks import cornea_findings
from zonule.case.finding import Finding, Severity, note, warning
from zonule.case.operation import Operation
from zonule.case.refraction import HALF_TURN_DEG, Refraction, refuse_impossible_refraction
from zonule.case.review import STABLE_AFTER_DAYS, Review
from zonule.errors import InconsistentRecordError, InputError
from zonule.workflow.expectation import Expected, expected_refraction, with_errors
from zonule.workflow.ports import Record

__all__ = ["Expected", "expected_refraction", "record_review", "review_findings"]

SURPRISE_DPT = 1.0
"""An error beyond which the eye is looked at again (uk benchmark: 85 % lie within it; gale-2009)."""

ACUITIES_LOGMAR = (-0.4, 3.5)
"""From better than anybody sees to no light; our choice, no source."""


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
    lens_meridian_deg: float | None = None,
    keratometry: Keratometry | None = None,
) -> Review:
    """Add a refraction after the operation, with the prediction errors it reveals."""
    case = record.case(key)
    if case.operation is None or case.signed is None:
        raise InconsistentRecordError("Record the operation before the refraction after it.")
    _refuse_impossible_day(refracted_on, case.operation, now.date())
    refuse_impossible_refraction(refraction)
    _refuse_impossible_acuity(acuity_logmar)
    _refuse_impossible_marks(lens_meridian_deg)
    _refuse_impossible_cornea(keratometry)
    meridian_deg = None if lens_meridian_deg is None else kept_meridian_deg(lens_meridian_deg)
    seen = Review(refracted_on, refraction, 0, None, {}, acuity_logmar, notes, meridian_deg, keratometry)
    review = with_errors(seen, case.signed, case.operation)
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
                "lane-length",
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
                f"The eye ended {abs(review.error_dpt):.2f} D more "
                f"{'long' if review.error_dpt > 0 else 'short'}-sighted than predicted. Check the lens "
                "label, the side and the biometry, refract again, and find the cause before the second eye "
                "is planned.",
                "review.error_dpt",
                "gale-2009",
            )
        )
    return found


def _refuse_impossible_day(refracted_on: date, operation: Operation, today: date) -> None:
    if refracted_on > today:
        raise InputError("The day of refraction lies in the future.")
    if refracted_on < operation.operated_on:
        raise InputError("The day of refraction lies before the operation.")


def _refuse_impossible_marks(lens_meridian_deg: float | None) -> None:
    if lens_meridian_deg is not None and not 0.0 <= lens_meridian_deg <= HALF_TURN_DEG:
        raise InputError("The marks of a lens lie at 0 to 180 degrees.")


def _refuse_impossible_cornea(keratometry: Keratometry | None) -> None:
    """Raise with the first reason why this cannot be a cornea."""
    if keratometry is None:
        return
    for finding in cornea_findings(keratometry, ""):
        if finding.severity is Severity.BLOCKING:
            raise InputError(f"The cornea after the operation: {finding.sentence}")
    meridian_deg = keratometry.steep_meridian_deg
    if meridian_deg is None or not 0.0 <= meridian_deg <= HALF_TURN_DEG:
        raise InputError("The steep meridian of the cornea lies at 0 to 180 degrees; enter it.")


def _refuse_impossible_acuity(acuity_logmar: float | None) -> None:
    low, high = ACUITIES_LOGMAR
    if acuity_logmar is not None and not low <= acuity_logmar <= high:
        raise InputError(
            f"An acuity of {acuity_logmar:g} lies outside {low:g} to {high:g} logMAR. 0 is full acuity, and "
            "1 is a tenth of it."
        )
