"""How sure the residual of a toric plan is: the chances of ending within a cylinder, by simulation.

The corneal vector scatters with the keratometry, the incision and what the cornea model leaves open; the
lens meridian with marking, torsion and rotation. The sums are taken as normal: eyes whose lens turns by tens
of degrees are commoner than that. Cornea models stand side by side along an axis of their own.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from zonule.errors import InconsistentRecordError, OutOfRangeError
from zonule.science.arrays import Numbers
from zonule.science.astigmatism.vectors import Astigmatism, Plane
from zonule.science.uncertainty.quasi_random import SHIFTS, shifted_normal_draws

DRAWS = 8192
LIMITS_DPT = (0.25, 0.50, 0.75, 1.00)
KERATOMETRY_J0_SD_DPT = 0.12
"""Within-subject SD of J0 of the cornea in 266 cataract eyes, one device (langenbucher-2025).

Taken as the component of a power vector, which is half a cylinder: then the size of a cylinder is repeatable
within 0.6 D, and 0.4 to 0.7 D was found with four kinds of keratometer (keratometers-94).
"""
KERATOMETRY_J45_SD_DPT = 0.10
"""The same of J45."""
_DIOPTRES_PER_J = 2.0
"""A power vector holds half the cylinder (thibos-1997)."""
KERATOMETRY_SDS_DPT = (_DIOPTRES_PER_J * KERATOMETRY_J0_SD_DPT, _DIOPTRES_PER_J * KERATOMETRY_J45_SD_DPT)
"""The same two as components x and y of a cylinder."""
BACK_SD_DPT = 0.15
"""How far the back of one cornea lies from what a model makes of its front, for each component.

The spread of the size of that astigmatism was 0.14 D in 7,829 eyes and 0.17 D in 121 (hu-2020, li-2019);
that each component spreads so is ours.
"""

FRONT_ALONE_SD_DPT = 0.35
"""The same where nothing is known of the back but that it is there: its usual 0.3 D is open too (ours)."""

_ROUNDING_DPT2 = 1e-12


class Scatter(NamedTuple):
    """How cornea and lens scatter about what was planned on."""

    cornea_covariance_dpt2: NDArray[np.float64]
    """Of x and y of the corneal astigmatism, 2 by 2."""
    lens_turn_sd_deg: float


class ToricOdds(NamedTuple):
    """Chances for each cornea model and each lens."""

    within: NDArray[np.float64]
    """That the residual is at most each of `LIMITS_DPT`; limits, models, lenses."""
    standard_error: NDArray[np.float64]
    """Of each chance, from the disagreement of independently shifted draws."""
    mean_residual_dpt: NDArray[np.float64]
    """Mean cylinder that is left, at the cornea; models, lenses."""

    @property
    def within_over_models(self) -> NDArray[np.float64]:
        """The chances when each model is as likely as any other; limits, lenses."""
        return np.asarray(self.within.mean(axis=1))


def planning_scatter(
    keratometry_sds_dpt: tuple[float, float],
    incision_covariance_dpt2: NDArray[np.float64],
    model_sd_dpt: float,
    marking_sd_deg: float,
    torsion_sd_deg: float,
    rotation_sd_deg: float,
) -> Scatter:
    """All that can go otherwise than planned, in one scatter.

    Parameters
    ----------
    keratometry_sds_dpt
        Standard deviations of x and y of the measured cornea, dioptres; published: `KERATOMETRY_SDS_DPT`.
    incision_covariance_dpt2
        Covariance of x and y of what the incision does, 2 by 2, without the noise of reading it.
    model_sd_dpt
        What a cornea model leaves open in x and in y of one eye, dioptres; 0 where the back was measured.
    marking_sd_deg
        Of marking and placing the lens, degrees.
    torsion_sd_deg
        Of the turn of the eye between mark and operation, degrees; 0 where an upright mark or a registration
        removes it. Its mean is not an argument: nobody can foretell its direction.
    rotation_sd_deg
        Of the turn of the lens after the operation, degrees.

    Returns
    -------
    Scatter
        Variances added up.

    Raises
    ------
    OutOfRangeError
        When a standard deviation is minus or not known, or the covariance is none.

    Examples
    --------
    >>> scatter = planning_scatter((0.24, 0.20), np.diag((0.09, 0.09)), 0.0, 3.0, 0.0, 4.0)
    >>> scatter.cornea_covariance_dpt2.diagonal().round(4), scatter.lens_turn_sd_deg
    (array([0.1476, 0.13  ]), 5.0)
    """
    sds = np.array((*keratometry_sds_dpt, model_sd_dpt, marking_sd_deg, torsion_sd_deg, rotation_sd_deg))
    if not bool(np.all(sds >= 0.0)):
        raise OutOfRangeError("A standard deviation is 0 or more, and known.")
    _root(incision_covariance_dpt2)
    measured = np.diag(sds[:2] ** 2)
    covariance = measured + incision_covariance_dpt2 + np.eye(2) * model_sd_dpt**2
    return Scatter(covariance, float(np.sqrt(np.sum(sds[3:] ** 2))))


def odds(
    corneas: Astigmatism,
    lenses_at_cornea_dpt: Numbers,
    lens_meridian_deg: float,
    scatter: Scatter,
    seed: int,
    draws: int = DRAWS,
) -> ToricOdds:
    """The chances that each lens, planned at this meridian, leaves little.

    Parameters
    ----------
    corneas
        Total corneal astigmatism after the incision, one for each cornea model.
    lenses_at_cornea_dpt
        Cylinder of each lens at the cornea, dioptres; 0 for a lens without.
    lens_meridian_deg
        Where the marks are planned, degrees: on one model, whichever of the models proves right.
    scatter
        From `planning_scatter`.
    seed
        Any integer of 0 or more; the same seed gives the same chances on every machine.
    draws
        A multiple of 16. Default 8,192. All lenses and models meet the same draws.

    Returns
    -------
    ToricOdds
        Chances with their standard errors, and mean residuals; a lens whose cylinder is nan has nan.

    Raises
    ------
    InconsistentRecordError
        When `corneas` are not at the cornea.
    OutOfRangeError
        When the covariance is none.

    Notes
    -----
    ``|A|^2 + T^2 - 2 T (A along the lens meridian)``, the square of the residual, counted over shifted
    Richtmyer draws (richtmyer-1951, cranley-1976). The limits hold at the cornea, which is where the glasses
    have the same cylinder when the spherical equivalent is near 0.

    Examples
    --------
    >>> from zonule.science.astigmatism.vectors import steep
    >>> cornea = steep(np.array([1.5]), 90.0, Plane.CORNEA)
    >>> result = odds(cornea, np.array([0.0, 1.5]), 90.0, Scatter(np.diag((0.1, 0.1)), 5.0), seed=1)
    >>> result.within_over_models.round(2)
    array([[0.  , 0.21],
           [0.  , 0.61],
           [0.01, 0.88],
           [0.04, 0.97]])
    """
    if corneas.plane is not Plane.CORNEA:
        raise InconsistentRecordError(f"Odds are told at the cornea, not at the {corneas.plane}.")
    before_dpt2, along_dpt = _drawn(corneas, lens_meridian_deg, scatter, seed, draws)
    # One lens at a time, so that all draws stay in the cache.
    each = [_of_one_lens(before_dpt2, along_dpt, lens) for lens in np.atleast_1d(lenses_at_cornea_dpt)]
    within = np.stack([shares for shares, _ in each], axis=2)
    return ToricOdds(
        within.mean(axis=-1),
        within.std(axis=-1, ddof=1) / np.sqrt(SHIFTS),
        np.stack([mean for _, mean in each], axis=-1),
    )


def _drawn(
    corneas: Astigmatism, lens_meridian_deg: float, scatter: Scatter, seed: int, draws: int
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Square of the corneal cylinder, and twice its part along the lens: models, shifts, draws."""
    unit = shifted_normal_draws(draws, 3, seed)
    root = _root(scatter.cornea_covariance_dpt2)
    x_dpt = _models(corneas.x_dpt) + (root[0, 0] * unit[0] + root[0, 1] * unit[1])
    y_dpt = _models(corneas.y_dpt) + (root[1, 0] * unit[0] + root[1, 1] * unit[1])
    twice = np.deg2rad(2.0 * (lens_meridian_deg + scatter.lens_turn_sd_deg * unit[2]))
    return x_dpt * x_dpt + y_dpt * y_dpt, 2.0 * (x_dpt * np.cos(twice) + y_dpt * np.sin(twice))


def _of_one_lens(
    before_dpt2: NDArray[np.float64], along_dpt: NDArray[np.float64], lens_dpt: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Shares within each limit by model and shift, and the mean residual by model."""
    left_dpt2 = np.maximum(before_dpt2 + lens_dpt * (lens_dpt - along_dpt), 0.0)
    unknown = np.isnan(left_dpt2[..., 0])
    shares = [np.mean(left_dpt2 <= limit * limit, axis=-1) for limit in LIMITS_DPT]
    return np.where(unknown, np.nan, np.stack(shares)), np.sqrt(left_dpt2).mean(axis=(-2, -1))


def _models(component_dpt: Numbers) -> NDArray[np.float64]:
    return np.atleast_1d(np.asarray(component_dpt, dtype=np.float64))[:, None, None]


def _root(covariance_dpt2: NDArray[np.float64]) -> NDArray[np.float64]:
    """The symmetric square root, which a covariance of 0 has too."""
    if covariance_dpt2.shape != (2, 2) or not np.allclose(covariance_dpt2, covariance_dpt2.T):
        raise OutOfRangeError("A covariance of x and y is symmetric, two by two, and known.")
    variances, directions = np.linalg.eigh(covariance_dpt2)
    if variances[0] < -_ROUNDING_DPT2:
        raise OutOfRangeError("A covariance has no minus variance in any direction.")
    root: NDArray[np.float64] = (directions * np.sqrt(np.maximum(variances, 0.0))) @ directions.T
    return root
