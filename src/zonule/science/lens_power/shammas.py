"""Shammas-PL and Shammas-PHL, after laser: formulas in which neither cornea nor length moves the lens.

Sources: Shammas HJ, Shammas MC. J Cataract Refract Surg 2007;33:31-36 (myopic; from memory); Shammas HJ,
Shammas MC, Hill WE. J Cataract Refract Surg 2013;39:739-744, doi 10.1016/j.jcrs.2012.11.031 (hyperopic: its
corneal power was read, the rest is that of 2007).
"""

from __future__ import annotations

from zonule.science.arrays import Numbers
from zonule.science.lens_power.corrected_cornea import (
    CorrectedCornea,
    shammas_hyperopic,
    shammas_without_history,
)
from zonule.science.lens_power.thin_lens import ThinLensEye

_GAIN = 1.0125


def after_myopic_laser(axial_length_mm: Numbers, mean_k_dpt: Numbers, a_constant: Numbers) -> ThinLensEye:
    """The eye as Shammas-PL sees it.

    Parameters
    ----------
    axial_length_mm
        Axial length, millimetres, 15 to 38.
    mean_k_dpt
        Mean keratometric power as measured now, 1.3375 scale, dioptres, 30 to 60. The formula corrects it.
    a_constant
        The lens's A-constant, without unit; its place of the lens is ``0.5835 A - 64.40`` plus 0.05 mm.

    Returns
    -------
    ThinLensEye
        Corneal power and refraction divided by 1.0125, the length shortened by a tenth of what it exceeds
        23 mm. Never flagged by itself.

    Notes
    -----
    ``P = 1336 / (L - d) - 1 / (1.0125 / (K + R) - d / 1336)``, shammas-2007.

    Examples
    --------
    >>> from zonule.science.lens_power.thin_lens import lens_power_dpt
    >>> round(lens_power_dpt(after_myopic_laser(24.5, 39.0, 118.4), 0.0), 3)
    25.271
    """
    return _stand_alone(axial_length_mm, shammas_without_history(mean_k_dpt), a_constant)


def after_hyperopic_laser(axial_length_mm: Numbers, mean_k_dpt: Numbers, a_constant: Numbers) -> ThinLensEye:
    """The eye as Shammas-PHL sees it.

    Parameters
    ----------
    axial_length_mm
        Axial length, millimetres, 15 to 38.
    mean_k_dpt
        Mean keratometric power as measured now, 1.3375 scale, dioptres, 30 to 60. The formula corrects it.
    a_constant
        The lens's A-constant, without unit.

    Returns
    -------
    ThinLensEye
        As `after_myopic_laser`, with ``1.0457 K - 1.9538`` for the cornea.

    Notes
    -----
    shammas-2013; in eyes shorter than 23 mm the length is made longer, as the equation has it.

    Examples
    --------
    >>> from zonule.science.lens_power.thin_lens import lens_power_dpt
    >>> round(lens_power_dpt(after_hyperopic_laser(22.5, 46.0, 118.4), 0.0), 3)
    20.636
    """
    return _stand_alone(axial_length_mm, shammas_hyperopic(mean_k_dpt), a_constant)


def _stand_alone(axial_length_mm: Numbers, cornea: CorrectedCornea, a_constant: Numbers) -> ThinLensEye:
    length_mm = axial_length_mm - 0.1 * (axial_length_mm - 23.0)
    position_mm = 0.5835 * a_constant - 64.40 + 0.05
    return ThinLensEye(cornea.power_dpt / _GAIN, length_mm, position_mm, 0, 1.0 / _GAIN, 0.0)
