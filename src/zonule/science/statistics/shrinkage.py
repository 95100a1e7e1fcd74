"""How far a surgeon's own results may move the next plan: in proportion to their evidence."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from zonule.science.uncertainty.spread import DEGREES_OF_FREEDOM, ROUTINE_SCALE_DPT, sd_dpt

SURGEON_BIAS_SD_DPT = 0.15
"""Prior standard deviation of a surgeon's bias about published constants (0.1 to 0.15: our choice)."""

FELLOW_EYE_CORRELATION = 0.5
"""Correlation of two eyes' errors (aristodemou-2011): two eyes of one patient are not two patients."""

PRIOR_EYES_FOR_SPREAD = 100.0
"""Eyes that the published spread counts for against the clinic's own: our choice, no source."""


@dataclass(frozen=True, slots=True)
class ShrunkOffset:
    """A bias estimated from own eyes, and how much of it to use."""

    mean_error_dpt: float
    standard_error_dpt: float
    effective_eyes: float
    weight: float
    """0 to 1: the evidence's share against the prior of no bias."""
    offset_dpt: float
    """The share of the mean error to add to the next prediction."""
    offset_sd_dpt: float
    """What remains uncertain about the offset."""


def effective_eyes(eyes_per_patient: NDArray[np.int64]) -> float:
    """How many independent eyes these patients' eyes are worth.

    Parameters
    ----------
    eyes_per_patient
        Number of eyes of each patient, 1 or 2, shape ``(patients,)``.

    Returns
    -------
    float
        ``sum of m / (1 + (m - 1) rho)`` with rho 0.5 (gorodezky-2014, aristodemou-2011).

    Examples
    --------
    >>> round(effective_eyes(np.full(50, 2)), 1)
    66.7
    """
    eyes = np.asarray(eyes_per_patient, dtype=np.float64)
    return float((eyes / (1.0 + (eyes - 1.0) * FELLOW_EYE_CORRELATION)).sum())


def shrunk_offset(prediction_errors_dpt: NDArray[np.float64], independent_eyes: float) -> ShrunkOffset:
    """The part of a mean prediction error that its evidence supports.

    Parameters
    ----------
    prediction_errors_dpt
        Achieved minus predicted, dioptres, shape ``(eyes,)``, at least one.
    independent_eyes
        Their worth in independent eyes, from `effective_eyes`, above 0.

    Returns
    -------
    ShrunkOffset
        Posterior of a normal bias with prior mean 0 and prior SD 0.15 D.

    Notes
    -----
    Weight ``n / (n + k)``, ``k = SD^2 / tau^2``, the posterior of two normal laws. The SD is that of
    routine practice, not that of the sample: a handful of lucky eyes must not look like evidence.

    Examples
    --------
    >>> few = shrunk_offset(np.full(4, 0.4), 4.0)
    >>> many = shrunk_offset(np.full(400, 0.4), 400.0)
    >>> round(few.weight, 2), round(many.weight, 2)
    (0.2, 0.96)
    """
    mean = float(np.mean(prediction_errors_dpt))
    variance = float(sd_dpt(ROUTINE_SCALE_DPT)) ** 2
    prior_eyes = variance / SURGEON_BIAS_SD_DPT**2
    weight = independent_eyes / (independent_eyes + prior_eyes)
    return ShrunkOffset(
        mean_error_dpt=mean,
        standard_error_dpt=float(np.sqrt(variance / independent_eyes)),
        effective_eyes=independent_eyes,
        weight=weight,
        offset_dpt=weight * mean,
        offset_sd_dpt=float(np.sqrt(variance / (independent_eyes + prior_eyes))),
    )


def blended_scale_dpt(centred_errors_dpt: NDArray[np.float64], independent_eyes: float) -> float:
    """The scale of the law of spread after own results have had their say.

    Parameters
    ----------
    centred_errors_dpt
        Prediction errors less their own mean, dioptres, shape ``(eyes,)``, at least two.
    independent_eyes
        Their worth in independent eyes.

    Returns
    -------
    float
        Scale of the t law, dioptres.

    Notes
    -----
    The own scale is the one whose t law has the median absolute error that was seen (robust: one surprise
    does not widen everything); squares are averaged, the published law counting for 100 eyes (our choice).

    Examples
    --------
    >>> errors = np.array([-0.6, -0.3, 0.3, 0.6])
    >>> round(blended_scale_dpt(errors, 0.0001), 3)
    0.383
    """
    own = float(np.median(np.abs(centred_errors_dpt))) / _t_upper_quartile()
    total = independent_eyes + PRIOR_EYES_FOR_SPREAD
    squared = independent_eyes * own**2 + PRIOR_EYES_FOR_SPREAD * ROUTINE_SCALE_DPT**2
    return float(np.sqrt(squared / total))


def _t_upper_quartile() -> float:
    from scipy.special import stdtrit

    return float(stdtrit(DEGREES_OF_FREEDOM, 0.75))
