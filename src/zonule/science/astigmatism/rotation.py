"""After surgery: whether turning a toric lens that is already in the eye would help, and how far.

The refraction and where the marks lie now tell the astigmatism that the lens has to meet. That is all the
astigmatism of this eye but the lens: cornea, incision, and a tilted lens too.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from zonule.science.arrays import Numbers, select
from zonule.science.astigmatism.toric_lens import residual
from zonule.science.astigmatism.vectors import HALF_TURN_DEG, Astigmatism, Plane, SpheroCylinder, steep


class MinusForm(NamedTuple):
    """A refraction as it is written with a minus cylinder."""

    sphere_dpt: Numbers
    cylinder_dpt: Numbers
    """0 or less."""
    axis_deg: Numbers
    """Above 0 and up to 180; 90 where there is no cylinder."""


class Rotation(NamedTuple):
    """The best that turning the lens can do."""

    to_correct: Astigmatism
    """All astigmatism but that of the lens, at the cornea."""
    best_meridian_deg: Numbers
    rotate_by_deg: Numbers
    """Counter-clockwise plus, as the examiner sees the eye; above -90 and up to 90. Without meaning where
    `to_correct` or the lens has no cylinder; the gain is then 0."""
    best: SpheroCylinder
    """The refraction at the cornea with the lens there; the spherical equivalent stays as it is."""
    gain_dpt: Numbers
    """By how much the cylinder of the refraction shrinks; never minus."""


def best_rotation(seen: SpheroCylinder, lens_at_cornea_dpt: Numbers, lens_meridian_deg: Numbers) -> Rotation:
    """Where the lens would leave the least cylinder.

    Parameters
    ----------
    seen
        Manifest refraction, at the cornea (`zonule.science.astigmatism.vectors.at_cornea`).
    lens_at_cornea_dpt
        Cylinder of the lens at the cornea, dioptres.
    lens_meridian_deg
        Where its marks lie now, measured, degrees.

    Returns
    -------
    Rotation
        Best meridian, turn, refraction and gain. Whether to operate again is not said here: a small gain, or
        a sphere that is off, speaks against it.

    Raises
    ------
    InconsistentRecordError
        When the refraction is not at the cornea.

    Notes
    -----
    ``A = C + T`` as vectors, best at half the angle of A, where ``||A| - T|`` is left (holladay-1998).

    Examples
    --------
    >>> from zonule.science.astigmatism.vectors import sphero_cylinder
    >>> seen = sphero_cylinder(0.50, -1.00, 40.0, Plane.CORNEA)
    >>> turn = best_rotation(seen, 2.0, 95.0)
    >>> round(float(turn.rotate_by_deg), 1), round(float(turn.best.correcting.magnitude_dpt), 2)
    (10.9, 0.52)
    """
    to_correct = _to_correct(seen, lens_at_cornea_dpt, lens_meridian_deg)
    best_deg = to_correct.steep_meridian_deg
    left = residual(to_correct, lens_at_cornea_dpt, best_deg)
    return Rotation(
        to_correct,
        best_deg,
        _least_turn_deg(best_deg - lens_meridian_deg),
        SpheroCylinder(seen.equivalent_dpt, left),
        np.maximum(seen.correcting.magnitude_dpt - left.magnitude_dpt, 0.0),
    )


def sweep(
    seen: SpheroCylinder, lens_at_cornea_dpt: Numbers, lens_meridian_deg: Numbers, meridians_deg: Numbers
) -> SpheroCylinder:
    """The refraction that this eye would have with the lens at other meridians.

    Parameters
    ----------
    seen
        Manifest refraction, at the cornea.
    lens_at_cornea_dpt
        Cylinder of the lens at the cornea, dioptres.
    lens_meridian_deg
        Where its marks lie now, degrees.
    meridians_deg
        Where they might lie, degrees; broadcasts against the rest.

    Returns
    -------
    SpheroCylinder
        At the cornea, one for each of `meridians_deg`.

    Raises
    ------
    InconsistentRecordError
        When the refraction is not at the cornea.

    Notes
    -----
    See `best_rotation`; where the lens lies now, the refraction is the one seen.

    Examples
    --------
    >>> from zonule.science.astigmatism.vectors import sphero_cylinder
    >>> seen = sphero_cylinder(0.50, -1.00, 40.0, Plane.CORNEA)
    >>> sweep(seen, 2.0, 95.0, np.array([95.0, 105.9, 120.0])).correcting.magnitude_dpt.round(2)
    array([1.  , 0.52, 1.21])
    """
    to_correct = _to_correct(seen, lens_at_cornea_dpt, lens_meridian_deg)
    return SpheroCylinder(seen.equivalent_dpt, residual(to_correct, lens_at_cornea_dpt, meridians_deg))


def minus_form(seen: SpheroCylinder) -> MinusForm:
    """A refraction as it is written with a minus cylinder.

    Parameters
    ----------
    seen
        The refraction, at any plane.

    Returns
    -------
    MinusForm
        Sphere, cylinder and axis at the same plane.

    Notes
    -----
    The axis lies across that of the plus cylinder (thibos-1997).

    Examples
    --------
    >>> from zonule.science.astigmatism.vectors import sphero_cylinder
    >>> written = minus_form(sphero_cylinder(-0.75, 1.25, 75.0, Plane.CORNEA))
    >>> [round(float(part), 6) for part in written]
    [0.5, -1.25, 165.0]
    """
    cylinder_dpt = seen.correcting.magnitude_dpt
    plus_axis_deg = seen.correcting.steep_meridian_deg
    quarter_deg = 0.5 * HALF_TURN_DEG
    axis_deg = select(plus_axis_deg > quarter_deg, plus_axis_deg - quarter_deg, plus_axis_deg + quarter_deg)
    return MinusForm(seen.equivalent_dpt + 0.5 * cylinder_dpt, -cylinder_dpt, axis_deg)


def _to_correct(seen: SpheroCylinder, lens_at_cornea_dpt: Numbers, lens_meridian_deg: Numbers) -> Astigmatism:
    return seen.correcting.plus(steep(lens_at_cornea_dpt, lens_meridian_deg, Plane.CORNEA))


def _least_turn_deg(turn_deg: Numbers) -> Numbers:
    """The same turn of a line without ends, above -90 and up to 90 degrees."""
    quarter_deg = 0.5 * HALF_TURN_DEG
    return quarter_deg - np.mod(quarter_deg - turn_deg, HALF_TURN_DEG)
