"""The shape of the law of spread, for drawing it; the law is the science's own."""

from __future__ import annotations

from math import pi, sqrt

import numpy as np
from numpy.typing import NDArray

from zonule.science.uncertainty.spread import COMPONENT_WEIGHTS, ErrorLaw, fraction_below

_UPPER_QUARTILE = 0.75
_HALVINGS = 40


def density_per_dpt(
    refraction_dpt: NDArray[np.float64], centre_dpt: float, law: ErrorLaw
) -> NDArray[np.float64]:
    """How densely eyes lie at a refraction.

    Examples
    --------
    >>> refractions = np.linspace(-40.0, 40.0, 80001)
    >>> total = np.trapezoid(density_per_dpt(refractions, 0.0, ErrorLaw(0.34, 3.2, 0.02)), refractions)
    >>> round(float(total), 3)
    1.0
    """
    sds = law.component_sds_dpt
    steps = (np.asarray(refraction_dpt, dtype=np.float64) - centre_dpt)[..., None] / sds
    return np.asarray(np.exp(-0.5 * steps**2) @ (COMPONENT_WEIGHTS / sds) / sqrt(2.0 * pi))


def middle_half_dpt(centre_dpt: float, law: ErrorLaw) -> tuple[float, float]:
    """Where the middle half of eyes lies.

    Examples
    --------
    >>> low, high = middle_half_dpt(0.0, ErrorLaw(0.338, 3.22, 0.0185))
    >>> round(high, 2), low == -high
    (0.29, True)
    """
    low, high = 0.0, 1.5 * float(law.sd_dpt)  # Chebyshev: half of any law lies within 1.42 SD
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        is_far = fraction_below(middle, 0.0, law) >= _UPPER_QUARTILE
        low, high = (low, middle) if is_far else (middle, high)
    return centre_dpt - high, centre_dpt + high
