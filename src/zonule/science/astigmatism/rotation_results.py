"""How far toric lenses turned, over many eyes, and what the standards ask.

Turned by 180 degrees a lens lies as before. So angles here have a period of 180 degrees, and their mean is
taken on the circle.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from zonule.errors import MissingMeasurementError, OutOfRangeError
from zonule.science.arrays import Numbers, select
from zonule.science.astigmatism.vectors import HALF_TURN_DEG

STEPS_DEG = (3.0, 5.0, 10.0, 15.0, 20.0, 30.0)

_ROUNDING_DEG = 1e-9


class Since(StrEnum):
    """What a lens's meridian is compared with."""

    INTENDED = "the meridian intended"
    EARLIER_VISIT = "an earlier visit"


@dataclass(frozen=True, slots=True)
class RotationLimit:
    """What a standard asks of a group of lenses."""

    source: str
    since: Since
    at_most_deg: float
    of_eyes_percent: float
    """At least this many of 100 eyes turned no farther."""


LIMITS = (
    RotationLimit("ansi-z80-30", Since.EARLIER_VISIT, 5.0, 90.0),
    RotationLimit("iso-11979-7", Since.INTENDED, 10.0, 90.0),
    RotationLimit("iso-11979-7", Since.INTENDED, 20.0, 95.0),
)
"""From memory; the first holds between two visits about 3 months apart."""


@dataclass(frozen=True, slots=True)
class LimitInEyes:
    """A standard's limit beside a group of eyes."""

    limit: RotationLimit
    found_percent: float
    met: bool
    """Whether these eyes meet it; a few eyes show little about a lens."""


@dataclass(frozen=True, slots=True)
class RotationResults:
    """The usual figures for how far lenses turned; plus is counter-clockwise as the examiner sees the eye."""

    eyes: int
    mean_deg: float
    """Mean direction on the circle: where lenses tend. It is near zero where they turn either way alike."""
    sd_deg: float
    """Circular standard deviation; infinite where the angles cancel wholly."""
    mean_absolute_deg: float
    median_absolute_deg: float
    largest_deg: float
    """Without its sign."""
    within: dict[str, float]
    """Fraction of eyes that turned no farther than each step, in degrees."""
    limits: tuple[LimitInEyes, ...]


def turned_by_deg(start_meridian_deg: Numbers, end_meridian_deg: Numbers) -> Numbers:
    """The shortest turn from one meridian to another.

    Parameters
    ----------
    start_meridian_deg, end_meridian_deg
        Meridians of the lens, degrees counter-clockwise as the examiner sees the eye.

    Returns
    -------
    float or ndarray
        Degrees, above -90 and up to 90; plus is counter-clockwise.

    Examples
    --------
    >>> float(turned_by_deg(178.0, 3.0)), float(turned_by_deg(3.0, 178.0))
    (5.0, -5.0)
    """
    ahead = np.mod(np.asarray(end_meridian_deg) - start_meridian_deg, HALF_TURN_DEG)
    return select(ahead > HALF_TURN_DEG / 2.0, ahead - HALF_TURN_DEG, ahead)


def rotation_results(turns_deg: NDArray[np.float64], since: Since) -> RotationResults:
    """How far the lenses of a group of eyes turned.

    Parameters
    ----------
    turns_deg
        From the meridian intended, or from that of an earlier visit, degrees, -90 to 90, shape ``(eyes,)``.
    since
        Which of the two; each has its own limits.

    Returns
    -------
    RotationResults
        Mean on the circle, absolute values, fractions by step, the limits that hold for this comparison.

    Raises
    ------
    MissingMeasurementError
        If there is no eye.
    OutOfRangeError
        If an angle is not finite, or beyond 90 degrees either way.

    Notes
    -----
    With ``R e^(i t)`` the mean of ``e^(2 i angle)``: mean ``t / 2``, SD ``sqrt(-2 ln R) / 2``. Limits of
    iso-11979-7 and ansi-z80-30, from memory.

    Examples
    --------
    >>> found = rotation_results(np.array([2.0, -4.0, 3.0, 12.0]), Since.INTENDED)
    >>> found.mean_absolute_deg, found.within["5"], [one.met for one in found.limits]
    (5.25, 0.75, [False, True])
    """
    turns = _checked_deg(turns_deg)
    sizes_deg = np.abs(turns)
    resultant = np.exp(2j * np.deg2rad(turns)).mean()
    length = min(float(np.abs(resultant)), 1.0)
    return RotationResults(
        eyes=len(turns),
        mean_deg=float(np.rad2deg(np.angle(resultant)) / 2.0),
        sd_deg=float(np.rad2deg(np.sqrt(-2.0 * np.log(length))) / 2.0) if length > 0.0 else np.inf,
        mean_absolute_deg=float(sizes_deg.mean()),
        median_absolute_deg=float(np.median(sizes_deg)),
        largest_deg=float(sizes_deg.max()),
        within={f"{step:g}": _percent_within(sizes_deg, step) / 100.0 for step in STEPS_DEG},
        limits=tuple(_beside(limit, sizes_deg) for limit in LIMITS if limit.since is since),
    )


def _checked_deg(turns_deg: NDArray[np.float64]) -> NDArray[np.float64]:
    turns = np.atleast_1d(np.asarray(turns_deg, dtype=np.float64))
    if not len(turns):
        raise MissingMeasurementError("There is no eye whose lens meridian was measured.")
    if not (np.abs(turns) <= HALF_TURN_DEG / 2.0).all():
        raise OutOfRangeError(
            "A lens turns by 90 degrees at most, either way; one of these is no such angle."
        )
    return turns


def _percent_within(sizes_deg: NDArray[np.float64], step_deg: float) -> float:
    return 100.0 * float(np.mean(sizes_deg <= step_deg + _ROUNDING_DEG))


def _beside(limit: RotationLimit, sizes_deg: NDArray[np.float64]) -> LimitInEyes:
    found_percent = _percent_within(sizes_deg, limit.at_most_deg)
    return LimitInEyes(limit, found_percent, found_percent >= limit.of_eyes_percent - _ROUNDING_DEG)
