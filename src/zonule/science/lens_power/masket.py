"""Masket's way: a formula for untouched corneas, its power then shifted by what the laser treated.

Sources: Masket S, Masket SE. J Cataract Refract Surg 2006;32:430-434 (from memory); its modification on later
eyes, quoted by Wang L, Hill WE, Koch DD. J Cataract Refract Surg 2010;36:1466-1473 (from memory). The formula
takes the reading as measured: correcting it too would repair one error twice.
"""

from __future__ import annotations

import numpy as np

from zonule.science.arrays import Numbers, select
from zonule.science.lens_power.hoffer_q import thin_lens_eye as seen_by_hoffer_q
from zonule.science.lens_power.holladay_1 import thin_lens_eye as seen_by_holladay_1
from zonule.science.lens_power.srk_t import thin_lens_eye as seen_by_srk_t
from zonule.science.lens_power.thin_lens import ThinLensEye
from zonule.science.optics.vergence import refraction_at_spectacles_dpt


def masket_shift_dpt(treated_at_cornea_dpt: Numbers) -> Numbers:
    """What Masket 2006 adds to the lens power.

    Parameters
    ----------
    treated_at_cornea_dpt
        Refractive change achieved, at the corneal plane, dioptres; minus for a myopic treatment. The paper
        counts it at the spectacles, and so it is taken there, as if the eye had ended without error.

    Returns
    -------
    Numbers
        Dioptres of lens power: plus after myopic treatments.

    Notes
    -----
    ``-0.326 LSE + 0.101``, masket-2006.

    Examples
    --------
    >>> round(masket_shift_dpt(3.0 / (1.0 - 0.012 * 3.0)), 3)
    -0.877
    """
    return -0.326 * refraction_at_spectacles_dpt(treated_at_cornea_dpt) + 0.101


def modified_masket_shift_dpt(treated_at_cornea_dpt: Numbers) -> Numbers:
    """What the modified Masket adds to the lens power.

    Parameters
    ----------
    treated_at_cornea_dpt
        As in `masket_shift_dpt`.

    Returns
    -------
    Numbers
        Dioptres of lens power.

    Notes
    -----
    ``-0.4385 LSE + 0.0295``, quoted in wang-2010.

    Examples
    --------
    >>> round(modified_masket_shift_dpt(-5.0 / (1.0 + 0.012 * 5.0)), 3)
    2.222
    """
    return -0.4385 * refraction_at_spectacles_dpt(treated_at_cornea_dpt) + 0.0295


def masket_after_myopic_laser(
    axial_length_mm: Numbers, mean_k_dpt: Numbers, treated_at_cornea_dpt: Numbers, a_constant: Numbers
) -> ThinLensEye:
    """The eye as SRK/T sees it, its power shifted by Masket 2006.

    Parameters
    ----------
    axial_length_mm
        Axial length, millimetres, 15 to 36.
    mean_k_dpt
        Mean keratometric power as measured now, 1.3375 scale, dioptres, 30 to 60; not corrected.
    treated_at_cornea_dpt
        Refractive change achieved, at the corneal plane, dioptres. Where it is nan there is no answer.
    a_constant
        The lens's A-constant, without unit.

    Returns
    -------
    ThinLensEye
        That of SRK/T, with the shift.

    Notes
    -----
    masket-2006 with retzlaff-1990.

    Examples
    --------
    >>> eye = masket_after_myopic_laser(26.0, 39.0, -4.7170, 118.4)
    >>> round(float(eye.power_shift_dpt), 3)
    1.731
    """
    seen = seen_by_srk_t(axial_length_mm, mean_k_dpt, a_constant)
    return _shifted(seen, masket_shift_dpt(treated_at_cornea_dpt))


def masket_after_hyperopic_laser(
    axial_length_mm: Numbers, mean_k_dpt: Numbers, treated_at_cornea_dpt: Numbers, p_acd_mm: Numbers
) -> ThinLensEye:
    """The eye as Hoffer Q sees it, its power shifted by Masket 2006, as the paper has it for hyperopic laser.

    Parameters
    ----------
    axial_length_mm
        Axial length, millimetres, 15 to 38.
    mean_k_dpt
        Mean keratometric power as measured now, 1.3375 scale, dioptres, 30 to 60; not corrected.
    treated_at_cornea_dpt
        Refractive change achieved, at the corneal plane, dioptres, plus. Where it is nan there is no answer.
    p_acd_mm
        Personalised chamber depth of the lens, millimetres.

    Returns
    -------
    ThinLensEye
        That of Hoffer Q, with the shift.

    Notes
    -----
    masket-2006 with hoffer-1993.

    Examples
    --------
    >>> eye = masket_after_hyperopic_laser(22.5, 46.0, 3.1120, 5.198688)
    >>> round(float(eye.power_shift_dpt), 3)
    -0.877
    """
    seen = seen_by_hoffer_q(axial_length_mm, mean_k_dpt, p_acd_mm)
    return _shifted(seen, masket_shift_dpt(treated_at_cornea_dpt))


def modified_masket_after_laser(
    axial_length_mm: Numbers, mean_k_dpt: Numbers, treated_at_cornea_dpt: Numbers, surgeon_factor_mm: Numbers
) -> ThinLensEye:
    """The eye as Holladay 1 sees it, its power shifted by the modified Masket.

    Parameters
    ----------
    axial_length_mm
        Axial length, millimetres, 15 to 38.
    mean_k_dpt
        Mean keratometric power as measured now, 1.3375 scale, dioptres, 30 to 60; not corrected.
    treated_at_cornea_dpt
        Refractive change achieved, at the corneal plane, dioptres. Where it is nan there is no answer.
    surgeon_factor_mm
        Distance from the iris plane to the lens, millimetres.

    Returns
    -------
    ThinLensEye
        That of Holladay 1, with the shift.

    Notes
    -----
    wang-2010 with holladay-1988.

    Examples
    --------
    >>> eye = modified_masket_after_laser(26.0, 39.0, -4.7170, 1.44992)
    >>> round(float(eye.power_shift_dpt), 3)
    2.222
    """
    seen = seen_by_holladay_1(axial_length_mm, mean_k_dpt, surgeon_factor_mm)
    return _shifted(seen, modified_masket_shift_dpt(treated_at_cornea_dpt))


def _shifted(seen: ThinLensEye, shift_dpt: Numbers) -> ThinLensEye:
    # Without a known treatment there is no place either, so that the missing answer is flagged.
    return ThinLensEye(
        seen.corneal_power_dpt,
        seen.optical_length_mm,
        select(np.isnan(shift_dpt), np.nan, seen.lens_position_mm),
        seen.flags,
        seen.refraction_gain,
        shift_dpt,
    )
