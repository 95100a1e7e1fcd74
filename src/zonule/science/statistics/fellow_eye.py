"""What the first eye's prediction error says about the second.

The two eyes of one patient miss their predictions together: with equal spread in both, the regression weight
of one error on the other is their correlation. About half of the first eye's error is to be expected again
(aristodemou-2011, 2,129 patients; nice-ng77).

The published weight is that of errors as they were measured, so the noise of both refractions is in it.
Refraction itself makes 27 % of the variance (norrby-2008); errors without that noise would correlate at
0.5 / 0.73 = 0.68.

Real errors are heavy-tailed. For two normal errors, and for any two errors whose joint law has ellipses for
contours, as the two-dimensional t law has, the expected second error is the weight times the first. What
remains differs: under a normal law its variance is ``1 - weight^2`` of the whole whatever the first error
was; under a t law that holds on average only, and after a surprise more remains than after a small error.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from zonule.errors import OutOfRangeError
from zonule.science.arrays import Numbers
from zonule.science.statistics.shrinkage import FELLOW_EYE_CORRELATION

PUBLISHED_WEIGHT = FELLOW_EYE_CORRELATION
"""Share of the first eye's error to expect in the second (aristodemou-2011; nice-ng77)."""

PRIOR_PAIRS = 63.0
"""Pairs of eyes that the published weight counts for (our choice).

Published weights run from 0.3 to 0.6, a standard deviation of about 0.1 among clinics and formulas. The
weight found in n pairs has a variance of 0.63 / n where the true one is 0.5, so 63 pairs know as much."""

LEAST_PAIRS = 3
"""Fewer have no rank correlation worth the name."""


@dataclass(frozen=True, slots=True)
class LearnedWeight:
    """The share of the first eye's error to expect in the second, after own pairs have had their say."""

    weight: float
    own_weight: float
    """What the own pairs say alone."""
    pairs: int


def fellow_error_dpt(first_error_dpt: Numbers, weight: Numbers = PUBLISHED_WEIGHT) -> Numbers:
    """The error to expect in the second eye.

    Parameters
    ----------
    first_error_dpt
        Achieved minus predicted in the first eye, dioptres, after every lesson already applied.
    weight
        Regression weight, which with equal spread in both eyes is their correlation, 0 to 1.

    Returns
    -------
    Numbers
        Expected achieved minus predicted in the second eye, dioptres, in the broadcast shape.

    Raises
    ------
    OutOfRangeError
        If a weight lies outside 0 to 1.

    Notes
    -----
    Mean of a two-dimensional normal law given one of its two: ``E(e2 | e1) = weight e1``, textbook
    statistics; the same in every elliptical law. Published weight 0.5: aristodemou-2011.

    Examples
    --------
    >>> fellow_error_dpt(1.0)
    0.5
    """
    _refuse_other_than_a_share(weight)
    return weight * first_error_dpt


def variance_left(weight: Numbers) -> Numbers:
    """The share of the second eye's variance that the first eye leaves open.

    Parameters
    ----------
    weight
        Regression weight, 0 to 1.

    Returns
    -------
    Numbers
        ``1 - weight^2``, 0 to 1.

    Raises
    ------
    OutOfRangeError
        If a weight lies outside 0 to 1.

    Notes
    -----
    Exact for normal errors of equal variance; an average over first errors for heavy-tailed ones. With 0.5
    the root mean square error falls by ``1 - sqrt(0.75)``, 13.4 %; a published regression gained 11.3 %
    (leffler-2011). It is taken off what a formula leaves open; the second eye's own measurement error stays
    whole, for the first eye knows nothing of it.

    Examples
    --------
    >>> float(variance_left(0.5))
    0.75
    """
    _refuse_other_than_a_share(weight)
    return 1.0 - weight**2


def learned_weight(
    first_errors_dpt: NDArray[np.float64], second_errors_dpt: NDArray[np.float64]
) -> LearnedWeight:
    """The weight after own pairs of eyes have had their say.

    Parameters
    ----------
    first_errors_dpt
        Errors of first eyes, dioptres, shape ``(pairs,)``, at least three.
    second_errors_dpt
        Errors of their fellow eyes in the same order, dioptres, before any correction from the first eye.

    Returns
    -------
    LearnedWeight
        Own and published weight averaged, the published one counting for 63 pairs.

    Raises
    ------
    OutOfRangeError
        If there are fewer than three pairs, unlike numbers of eyes, or a number is missing.

    Notes
    -----
    The own weight is ``sin(pi tau / 2)`` with Kendall's tau, which is the correlation of every elliptical
    law however heavy its tails (lindskog-2003); a bias common to all first or all second eyes does not move
    it. It is kept between 0 and 1: eyes that miss in opposite ways have never been reported.

    Examples
    --------
    >>> first = np.array([0.3, -0.4, 0.1, 0.8, -0.2])
    >>> learned = learned_weight(first, first)
    >>> learned.own_weight, round(learned.weight, 3), learned.pairs
    (1.0, 0.537, 5)
    """
    from scipy.stats import kendalltau

    first = np.asarray(first_errors_dpt, dtype=np.float64)
    second = np.asarray(second_errors_dpt, dtype=np.float64)
    if first.shape != second.shape or first.ndim != 1 or first.size < LEAST_PAIRS:
        raise OutOfRangeError(
            f"A weight is learned from {LEAST_PAIRS} pairs of eyes or more, each with two errors."
        )
    if not (np.isfinite(first).all() and np.isfinite(second).all()):
        raise OutOfRangeError("An error in a pair of eyes is not a number. Leave the pair out.")
    tau = float(kendalltau(first, second).statistic)
    own = float(np.clip(np.sin(np.pi / 2.0 * tau), 0.0, 1.0)) if np.isfinite(tau) else 0.0
    pairs = first.size
    weight = (pairs * own + PRIOR_PAIRS * PUBLISHED_WEIGHT) / (pairs + PRIOR_PAIRS)
    return LearnedWeight(weight=weight, own_weight=own, pairs=pairs)


def _refuse_other_than_a_share(weight: Numbers) -> None:
    if not np.all((np.asarray(weight) >= 0.0) & (np.asarray(weight) <= 1.0)):
        raise OutOfRangeError("The weight of the first eye's error lies between 0 and 1.")
