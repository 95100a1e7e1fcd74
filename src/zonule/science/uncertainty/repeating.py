"""What more readings of one measurement buy.

n more readings, averaged with the one there is, divide the variance of that measurement by n + 1, as far as
errors of single readings are independent: a fault of the device or of the eye's surface repeats itself and
is not averaged away.

Two different things are then said about the chance of landing near the aim. *If the new readings confirm the
old ones*, the same power is predicted the same, and its law is narrower. But readings may also move the
prediction, and how far is known beforehand: by the variance that goes. Averaged over what they may say, the
chance of one and the same power is what it was, because its chance already counted every error the readings
would have shown. Readings help only because *the power may be chosen anew*. That chance, averaged over what
they may say, is what repeating buys (derived here; the expected value of a sample in decision theory).
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from zonule.science.arrays import Numbers
from zonule.science.uncertainty.spread import ErrorLaw, fraction_within

_LIMIT_DPT = 0.5
_POSSIBLE_READINGS = 21


def variance_gone_dpt2(input_variance_dpt2: Numbers, more_readings: int) -> Numbers:
    """The variance of refraction that goes when one measurement is read again.

    Parameters
    ----------
    input_variance_dpt2
        What this measurement contributes to the variance of refraction now, square dioptres.
    more_readings
        How many readings are added to the one there is, 0 or more.

    Returns
    -------
    Numbers
        Square dioptres.

    Notes
    -----
    ``V n / (n + 1)``: the mean of ``n + 1`` independent readings has a variance of ``V / (n + 1)``.

    Examples
    --------
    >>> variance_gone_dpt2(0.04, 3)
    0.03
    """
    return input_variance_dpt2 * (more_readings / (more_readings + 1))


def _law_without(law: ErrorLaw, gone_dpt2: Numbers) -> ErrorLaw:
    """The law after some variance of measurement went; never more than there is."""
    left = np.maximum(np.asarray(law.measurement_variance_dpt2) - gone_dpt2, 0.0)
    return replace(law, measurement_variance_dpt2=left)


def fraction_within_if_confirmed(
    target_dpt: float, centre_dpt: Numbers, law: ErrorLaw, gone_dpt2: Numbers
) -> NDArray[np.float64]:
    """The fraction within half a dioptre if more readings confirm the ones there are.

    Parameters
    ----------
    target_dpt
        The refraction aimed at, dioptres.
    centre_dpt
        Predicted refraction, dioptres.
    law
        How refractions scatter about it now.
    gone_dpt2
        Variance that goes with the readings, square dioptres.

    Returns
    -------
    ndarray of float64
        Fraction, 0 to 1.

    Examples
    --------
    >>> from zonule.science.uncertainty.spread import ROUTINE_SCALE_DPT, error_law
    >>> by_contact = error_law(ROUTINE_SCALE_DPT, 0.0185, 0.434**2)
    >>> round(float(fraction_within_if_confirmed(0.0, 0.0, by_contact, 0.12)), 2)
    0.67
    """
    return fraction_within(_LIMIT_DPT, target_dpt, centre_dpt, _law_without(law, gone_dpt2))


def fraction_within_when_chosen_anew(
    target_dpt: float,
    centres_dpt: NDArray[np.float64],
    chosen: int,
    law: ErrorLaw,
    gone_dpt2: float,
) -> float:
    """The fraction within half a dioptre to expect of reading again and then choosing the power.

    Parameters
    ----------
    target_dpt
        The refraction aimed at, dioptres.
    centres_dpt
        Predicted refraction of each power that could be chosen, dioptres, shape ``(powers,)``.
    chosen
        Place of the power that would be chosen now.
    law
        How refractions scatter now; its measurement variance has one entry for each power.
    gone_dpt2
        Variance that goes with the readings, square dioptres.

    Returns
    -------
    float
        Fraction, 0 to 1; never below the chance of the chosen power now.

    Notes
    -----
    ``E max_p f(c_p + z sqrt(V_gone))`` over a standard normal z, by Gauss and Hermite, with f the fraction
    under the narrower law. To the chance now is added what the best power has over the chosen one, because
    the mean of the latter is the chance now.

    Examples
    --------
    >>> from zonule.science.uncertainty.spread import ROUTINE_SCALE_DPT, error_law
    >>> by_contact = error_law(ROUTINE_SCALE_DPT, 0.0185, np.full(5, 0.434**2))
    >>> centres = np.array([0.7, 0.35, 0.0, -0.35, -0.7])
    >>> now = float(fraction_within(0.5, 0.0, 0.0, error_law(ROUTINE_SCALE_DPT, 0.0185, 0.434**2)))
    >>> round(now, 3), round(fraction_within_when_chosen_anew(0.0, centres, 2, by_contact, 0.12), 3)
    (0.575, 0.662)
    """
    now = fraction_within(_LIMIT_DPT, target_dpt, centres_dpt, law)[chosen]
    narrower = _law_without(law, gone_dpt2)
    gone = np.asarray(law.measurement_variance_dpt2) - np.asarray(narrower.measurement_variance_dpt2)
    readings, weights = _possible_readings()
    moved = centres_dpt + readings[:, None] * np.sqrt(gone)
    then = fraction_within(_LIMIT_DPT, target_dpt, moved, narrower)
    return float(now + weights @ (then.max(axis=1) - then[:, chosen]))


@cache
def _possible_readings() -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Standard normal places and their weights."""
    places, weights = np.polynomial.hermite_e.hermegauss(_POSSIBLE_READINGS)
    return places, weights / weights.sum()
