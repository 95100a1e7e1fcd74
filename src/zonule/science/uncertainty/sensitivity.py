"""Which measurement the uncertainty of a predicted refraction comes from.

Sobol's indices share the variance out among the inputs: the first-order index of an input is the part that
goes when this input is known exactly, its total index the part that stays when all others are. Their
difference is what inputs do together. Indices are defined for independent inputs, so two errors that are
correlated stand as one group (chamber depth and lens thickness, where a formula reads both): no share of a
correlated pair can be told apart without a choice that nothing supports.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from zonule.science.lens_power.formulas import EyeNumbers, Formula, seen_eye
from zonule.science.uncertainty.correlation import MEASURED, SHARED_BOUNDARY, error_correlations
from zonule.science.uncertainty.quasi_random import shifted_normal_draws

DRAWS = 256
_MEASURED = EyeNumbers._fields[:MEASURED]
Model = Callable[[NDArray[np.float64]], NDArray[np.float64]]
"""From inputs of shape ``(inputs, draws)`` to one output for each draw."""


@dataclass(frozen=True, slots=True)
class SobolIndices:
    """Shares of the variance of one output, one entry for each group of inputs; without unit."""

    first_order: NDArray[np.float64]
    """What goes when the group is known exactly, over the whole."""
    total: NDArray[np.float64]
    """What stays when everything else is known exactly, over the whole."""
    variance: float
    """The whole, in the square of the output's unit."""


@dataclass(frozen=True, slots=True)
class RefractionShares:
    """Where the variance of a predicted refraction comes from."""

    groups: tuple[tuple[str, ...], ...]
    """Fields of `EyeNumbers`; two in one group are correlated."""
    first_order: NDArray[np.float64]
    total: NDArray[np.float64]
    variance_dpt2: float


def sobol_indices(
    model: Model,
    draws: NDArray[np.float64],
    other_draws: NDArray[np.float64],
    groups: Sequence[Sequence[int]],
) -> SobolIndices:
    """First-order and total indices of the inputs of a model, by group.

    Parameters
    ----------
    model
        The model, vectorised over draws.
    draws, other_draws
        Two sets of inputs, drawn independently of one another, shape ``(inputs, draws)``. Inputs of different
        groups are independent.
    groups
        Places of the inputs of each group.

    Returns
    -------
    SobolIndices
        One entry for each group; nan where the output does not vary.

    Notes
    -----
    ``A_B``, for each group, is the first set with this group's inputs from the other set. ``S = E f(B)
    (f(A_B) - f(A)) / V`` (saltelli-2010, with f centred) and ``T = E (f(A) - f(A_B))^2 / 2V`` (jansen-1999).
    Both rest on the difference that the group alone makes, so that a small index has a small error. The
    straight line through the outputs, whose shares are known, is taken out by its own estimates and put back
    exactly (a control variate): a model that is nearly straight needs few draws.

    Examples
    --------
    >>> normal = shifted_normal_draws(8192, 4, seed=1).reshape(4, -1)
    >>> found = sobol_indices(lambda x: 3.0 * x[0] + 4.0 * x[1], normal[:2], normal[2:], [[0], [1]])
    >>> found.first_order.round(1), found.total.round(1)
    (array([0.4, 0.6]), array([0.4, 0.6]))
    """
    mixed = np.repeat(draws[:, None, :], len(groups) + 2, axis=1)
    mixed[:, 1] = other_draws
    for place, group in enumerate(groups):
        mixed[list(group), place + 2] = other_draws[list(group)]
    outputs = model(mixed.reshape(draws.shape[0], -1)).reshape(len(groups) + 2, -1)
    outputs = outputs - outputs[0, 0]
    slopes, line_parts = _line(mixed[:, :2].reshape(draws.shape[0], -1), outputs[:2].ravel(), groups)
    line = np.tensordot(slopes, mixed, axes=1)
    parts = _estimated_parts(outputs) - _estimated_parts(line) + line_parts
    variance = float(outputs[:2].var() - line[:2].var() + line_parts.sum())
    first_order, total = parts / (variance if outputs.any() else np.nan)
    return SobolIndices(first_order, total, max(variance, 0.0))


def _estimated_parts(outputs: NDArray[np.float64]) -> NDArray[np.float64]:
    """First-order and total part of the variance of each group, shape ``(2, groups)``."""
    made = outputs[2:] - outputs[0]
    alone = (made * (outputs[1] - outputs[:2].mean())).mean(axis=1)
    return np.stack([alone, np.square(made).mean(axis=1) / 2.0])


def _line(
    inputs: NDArray[np.float64], outputs: NDArray[np.float64], groups: Sequence[Sequence[int]]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Slopes of the straight line that fits best, and the variance that each group makes along it."""
    centred = inputs - inputs.mean(axis=1)[:, None]
    covariance = centred @ centred.T / centred.shape[1]
    # What does not vary has no slope; a variance of 1 keeps the equations solvable.
    solvable = covariance + np.diag((np.diag(covariance) == 0.0).astype(np.float64))
    scale = np.sqrt(np.diag(solvable))
    along = centred @ outputs / centred.shape[1]
    slopes: NDArray[np.float64] = np.linalg.solve(solvable / np.outer(scale, scale), along / scale) / scale
    parts = [slopes[group] @ covariance[np.ix_(group, group)] @ slopes[group] for group in map(list, groups)]
    return slopes, np.array(parts)


def refraction_shares(
    formula: Formula,
    constants: Sequence[float],
    eye: EyeNumbers,
    sds: EyeNumbers,
    lens_power_dpt: float,
    seed: int,
    draws: int = DRAWS,
) -> RefractionShares:
    """Where the variance of the refraction that one formula predicts comes from.

    Parameters
    ----------
    formula, constants
        A row of the table and its constants.
    eye
        The measured values, scalars.
    sds
        Standard deviation of each, in its own unit.
    lens_power_dpt
        Labelled power, dioptres.
    seed
        Seed of the draws, 0 or more.
    draws
        How many, a multiple of 16.

    Returns
    -------
    RefractionShares
        One entry for each group of what the formula reads and somebody measured; history is taken as told.

    Examples
    --------
    >>> from zonule.science.lens_power.formulas import FORMULAS
    >>> from zonule.science.uncertainty.propagation import AVERAGE_EYE, PUBLISHED_SDS
    >>> shares = refraction_shares(FORMULAS["srk_t"], [118.4], AVERAGE_EYE, PUBLISHED_SDS, 20.5, seed=1)
    >>> shares.groups[int(shares.total.argmax())]
    ('mean_k_dpt',)
    """
    names = tuple(name for name in formula.reads if name in _MEASURED and not math.isnan(getattr(eye, name)))
    values = np.array([float(getattr(eye, name)) for name in names])
    deviations = np.array([float(getattr(sds, name)) for name in names])
    first, other = (
        values[:, None] + deviations[:, None] * errors for errors in _unit_errors(names, seed, draws)
    )

    def model(inputs: NDArray[np.float64]) -> NDArray[np.float64]:
        drawn = eye._replace(**dict(zip(names, inputs, strict=True)))
        return np.asarray(
            formula.optics.refraction_dpt(seen_eye(formula, drawn, constants), lens_power_dpt),
            dtype=np.float64,
        )

    groups = _groups(names)
    found = sobol_indices(model, first, other, [[names.index(name) for name in group] for group in groups])
    return RefractionShares(groups, found.first_order, found.total, found.variance)


def _groups(names: tuple[str, ...]) -> tuple[tuple[str, ...], ...]:
    """What a formula reads, with a correlated pair as one."""
    if not set(SHARED_BOUNDARY) <= set(names):
        return tuple((name,) for name in names)
    return (*((name,) for name in names if name not in SHARED_BOUNDARY), SHARED_BOUNDARY)


@lru_cache(maxsize=4)
def _unit_errors(names: tuple[str, ...], seed: int, draws: int) -> NDArray[np.float64]:
    """Two independent sets of unit errors, correlated within each; formulas that read the same share them."""
    errors = shifted_normal_draws(draws, 2 * len(names), seed).reshape(2, len(names), draws)
    read = [_MEASURED.index(name) for name in names]
    errors = np.linalg.cholesky(error_correlations()[np.ix_(read, read)]) @ errors
    errors.flags.writeable = False
    return errors
