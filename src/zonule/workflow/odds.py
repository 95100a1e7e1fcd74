"""The methods that count, taken together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from zonule.case.plan import Odds, Prediction
from zonule.case.second_eye import SecondEye
from zonule.science.uncertainty.propagation import DRAWS
from zonule.science.uncertainty.spread import ErrorLaw, error_law, fraction_within
from zonule.workflow.methods import Evaluation, Question, predictions

NEAR_EQUAL = 0.001
"""Chances that differ by no more are the same to a surgeon."""


@dataclass(frozen=True, slots=True)
class Together:
    """The methods that count, as one: what they expect of each power, how it scatters, and the odds of it."""

    refractions_dpt: NDArray[np.float64]
    law: ErrorLaw
    odds: Odds
    best: int
    """Which of the powers made has the best odds, counted from 0."""


def together(
    counting: Sequence[Evaluation], question: Question, second: SecondEye | None = None
) -> Together | None:
    """The middle of the methods that count, with the mean of their variances; None without any."""
    if not counting:
        return None
    target = question.target_dpt
    shifts = [0.0 if second is None else second.shift_of(one.formula.key) for one in counting]
    refractions = [one.refractions_dpt + shift for one, shift in zip(counting, shifts, strict=True)]
    middle = np.median(refractions, axis=0)
    law = _mean_law(counting, 1.0 if second is None else second.variance_left)
    made = predictions(question.lens.powers.powers_dpt, middle, law, target, question.feared)
    best = _best(made)
    index = made.index(best)
    measured = float(np.mean([one.measurement_variances_dpt2[index] for one in counting]))
    error = float(np.mean([one.variance_errors_dpt2[index] for one in counting]))
    shifted = replace(law, measurement_variance_dpt2=measured + np.array([-error, error]) / 2.0)
    low, high = fraction_within(0.5, target, middle[index], shifted)
    odds = Odds(
        methods=tuple(one.formula.key for one in counting),
        predictions=made,
        best_power_dpt=best.lens_power_dpt,
        draws=DRAWS,
        standard_error=float(abs(high - low)),
        measurement_sd_dpt=float(np.sqrt(measured)),
    )
    return Together(middle, law, odds, index)


def _mean_law(counting: Sequence[Evaluation], residual_left: float) -> ErrorLaw:
    """The law whose variances, over many eyes, of the average eye and of this one, are the methods' means."""
    law = error_law(
        float(np.sqrt(np.mean([one.law_scale_dpt**2 for one in counting]))),
        float(np.mean([one.average_eye_variance_dpt2 for one in counting])),
        np.mean([one.measurement_variances_dpt2 for one in counting], axis=0),
    )
    return replace(law, residual_variance_dpt2=law.residual_variance_dpt2 * residual_left)


def _best(made: Sequence[Prediction]) -> Prediction:
    """The power most often within half a dioptre; of near equals, the one less often on the feared side."""
    spreads = [(one.spread, one) for one in made if one.spread is not None]
    most = max(spread.within_0_50 for spread, _ in spreads)
    near = [(spread.beyond_feared, one) for spread, one in spreads if spread.within_0_50 >= most - NEAR_EQUAL]
    return min(near, key=lambda pair: pair[0])[1]
