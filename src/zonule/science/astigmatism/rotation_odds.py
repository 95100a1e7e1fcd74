"""How sure it is that turning a lens helps: refraction, meridian and the new turn all have their error.

What is planned follows from what was read; what comes of it follows from what is true. The two differ by the
errors drawn here.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from zonule.errors import InconsistentRecordError, OutOfRangeError
from zonule.science.astigmatism.rotation import best_rotation
from zonule.science.astigmatism.toric_odds import DRAWS, LIMITS_DPT
from zonule.science.astigmatism.vectors import Plane, SpheroCylinder
from zonule.science.uncertainty.quasi_random import SHIFTS, shifted_normal_draws

WORTH_DPT = 0.5
"""A gain under half a dioptre is not worth an operation (common practice, no source)."""

REFRACTION_SD_DPT = 0.20
"""Of each component of a manifest cylinder when it is refracted again: our choice, no source. A cylinder is
written in quarters of a dioptre, and its axis in steps of 5 degrees."""

MERIDIAN_SD_DEG = 3.3
"""Of a lens meridian read at the slit lamp.

A mean error of 2.62 degrees with a level (khatib-2020), as that of a normal law.
"""


class RotationScatter(NamedTuple):
    """Standard deviations of what is read, and of where the lens ends when it is turned."""

    refraction_dpt: float
    """Of x and of y of the manifest cylinder, at the cornea."""
    meridian_deg: float
    """Of the lens meridian as read."""
    turn_deg: float
    """Of where the lens ends against where it was to go."""


class RotationOdds(NamedTuple):
    """Chances after the best turn, over what reading and turning leave open."""

    within: NDArray[np.float64]
    """That the cylinder is at most each of `LIMITS_DPT`."""
    within_now: NDArray[np.float64]
    """The same as the lens lies: what was read is not what is true."""
    gains_half: float
    """That it shrinks by half a dioptre or more."""
    worse: float
    """That it grows."""
    standard_error: float
    """Of `gains_half`."""


def rotation_odds(
    seen: SpheroCylinder,
    lens_at_cornea_dpt: float,
    lens_meridian_deg: float,
    scatter: RotationScatter,
    seed: int,
    draws: int = DRAWS,
) -> RotationOdds:
    """The chances of turning one lens to where it should leave least.

    Parameters
    ----------
    seen
        Manifest refraction, at the cornea, as read.
    lens_at_cornea_dpt
        Cylinder of the lens at the cornea, dioptres.
    lens_meridian_deg
        Where its marks were seen, degrees.
    scatter
        Standard deviations, each 0 or more.
    seed
        Any integer of 0 or more; the same seed gives the same chances.
    draws
        A multiple of 16. Default 8,192.

    Returns
    -------
    RotationOdds
        Chances. Gain and loss are against the true cylinder of each draw, not against the one that was read.

    Raises
    ------
    InconsistentRecordError
        When the refraction is not at the cornea.
    OutOfRangeError
        When a standard deviation is minus or not known.

    Notes
    -----
    True refraction and meridian are read ones minus their errors. The turn follows from the read ones
    (`rotation.best_rotation`); what it leaves is ``A - T`` with the true A and the lens where it ends
    (derived here).

    Examples
    --------
    >>> from zonule.science.astigmatism.vectors import sphero_cylinder
    >>> seen = sphero_cylinder(1.0, -2.0, 140.0, Plane.CORNEA)
    >>> chances = rotation_odds(seen, 2.6, 10.0, RotationScatter(0.2, 3.3, 5.0), seed=1)
    >>> round(chances.gains_half, 2), round(chances.worse, 2)
    (0.93, 0.01)
    """
    if seen.correcting.plane is not Plane.CORNEA:
        raise InconsistentRecordError(f"Odds are told at the cornea, not at the {seen.correcting.plane}.")
    if not all(sd >= 0.0 for sd in scatter):
        raise OutOfRangeError("A standard deviation is 0 or more, and known.")
    unit = shifted_normal_draws(draws, 4, seed)
    before_x = seen.correcting.x_dpt - scatter.refraction_dpt * unit[0]
    before_y = seen.correcting.y_dpt - scatter.refraction_dpt * unit[1]
    lies_deg = lens_meridian_deg - scatter.meridian_deg * unit[2]
    turn_deg = best_rotation(seen, lens_at_cornea_dpt, lens_meridian_deg).rotate_by_deg
    ends_deg = lies_deg + turn_deg + scatter.turn_deg * unit[3]
    lies, ends = np.deg2rad(2.0 * lies_deg), np.deg2rad(2.0 * ends_deg)
    left_dpt = np.hypot(
        before_x + lens_at_cornea_dpt * (np.cos(lies) - np.cos(ends)),
        before_y + lens_at_cornea_dpt * (np.sin(lies) - np.sin(ends)),
    )
    now_dpt = np.hypot(before_x, before_y)
    gain_dpt = now_dpt - left_dpt
    gains = np.mean(gain_dpt >= WORTH_DPT - _ROUNDING_DPT, axis=-1)
    return RotationOdds(
        _shares(left_dpt),
        _shares(now_dpt),
        float(gains.mean()),
        float(np.mean(gain_dpt < -_ROUNDING_DPT)),
        float(gains.std(ddof=1) / np.sqrt(SHIFTS)),
    )


_ROUNDING_DPT = 1e-9


def _shares(cylinder_dpt: NDArray[np.float64]) -> NDArray[np.float64]:
    """Of all draws, within each limit."""
    return np.array([float(np.mean(cylinder_dpt <= limit + _ROUNDING_DPT)) for limit in LIMITS_DPT])
