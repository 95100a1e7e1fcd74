"""SRK/T (Retzlaff, Sanders & Kraff 1990), with the corrected coefficient 1.716.

Source: Retzlaff JA, Sanders DR, Kraff MC. J Cataract Refract Surg 1990;16:333-340, erratum 1990;16:528;
statement with corrections: Aramberri J, J Cataract Refract Surg 2005;31:255-256,
doi 10.1016/j.jcrs.2004.12.015. Coefficients from memory, confirmed by the edge Aramberri printed
(K 45 D, AL 33.12 mm).
"""

from __future__ import annotations

import numpy as np

from zonule.science.arrays import Numbers, flag, select
from zonule.science.lens_power.flags import (
    IMAGINARY_ROOT,
    LENGTH_BEYOND_TURN,
    NEAR_IMAGINARY_ROOT,
)
from zonule.science.lens_power.lens_place import LensPlace
from zonule.science.lens_power.thin_lens import ThinLensEye

_CORRECTED_FROM_MM = 24.2
_TURN_MM = 36.0
"""From 36.2 mm on the corrected length falls as the eye grows."""
_RUNAWAY_BELOW_MM2 = 4.0


def thin_lens_eye(axial_length_mm: Numbers, mean_k_dpt: Numbers, a_constant: Numbers) -> ThinLensEye:
    """The eye as SRK/T sees it.

    Parameters
    ----------
    axial_length_mm
        Axial length as the biometer reports it, millimetres, 15 to 36; beyond 36 mm it is flagged.
    mean_k_dpt
        Mean of the two keratometric powers on the 1.3375 scale, dioptres, 30 to 60.
    a_constant
        The lens's A-constant for this formula, without unit, about 117.5 to 119.7 for a bag lens.

    Returns
    -------
    ThinLensEye
        Corneal power at index 1.333, length with the retina's thickness added, lens position.
        Flags: `IMAGINARY_ROOT`, `NEAR_IMAGINARY_ROOT`, `LENGTH_BEYOND_TURN`.

    Notes
    -----
    Equations of retzlaff-1990 as corrected by aramberri-2005. Where the corneal height has no real value
    the root is set to zero, which is what programs in use evidently did (Aramberri 2005, repair a), and the
    element is flagged.

    Examples
    --------
    >>> eye = thin_lens_eye(23.5, 43.5, 118.4)
    >>> round(float(eye.lens_position_mm), 4), int(eye.flags)
    (5.0942, 0)
    """
    placed = lens_place(axial_length_mm, mean_k_dpt, a_constant)
    return with_lens_at(axial_length_mm, mean_k_dpt, placed)


def lens_place(axial_length_mm: Numbers, mean_k_dpt: Numbers, a_constant: Numbers) -> LensPlace:
    """Where SRK/T puts the lens.

    Parameters
    ----------
    axial_length_mm
        Axial length, millimetres.
    mean_k_dpt
        Mean keratometric power, 1.3375 scale, dioptres; that before surgery for double-K.
    a_constant
        The lens's A-constant, without unit.

    Returns
    -------
    LensPlace
        Corneal height plus the lens's own offset, and the flags of `thin_lens_eye`.

    Examples
    --------
    >>> round(float(lens_place(23.5, 43.5, 118.4).position_mm), 4)
    5.0942
    """
    radius_mm = 337.5 / mean_k_dpt
    corrected_mm = select(
        axial_length_mm > _CORRECTED_FROM_MM,
        -3.446 + 1.716 * axial_length_mm - 0.0237 * axial_length_mm * axial_length_mm,
        axial_length_mm,
    )
    width_mm = -5.41 + 0.58412 * corrected_mm + 0.098 * mean_k_dpt
    radicand_mm2 = radius_mm * radius_mm - width_mm * width_mm / 4.0
    height_mm = radius_mm - np.sqrt(np.maximum(radicand_mm2, 0.0))
    flags = (
        flag(radicand_mm2 < 0.0, IMAGINARY_ROOT)
        | flag(radicand_mm2 < _RUNAWAY_BELOW_MM2, NEAR_IMAGINARY_ROOT)
        | flag(axial_length_mm > _TURN_MM, LENGTH_BEYOND_TURN)
    )
    return LensPlace(height_mm + lens_offset_mm(a_constant), flags)


def lens_offset_mm(a_constant: Numbers) -> Numbers:
    """How far behind the corneal height a lens of this A-constant lies.

    Parameters
    ----------
    a_constant
        The lens's A-constant, without unit.

    Returns
    -------
    Numbers
        Millimetres.

    Examples
    --------
    >>> round(lens_offset_mm(118.4), 5)
    1.87793
    """
    return 0.62467 * a_constant - 68.747 - 3.336


def with_lens_at(axial_length_mm: Numbers, mean_k_dpt: Numbers, placed: LensPlace) -> ThinLensEye:
    """The optics of SRK/T around a lens whose place is given.

    Parameters
    ----------
    axial_length_mm
        Axial length, millimetres.
    mean_k_dpt
        Corneal power that bends the light, 1.3375 scale, dioptres; that of today for double-K.
    placed
        Where the lens is.

    Returns
    -------
    ThinLensEye
        Corneal power at index 1.333, length with the retina's thickness added.

    Examples
    --------
    >>> eye = with_lens_at(23.5, 43.5, LensPlace(5.0, 0))
    >>> round(eye.optical_length_mm, 4)
    23.6801
    """
    radius_mm = 337.5 / mean_k_dpt
    retina_mm = 0.65696 - 0.02029 * axial_length_mm
    return ThinLensEye(
        333.0 / radius_mm, axial_length_mm + retina_mm, placed.position_mm, placed.flags, 1.0, 0.0
    )
