"""How far the power of a lens may lie from its label.

Limits by labelled power are those of iso-11979-2, from memory. Measured lenses are much better: the mean
distance between power and label was 0.12 D from 15 to 25 D and 0.19 D from 25 to 30 D (label-measured). Taken
as normal that is a standard deviation of 0.150 and 0.238 D. Where nothing was measured, the figure next to
it is scaled by the limits (ours).

The spread over many eyes already holds the label error of the lenses that made it, for which one of 21 D
stands. So only what a lens scatters more than that is added to the spread of an eye: nothing up to 25 D.
A weaker lens probably scatters less; nobody measured it, and no spread is narrowed on a guess.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from zonule.science.arrays import Numbers

AVERAGE_LENS_DPT = 21.0
"""The lens whose label error is already inside the published spread: about what an average eye needs."""
_BAND_ENDS_DPT = np.array([15.0, 25.0, 30.0])
"""Each belongs to the band below it."""
_LIMITS_DPT = np.array([0.3, 0.4, 0.5, 1.0])
_MEAN_DISTANCES_DPT = np.array([0.12 * 0.3 / 0.4, 0.12, 0.19, 0.19 * 1.0 / 0.5])
_SD_PER_MEAN_DISTANCE = math.sqrt(math.pi / 2.0)


def _band(lens_power_dpt: Numbers) -> NDArray[np.intp]:
    return np.searchsorted(_BAND_ENDS_DPT, np.abs(lens_power_dpt), side="left")


def label_limit_dpt(lens_power_dpt: Numbers) -> NDArray[np.float64]:
    """How far the power of a lens may lie from its label by the standard.

    Parameters
    ----------
    lens_power_dpt
        Labelled power, dioptres; a minus lens is treated as the plus lens of its size.

    Returns
    -------
    ndarray of float64
        Limit on either side, dioptres at the lens.

    Notes
    -----
    iso-11979-2, from memory: 0.3 D up to 15 D, 0.4 D up to 25 D, 0.5 D up to 30 D, 1.0 D beyond.

    Examples
    --------
    >>> label_limit_dpt(np.array([-5.0, 15.0, 21.0, 30.5]))
    array([0.3, 0.3, 0.4, 1. ])
    """
    return _LIMITS_DPT[_band(lens_power_dpt)]


def label_sd_dpt(lens_power_dpt: Numbers) -> NDArray[np.float64]:
    """Standard deviation of the power of lenses about their label.

    Parameters
    ----------
    lens_power_dpt
        Labelled power, dioptres; a minus lens is treated as the plus lens of its size.

    Returns
    -------
    ndarray of float64
        Standard deviation, dioptres at the lens.

    Notes
    -----
    ``sd = m sqrt(pi / 2)`` of a normal law whose mean distance is m (label-measured); below 15 D and beyond
    30 D m is scaled by the limits.

    Examples
    --------
    >>> label_sd_dpt(np.array([10.0, 21.0, 28.0, 32.0])).round(3)
    array([0.113, 0.15 , 0.238, 0.476])
    """
    distances_dpt: NDArray[np.float64] = _MEAN_DISTANCES_DPT[_band(lens_power_dpt)]
    return distances_dpt * _SD_PER_MEAN_DISTANCE


def excess_label_variance_dpt2(lens_power_dpt: Numbers, refraction_gain: Numbers) -> NDArray[np.float64]:
    """What the label adds to the variance of refraction beyond what the published spread holds.

    Parameters
    ----------
    lens_power_dpt
        Labelled power, dioptres.
    refraction_gain
        By how many dioptres one dioptre of lens power changes the refraction of this eye, about -0.7; either
        sign.

    Returns
    -------
    ndarray of float64
        Variance at the glasses, square dioptres; 0 up to 25 D.

    Notes
    -----
    ``max(sd(P)^2 - sd(21 D)^2, 0) g^2``: the rule of measurement error (docs/explanation/spread-and-odds.md).

    Examples
    --------
    >>> excess_label_variance_dpt2(np.array([20.0, 28.0, 32.0]), -0.72).round(4)
    array([0.    , 0.0177, 0.1059])
    """
    excess = label_sd_dpt(lens_power_dpt) ** 2 - label_sd_dpt(AVERAGE_LENS_DPT) ** 2
    variance: NDArray[np.float64] = np.maximum(excess, 0.0) * np.square(refraction_gain)
    return variance
