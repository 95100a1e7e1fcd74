"""Whether turning the toric lens of a case would help, from what is on record."""

from __future__ import annotations

from zonule.case.axis_looks import Occasion, looks_of
from zonule.case.case import Case
from zonule.case.rotation import PlannedToric, RotationReview, ToricOutcome
from zonule.case.toric import ToricPlan
from zonule.science.astigmatism.vectors import Astigmatism
from zonule.workflow.cornea_models import corneal_reading
from zonule.workflow.forecast import plan_eye, with_chosen_power
from zonule.workflow.rotation import rotation_review


def marks_seen_deg(case: Case) -> float | None:
    """Where the marks were last seen since the operation."""
    since = [look for look in looks_of(case) if look.occasion is not Occasion.OPERATION]
    return since[-1].lens_meridian_deg if since else None


def turning(case: Case) -> RotationReview | str:
    """What turning the lens would bring, or what is missing to say so.

    Raises nothing: a case that cannot be judged gives a sentence.
    """
    operation, review, signed = case.operation, case.review, case.signed
    if operation is None or signed is None or not operation.lens_cylinder_dpt:
        return "No lens with cylinder is on record for this eye."
    if review is None:
        return "The refraction is missing."
    meridian_deg = marks_seen_deg(case)
    if meridian_deg is None:
        return "Nobody has recorded where the marks of the lens lie. Look, and record it."
    plan = with_chosen_power(plan_eye(signed.request, signed.signed_on), operation.lens_power_dpt)
    option = None if plan.toric is None else plan.toric.option(operation.lens_cylinder_dpt)
    if plan.toric is None or option is None:
        return (
            "The signed plan says nothing of this cylinder, so what it is worth at the cornea is not known."
        )
    outcome = ToricOutcome(
        refraction=review.refraction,
        lens_at_cornea_dpt=option.cylinder_at_cornea_dpt,
        lens_meridian_deg=meridian_deg,
        refracted_on=review.refracted_on,
        operated_on=operation.operated_on,
        target_refraction_dpt=signed.request.target_refraction_dpt,
        planned=_planned(plan.toric, signed.intent.lens_meridian_deg),
        corneal_change=_corneal_change(case),
    )
    return rotation_review(outcome)


def _planned(toric: ToricPlan, signed_meridian_deg: float | None) -> PlannedToric:
    meridian_deg = toric.meridian_deg if signed_meridian_deg is None else signed_meridian_deg
    induced = None if toric.incision is None else toric.incision.induced
    return PlannedToric(toric.corneal, meridian_deg, induced)


def _corneal_change(case: Case) -> Astigmatism | None:
    """Front readings after minus before; None without both."""
    after = None if case.review is None else case.review.keratometry
    if after is None:
        return None
    was, is_now = corneal_reading(case.eye.biometry.keratometry), corneal_reading(after)
    return None if was is None or is_now is None else is_now.minus(was)
