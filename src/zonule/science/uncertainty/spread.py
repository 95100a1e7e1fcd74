"""The law by which refractions scatter about what a formula predicts.

Over many eyes the default is that of routine practice (lundstrom-2018): Student's t with 3.4 degrees of
freedom and scale 0.383 D. It has 72.7 % within 0.5 D and 93.0 % within 1.0 D, as 282,811 eyes of a European
register had (Lundstrom M et al., J Cataract Refract Surg 2018, doi 10.1016/j.jcrs.2018.01.031), and a mean
absolute error of 0.40 D (published: 0.42 D). A normal law that fits one of those figures misses the others,
because real errors are heavy-tailed.

That law already holds the measurement error of an average eye. For one eye it is taken apart: a residual,
again a t law, whose variance is what is left; and a normal law of this eye's own measurement error. The
refraction is the sum of both, so its law is their convolution. A t law is a mixture of normal laws whose
variance is a reciprocal chi-square, so the convolution is the same mixture with each variance raised by the
measurement variance.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaincinv, ndtr, stdtr

from zonule.science.arrays import Numbers

DEGREES_OF_FREEDOM = 3.4
ROUTINE_SCALE_DPT = 0.383

_VARIANCE_PER_SQUARED_SCALE = DEGREES_OF_FREEDOM / (DEGREES_OF_FREEDOM - 2.0)
_PUBLISHED_LIMIT_DPT = 0.5
"""The limit at which the average eye must have the share of the law over many eyes, exactly."""
_HEAVIEST = 2.01
"""Fewest degrees of freedom of a residual; at 2 its variance is infinite."""
_HALVINGS = 34


def _quadrature(nodes: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Places between 0 and 1 and their weights: Gauss-Legendre, drawn towards both ends.

    The quantile of the variance is steep at its ends. With 32 places drawn together there the t law is met to
    1e-7; evenly spread ones need 64 for 1e-5.
    """
    points, weights = np.polynomial.legendre.leggauss(nodes)
    even = (points + 1.0) / 2.0
    return even**2 * (3.0 - 2.0 * even), 3.0 * weights * even * (1.0 - even)


_QUANTILES, COMPONENT_WEIGHTS = _quadrature(32)


@lru_cache(maxsize=1024)
def _variance_ratios(degrees_of_freedom: float) -> NDArray[np.float64]:
    """Variances of the normal laws that make up a t law, each over the variance of the whole."""
    half_chi_squares = gammaincinv(degrees_of_freedom / 2.0, 1.0 - _QUANTILES)
    ratios = np.asarray((degrees_of_freedom / 2.0 - 1.0) / half_chi_squares, dtype=np.float64)
    ratios.flags.writeable = False
    return ratios


@dataclass(frozen=True, slots=True)
class ErrorLaw:
    """A t law of what the formula leaves open, convolved with a normal law of measurement error.

    The measurement variance may be an array, one entry for each power.
    """

    residual_variance_dpt2: float
    residual_degrees_of_freedom: float
    measurement_variance_dpt2: Numbers

    @property
    def sd_dpt(self) -> Numbers:
        """Standard deviation: the variances of independent errors add."""
        deviation: Numbers = np.sqrt(self.residual_variance_dpt2 + self.measurement_variance_dpt2)
        return deviation

    @property
    def component_sds_dpt(self) -> NDArray[np.float64]:
        """Standard deviations of the normal laws it is a mixture of, along a new last axis.

        Their weights are `COMPONENT_WEIGHTS`.
        """
        measured = np.asarray(self.measurement_variance_dpt2, dtype=np.float64)[..., None]
        ratios = _variance_ratios(self.residual_degrees_of_freedom)
        return np.asarray(np.sqrt(self.residual_variance_dpt2 * ratios + measured))


@dataclass(frozen=True, slots=True)
class Chances:
    """Fractions of refractions, each in the shape of what they were asked for."""

    within_0_25: NDArray[np.float64]
    within_0_50: NDArray[np.float64]
    within_0_75: NDArray[np.float64]
    within_1_00: NDArray[np.float64]


def sd_dpt(scale_dpt: Numbers) -> Numbers:
    """The standard deviation of the law over many eyes, of this scale.

    Parameters
    ----------
    scale_dpt
        Scale of the t law, dioptres, above 0.

    Returns
    -------
    Numbers
        Standard deviation, dioptres: ``scale sqrt(v / (v - 2))``.

    Examples
    --------
    >>> round(float(sd_dpt(ROUTINE_SCALE_DPT)), 3)
    0.597
    """
    deviation: Numbers = scale_dpt * np.sqrt(_VARIANCE_PER_SQUARED_SCALE)
    return deviation


def law_of_sds(sd_dpt: float, measurement_sd_dpt: float, residual_degrees_of_freedom: float) -> ErrorLaw:
    """The law that has these figures: what a prediction keeps of it, so that it can be had back.

    Parameters
    ----------
    sd_dpt
        Standard deviation of the whole, dioptres.
    measurement_sd_dpt
        The part of it that measurement error makes, dioptres, at most the whole but for rounding.
    residual_degrees_of_freedom
        Of the t law that makes the rest, above 2.

    Returns
    -------
    ErrorLaw
        For one eye and one power.

    Examples
    --------
    >>> round(float(law_of_sds(0.6, 0.15, 3.2).sd_dpt), 9)
    0.6
    """
    measured_dpt2 = measurement_sd_dpt**2
    return ErrorLaw(max(sd_dpt**2 - measured_dpt2, 0.0), residual_degrees_of_freedom, measured_dpt2)


def error_law(
    law_scale_dpt: float, average_eye_variance_dpt2: float, this_eye_variance_dpt2: Numbers
) -> ErrorLaw:
    """The law to expect in one eye, without counting measurement error twice.

    Parameters
    ----------
    law_scale_dpt
        Scale of the t law seen over many eyes, dioptres. It already contains the measurement error of an
        average eye.
    average_eye_variance_dpt2
        Variance of predicted refraction that measurement error causes in the average eye, square dioptres.
    this_eye_variance_dpt2
        The same in this eye, square dioptres.

    Returns
    -------
    ErrorLaw
        What is left of the law without the average eye's measurement error, convolved with this eye's own.

    Notes
    -----
    The variance of the residual is the difference of the variances. Its degrees of freedom are those with
    which the average eye has the share within half a dioptre of the law over many eyes; see
    docs/decisions/0003.

    Examples
    --------
    >>> average = error_law(ROUTINE_SCALE_DPT, 0.0185, 0.0185)
    >>> round(float(average.sd_dpt), 3), round(average.residual_degrees_of_freedom, 2)
    (0.597, 3.22)
    >>> round(float(fraction_within(0.5, 0.0, 0.0, average)), 3)
    0.727
    """
    residual = max(float(sd_dpt(law_scale_dpt)) ** 2 - average_eye_variance_dpt2, 0.0)
    freedom = _residual_degrees_of_freedom(float(law_scale_dpt), float(average_eye_variance_dpt2))
    return ErrorLaw(residual, freedom, this_eye_variance_dpt2)


@lru_cache(maxsize=256)
def _residual_degrees_of_freedom(law_scale_dpt: float, average_eye_variance_dpt2: float) -> float:
    """Those that give the average eye the share of the law over many eyes within half a dioptre.

    Where none does, because nearly every eye or nearly no residual lies within, the law's own are kept.
    """
    residual = float(sd_dpt(law_scale_dpt)) ** 2 - average_eye_variance_dpt2
    share = 2.0 * float(stdtr(DEGREES_OF_FREEDOM, _PUBLISHED_LIMIT_DPT / law_scale_dpt)) - 1.0

    def surplus(freedom: float) -> float:
        average = ErrorLaw(residual, freedom, average_eye_variance_dpt2)
        return float(fraction_within(_PUBLISHED_LIMIT_DPT, 0.0, 0.0, average)) - share

    heavy, light = _HEAVIEST, DEGREES_OF_FREEDOM
    if residual <= 0.0 or surplus(light) >= 0.0 or surplus(heavy) <= 0.0:
        return DEGREES_OF_FREEDOM
    for _ in range(_HALVINGS):
        middle = (heavy + light) / 2.0
        heavy, light = (middle, light) if surplus(middle) > 0.0 else (heavy, middle)
    return (heavy + light) / 2.0


def fraction_below(limit_dpt: Numbers, centre_dpt: Numbers, law: ErrorLaw) -> NDArray[np.float64]:
    """The fraction of refractions at or below `limit_dpt`.

    Parameters
    ----------
    limit_dpt
        Refraction, dioptres.
    centre_dpt
        Predicted refraction, dioptres.
    law
        How refractions scatter about it.

    Returns
    -------
    ndarray of float64
        Fraction, 0 to 1, in the broadcast shape.

    Examples
    --------
    >>> round(float(fraction_below(0.0, 0.0, error_law(0.383, 0.02, 0.05))), 9)
    0.5
    """
    distance = np.asarray(limit_dpt - centre_dpt, dtype=np.float64)[..., None]
    return np.minimum(ndtr(distance / law.component_sds_dpt) @ COMPONENT_WEIGHTS, 1.0)


def fraction_within(
    limit_dpt: Numbers, target_dpt: float, centre_dpt: Numbers, law: ErrorLaw
) -> NDArray[np.float64]:
    """The fraction of refractions within `limit_dpt` of the target, either way.

    Parameters
    ----------
    limit_dpt
        Half-width of the band, dioptres, above 0; the limit counts as within.
    target_dpt
        The refraction aimed at, dioptres.
    centre_dpt
        Predicted refraction, dioptres.
    law
        How refractions scatter about it.

    Returns
    -------
    ndarray of float64
        Fraction, 0 to 1, in the broadcast shape.

    Examples
    --------
    >>> badly_measured = error_law(ROUTINE_SCALE_DPT, 0.0185, 0.434**2)
    >>> round(float(fraction_within(0.5, 0.0, 0.0, badly_measured)), 3)
    0.575
    """
    upper = fraction_below(target_dpt + limit_dpt, centre_dpt, law)
    return upper - fraction_below(target_dpt - limit_dpt, centre_dpt, law)


def chances_of_target(target_dpt: float, centre_dpt: Numbers, law: ErrorLaw) -> Chances:
    """The chances of landing near the target.

    Parameters
    ----------
    target_dpt
        The refraction aimed at, dioptres.
    centre_dpt
        Predicted refraction, dioptres; an array over powers.
    law
        How refractions scatter about it.

    Returns
    -------
    Chances
        Fractions within 0.25, 0.50, 0.75 and 1.00 D of the target.

    Examples
    --------
    >>> chances = chances_of_target(0.0, 0.0, error_law(ROUTINE_SCALE_DPT, 0.0185, 0.0185))
    >>> round(float(chances.within_1_00), 3)
    0.933
    """
    axes = np.broadcast(centre_dpt, law.measurement_variance_dpt2).ndim
    limits = np.reshape([0.25, 0.50, 0.75, 1.00], (4,) + (1,) * axes)
    return Chances(*fraction_within(limits, target_dpt, centre_dpt, law))
