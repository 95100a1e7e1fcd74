"""Paraxial optics by ray matrices: powers, cardinal points and pupils of any row of surfaces.

A ray is its height and its reduced slope (index times slope), so that every matrix has determinant 1.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from zonule.science.arrays import Numbers
from zonule.science.optics.four_surface import surface_power_dpt
from zonule.science.optics.surfaces import Surface
from zonule.science.units import MM_PER_M


class RayMatrix(NamedTuple):
    """What a piece of an eye does to a paraxial ray ``(y, n u)``; lengths in mm, powers in 1/mm."""

    a: Numbers
    b_mm: Numbers
    c_per_mm: Numbers
    d: Numbers


class CardinalPoints(NamedTuple):
    """The six points of a system, from the origin of its surfaces, and its power."""

    power_dpt: Numbers
    front_principal_mm: Numbers
    back_principal_mm: Numbers
    front_nodal_mm: Numbers
    back_nodal_mm: Numbers
    front_focus_mm: Numbers
    back_focus_mm: Numbers


class PupilImage(NamedTuple):
    """Where a pupil seems to be, and how much larger than the opening of the iris it looks."""

    position_mm: Numbers
    magnification: Numbers


THROUGH_NOTHING = RayMatrix(1.0, 0.0, 0.0, 1.0)


def at_surface(power_dpt: Numbers) -> RayMatrix:
    """The matrix of one refraction.

    Parameters
    ----------
    power_dpt
        Power of the surface, dioptres.

    Returns
    -------
    RayMatrix
        The matrix.

    Examples
    --------
    >>> at_surface(48.0).c_per_mm
    -0.048
    """
    return RayMatrix(1.0, 0.0, -power_dpt / MM_PER_M, 1.0)


def over_distance(distance_mm: Numbers, index: Numbers) -> RayMatrix:
    """The matrix of a way through one medium.

    Parameters
    ----------
    distance_mm
        Its length, millimetres.
    index
        Its refractive index.

    Returns
    -------
    RayMatrix
        The matrix.

    Examples
    --------
    >>> round(over_distance(13.36, 1.336).b_mm, 9)
    10.0
    """
    return RayMatrix(1.0, distance_mm / index, 0.0, 1.0)


def then(first: RayMatrix, second: RayMatrix) -> RayMatrix:
    """The matrix of two pieces, light meeting `first` first.

    Parameters
    ----------
    first, second
        Their matrices; fields broadcast.

    Returns
    -------
    RayMatrix
        The product ``second first``.

    Examples
    --------
    >>> then(over_distance(1.0, 1.0), at_surface(100.0))
    RayMatrix(a=1.0, b_mm=1.0, c_per_mm=-0.1, d=0.9)
    """
    return RayMatrix(
        second.a * first.a + second.b_mm * first.c_per_mm,
        second.a * first.b_mm + second.b_mm * first.d,
        second.c_per_mm * first.a + second.d * first.c_per_mm,
        second.c_per_mm * first.b_mm + second.d * first.d,
    )


def system_matrix(surfaces: Sequence[Surface], index_before: Numbers) -> RayMatrix:
    """The matrix of a row of surfaces, from the first vertex to the last.

    Parameters
    ----------
    surfaces
        Surfaces in the order of the light, on one axis and untilted; of a torus the mean curvature counts.
    index_before
        Index in front of the first.

    Returns
    -------
    RayMatrix
        The matrix.

    Notes
    -----
    Gaussian optics of any textbook.

    Examples
    --------
    >>> cornea = [Surface(0.0, 7.7, 1.376), Surface(0.5, 6.8, 1.336)]
    >>> round(-1000.0 * system_matrix(cornea, 1.0).c_per_mm, 3)
    43.053
    """
    whole, index, at_mm = THROUGH_NOTHING, index_before, surfaces[0].vertex_mm
    for surface in surfaces:
        whole = then(whole, over_distance(surface.vertex_mm - at_mm, index))
        whole = then(whole, at_surface(mean_power_dpt(surface, index)))
        index, at_mm = surface.index_after, surface.vertex_mm
    return whole


def mean_power_dpt(surface: Surface, index_before: Numbers) -> Numbers:
    """The paraxial power of a surface, the mean of its meridians.

    Parameters
    ----------
    surface
        The surface.
    index_before
        Index in front of it.

    Returns
    -------
    Numbers
        Power, dioptres.

    Examples
    --------
    >>> round(mean_power_dpt(Surface(0.0, 7.5, 1.3375, other_radius_mm=8.0), 1.0), 4)
    43.5937
    """
    power_dpt = surface_power_dpt(surface.radius_mm, index_before, surface.index_after)
    if surface.other_radius_mm is None:
        return power_dpt
    return 0.5 * (power_dpt + surface_power_dpt(surface.other_radius_mm, index_before, surface.index_after))


def cardinal_points(
    matrix: RayMatrix, first_mm: Numbers, last_mm: Numbers, index_before: Numbers, index_after: Numbers
) -> CardinalPoints:
    """Power and cardinal points of a system.

    Parameters
    ----------
    matrix
        Its matrix from the first vertex to the last.
    first_mm, last_mm
        Where these two vertices lie.
    index_before, index_after
        Indices on both sides.

    Returns
    -------
    CardinalPoints
        Power, dioptres, and the six points, millimetres on the same scale as the vertices.

    Notes
    -----
    ``F = -c``; ``P = (d - 1)/c``, ``P' = (1 - a)/c`` and so on, Gaussian optics of any textbook.

    Examples
    --------
    >>> points = cardinal_points(at_surface(60.0), 0.0, 0.0, 1.0, 1.336)
    >>> round(points.front_focus_mm, 3), round(points.back_focus_mm, 3)
    (-16.667, 22.267)
    """
    a, _, c, d = matrix
    return CardinalPoints(
        power_dpt=-MM_PER_M * c,
        front_principal_mm=first_mm + index_before * (d - 1.0) / c,
        back_principal_mm=last_mm + index_after * (1.0 - a) / c,
        front_nodal_mm=first_mm + (index_before * d - index_after) / c,
        back_nodal_mm=last_mm + (index_before - index_after * a) / c,
        front_focus_mm=first_mm + index_before * d / c,
        back_focus_mm=last_mm - index_after * a / c,
    )


def entrance_pupil(to_stop: RayMatrix, first_mm: Numbers, index_before: Numbers) -> PupilImage:
    """The entrance pupil: the iris as it is seen, and measured, from in front.

    Parameters
    ----------
    to_stop
        Matrix from the first vertex to the plane of the iris.
    first_mm
        Where the first vertex lies.
    index_before
        Index in front of it.

    Returns
    -------
    PupilImage
        Position, millimetres, and magnification.

    Notes
    -----
    ``z = n B / A``, ``m = 1 / A`` (textbook optics). Gullstrand's eye: 3.047 mm and 1.133 (gullstrand-1909).

    Examples
    --------
    >>> cornea = [Surface(0.0, 7.7, 1.376), Surface(0.5, 6.8, 1.336)]
    >>> to_iris = then(system_matrix(cornea, 1.0), over_distance(3.1, 1.336))
    >>> [round(value, 4) for value in entrance_pupil(to_iris, 0.0, 1.0)]
    [3.0472, 1.1333]
    """
    return PupilImage(first_mm + index_before * to_stop.b_mm / to_stop.a, 1.0 / to_stop.a)


def exit_pupil(from_stop: RayMatrix, last_mm: Numbers, index_after: Numbers) -> PupilImage:
    """The exit pupil: the iris as it is seen from the retina.

    Parameters
    ----------
    from_stop
        Matrix from the plane of the iris to the last vertex.
    last_mm
        Where the last vertex lies.
    index_after
        Index behind it.

    Returns
    -------
    PupilImage
        Position, millimetres, and magnification.

    Notes
    -----
    ``z' = -n' B / D``, ``m' = 1 / D`` (textbook optics).

    Examples
    --------
    >>> exit_pupil(THROUGH_NOTHING, 4.5, 1.336)
    PupilImage(position_mm=4.5, magnification=1.0)
    """
    return PupilImage(last_mm - index_after * from_stop.b_mm / from_stop.d, 1.0 / from_stop.d)
