"""An outline around most of the eyes in the double-angle plot, whatever law their vectors follow."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from zonule.errors import NotDefinedError
from zonule.science.astigmatism.aggregate import LEAST_FOR_REGION, points_dpt
from zonule.science.astigmatism.vectors import Astigmatism

_EYES_PER_ONE_LEFT_OUT = 20
_DECIMALS = 12
"""Areas that agree to so many decimals differ by rounding only."""


def polygon_of_most(eyes: Astigmatism) -> Astigmatism:
    """A convex outline around 95 % of the eyes at least, for eyes that are not normally distributed.

    Parameters
    ----------
    eyes
        Vectors of one plane, shape ``(eyes,)``, at least three that do not lie on one line, all finite.

    Returns
    -------
    Astigmatism
        Its corners, counter-clockwise in the plot; each is one of the eyes.

    Raises
    ------
    NotDefinedError
        If what is left lies on one line.

    Notes
    -----
    Of each full twenty eyes one is left out, the others are enclosed by their convex hull. Eyes leave one at
    a time: whichever corner makes the outline smaller by the largest area, the first in order where two do
    alike. Under twenty eyes none leaves. A polygon in place of the ellipse is the advice of holladay-2022
    (from memory); how to choose which eyes leave is our choice, for we have not read how that paper did it.

    Examples
    --------
    >>> from zonule.science.astigmatism.vectors import Plane
    >>> x, y = np.array([0.0, 1.0, 1.0, 0.0, 0.5]), np.array([0.0, 0.0, 1.0, 1.0, 0.5])
    >>> len(polygon_of_most(Astigmatism(x, y, Plane.CORNEA)).x_dpt)
    4
    """
    points = points_dpt(eyes, LEAST_FOR_REGION)
    kept = np.arange(len(points))
    shrinks_by: dict[tuple[int, ...], float] = {}
    for _ in range(len(points) // _EYES_PER_ONE_LEFT_OUT):
        leaving = _corner_that_shrinks_most(points, kept, shrinks_by)
        kept = kept[kept != leaving]
    outline = points[kept][_hull(points[kept])[0]]
    return Astigmatism(outline[:, 0], outline[:, 1], eyes.plane)


def _corner_that_shrinks_most(
    points: NDArray[np.float64], kept: NDArray[np.intp], shrinks_by: dict[tuple[int, ...], float]
) -> int:
    """The corner whose leaving takes the largest area off the outline.

    What leaves is the triangle with both neighbours less what lies in it. No eye in a triangle can have left
    before its corner, so an area once found holds as long as the three stay neighbours.
    """
    ring, whole_dpt2 = _hull(points[kept])
    corners: list[int] = kept[ring].tolist()
    losses = {}
    for before, corner, after in zip(
        corners[-1:] + corners[:-1], corners, corners[1:] + corners[:1], strict=True
    ):
        three = (before, corner, after)
        if three not in shrinks_by:
            shrinks_by[three] = whole_dpt2 - _hull_area_dpt2(points[kept[kept != corner]])
        losses[corner] = shrinks_by[three]
    return max(sorted(losses), key=lambda corner: round(losses[corner], _DECIMALS))


def _hull(points: NDArray[np.float64]) -> tuple[NDArray[np.intp], float]:
    """Corners in order, counter-clockwise, and the area."""
    from scipy.spatial import ConvexHull, QhullError

    try:
        hull = ConvexHull(points)
    except QhullError:
        raise NotDefinedError(
            "These eyes lie on one line of the double-angle plot: no outline holds them."
        ) from None
    return np.asarray(hull.vertices, dtype=np.intp), float(hull.volume)


def _hull_area_dpt2(points: NDArray[np.float64]) -> float:
    try:
        return _hull(points)[1]
    except NotDefinedError:
        return 0.0
