"""Surfaces that refract: conics and their toric kin, each of which may be tilted and decentred.

Every such surface is a quadric. With the point ``p`` counted from the vertex, ``p . M p = 2 b . p``: ``b`` is
the surface's axis and ``M`` holds its three curvatures. Tilt and axis then cost a ray nothing: they are
in ``M``.

Light travels along +z, into the eye. x and y are those of the examiner who looks at the eye: x to the right,
y up, angles counter-clockwise from x.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from zonule.science.arrays import Numbers

RAD_PER_DEG = np.pi / 180.0


class Surface(NamedTuple):
    """One refracting surface; each field one number, or an array that broadcasts against the rays."""

    vertex_mm: Numbers
    """Where its vertex lies along the axis."""
    radius_mm: Numbers
    """In the meridian `meridian_deg`, plus where the centre lies behind the surface; inf for a plane."""
    index_after: Numbers
    """Refractive index of what follows."""
    conic: Numbers = 0.0
    """Q: 0 for a sphere, minus where it flattens outwards."""
    other_radius_mm: Numbers | None = None
    """Radius across that meridian; None where the surface is no torus."""
    meridian_deg: Numbers = 0.0
    decentre_x_mm: Numbers = 0.0
    decentre_y_mm: Numbers = 0.0
    tilt_x_deg: Numbers = 0.0
    """How far its axis leans towards +x; the surface turns about its vertex."""
    tilt_y_deg: Numbers = 0.0


class Quadric(NamedTuple):
    """A surface as the ray trace reads it; curvatures in 1/mm, the axis a unit vector."""

    x_mm: Numbers
    y_mm: Numbers
    z_mm: Numbers
    axis_x: Numbers
    axis_y: Numbers
    axis_z: Numbers
    xx_per_mm: Numbers
    yy_per_mm: Numbers
    zz_per_mm: Numbers
    xy_per_mm: Numbers
    xz_per_mm: Numbers
    yz_per_mm: Numbers


def quadric(surface: Surface) -> Quadric:
    """The quadric of a surface.

    Parameters
    ----------
    surface
        Radii, conic, place and tilt; fields broadcast.

    Returns
    -------
    Quadric
        Vertex, axis and the six curvatures of ``p . M p = 2 b . p``.

    Notes
    -----
    Curvatures ``1/r1`` and ``1/r2`` in the two meridians and ``(1 + Q) (1/r1 + 1/r2) / 2`` along the axis
    (algebra of conicoids, derived here). A torus made so is the usual biconic whose two conics differ
    slightly; near the axis there is no difference. A tilt turns the surface the shortest way, so it does not
    turn its meridian.

    Examples
    --------
    >>> cornea = quadric(Surface(0.0, 8.0, 1.376, conic=-0.2))
    >>> [round(float(m), 3) for m in (cornea.xx_per_mm, cornea.yy_per_mm, cornea.zz_per_mm, cornea.xy_per_mm)]
    [0.125, 0.125, 0.1, 0.0]
    """
    first, other, along = curvatures_per_mm(surface)
    bx, by, bz = axis_of(surface.tilt_x_deg, surface.tilt_y_deg)
    angle = surface.meridian_deg * RAD_PER_DEG
    cos, sin = np.cos(angle), np.sin(angle)
    # The meridian and its normal, turned with the axis.
    lean = (bx * cos + by * sin) / (1.0 + bz)
    ux, uy, uz = cos - lean * bx, sin - lean * by, -lean * (1.0 + bz)
    lean = (by * cos - bx * sin) / (1.0 + bz)
    vx, vy, vz = -sin - lean * bx, cos - lean * by, -lean * (1.0 + bz)
    return Quadric(
        surface.decentre_x_mm,
        surface.decentre_y_mm,
        surface.vertex_mm,
        bx,
        by,
        bz,
        first * ux * ux + other * vx * vx + along * bx * bx,
        first * uy * uy + other * vy * vy + along * by * by,
        first * uz * uz + other * vz * vz + along * bz * bz,
        first * ux * uy + other * vx * vy + along * bx * by,
        first * ux * uz + other * vx * vz + along * bx * bz,
        first * uy * uz + other * vy * vz + along * by * bz,
    )


def curvatures_per_mm(surface: Surface) -> tuple[Numbers, Numbers, Numbers]:
    """The curvatures of a surface in its two meridians and along its axis.

    Parameters
    ----------
    surface
        Its radii and conic; fields broadcast.

    Returns
    -------
    tuple of Numbers
        Curvatures, 1/mm: in `meridian_deg`, across it, along the axis.

    Examples
    --------
    >>> curvatures_per_mm(Surface(0.0, 8.0, 1.376, conic=-1.0))
    (0.125, 0.125, 0.0)
    """
    first = 1.0 / surface.radius_mm
    other = first if surface.other_radius_mm is None else 1.0 / surface.other_radius_mm
    return first, other, (1.0 + surface.conic) * 0.5 * (first + other)


def axis_of(tilt_x_deg: Numbers, tilt_y_deg: Numbers) -> tuple[Numbers, Numbers, Numbers]:
    """The axis of a tilted surface.

    Parameters
    ----------
    tilt_x_deg, tilt_y_deg
        How far the axis leans towards +x and +y, seen in those two planes, degrees, under 90.

    Returns
    -------
    tuple of Numbers
        Direction cosines along x, y and z.

    Examples
    --------
    >>> [round(float(cosine), 3) for cosine in axis_of(30.0, 0.0)]
    [0.5, 0.0, 0.866]
    """
    towards_x, towards_y = np.tan(tilt_x_deg * RAD_PER_DEG), np.tan(tilt_y_deg * RAD_PER_DEG)
    along = 1.0 / np.sqrt(1.0 + towards_x * towards_x + towards_y * towards_y)
    return towards_x * along, towards_y * along, along


def lens_tilted(
    front: Surface, back: Surface, tilt_x_deg: Numbers, tilt_y_deg: Numbers
) -> tuple[Surface, Surface]:
    """A lens turned as one piece about the middle of its axis.

    Parameters
    ----------
    front, back
        Its surfaces, not tilted yet; fields broadcast.
    tilt_x_deg, tilt_y_deg
        How far its axis leans towards +x and +y, degrees.

    Returns
    -------
    tuple of Surface
        The two surfaces, tilted, with their vertices where the turn puts them.

    Examples
    --------
    >>> front, back = lens_tilted(Surface(4.0, 12.0, 1.46), Surface(5.0, -12.0, 1.336), 5.0, 0.0)
    >>> round(float(front.decentre_x_mm), 4), round(float(back.decentre_x_mm), 4)
    (-0.0436, 0.0436)
    """
    bx, by, bz = axis_of(tilt_x_deg, tilt_y_deg)
    middle_mm = 0.5 * (front.vertex_mm + back.vertex_mm)

    def turned(surface: Surface) -> Surface:
        away_mm = surface.vertex_mm - middle_mm
        return surface._replace(
            vertex_mm=middle_mm + away_mm * bz,
            decentre_x_mm=surface.decentre_x_mm + away_mm * bx,
            decentre_y_mm=surface.decentre_y_mm + away_mm * by,
            tilt_x_deg=tilt_x_deg,
            tilt_y_deg=tilt_y_deg,
        )

    return turned(front), turned(back)


def mirrored(
    surfaces: tuple[Surface, ...], index_before: Numbers, at_mm: Numbers
) -> tuple[tuple[Surface, ...], Numbers]:
    """The same surfaces as light meets them that comes the other way.

    Parameters
    ----------
    surfaces
        Surfaces in the order of light along +z.
    index_before
        Index in front of the first.
    at_mm
        Point of the axis that becomes the new origin, millimetres.

    Returns
    -------
    tuple
        The surfaces in the opposite order with z counted backwards from `at_mm`, and the index in front of
        the first of them.

    Examples
    --------
    >>> back, before = mirrored((Surface(0.0, 8.0, 1.376),), 1.0, 24.0)
    >>> back[0].vertex_mm, back[0].radius_mm, back[0].index_after, before
    (24.0, -8.0, 1.0, 1.376)
    """
    indices = (index_before, *(surface.index_after for surface in surfaces))
    turned = tuple(
        surface._replace(
            vertex_mm=at_mm - surface.vertex_mm,
            radius_mm=-surface.radius_mm,
            other_radius_mm=None if surface.other_radius_mm is None else -surface.other_radius_mm,
            index_after=index,
            tilt_x_deg=-surface.tilt_x_deg,
            tilt_y_deg=-surface.tilt_y_deg,
        )
        for surface, index in zip(surfaces, indices[:-1], strict=True)
    )
    return turned[::-1], indices[-1]
