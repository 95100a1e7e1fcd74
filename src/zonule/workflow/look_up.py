"""What a plan expects of the lens powers that matter."""

from __future__ import annotations

from statistics import median

from zonule.case.plan import Plan, Prediction, prediction_of

SHOWN_EACH_SIDE = 4
"""Powers shown on either side of the chosen one; the rest are in the data."""


def predictions_near(plan: Plan, power_dpt: float | None) -> tuple[Prediction, ...]:
    """What to expect of the powers around one, or around the power that the fit methods need for the aim."""
    fit = [method for method in plan.methods if method.fit]
    if not fit:
        return ()
    made = [one.lens_power_dpt for one in fit[0].predictions]
    middle = median(method.power_for_target_dpt for method in fit) if power_dpt is None else power_dpt
    index = min(range(len(made)), key=lambda place: abs(made[place] - middle))
    near = made[max(0, index - SHOWN_EACH_SIDE) : index + SHOWN_EACH_SIDE + 1]
    found = (plan.expected_of(power) for power in near)
    return tuple(one for one in found if one is not None)


def unoffset_predictions_dpt(plan: Plan, power_dpt: float) -> dict[str, float]:
    """What each fit method predicts for one power before any personal offset: what lessons are drawn from."""
    return {
        method.method: prediction.refraction_dpt - method.offset_dpt - method.second_eye_dpt
        for method in plan.methods
        if method.fit and (prediction := prediction_of(method.predictions, power_dpt)) is not None
    }
