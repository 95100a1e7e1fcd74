"""The shape of the law of spread, for drawing it; its degrees of freedom and scale are the science's own."""

from __future__ import annotations

from math import gamma, pi, sqrt

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtrit

from zonule.science.uncertainty.spread import DEGREES_OF_FREEDOM, scale_from_sd_dpt

_PEAK = gamma((DEGREES_OF_FREEDOM + 1) / 2) / (sqrt(DEGREES_OF_FREEDOM * pi) * gamma(DEGREES_OF_FREEDOM / 2))


def density_per_dpt(
    refraction_dpt: NDArray[np.float64], centre_dpt: float, sd_dpt: float
) -> NDArray[np.float64]:
    """How densely eyes lie at a refraction: Student's t about the prediction.

    Examples
    --------
    >>> refractions = np.linspace(-40.0, 40.0, 80001)
    >>> total = np.trapezoid(density_per_dpt(refractions, 0.0, 0.6), refractions)
    >>> round(float(total), 3)
    1.0
    """
    scale = float(scale_from_sd_dpt(sd_dpt))
    steps = (np.asarray(refraction_dpt, dtype=np.float64) - centre_dpt) / scale
    return np.asarray(
        _PEAK / scale * (1 + steps**2 / DEGREES_OF_FREEDOM) ** (-(DEGREES_OF_FREEDOM + 1) / 2),
        dtype=np.float64,
    )


def middle_half_dpt(centre_dpt: float, sd_dpt: float) -> tuple[float, float]:
    """Where the middle half of eyes lies.

    Examples
    --------
    >>> low, high = middle_half_dpt(0.0, 0.597)
    >>> round(high, 2), low == -high
    (0.29, True)
    """
    reach = float(scale_from_sd_dpt(sd_dpt)) * float(stdtrit(DEGREES_OF_FREEDOM, 0.75))
    return centre_dpt - reach, centre_dpt + reach
