"""The optics that the four classical formulas share: a thin cornea and a thin lens in water.

SRK/T, Holladay 1, Hoffer Q and Haigis differ only in the corneal power, the optical length and the
lens position they assume. Each formula file gives those three; the vergence equation lives here once.
Algebra derived here; the same statement in matrix form is haigis-2009.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from zonule.science.arrays import Flags, Numbers, flag, select
from zonule.science.lens_power.flags import LENS_OUTSIDE_EYE
from zonule.science.optics.vergence import refraction_at_cornea_dpt, refraction_at_spectacles_dpt
from zonule.science.units import AQUEOUS_INDEX, MM_PER_M, SPECTACLE_VERTEX_MM

REDUCED_INDEX_MM_DPT = AQUEOUS_INDEX * MM_PER_M


class ThinLensEye(NamedTuple):
    """An eye as one formula sees it."""

    corneal_power_dpt: Numbers
    optical_length_mm: Numbers
    lens_position_mm: Numbers
    """Of the thin lens, behind the formula's corneal plane."""
    flags: Flags
    """Bits of `zonule.science.lens_power.flags`."""
    refraction_gain: Numbers = 1.0
    """By how much the formula multiplies the refraction at the cornea before it adds the corneal power.

    Kernels state this and the next, because compiled code fills in no defaults.
    """
    power_shift_dpt: Numbers = 0.0
    """What a method adds to the lens power that the optics give."""


def inside_the_eye(eye: ThinLensEye) -> ThinLensEye:
    """The eye with its lens position, or without one and flagged where the lens would lie outside.

    Parameters
    ----------
    eye
        The eye as a formula sees it.

    Returns
    -------
    ThinLensEye
        Position nan, and `LENS_OUTSIDE_EYE` set, where it is not between cornea and retina or not known.

    Examples
    --------
    >>> eye = inside_the_eye(ThinLensEye(43.5, 23.5, -0.2, 0))
    >>> float(eye.lens_position_mm), int(eye.flags)
    (nan, 64)
    """
    position_mm = eye.lens_position_mm
    inside = (position_mm > 0.0) & (position_mm < eye.optical_length_mm)
    return ThinLensEye(
        eye.corneal_power_dpt,
        eye.optical_length_mm,
        select(inside, position_mm, np.nan),
        eye.flags | flag(np.logical_not(inside), LENS_OUTSIDE_EYE),
        eye.refraction_gain,
        eye.power_shift_dpt,
    )


def lens_power_dpt(
    eye: ThinLensEye, refraction_dpt: Numbers, vertex_mm: Numbers = SPECTACLE_VERTEX_MM
) -> Numbers:
    """The lens power that leaves this eye with `refraction_dpt`.

    Parameters
    ----------
    eye
        The eye as a formula sees it; fields broadcast.
    refraction_dpt
        Wanted spherical equivalent at the spectacle plane, dioptres.
    vertex_mm
        Vertex distance of that refraction, millimetres. Default 12 mm.

    Returns
    -------
    Numbers
        Equivalent power of the lens in aqueous, dioptres; minus in very long eyes.

    Notes
    -----
    ``P = n'/(L - d) - n'/(n'/(K + g Rc) - d) + s`` with ``n' = 1336``; gain g is 1 and shift s is 0 in
    the classical formulas.

    Examples
    --------
    >>> eye = ThinLensEye(43.5, 23.5, 5.0, 0)
    >>> round(lens_power_dpt(eye, 0.0), 2)
    20.26
    """
    position_mm = eye.lens_position_mm
    at_cornea_dpt = eye.refraction_gain * refraction_at_cornea_dpt(refraction_dpt, vertex_mm)
    vergence_dpt = eye.corneal_power_dpt + at_cornea_dpt
    needed_dpt = REDUCED_INDEX_MM_DPT / (eye.optical_length_mm - position_mm) + eye.power_shift_dpt
    return needed_dpt - REDUCED_INDEX_MM_DPT / (REDUCED_INDEX_MM_DPT / vergence_dpt - position_mm)


def refraction_dpt(eye: ThinLensEye, power_dpt: Numbers, vertex_mm: Numbers = SPECTACLE_VERTEX_MM) -> Numbers:
    """The refraction that this eye will have with a lens of `power_dpt`.

    Parameters
    ----------
    eye
        The eye as a formula sees it; fields broadcast against `power_dpt`.
    power_dpt
        Labelled power of the lens, dioptres.
    vertex_mm
        Vertex distance at which the refraction is wanted, millimetres. Default 12 mm.

    Returns
    -------
    Numbers
        Spherical equivalent at the spectacle plane, dioptres, plus for hyperopia.

    Notes
    -----
    The closed-form inverse of `lens_power_dpt`, written without the inner reciprocal so that a lens that
    needs no vergence in front of it is no special case.

    Examples
    --------
    >>> eye = ThinLensEye(43.5, 23.5, 5.0, 0)
    >>> round(refraction_dpt(eye, lens_power_dpt(eye, -2.0)), 10)
    -2.0
    """
    position_mm = eye.lens_position_mm
    optics_dpt = power_dpt - eye.power_shift_dpt
    before_lens_dpt = REDUCED_INDEX_MM_DPT / (eye.optical_length_mm - position_mm) - optics_dpt
    reduced_position = position_mm / REDUCED_INDEX_MM_DPT
    missing_dpt = before_lens_dpt / (1.0 + reduced_position * before_lens_dpt) - eye.corneal_power_dpt
    return refraction_at_spectacles_dpt(missing_dpt / eye.refraction_gain, vertex_mm)


def lens_position_mm(
    corneal_power_dpt: Numbers,
    optical_length_mm: Numbers,
    power_dpt: Numbers,
    refraction_dpt: Numbers,
    vertex_mm: Numbers = SPECTACLE_VERTEX_MM,
) -> Numbers:
    """Where the thin lens must have been, given the refraction the eye got.

    Parameters
    ----------
    corneal_power_dpt
        Corneal power on the formula's own scale, dioptres.
    optical_length_mm
        Optical length of the formula, millimetres.
    power_dpt
        Power of the lens implanted, dioptres. Useless below about 3 D either way, and nan at 0: there the
        refraction does not depend on where the lens is.
    refraction_dpt
        Achieved spherical equivalent at the spectacle plane, dioptres.
    vertex_mm
        Vertex distance of that refraction, millimetres. Default 12 mm.

    Returns
    -------
    Numbers
        Lens position behind the corneal plane, millimetres; nan where no position of this lens gives this
        refraction, which only a weak lens and a noisy refraction can bring about.

    Notes
    -----
    Closed form derived here; the minus root is right for plus and minus lenses alike.

    Examples
    --------
    >>> eye = ThinLensEye(43.5, 23.5, 5.0, 0)
    >>> round(float(lens_position_mm(43.5, 23.5, 20.0, refraction_dpt(eye, 20.0))), 10)
    5.0
    """
    vergence_dpt = corneal_power_dpt + refraction_at_cornea_dpt(refraction_dpt, vertex_mm)
    focus_mm = REDUCED_INDEX_MM_DPT / vergence_dpt
    gap_mm = focus_mm - optical_length_mm
    some_power_dpt = select(power_dpt == 0.0, np.nan, power_dpt)
    radicand_mm2 = gap_mm * gap_mm + 4.0 * REDUCED_INDEX_MM_DPT * gap_mm / some_power_dpt
    root_mm = np.sqrt(select(radicand_mm2 < 0.0, np.nan, radicand_mm2))
    position_mm: Numbers = 0.5 * (optical_length_mm + focus_mm - root_mm)
    return position_mm
