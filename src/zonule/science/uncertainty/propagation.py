"""What the scatter of this eye's measurements does to the refraction a formula predicts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from zonule.science.lens_power.corrected_cornea import HYPEROPIC_LASER
from zonule.science.lens_power.formulas import FORMULAS, EyeNumbers, Family, Formula, seen_eye
from zonule.science.uncertainty.correlation import MEASURED, correlated_unit_errors
from zonule.science.uncertainty.quasi_random import SHIFTS
from zonule.science.uncertainty.repeatability import (
    ANTERIOR_CHAMBER_DEPTH_SD_MM,
    AXIAL_LENGTH_SD_MM,
    CORNEAL_THICKNESS_SD_UM,
    LENS_THICKNESS_SD_MM,
    MEAN_K_SD_DPT,
)
from zonule.science.units import UM_PER_MM

DRAWS = 4096
_NODES = 9
_POWERS_AT_ONCE = 4
"""So that all draws of a block stay in the cache: three times as fast as 21 powers in one array."""
AVERAGE_EYE = EyeNumbers(23.5, 43.5, 3.1, 4.5, 0.54, 6.45)
"""The eye whose measurement error is already inside the published spread (lundstrom-2018)."""
AVERAGE_FLATTENED_EYE = EyeNumbers(26.0, 38.0, 3.4, 4.5, 0.5, 6.45, 43.5, -5.0)
"""The same for the spread after surgery that flattened the cornea: an eye of our choice, in the middle of
those for which formulas print examples (shammas-2007)."""
AVERAGE_STEEPENED_EYE = EyeNumbers(22.5, 46.0, 3.0, 4.5, 0.54, 6.45, 43.5, 2.5)
"""The same after laser for long sight: an eye of our choice."""
PUBLISHED_SDS = EyeNumbers(
    AXIAL_LENGTH_SD_MM,
    MEAN_K_SD_DPT,
    ANTERIOR_CHAMBER_DEPTH_SD_MM,
    LENS_THICKNESS_SD_MM,
    CORNEAL_THICKNESS_SD_UM / UM_PER_MM,
    0.0,
    0.0,
    0.0,
)
"""No scatter of the back radius has been published to us, and history is taken as told."""


def average_eye(formula: Formula) -> EyeNumbers:
    """The average eye among those that a formula is for.

    Parameters
    ----------
    formula
        A row of the table.

    Returns
    -------
    EyeNumbers
        One eye, with a history where the formula is for operated corneas.

    Examples
    --------
    >>> average_eye(FORMULAS["shammas_phl"]).mean_k_dpt, average_eye(FORMULAS["shammas_pl"]).mean_k_dpt
    (46.0, 38.0)
    """
    if formula.family is not Family.AFTER_SURGERY:
        return AVERAGE_EYE
    return AVERAGE_STEEPENED_EYE if HYPEROPIC_LASER in formula.corneas else AVERAGE_FLATTENED_EYE


@dataclass(frozen=True, slots=True)
class SimulatedVariance:
    """Variance of predicted refraction, one entry for each lens power."""

    variance_dpt2: NDArray[np.float64]
    standard_error_dpt2: NDArray[np.float64]
    """Of the variance, from the disagreement of independently shifted draws."""


def drawn_eyes(eye: EyeNumbers, sds: EyeNumbers, seed: int, draws: int = DRAWS) -> EyeNumbers:
    """An eye as it might have been measured, many times over.

    Parameters
    ----------
    eye
        The measured values, scalars.
    sds
        Standard deviation of each, in its own unit; 0 holds a value fixed.
    seed
        Seed of the draws, 0 or more.
    draws
        How many, a multiple of 16.

    Returns
    -------
    EyeNumbers
        Arrays of shape ``(16, draws // 16)`` of what is measured, correlated as `correlation` says; nan stays
        nan. History is taken as told.

    Examples
    --------
    >>> drawn_eyes(AVERAGE_EYE, PUBLISHED_SDS, seed=1).mean_k_dpt.shape
    (16, 256)
    """
    errors = correlated_unit_errors(draws, seed)
    scattered = (value + sd * error for value, sd, error in zip(eye, sds, errors, strict=False))
    return EyeNumbers(*scattered, *eye[MEASURED:])


def measurement_variance(
    formula: Formula,
    constants: Sequence[float],
    drawn: EyeNumbers,
    lens_powers_dpt: NDArray[np.float64],
) -> SimulatedVariance:
    """The variance of predicted refraction that measurement error alone causes.

    Parameters
    ----------
    formula, constants
        A row of the table and its constants.
    drawn
        Eyes from `drawn_eyes`.
    lens_powers_dpt
        Labelled powers, dioptres, shape ``(powers,)``.

    Returns
    -------
    SimulatedVariance
        Shape ``(powers,)``.

    Notes
    -----
    Where there are many powers the draws are put through at nine of them; a polynomial of degree 8 through
    the Chebyshev points gives the rest: the variance is a smooth function of power, met to 1e-4 of itself up
    to 50 D. Where SRK/T nears its imaginary root it is 2e-3; there SRK/T is not counted.

    Examples
    --------
    >>> drawn = drawn_eyes(AVERAGE_EYE, PUBLISHED_SDS, seed=1)
    >>> simulated = measurement_variance(FORMULAS["srk_t"], [118.4], drawn, np.array([20.5]))
    >>> bool(0.01 < simulated.variance_dpt2[0] < 0.05)
    True
    """
    seen = seen_eye(formula, drawn, constants)
    if lens_powers_dpt.size <= _NODES:
        return _simulated(formula, seen, lens_powers_dpt)
    nodes_dpt = _chebyshev_points(float(lens_powers_dpt.min()), float(lens_powers_dpt.max()))
    between = _lagrange(nodes_dpt, lens_powers_dpt)
    simulated = _simulated(formula, seen, nodes_dpt)
    return SimulatedVariance(between @ simulated.variance_dpt2, between @ simulated.standard_error_dpt2)


def _simulated(formula: Formula, seen: Any, lens_powers_dpt: NDArray[np.float64]) -> SimulatedVariance:
    """The variance at these powers, from every draw."""
    blocks = [
        _moments_by_shift(formula, seen, lens_powers_dpt[first : first + _POWERS_AT_ONCE])
        for first in range(0, lens_powers_dpt.size, _POWERS_AT_ONCE)
    ]
    means, variances = (np.concatenate(column) for column in zip(*blocks, strict=True))
    return SimulatedVariance(
        variances.mean(axis=1) + means.var(axis=1), variances.std(axis=1, ddof=1) / np.sqrt(SHIFTS)
    )


def _chebyshev_points(low: float, high: float) -> NDArray[np.float64]:
    angles = np.pi * (np.arange(_NODES) + 0.5) / _NODES
    return (low + high) / 2.0 - (high - low) / 2.0 * np.cos(angles)


def _lagrange(nodes: NDArray[np.float64], at: NDArray[np.float64]) -> NDArray[np.float64]:
    """Weights of the values at the nodes in the polynomial through them, shape ``(at, nodes)``."""
    others = ~np.eye(nodes.size, dtype=bool)
    factors = (at[:, None, None] - nodes) / np.where(others, nodes[:, None] - nodes, 1.0)
    weights: NDArray[np.float64] = np.prod(np.where(others, factors, 1.0), axis=2)
    return weights


def _moments_by_shift(
    formula: Formula, seen: Any, lens_powers_dpt: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Mean and variance of the refraction within each shift, shape ``(powers, shifts)``."""
    refractions = np.asarray(formula.optics.refraction_dpt(seen, lens_powers_dpt[:, None, None]))
    means = refractions.mean(axis=2)
    refractions -= means[:, :, None]
    squares = np.einsum("psd,psd->ps", refractions, refractions)
    return means, squares / refractions.shape[2]


@lru_cache(maxsize=64)
def average_eye_variance_dpt2(formula_key: str, constants: tuple[float, ...]) -> float:
    """The variance that measurement error causes in the average eye, at its power for plano.

    Parameters
    ----------
    formula_key
        Key of a row of `FORMULAS`.
    constants
        Its constants.

    Returns
    -------
    float
        Square dioptres.

    Examples
    --------
    >>> 0.01 < average_eye_variance_dpt2("srk_t", (118.4,)) < 0.05
    True
    """
    formula = FORMULAS[formula_key]
    eye = average_eye(formula)
    plano_power = formula.optics.lens_power_dpt(seen_eye(formula, eye, constants), 0.0)
    drawn = drawn_eyes(eye, PUBLISHED_SDS, seed=0)
    powers = np.atleast_1d(np.asarray(plano_power, dtype=np.float64))
    return float(measurement_variance(formula, constants, drawn, powers).variance_dpt2[0])
