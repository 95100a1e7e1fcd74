"""Holladay 1 (Holladay, Prager, Chandler, Musgrove, Lewis & Ruiz 1988).

Source: Holladay JT et al. A three-part system for refining intraocular lens power calculations.
J Cataract Refract Surg 1988;14:17-24. Coefficients from memory, confirmed numerically (holladay-1988).
"""

from __future__ import annotations

import numpy as np

from zonule.science.arrays import Numbers, flag
from zonule.science.lens_power.flags import RADIUS_CLAMPED, WIDTH_CLAMPED
from zonule.science.lens_power.lens_place import LensPlace
from zonule.science.lens_power.thin_lens import ThinLensEye

_SMALLEST_RADIUS_MM = 7.0
_LARGEST_WIDTH_MM = 13.5


def thin_lens_eye(axial_length_mm: Numbers, mean_k_dpt: Numbers, surgeon_factor_mm: Numbers) -> ThinLensEye:
    """The eye as Holladay 1 sees it.

    Parameters
    ----------
    axial_length_mm
        Axial length, millimetres, 15 to 38.
    mean_k_dpt
        Mean keratometric power on the 1.3375 scale, dioptres, 30 to 60.
    surgeon_factor_mm
        Distance from the iris plane to the lens, millimetres, about 1 to 2 for a bag lens.

    Returns
    -------
    ThinLensEye
        Corneal power at index 4/3, length plus 0.200 mm of retina, lens position.
        Flags: `RADIUS_CLAMPED` (K above 48.21 D), `WIDTH_CLAMPED` (AL from 25.33 mm).

    Notes
    -----
    Equations of holladay-1988. The radius is clamped at 7 mm for lens position only; the optics keep the
    true one.

    Examples
    --------
    >>> eye = thin_lens_eye(23.5, 43.5, 1.44992)
    >>> round(float(eye.lens_position_mm), 4), int(eye.flags)
    (5.1896, 0)
    """
    placed = lens_place(axial_length_mm, mean_k_dpt, surgeon_factor_mm)
    return with_lens_at(axial_length_mm, mean_k_dpt, placed)


def lens_place(axial_length_mm: Numbers, mean_k_dpt: Numbers, surgeon_factor_mm: Numbers) -> LensPlace:
    """Where Holladay 1 puts the lens.

    Parameters
    ----------
    axial_length_mm
        Axial length, millimetres.
    mean_k_dpt
        Mean keratometric power, 1.3375 scale, dioptres; that before surgery for double-K.
    surgeon_factor_mm
        Distance from the iris plane to the lens, millimetres.

    Returns
    -------
    LensPlace
        Iris plane plus surgeon factor, and the flags of `thin_lens_eye`.

    Examples
    --------
    >>> round(float(lens_place(23.5, 43.5, 1.44992).position_mm), 4)
    5.1896
    """
    radius_mm = 337.5 / mean_k_dpt
    clamped_radius_mm = np.maximum(radius_mm, _SMALLEST_RADIUS_MM)
    width_mm = 12.5 * axial_length_mm / 23.45
    clamped_width_mm = np.minimum(width_mm, _LARGEST_WIDTH_MM)
    root_mm = np.sqrt(clamped_radius_mm * clamped_radius_mm - clamped_width_mm * clamped_width_mm / 4.0)
    iris_mm = 0.56 + clamped_radius_mm - root_mm
    flags = flag(radius_mm < _SMALLEST_RADIUS_MM, RADIUS_CLAMPED) | flag(
        width_mm > _LARGEST_WIDTH_MM, WIDTH_CLAMPED
    )
    return LensPlace(iris_mm + surgeon_factor_mm, flags)


def with_lens_at(axial_length_mm: Numbers, mean_k_dpt: Numbers, placed: LensPlace) -> ThinLensEye:
    """The optics of Holladay 1 around a lens whose place is given.

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
        Corneal power at index 4/3, length plus 0.200 mm of retina.

    Examples
    --------
    >>> eye = with_lens_at(23.5, 43.5, LensPlace(5.0, 0))
    >>> round(eye.corneal_power_dpt, 3), round(eye.optical_length_mm, 3)
    (42.963, 23.7)
    """
    radius_mm = 337.5 / mean_k_dpt
    return ThinLensEye(
        (1000.0 / 3.0) / radius_mm, axial_length_mm + 0.2, placed.position_mm, placed.flags, 1.0, 0.0
    )
