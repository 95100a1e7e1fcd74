"""The same eye with its lens further forward: what a torn capsule does to the power.

A lens that cannot lie in the bag lies in front of it, and there a weaker lens does the same work. The
vergence equation is that of the formula that saw the eye; only the position of the lens is another one.

How far forward a lens comes to lie is not measured before the operation. The distances here are from memory
of common practice (`lens-forward-distances`), each with the range in which it may well be.
"""

from __future__ import annotations

from enum import IntFlag
from typing import NamedTuple

import numpy as np

from zonule.science.arrays import Flags, Numbers, flag, select
from zonule.science.lens_power.thin_lens import (
    ThinLensEye,
    inside_the_eye,
    lens_power_dpt,
    refraction_dpt,
)
from zonule.science.units import SPECTACLE_VERTEX_MM


class Forward(NamedTuple):
    """How far in front of a known place a lens lies, and the range in which it may well lie."""

    middle_mm: float
    least_mm: float
    most_mm: float


SULCUS = Forward(0.5, 0.25, 1.0)
"""In front of its place in the bag, haptics and optic in the ciliary sulcus (from memory)."""
OPTIC_CAPTURED = Forward(0.1, 0.0, 0.3)
"""The same with the optic pressed back through the capsulorhexis, so that it lies all but in the bag (from
memory)."""
ANTERIOR_CHAMBER = Forward(0.0, -0.5, 0.5)
"""In front of the plane of the iris, taken at the measured chamber depth: optics stand before it, and without
the natural lens the iris sinks back (from memory)."""


class StepFlag(IntFlag):
    """What keeps the step rule from answering."""

    NONE = 0
    BETWEEN_ROWS = 1
    """The bag power lies between two rows of the table, or is not known."""


BETWEEN_ROWS = int(StepFlag.BETWEEN_ROWS)


class SulcusStep(NamedTuple):
    """What the step rule takes off the bag power."""

    step_dpt: Numbers
    """0 or minus; nan where the table has no row."""
    flags: Flags
    """Bits of `StepFlag`."""


def moved_forward(eye: ThinLensEye, forward_mm: Numbers) -> ThinLensEye:
    """The eye with its lens moved towards the cornea; all else as the formula sees it.

    Parameters
    ----------
    eye
        The eye as a formula sees it, with the lens in the bag; fields broadcast.
    forward_mm
        How far in front of that place the lens lies, millimetres; minus is behind it.

    Returns
    -------
    ThinLensEye
        Position nan, and `LENS_OUTSIDE_EYE` set, where the move would take the lens out of the eye.

    Examples
    --------
    >>> float(moved_forward(ThinLensEye(43.5, 23.5, 5.0, 0), 0.5).lens_position_mm)
    4.5
    """
    return inside_the_eye(eye._replace(lens_position_mm=eye.lens_position_mm - forward_mm))


def moved_power_dpt(
    eye: ThinLensEye, forward_mm: Numbers, refraction_dpt: Numbers, vertex_mm: Numbers = SPECTACLE_VERTEX_MM
) -> Numbers:
    """The power that leaves this eye with `refraction_dpt` when its lens lies further forward.

    Parameters
    ----------
    eye
        The eye as a formula sees it, with the lens in the bag; fields broadcast.
    forward_mm
        How far in front of that place the lens lies, millimetres.
    refraction_dpt
        Wanted spherical equivalent at the spectacle plane, dioptres.
    vertex_mm
        Vertex distance of that refraction, millimetres. Default 12 mm.

    Returns
    -------
    Numbers
        Lens power, dioptres; nan where the lens would lie outside the eye.

    Notes
    -----
    ``dP/dd = P (X1 + X2) / 1336`` with the vergences ``X1`` behind and ``X2`` in front of the lens (our
    algebra): a plus lens gets weaker as it moves forward, the more so the stronger it is; a minus lens gets
    weaker too.

    Examples
    --------
    >>> eye = ThinLensEye(43.5, 23.5, 5.0, 0)
    >>> [round(float(moved_power_dpt(eye, forward, 0.0)), 2) for forward in (0.0, 0.5)]
    [20.26, 19.35]
    """
    return lens_power_dpt(moved_forward(eye, forward_mm), refraction_dpt, vertex_mm)


def moved_refraction_dpt(
    eye: ThinLensEye, forward_mm: Numbers, power_dpt: Numbers, vertex_mm: Numbers = SPECTACLE_VERTEX_MM
) -> Numbers:
    """The refraction that a lens of `power_dpt` leaves when it lies further forward than in the bag.

    Parameters
    ----------
    eye
        The eye as a formula sees it, with the lens in the bag; fields broadcast.
    forward_mm
        How far in front of that place the lens lies, millimetres.
    power_dpt
        Labelled power of the lens, dioptres.
    vertex_mm
        Vertex distance at which the refraction is wanted, millimetres. Default 12 mm.

    Returns
    -------
    Numbers
        Spherical equivalent at the spectacle plane, dioptres; nan where the lens would lie outside the eye.

    Notes
    -----
    The inverse of `moved_power_dpt`. An unchanged power leaves a plus lens's eye short-sighted.

    Examples
    --------
    >>> eye = ThinLensEye(43.5, 23.5, 5.0, 0)
    >>> round(float(moved_refraction_dpt(eye, 0.5, lens_power_dpt(eye, 0.0))), 2)
    -0.67
    """
    return refraction_dpt(moved_forward(eye, forward_mm), power_dpt, vertex_mm)


def sulcus_step(bag_power_dpt: Numbers) -> SulcusStep:
    """What the rule of thumb takes off the bag power for a lens in the sulcus.

    Parameters
    ----------
    bag_power_dpt
        Labelled power that the same lens would have had in the bag, dioptres.

    Returns
    -------
    SulcusStep
        Dioptres to add, 0 or minus. The table is of half-dioptre lenses and has gaps: above 28 and below
        28.5 D, above 17 and below 17.5 D, and from 9 D to below 9.5 D, which neither of its last two rows
        names. There the step is nan and flagged `BETWEEN_ROWS`, as it is where the power is nan.

    Notes
    -----
    28.5 D and up: -1.5 D; 17.5 to 28 D: -1.0 D; 9.5 to 17 D: -0.5 D; below 9 D: none (`sulcus-step-rule`,
    from memory). It knows nothing of this eye.

    Examples
    --------
    >>> float(sulcus_step(20.5).step_dpt), int(sulcus_step(28.25).flags)
    (-1.0, 1)
    """
    power_dpt = np.asarray(bag_power_dpt, dtype=np.float64)
    step_dpt = select(power_dpt < 9.0, 0.0, np.nan)  # noqa: PLR2004 - a row of the table, as are the next
    for from_dpt, to_dpt, row_dpt in ((9.5, 17.0, -0.5), (17.5, 28.0, -1.0), (28.5, np.inf, -1.5)):
        step_dpt = select((power_dpt >= from_dpt) & (power_dpt <= to_dpt), row_dpt, step_dpt)
    return SulcusStep(step_dpt, flag(np.isnan(step_dpt), BETWEEN_ROWS))
