"""Both eyes of one patient: how their refractions, and the difference between them, scatter together.

Each eye follows its own law of spread: a t law of what the formula leaves open, convolved with a normal law
of measurement error. What the formulas leave open is alike in two eyes of one patient and correlates with
the published 0.5 (aristodemou-2011); the measurement errors of two eyes are taken as independent. The whole
errors of two averagely measured eyes then correlate at 0.47, a little under the published figure: the
chances below do not promise more than was seen.

Heavy tails are shared: both eyes take their variance from the same place of the mixture of normal laws that
makes up a t law, so that a patient who surprises in one eye is likelier to surprise in the other. With equal
degrees of freedom and no measurement error this is the two-dimensional t law. Every chance is a weighted sum
over two-dimensional normal laws; there are no draws.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from zonule.errors import OutOfRangeError
from zonule.science.arrays import Numbers
from zonule.science.uncertainty.spread import (
    COMPONENT_WEIGHTS,
    DEGREES_OF_FREEDOM,
    ROUTINE_SCALE_DPT,
    ErrorLaw,
    sd_dpt,
)

REFRACTION_SHARE = 0.27
"""Of the variance of prediction errors, what the refraction after the operation makes (norrby-2008)."""

_POINTS, _WEIGHTS = np.polynomial.legendre.leggauss(64)
_LEAST_VARIANCE_SHARE = 1e-12
"""Of the conditional law, so that a correlation of 1 stays a limit and not a division by zero."""


def achieved_law() -> ErrorLaw:
    """How the refraction of an eye that has been operated scatters when it is measured again.

    Returns
    -------
    ErrorLaw
        A normal law about what was measured: 27 % of the variance of routine practice (norrby-2008).

    Examples
    --------
    >>> round(float(achieved_law().sd_dpt), 2)
    0.31
    """
    noise = REFRACTION_SHARE * float(sd_dpt(ROUTINE_SCALE_DPT)) ** 2
    return ErrorLaw(0.0, DEGREES_OF_FREEDOM, noise)


@dataclass(frozen=True, slots=True)
class PairLaw:
    """How both eyes scatter about their predictions."""

    right: ErrorLaw
    left: ErrorLaw
    correlation: float
    """Of what the formulas leave open, -1 to 1; 0 for eyes that know nothing of each other."""

    def __post_init__(self) -> None:
        if not -1.0 <= self.correlation <= 1.0:
            raise OutOfRangeError("A correlation lies between -1 and 1.")

    @property
    def component_sds_dpt(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Standard deviations of right and left in each normal law of the mixture."""
        return self.right.component_sds_dpt, self.left.component_sds_dpt

    @property
    def component_covariances_dpt2(self) -> NDArray[np.float64]:
        """Covariance of both eyes in each normal law of the mixture."""
        residuals = [
            ErrorLaw(law.residual_variance_dpt2, law.residual_degrees_of_freedom, 0.0).component_sds_dpt
            for law in (self.right, self.left)
        ]
        return np.asarray(self.correlation * residuals[0] * residuals[1])

    @property
    def difference_sds_dpt(self) -> NDArray[np.float64]:
        """Standard deviations of right minus left in each normal law of the mixture."""
        right, left = self.component_sds_dpt
        return np.asarray(
            np.sqrt(np.maximum(right**2 + left**2 - 2.0 * self.component_covariances_dpt2, 0.0))
        )


def difference_sd_dpt(pair: PairLaw) -> float:
    """The standard deviation of the difference between the eyes.

    Parameters
    ----------
    pair
        How both eyes scatter.

    Returns
    -------
    float
        Of right minus left, dioptres.

    Examples
    --------
    >>> eye = ErrorLaw(0.338, 3.22, 0.0185)
    >>> [round(difference_sd_dpt(PairLaw(eye, eye, rho)), 2) for rho in (0.0, 0.5)]
    [0.84, 0.61]
    """
    residuals = [law.residual_variance_dpt2 for law in (pair.right, pair.left)]
    shared = pair.correlation * _mean_product(pair)
    measured = float(np.asarray(pair.right.measurement_variance_dpt2 + pair.left.measurement_variance_dpt2))
    return float(np.sqrt(max(sum(residuals) + measured - 2.0 * shared, 0.0)))


def _mean_product(pair: PairLaw) -> float:
    """Mean product of the two residual standard deviations that share their place in the mixture."""
    right, left = pair.right, pair.left
    if right.residual_degrees_of_freedom == left.residual_degrees_of_freedom:
        return float(np.sqrt(right.residual_variance_dpt2 * left.residual_variance_dpt2))
    whole = PairLaw(right, left, 1.0)
    return float(whole.component_covariances_dpt2 @ COMPONENT_WEIGHTS)


def fraction_apart(limit_dpt: Numbers, centre_difference_dpt: Numbers, pair: PairLaw) -> NDArray[np.float64]:
    """The fraction of patients whose eyes end farther apart than a limit.

    Parameters
    ----------
    limit_dpt
        The difference that is tolerated, dioptres, 0 or more.
    centre_difference_dpt
        Predicted refraction of the right eye minus that of the left, dioptres.
    pair
        How both eyes scatter.

    Returns
    -------
    ndarray of float64
        Fraction, 0 to 1, in the broadcast shape.

    Examples
    --------
    >>> eye = ErrorLaw(0.338, 3.22, 0.0185)
    >>> chances = fraction_apart(1.5, np.array([0.0, 1.25]), PairLaw(eye, eye, 0.5))
    >>> [round(float(chance), 2) for chance in chances]
    [0.02, 0.29]
    """
    difference = np.asarray(centre_difference_dpt, dtype=np.float64)[..., None]
    limit, sds = np.asarray(limit_dpt, dtype=np.float64)[..., None], pair.difference_sds_dpt
    beyond = ndtr(-(limit - difference) / sds) + ndtr(-(limit + difference) / sds)
    return np.clip(beyond @ COMPONENT_WEIGHTS, 0.0, 1.0)


def fraction_both_within(
    limit_dpt: float, right_miss_dpt: Numbers, left_miss_dpt: Numbers, pair: PairLaw
) -> NDArray[np.float64]:
    """The fraction of patients both of whose eyes end within a limit of their aims.

    Parameters
    ----------
    limit_dpt
        Half-width of the band about each aim, dioptres, above 0.
    right_miss_dpt
        Predicted refraction of the right eye minus its aim, dioptres.
    left_miss_dpt
        The same of the left eye.
    pair
        How both eyes scatter.

    Returns
    -------
    ndarray of float64
        Fraction, 0 to 1, in the broadcast shape.

    Notes
    -----
    In each normal law of the mixture the chance of the left eye given the right is integrated over the band
    of the right eye by the rule of Gauss and Legendre, at 64 places, in probability.

    Examples
    --------
    >>> eye = ErrorLaw(0.338, 3.22, 0.0185)
    >>> [round(float(fraction_both_within(0.5, 0.0, 0.0, PairLaw(eye, eye, rho))), 3) for rho in (0.0, 0.5)]
    [0.559, 0.577]
    """
    right_sds, left_sds = pair.component_sds_dpt
    right = np.asarray(right_miss_dpt, dtype=np.float64)[..., None]
    left = np.asarray(left_miss_dpt, dtype=np.float64)[..., None, None]
    low, high = ndtr((-limit_dpt - right) / right_sds), ndtr((limit_dpt - right) / right_sds)
    places = low[..., None] + (high - low)[..., None] * (_POINTS + 1.0) / 2.0
    steps = ndtri(np.clip(places, np.finfo(np.float64).tiny, 1.0 - np.finfo(np.float64).epsneg))
    share = np.clip(pair.component_covariances_dpt2 / (right_sds * left_sds), -1.0, 1.0)
    rest = left_sds * np.sqrt(np.maximum(1.0 - share**2, _LEAST_VARIANCE_SHARE))
    middle = left + (share * left_sds)[:, None] * steps
    inside = ndtr((limit_dpt - middle) / rest[:, None]) - ndtr((-limit_dpt - middle) / rest[:, None])
    chances = (inside @ _WEIGHTS / 2.0) * (high - low)
    return np.clip(chances @ COMPONENT_WEIGHTS, 0.0, 1.0)
