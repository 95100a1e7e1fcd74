"""Which measurement errors of one eye go together, and draws that respect it.

Chamber depth and lens thickness share a boundary, the front of the lens. If a biometer sets it a little too
far back, the chamber comes out deeper and the lens thinner by the same amount, so their errors are
correlated negatively. How strongly follows from published scatter alone if all of the error of the chamber
depth is that of this boundary: the covariance is minus the variance of the depth, and the correlation minus
the ratio of the two standard deviations, -0.696 (derived here). That is the strongest correlation the shared
boundary can make; langenbucher-2025 reports a strong negative one, and its number was not readable.

All other errors are drawn independently, because nothing about them could be derived or read. Length,
depth and corneal thickness share the front of the cornea; to assume the whole error of the depth at the lens
leaves nothing for that one.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from zonule.science.lens_power.formulas import EyeNumbers
from zonule.science.uncertainty.quasi_random import shifted_normal_draws
from zonule.science.uncertainty.repeatability import ANTERIOR_CHAMBER_DEPTH_SD_MM, LENS_THICKNESS_SD_MM

MEASURED = 6
"""The first fields of `EyeNumbers` are measured and scatter; the others are history, taken as told."""
SHARED_BOUNDARY_CORRELATION = -ANTERIOR_CHAMBER_DEPTH_SD_MM / LENS_THICKNESS_SD_MM
SHARED_BOUNDARY = ("anterior_chamber_depth_mm", "lens_thickness_mm")
"""The two quantities that the front of the lens ends and begins."""


@cache
def error_correlations() -> NDArray[np.float64]:
    """Correlations of the measurement errors of one eye.

    Returns
    -------
    ndarray of float64
        Square, read-only, in the order of the measured fields of `EyeNumbers`, without unit.

    Examples
    --------
    >>> float(error_correlations()[2, 3].round(3)), float(error_correlations()[0, 1])
    (-0.696, 0.0)
    """
    correlations = np.eye(MEASURED)
    depth, thickness = (EyeNumbers._fields.index(name) for name in SHARED_BOUNDARY)
    correlations[depth, thickness] = correlations[thickness, depth] = SHARED_BOUNDARY_CORRELATION
    correlations.flags.writeable = False
    return correlations


def error_covariance(sds: EyeNumbers) -> NDArray[np.float64]:
    """Covariance of the measurement errors of one eye.

    Parameters
    ----------
    sds
        Standard deviation of each quantity, in its own unit; 0 for one that is known exactly. The correlation
        is kept whatever they are: an eye that scatters more than published does so for its own reasons, and
        nothing says how they are shared.

    Returns
    -------
    ndarray of float64
        Square, in the order of the measured fields of `EyeNumbers`, each entry in the product of two units.

    Examples
    --------
    >>> covariance = error_covariance(EyeNumbers(0.0177, 0.18, 0.0247, 0.0355, 0.0, 0.0))
    >>> bool(np.isclose(covariance[2, 3], -0.0247**2))
    True
    """
    deviations = np.array(sds[:MEASURED], dtype=np.float64)
    return np.outer(deviations, deviations) * error_correlations()


def correlated_unit_errors(draws: int, seed: int) -> NDArray[np.float64]:
    """Errors of standard deviation 1 with the correlations of measurement.

    Parameters
    ----------
    draws
        How many, a multiple of 16.
    seed
        Seed of the draws, 0 or more; the same seed gives the same draws on every machine.

    Returns
    -------
    ndarray of float64
        Shape ``(measured fields of EyeNumbers, 16, draws // 16)``, without unit.

    Notes
    -----
    Independent normal draws times the Cholesky root of the correlations. The root has the order of the
    fields, so the errors of length, cornea and depth are the independent draws themselves.

    Examples
    --------
    >>> correlated_unit_errors(4096, seed=7).shape
    (6, 16, 256)
    """
    independent = shifted_normal_draws(draws, MEASURED, seed)
    return np.tensordot(_correlation_root(), independent, axes=1)


@cache
def _correlation_root() -> NDArray[np.float64]:
    root: NDArray[np.float64] = np.linalg.cholesky(error_correlations()).astype(np.float64)
    return root
