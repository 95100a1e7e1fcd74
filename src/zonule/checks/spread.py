"""Questions to the law of spread, to the summary of outcomes and to the propagation of measurement error."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from zonule.checks.lens_power import A_CONSTANT
from zonule.checks.question import Question
from zonule.checks.rows import Row
from zonule.science.arrays import Numbers
from zonule.science.lens_power.formulas import FORMULAS, EyeNumbers, seen_eye
from zonule.science.statistics.outcomes import OutcomeSummary, outcome_summary
from zonule.science.uncertainty import operated_cornea
from zonule.science.uncertainty.propagation import AVERAGE_EYE, PUBLISHED_SDS, average_eye_variance_dpt2
from zonule.science.uncertainty.spread import (
    DEGREES_OF_FREEDOM,
    ROUTINE_SCALE_DPT,
    error_law,
    fraction_within,
    sd_dpt,
)

_LIMITS_DPT = np.linspace(0.05, 3.0, 60)
_QUANTILES = 20_001
REPEATABILITY_OF_SD = 1.96 * np.sqrt(2.0)
"""Two readings of one eye lie within this many within-subject SDs of each other 95 times in 100."""


def _law_of_many_eyes() -> Any:
    return error_law(ROUTINE_SCALE_DPT, 0.0, 0.0)


def _within_after_surgery(row: Row) -> Any:
    scale_dpt = {
        "laser": operated_cornea.AFTER_LASER_SCALE_DPT,
        "radial_keratotomy": operated_cornea.AFTER_KERATOTOMY_SCALE_DPT,
    }[row.inputs["cornea"]]
    return fraction_within(row.number("limit_dpt"), 0.0, 0.0, error_law(scale_dpt, 0.0, 0.0))


def _against_t(_: Row) -> float:
    """The largest difference in the share of eyes, over limits up to 3 D."""
    from scipy import stats

    ours = fraction_within(_LIMITS_DPT, 0.0, 0.0, _law_of_many_eyes())
    theirs = 2.0 * stats.t.cdf(_LIMITS_DPT, DEGREES_OF_FREEDOM, scale=ROUTINE_SCALE_DPT) - 1.0
    return float(np.abs(ours - theirs).max())


def _sd_against_t(_: Row) -> float:
    from scipy import stats

    return float(sd_dpt(ROUTINE_SCALE_DPT)) - float(stats.t.std(DEGREES_OF_FREEDOM, scale=ROUTINE_SCALE_DPT))


def _convolution_against_integral(row: Row) -> float:
    """The largest difference in the share of eyes between the mixture and an integral done by SciPy."""
    from scipy import integrate, stats

    measured_dpt = row.number("measurement_sd_dpt")
    law = error_law(ROUTINE_SCALE_DPT, 0.0, measured_dpt**2)
    residual = stats.t(DEGREES_OF_FREEDOM, scale=ROUTINE_SCALE_DPT)

    def within(limit_dpt: float) -> float:
        def density(noise: float) -> float:
            inside = residual.cdf(limit_dpt - noise) - residual.cdf(-limit_dpt - noise)
            return float(inside * stats.norm.pdf(noise, scale=measured_dpt))

        reach = 8.0 * measured_dpt
        return float(integrate.quad(density, -reach, reach, epsabs=1e-10, points=(-limit_dpt, limit_dpt))[0])

    limits = (0.25, 0.50, 1.00)
    return max(abs(float(fraction_within(limit, 0.0, 0.0, law)) - within(limit)) for limit in limits)


def _mean_absolute_error(_: Row) -> float:
    """Of the law itself: the integral of the share still outside."""
    edges = np.linspace(0.0, 60.0, 24_001)
    outside = 1.0 - np.asarray(fraction_within(edges, 0.0, 0.0, _law_of_many_eyes()))
    return float(np.trapezoid(outside, edges))


def _normal_errors(row: Row) -> OutcomeSummary:
    from scipy.special import ndtri

    places = (np.arange(_QUANTILES) + 0.5) / _QUANTILES
    return outcome_summary(row.number("sd_dpt") * ndtri(places))


def _share(limit: str) -> Callable[[Row], float]:
    return lambda row: _normal_errors(row).within[limit]


def _measurement_sd_dpt(row: Row) -> float:
    formula = FORMULAS[row.inputs["formula"]]
    return float(np.sqrt(average_eye_variance_dpt2(formula.key, formula.first_guess(A_CONSTANT))))


def _propagated_over_linear(row: Row) -> float:
    """Simulated variance over the sum of squares of slope times SD."""
    formula = FORMULAS[row.inputs["formula"]]
    constants = formula.first_guess(A_CONSTANT)
    power_dpt = formula.optics.lens_power_dpt(seen_eye(formula, AVERAGE_EYE, constants), 0.0)

    def refraction_dpt(field: str, value: Numbers) -> float:
        eye = AVERAGE_EYE._replace(**{field: value})
        return float(formula.optics.refraction_dpt(seen_eye(formula, eye, constants), power_dpt))

    linear = 0.0
    for field, at, sd in zip(EyeNumbers._fields, AVERAGE_EYE, PUBLISHED_SDS, strict=True):
        if field in formula.reads:
            slope = (refraction_dpt(field, at + 1e-4) - refraction_dpt(field, at - 1e-4)) / 2e-4
            linear += (slope * float(sd)) ** 2
    return _measurement_sd_dpt(row) ** 2 / linear


_NORMAL = "of normal errors of SD {sd_dpt} D"

QUESTIONS = {
    "law_within": Question(
        "Share of eyes within {limit_dpt} D by the law of spread",
        lambda row: fraction_within(row.number("limit_dpt"), 0.0, 0.0, _law_of_many_eyes()),
    ),
    "law_within_after_surgery": Question(
        "Share of eyes within {limit_dpt} D by the law of spread after {cornea}", _within_after_surgery
    ),
    "law_mean_absolute_error_dpt": Question("Mean absolute error of the law of spread", _mean_absolute_error),
    "law_against_t": Question(
        "Largest difference in shares within 0.05 to 3 D between the law and the t law of SciPy",
        _against_t,
    ),
    "law_sd_against_t_dpt": Question("SD of the law less that of the t law of SciPy", _sd_against_t),
    "convolution_against_integral": Question(
        "Largest difference in shares within 0.25, 0.50 and 1.00 D between the law with a measurement "
        "error of {measurement_sd_dpt} D and the convolution integrated by SciPy",
        _convolution_against_integral,
    ),
    "mean_absolute_error_dpt": Question(
        "Mean absolute error " + _NORMAL, lambda row: _normal_errors(row).mae_dpt
    ),
    "median_absolute_error_dpt": Question(
        "Median absolute error " + _NORMAL, lambda row: _normal_errors(row).median_ae_dpt
    ),
    "within_0_25": Question("Share within 0.25 D " + _NORMAL, _share("0.25")),
    "within_0_50": Question("Share within 0.50 D " + _NORMAL, _share("0.50")),
    "within_0_75": Question("Share within 0.75 D " + _NORMAL, _share("0.75")),
    "within_1_00": Question("Share within 1.00 D " + _NORMAL, _share("1.00")),
    "repeatability_of_prediction_dpt": Question(
        "Repeatability (2.77 SD) of the refraction predicted by {formula} in the average eye",
        lambda row: float(REPEATABILITY_OF_SD) * _measurement_sd_dpt(row),
    ),
    "propagated_over_linear_variance": Question(
        "Measurement variance by simulation over that by slopes, {formula} in the average eye",
        _propagated_over_linear,
    ),
}
