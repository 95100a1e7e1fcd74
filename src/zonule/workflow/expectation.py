"""What the lens that went in should have given, and how far the eye is from it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from zonule.case.operation import Operation
from zonule.case.plan import SignedPlan
from zonule.case.review import Review
from zonule.workflow.forecast import plan_eye
from zonule.workflow.look_up import unoffset_predictions_dpt


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
    middle = again.expected_of(power)
    if middle is None:
        return None
    return Expected(middle.refraction_dpt, unoffset_predictions_dpt(again, power))


def with_errors(review: Review, signed: SignedPlan, operation: Operation) -> Review:
    """A review with its prediction errors, achieved minus predicted, for the operation as it is on record."""
    expected = expected_refraction(signed, operation)
    achieved = review.refraction.reported_equivalent_dpt
    by_method = {} if expected is None else expected.by_method_dpt
    return replace(
        review,
        days_after=(review.refracted_on - operation.operated_on).days,
        error_dpt=None if expected is None else achieved - expected.refraction_dpt,
        method_errors_dpt={method: achieved - predicted for method, predicted in by_method.items()},
    )
