"""At which distance an eye that cannot accommodate sees sharply without glasses."""

from __future__ import annotations

import numpy as np

from zonule.science.arrays import Numbers
from zonule.science.units import REPORTED_LANE_M


def clear_distance_m(refraction_dpt: Numbers) -> Numbers:
    """The distance that is in focus, from where glasses would sit.

    Parameters
    ----------
    refraction_dpt
        Spherical equivalent at 12 mm in a 6 m lane, dioptres.

    Returns
    -------
    Numbers
        Distance in metres. Infinite from +1/6 D on: nothing in front of such an eye is in focus, the far
        distance is nearest to it.

    Notes
    -----
    Definition of the dioptre: an eye that reads 0 in a 6 m lane is focused at 6 m, so the distance in metres
    is ``1 / (1/6 - R)``. No depth of focus and no accommodation are assumed; both make the real range wider.

    Examples
    --------
    >>> [round(float(clear_distance_m(one)), 2) for one in (0.0, -1.25, -2.5)]
    [6.0, 0.71, 0.38]
    """
    vergence = 1.0 / REPORTED_LANE_M - np.asarray(refraction_dpt, dtype=np.float64)
    with np.errstate(divide="ignore"):
        distance = np.where(vergence > 0.0, 1.0 / np.maximum(vergence, 0.0), np.inf)
    return distance if distance.ndim else float(distance)
