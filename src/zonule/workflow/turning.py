"""Whether turning the toric lens of a case would help, from what is on record."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from zonule.case.axis_looks import (
    AxisLook,
    Occasion,
    looks_of,
    planned_meridian_deg,
    turn_between_deg,
    turn_words,
)
from zonule.case.case import Case
from zonule.case.finding import Finding, gravest_first, note, warning
from zonule.case.limits import OWN_RANGE
from zonule.case.operation import Complication, Fixation, Operation
from zonule.case.review import Review
from zonule.case.rotation import Advice, Because, PlannedToric, RotationReview, ToricOutcome
from zonule.case.toric import ToricPlan
from zonule.workflow.forecast import plan_eye, with_chosen_power
from zonule.workflow.rotation import rotation_review

MOVED_DEG = 5.0
"""A later look this far from the one of the refraction means that the lens has turned since (our choice)."""


def marks_of_refraction(case: Case) -> AxisLook | None:
    """The look at the marks that belongs to the refraction: of the same visit, else the nearest in time.

    A refraction tells of the lens where it lay on that day; a look after it may be of a lens that has been
    turned since.
    """
    review = case.review
    since = [look for look in looks_of(case) if look.occasion is not Occasion.OPERATION]
    if review is None or not since:
        return None
    own = [look for look in since if look.occasion is Occasion.REFRACTION]
    return own[0] if own else min(since, key=lambda look: abs((look.seen_on - review.refracted_on).days))


def turning(case: Case) -> RotationReview | str:
    """What turning the lens would bring, or what is missing to say so.

    Raises nothing: a case that cannot be judged gives a sentence.
    """
    operation, review, signed = case.operation, case.review, case.signed
    if operation is None or signed is None or not operation.lens_cylinder_dpt:
        return "No lens with cylinder is on record for this eye."
    if review is None:
        return "The refraction is missing."
    marks = marks_of_refraction(case)
    if marks is None:
        return "Nobody has recorded where the marks of the lens lie. Look, and record it."
    if signed.request.lens is None or signed.request.lens.name != operation.lens_model:
        return (
            "Another lens went in than was planned, so what its cylinder is worth at the cornea is not known."
        )
    plan = with_chosen_power(plan_eye(signed.request, signed.signed_on), operation.lens_power_dpt)
    option = None if plan.toric is None else plan.toric.option(operation.lens_cylinder_dpt)
    if plan.toric is None or option is None:
        return (
            "The signed plan says nothing of this cylinder, so what it is worth at the cornea is not known."
        )
    outcome = ToricOutcome(
        refraction=review.refraction,
        lens_at_cornea_dpt=option.cylinder_at_cornea_dpt,
        lens_meridian_deg=marks.lens_meridian_deg,
        refracted_on=review.refracted_on,
        operated_on=operation.operated_on,
        target_refraction_dpt=signed.request.target_refraction_dpt,
        planned=_planned(plan.toric, planned_meridian_deg(case)),
        corneal_change=case.eye.biometry.keratometry.change_to(review.keratometry),
    )
    return _with_doubts(rotation_review(outcome), case, review, operation, marks)


def _with_doubts(
    found: RotationReview, case: Case, review: Review, operation: Operation, marks: AxisLook
) -> RotationReview:
    """The answer with what the record says against it; a lens that has moved since is not turned on it."""
    later = _turned_since(case, review, marks)
    if later is not None:
        found = replace(found, advice=Advice.WAIT, because=(Because.LENS_MOVED,))
    doubts = (*_of_the_marks(marks, later), *_of_the_eye(case, operation))
    return replace(found, findings=gravest_first((*doubts, *found.findings)))


def _turned_since(case: Case, review: Review, marks: AxisLook) -> AxisLook | None:
    """The last look, if it is later and found the marks elsewhere than the refraction did."""
    later = [one for one in looks_of(case) if one.seen_on > max(marks.seen_on, review.refracted_on)]
    if not later:
        return None
    turned_deg = turn_between_deg(marks.lens_meridian_deg, later[-1].lens_meridian_deg)
    return later[-1] if abs(turned_deg) > MOVED_DEG else None


def _of_the_marks(marks: AxisLook, later: AxisLook | None) -> Iterator[Finding]:
    """Whether refraction and marks tell of one lens in one place."""
    if marks.occasion is not Occasion.REFRACTION:
        yield note(
            "marks-of-another-day",
            "Where the marks lay when the eye was refracted is not recorded; the axis visit nearest to "
            f"it, of {marks.seen_on:%d %B %Y}, is taken.",
            "review.lens_meridian_deg",
            OWN_RANGE,
        )
    if later is not None:
        turned_deg = turn_between_deg(marks.lens_meridian_deg, later.lens_meridian_deg)
        yield warning(
            "lens-turned-since",
            f"On {later.seen_on:%d %B %Y} the marks lay at {later.lens_meridian_deg:g} degrees, "
            f"{turn_words(turned_deg)} of where they lay for this refraction. Refract again before anything "
            "is turned.",
            "review.refraction",
            OWN_RANGE,
        )


def _of_the_eye(case: Case, operation: Operation) -> Iterator[Finding]:
    if operation.fixation is not Fixation.BAG or operation.complication is not Complication.NONE:
        yield warning(
            "turning-outside-the-bag",
            "The lens is not in an undamaged bag, or there was a complication. Turning it may do harm, and "
            "what it is worth at the cornea was computed for the bag.",
            "operation.fixation",
        )
    after = None if case.review is None else case.review.keratometry
    if after is not None and case.eye.biometry.keratometry.change_to(after) is None:
        yield note(
            "corneas-not-compared",
            "The readings of the cornea before and after the operation cannot be compared: one is of the "
            "front and the other of the whole, or one lacks its meridian. What the incision did is not "
            "known.",
            "review.keratometry",
            OWN_RANGE,
        )


def _planned(toric: ToricPlan, meridian_deg: float | None) -> PlannedToric | None:
    """What was promised; None where the operation carried out another plan, or one without cylinder."""
    if meridian_deg is None:
        return None
    induced = None if toric.incision is None else toric.incision.induced
    return PlannedToric(toric.corneal, meridian_deg, induced)
