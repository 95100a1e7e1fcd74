"""What a plan expects of one lens power."""

from __future__ import annotations

import numpy as np

from zonule.case.plan import Plan, Prediction

SHOWN_EACH_SIDE = 4
"""Powers shown on either side of the chosen one; the rest are in the data."""


def predictions_near(plan: Plan, power_dpt: float | None) -> tuple[Prediction, ...]:
    """What to expect of the powers around one, or around the power for the aim."""
    if not plan.methods:
        return ()
    made = [one.lens_power_dpt for one in plan.methods[0].predictions]
    middle = plan.methods[0].power_for_target_dpt if power_dpt is None else power_dpt
    index = min(range(len(made)), key=lambda place: abs(made[place] - middle))
    near = made[max(0, index - SHOWN_EACH_SIDE) : index + SHOWN_EACH_SIDE + 1]
    found = (prediction_at(plan, power) for power in near)
    return tuple(one for one in found if one is not None)


def prediction_at(plan: Plan, power_dpt: float) -> Prediction | None:
    """What to expect of one power: from the odds, or, where they are withheld, the middle of fit methods."""
    if plan.odds is not None:
        for prediction in plan.odds.predictions:
            if prediction.lens_power_dpt == power_dpt:
                return prediction
        return None
    found = [
        prediction.refraction_dpt
        for method in plan.methods
        if method.fit
        for prediction in method.predictions
        if prediction.lens_power_dpt == power_dpt
    ]
    return Prediction(power_dpt, float(np.median(found))) if found else None


def unoffset_predictions_dpt(plan: Plan, power_dpt: float) -> dict[str, float]:
    """What each fit method predicts for one power before any personal offset: what lessons are drawn from."""
    return {
        method.method: prediction.refraction_dpt - method.offset_dpt - method.second_eye_dpt
        for method in plan.methods
        if method.fit
        for prediction in method.predictions
        if prediction.lens_power_dpt == power_dpt
    }
