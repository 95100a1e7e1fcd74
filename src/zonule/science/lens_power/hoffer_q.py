"""Hoffer Q (Hoffer 1993, with the errata of 1994 and 2007).

Source: Hoffer KJ. J Cataract Refract Surg 1993;19:700-712; errata 1994;20:677; Zuberbuhler B, Morrell AJ,
2007;33:2 with reply 2007;33:2-3. Coefficients and clamps from memory: nobody has yet checked them against
the papers (docs/sources.md, hoffer-1993), and every plan that uses them says so.
"""

from __future__ import annotations

import numpy as np

from zonule.science.arrays import Numbers, flag, select
from zonule.science.lens_power.flags import LENGTH_CLAMPED
from zonule.science.lens_power.lens_place import LensPlace
from zonule.science.lens_power.thin_lens import ThinLensEye

_RAD_PER_DEG = np.pi / 180.0
_SHORT_UP_TO_MM = 23.0


def thin_lens_eye(axial_length_mm: Numbers, mean_k_dpt: Numbers, p_acd_mm: Numbers) -> ThinLensEye:
    """The eye as Hoffer Q sees it.

    Parameters
    ----------
    axial_length_mm
        Axial length, millimetres, 15 to 38.
    mean_k_dpt
        Mean keratometric power on the 1.3375 scale, dioptres, 30 to 60. The formula feeds this number to
        the tangent as if it were degrees.
    p_acd_mm
        Personalised chamber depth of the lens, millimetres, about 4.5 to 6.

    Returns
    -------
    ThinLensEye
        Corneal power at index 1.3375, the length itself, and lens position with the formula's 0.05 mm added.
        Flags: `LENGTH_CLAMPED` (outside 18.5 to 31 mm).

    Notes
    -----
    Equations of hoffer-1993. The clamp acts on the predicted depth only, never on the length in the optics.

    Examples
    --------
    >>> eye = thin_lens_eye(23.5, 43.5, 5.198688)
    >>> round(float(eye.lens_position_mm) - 0.05, 4), int(eye.flags)
    (5.1076, 0)
    """
    placed = lens_place(axial_length_mm, mean_k_dpt, p_acd_mm)
    return with_lens_at(axial_length_mm, mean_k_dpt, placed)


def lens_place(axial_length_mm: Numbers, mean_k_dpt: Numbers, p_acd_mm: Numbers) -> LensPlace:
    """Where Hoffer Q puts the lens.

    Parameters
    ----------
    axial_length_mm
        Axial length, millimetres.
    mean_k_dpt
        Mean keratometric power, 1.3375 scale, dioptres; that before surgery for double-K.
    p_acd_mm
        Personalised chamber depth of the lens, millimetres.

    Returns
    -------
    LensPlace
        Predicted depth with the formula's 0.05 mm added, and the flag of `thin_lens_eye`.

    Examples
    --------
    >>> round(float(lens_place(23.5, 43.5, 5.198688).position_mm) - 0.05, 4)
    5.1076
    """
    length_mm = np.minimum(np.maximum(axial_length_mm, 18.5), 31.0)
    short = length_mm <= _SHORT_UP_TO_MM
    sign = select(short, 1.0, -1.0)
    turn_mm = select(short, 28.0, 23.5)
    from_average_mm = 23.5 - length_mm
    from_turn_mm = turn_mm - length_mm
    corneal_tangent = np.tan(mean_k_dpt * _RAD_PER_DEG)
    length_tangent = np.tan(0.1 * from_turn_mm * from_turn_mm * _RAD_PER_DEG)
    depth_mm = (
        p_acd_mm
        - 0.3 * from_average_mm
        + corneal_tangent * corneal_tangent
        + 0.1 * sign * from_average_mm * from_average_mm * length_tangent
        - 0.99166
    )
    return LensPlace(depth_mm + 0.05, flag(length_mm != axial_length_mm, LENGTH_CLAMPED))


def with_lens_at(axial_length_mm: Numbers, mean_k_dpt: Numbers, placed: LensPlace) -> ThinLensEye:
    """The optics of Hoffer Q around a lens whose place is given.

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
        Corneal power and length as they are.

    Examples
    --------
    >>> with_lens_at(23.5, 43.5, LensPlace(5.0, 0)).corneal_power_dpt
    43.5
    """
    return ThinLensEye(mean_k_dpt, axial_length_mm, placed.position_mm, placed.flags, 1.0, 0.0)
