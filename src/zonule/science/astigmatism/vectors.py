"""The one type that carries astigmatism: a vector with its plane.

Meridians are degrees counter-clockwise as the examiner sees the eye, both eyes alike. A vector points to the
*steep* meridian, in double-angle space: two meridians 180 degrees apart are one (thibos-1997, holladay-1998).
"""

from __future__ import annotations

from collections.abc import Callable
from enum import StrEnum
from functools import partial
from typing import NamedTuple

import numpy as np

from zonule.errors import InconsistentRecordError
from zonule.science.arrays import Numbers, select
from zonule.science.optics.vergence import refraction_at_cornea_dpt, refraction_at_spectacles_dpt
from zonule.science.units import SPECTACLE_VERTEX_MM

HALF_TURN_DEG = 180.0


class Plane(StrEnum):
    """Where a cylinder is measured; the same eye has another at each plane."""

    CORNEA = "cornea"
    SPECTACLES = "spectacles"
    LENS = "lens"


class Astigmatism(NamedTuple):
    """A cylinder as a vector; fields broadcast."""

    x_dpt: Numbers
    """Magnitude times the cosine of twice the steep meridian: plus against the rule, minus with it."""
    y_dpt: Numbers
    """Magnitude times the sine of twice the steep meridian."""
    plane: Plane

    @property
    def magnitude_dpt(self) -> Numbers:
        """The cylinder, never minus."""
        return np.hypot(self.x_dpt, self.y_dpt)

    @property
    def steep_meridian_deg(self) -> Numbers:
        """Above 0 and up to 180 degrees; 180 where there is no cylinder."""
        # Adding zero makes minus zero plus zero, which has no direction of its own.
        half = np.rad2deg(np.arctan2(self.y_dpt + 0.0, self.x_dpt + 0.0)) / 2.0
        return _above_zero_deg(half)

    @property
    def plain(self) -> Astigmatism:
        """One eye's vector in plain floats, for a record."""
        return Astigmatism(float(self.x_dpt), float(self.y_dpt), self.plane)

    def plus(self, other: Astigmatism) -> Astigmatism:
        """Both together, in the plane that they share."""
        _one_plane(self, other)
        return Astigmatism(self.x_dpt + other.x_dpt, self.y_dpt + other.y_dpt, self.plane)

    def minus(self, other: Astigmatism) -> Astigmatism:
        """What is left of this without the other."""
        _one_plane(self, other)
        return Astigmatism(self.x_dpt - other.x_dpt, self.y_dpt - other.y_dpt, self.plane)

    def turned(self, angle_deg: Numbers) -> Astigmatism:
        """The same, turned counter-clockwise as the examiner sees the eye."""
        twice = np.deg2rad(2.0 * angle_deg)
        cosine, sine = np.cos(twice), np.sin(twice)
        return Astigmatism(
            self.x_dpt * cosine - self.y_dpt * sine, self.x_dpt * sine + self.y_dpt * cosine, self.plane
        )

    def times(self, factor: Numbers) -> Astigmatism:
        """The same direction, so many times as large."""
        return Astigmatism(self.x_dpt * factor, self.y_dpt * factor, self.plane)

    def mirrored(self) -> Astigmatism:
        """As in the other eye of a mirrored pair: a meridian becomes 180 degrees minus it."""
        return Astigmatism(self.x_dpt, -self.y_dpt, self.plane)


class SpheroCylinder(NamedTuple):
    """A refraction as its mean and its astigmatism, at one plane."""

    equivalent_dpt: Numbers
    """Spherical equivalent."""
    correcting: Astigmatism
    """The plus cylinder of the glasses; its axis is the steep meridian of the eye that they correct."""


def steep(magnitude_dpt: Numbers, meridian_deg: Numbers, plane: Plane) -> Astigmatism:
    """A cylinder by its size and its steep meridian.

    Parameters
    ----------
    magnitude_dpt
        Difference of the two principal powers, dioptres, 0 or more.
    meridian_deg
        Steep meridian, degrees counter-clockwise as the examiner sees the eye; 0 and 180 are one.
    plane
        Where it is measured.

    Returns
    -------
    Astigmatism
        The vector.

    Notes
    -----
    ``x = m cos 2a``, ``y = m sin 2a`` (holladay-1998).

    Examples
    --------
    >>> vector = steep(1.0, 90.0, Plane.CORNEA)
    >>> round(float(vector.x_dpt), 9), round(float(vector.steep_meridian_deg), 9)
    (-1.0, 90.0)
    """
    twice = np.deg2rad(2.0 * np.asarray(meridian_deg))
    return Astigmatism(magnitude_dpt * np.cos(twice), magnitude_dpt * np.sin(twice), plane)


def sphero_cylinder(
    sphere_dpt: Numbers, cylinder_dpt: Numbers, axis_deg: Numbers, plane: Plane
) -> SpheroCylinder:
    """A written refraction as vectors; plus and minus cylinder give the same.

    Parameters
    ----------
    sphere_dpt, cylinder_dpt
        As written, dioptres, the cylinder in either sign.
    axis_deg
        Axis of the cylinder, degrees counter-clockwise as the examiner sees the eye.
    plane
        Where it was measured: spectacles, or the cornea.

    Returns
    -------
    SpheroCylinder
        Spherical equivalent and the plus cylinder of the glasses.

    Notes
    -----
    A cornea steep at 90 needs a plus cylinder with its axis at 90, or a minus cylinder with its axis at 180.
    So the axis of the plus form is the steep meridian of the eye that the glasses correct (thibos-1997).

    Examples
    --------
    >>> minus = sphero_cylinder(-1.0, -2.0, 30.0, Plane.SPECTACLES)
    >>> plus = sphero_cylinder(-3.0, 2.0, 120.0, Plane.SPECTACLES)
    >>> float(minus.equivalent_dpt), round(float(minus.correcting.steep_meridian_deg), 9)
    (-2.0, 120.0)
    >>> bool(abs(minus.correcting.minus(plus.correcting).magnitude_dpt) < 1e-12)
    True
    """
    return SpheroCylinder(sphere_dpt + cylinder_dpt / 2.0, steep(cylinder_dpt, axis_deg, plane))


def at_cornea(seen: SpheroCylinder, vertex_mm: Numbers = SPECTACLE_VERTEX_MM) -> SpheroCylinder:
    """A refraction at the glasses, as it is at the cornea: each principal meridian moved by itself.

    Parameters
    ----------
    seen
        At the spectacle plane.
    vertex_mm
        Vertex distance, millimetres.

    Returns
    -------
    SpheroCylinder
        At the corneal plane, the same meridians.

    Notes
    -----
    Exact vertex transfer of both principal powers.

    Examples
    --------
    >>> moved = at_cornea(sphero_cylinder(-10.0, -2.0, 180.0, Plane.SPECTACLES))
    >>> round(float(moved.correcting.magnitude_dpt), 3)
    1.561
    """
    return _moved(seen, Plane.CORNEA, partial(refraction_at_cornea_dpt, vertex_mm=vertex_mm))


def at_spectacles(seen: SpheroCylinder, vertex_mm: Numbers = SPECTACLE_VERTEX_MM) -> SpheroCylinder:
    """A refraction at the cornea, as the glasses must have it.

    Parameters
    ----------
    seen
        At the corneal plane.
    vertex_mm
        Vertex distance, millimetres.

    Returns
    -------
    SpheroCylinder
        At the spectacle plane, the same meridians.

    Notes
    -----
    Inverse of `at_cornea`.

    Examples
    --------
    >>> there = sphero_cylinder(-10.0, -2.0, 180.0, Plane.SPECTACLES)
    >>> round(float(at_spectacles(at_cornea(there)).correcting.magnitude_dpt), 9)
    2.0
    """
    return _moved(
        seen, Plane.SPECTACLES, lambda power_dpt: refraction_at_spectacles_dpt(power_dpt, vertex_mm)
    )


def _moved(seen: SpheroCylinder, plane: Plane, move: Callable[[Numbers], Numbers]) -> SpheroCylinder:
    half_dpt = seen.correcting.magnitude_dpt / 2.0
    high_dpt, low_dpt = move(seen.equivalent_dpt + half_dpt), move(seen.equivalent_dpt - half_dpt)
    turned = steep(high_dpt - low_dpt, seen.correcting.steep_meridian_deg, plane)
    return SpheroCylinder((high_dpt + low_dpt) / 2.0, turned)


def _above_zero_deg(angle_deg: Numbers) -> Numbers:
    """The same meridian above 0 and up to 180 degrees."""
    folded = np.mod(angle_deg, HALF_TURN_DEG)
    return select(folded == 0.0, HALF_TURN_DEG, folded)


def _one_plane(one: Astigmatism, other: Astigmatism) -> None:
    if one.plane is not other.plane:
        raise InconsistentRecordError(
            f"A cylinder at the {one.plane} and one at the {other.plane} cannot be added. Move one of them "
            "first."
        )
