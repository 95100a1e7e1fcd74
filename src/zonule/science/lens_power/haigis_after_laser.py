"""Haigis after myopic laser: its lens needs no cornea, so that correcting the corneal power is enough.

Sources: Haigis W. J Cataract Refract Surg 2008;34:1658-1663 (Haigis-L; from memory); Shammas HJ et al. Am J
Ophthalmol 2003;136:426-432 for the corneal power of the other, whose results with Haigis are in wu-2017.
A hyperopic Haigis-L has not been found in a reviewed paper; there is none here.
"""

from __future__ import annotations

from zonule.science.arrays import Numbers
from zonule.science.lens_power.corrected_cornea import haigis_l_cornea, shammas_without_history
from zonule.science.lens_power.haigis import thin_lens_eye
from zonule.science.lens_power.thin_lens import ThinLensEye


def haigis_l_myopic(
    axial_length_mm: Numbers,
    mean_k_dpt: Numbers,
    anterior_chamber_depth_mm: Numbers,
    a0_mm: Numbers,
    a1: Numbers,
    a2: Numbers,
) -> ThinLensEye:
    """The eye as Haigis-L sees it, after myopic laser only.

    Parameters
    ----------
    axial_length_mm
        Axial length, millimetres, 15 to 38.
    mean_k_dpt
        Mean keratometric power as measured now, 1.3375 scale, dioptres, 30 to 60. The formula corrects it.
    anterior_chamber_depth_mm
        From the corneal epithelium to the lens, millimetres, 1.5 to 5.5.
    a0_mm, a1, a2
        The lens's three constants.

    Returns
    -------
    ThinLensEye
        What plain Haigis makes of the corrected cornea.

    Notes
    -----
    haigis-l-2008, haigis-2000.

    Examples
    --------
    >>> eye = haigis_l_myopic(26.0, 38.0, 3.5, 1.526928, 0.4, 0.1)
    >>> round(float(eye.corneal_power_dpt), 3), round(float(eye.lens_position_mm), 4)
    (36.059, 5.5269)
    """
    power_dpt = haigis_l_cornea(mean_k_dpt).power_dpt
    return thin_lens_eye(axial_length_mm, power_dpt, anterior_chamber_depth_mm, a0_mm, a1, a2)


def haigis_shammas_k(
    axial_length_mm: Numbers,
    mean_k_dpt: Numbers,
    anterior_chamber_depth_mm: Numbers,
    a0_mm: Numbers,
    a1: Numbers,
    a2: Numbers,
) -> ThinLensEye:
    """The eye as Haigis sees it with the corneal power of Shammas, after myopic laser only.

    Parameters
    ----------
    axial_length_mm
        Axial length, millimetres, 15 to 38.
    mean_k_dpt
        Mean keratometric power as measured now, 1.3375 scale, dioptres, 30 to 60. The formula corrects it.
    anterior_chamber_depth_mm
        From the corneal epithelium to the lens, millimetres, 1.5 to 5.5.
    a0_mm, a1, a2
        The lens's three constants.

    Returns
    -------
    ThinLensEye
        What plain Haigis makes of the corrected cornea.

    Notes
    -----
    ``1.14 K - 6.8`` of shammas-2003 in haigis-2000; SD 0.695 D in the eyes of wu-2017.

    Examples
    --------
    >>> eye = haigis_shammas_k(26.0, 38.0, 3.5, 1.526928, 0.4, 0.1)
    >>> round(float(eye.corneal_power_dpt), 3), round(float(eye.lens_position_mm), 4)
    (35.871, 5.5269)
    """
    power_dpt = shammas_without_history(mean_k_dpt).power_dpt
    return thin_lens_eye(axial_length_mm, power_dpt, anterior_chamber_depth_mm, a0_mm, a1, a2)
