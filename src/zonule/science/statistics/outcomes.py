"""Summary of prediction errors, as the trade reports them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from zonule.errors import MissingMeasurementError, OutOfRangeError

LIMITS_DPT = (0.25, 0.50, 0.75, 1.00)

_ROUNDING_DPT = 1e-9
"""A refraction recorded in quarter dioptres may sit on a limit; binary fractions must not push it over."""


@dataclass(frozen=True, slots=True)
class OutcomeSummary:
    """Prediction errors of one method over one group of eyes; error is achieved minus predicted."""

    eyes: int
    mean_error_dpt: float
    sd_dpt: float | None
    """With n - 1; absent for a single eye."""
    mae_dpt: float
    median_ae_dpt: float
    within: dict[str, float]
    """Fraction of eyes with an absolute error at or under each limit."""


def outcome_summary(prediction_errors_dpt: NDArray[np.float64]) -> OutcomeSummary:
    """The usual figures for a set of prediction errors.

    Parameters
    ----------
    prediction_errors_dpt
        Achieved minus predicted spherical equivalent, dioptres, shape ``(eyes,)``, at least one, all finite.

    Returns
    -------
    OutcomeSummary
        Mean, SD, mean and median absolute error, fractions within 0.25 to 1.00 D.

    Raises
    ------
    MissingMeasurementError
        If there is no eye.
    OutOfRangeError
        If an error is not finite.

    Notes
    -----
    Reporting standard of wang-2017 and hoffer-2021 (from memory).

    Examples
    --------
    >>> summary = outcome_summary(np.array([0.25, -0.5, 0.0, 1.25]))
    >>> summary.mean_error_dpt, summary.median_ae_dpt, summary.within["0.50"]
    (0.25, 0.375, 0.75)
    """
    errors = np.asarray(prediction_errors_dpt, dtype=np.float64)
    if errors.size == 0:
        raise MissingMeasurementError("An outcome summary needs at least one eye.")
    if not np.isfinite(errors).all():
        raise OutOfRangeError("An outcome summary needs finite prediction errors only.")
    size = np.abs(errors)
    return OutcomeSummary(
        eyes=int(errors.size),
        mean_error_dpt=float(errors.mean()),
        sd_dpt=float(errors.std(ddof=1)) if errors.size > 1 else None,
        mae_dpt=float(size.mean()),
        median_ae_dpt=float(np.median(size)),
        within={f"{limit:.2f}": float((size <= limit + _ROUNDING_DPT).mean()) for limit in LIMITS_DPT},
    )
