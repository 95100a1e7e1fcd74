"""Double-K (Aramberri 2003): the cornea before surgery places the lens, the cornea of today bends the light.

Source: Aramberri J. J Cataract Refract Surg 2003;29:2063-2068, appendix corrected 2005;31:255-256. SRK/T,
Holladay 1 and Hoffer Q tell the place of the lens from corneal power, and a cornea made flat by laser makes
them put it too far forward. Haigis does not, and needs no double-K.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeAlias

import numpy as np

from zonule.science.arrays import Numbers, flag, select
from zonule.science.lens_power.corrected_cornea import (
    CorrectedCornea,
    shammas_hyperopic,
    shammas_without_history,
)
from zonule.science.lens_power.flags import BEFORE_ASSUMED
from zonule.science.lens_power.hoffer_q import lens_place as hoffer_q_place
from zonule.science.lens_power.hoffer_q import with_lens_at as seen_by_hoffer_q
from zonule.science.lens_power.holladay_1 import lens_place as holladay_1_place
from zonule.science.lens_power.holladay_1 import with_lens_at as seen_by_holladay_1
from zonule.science.lens_power.lens_place import LensPlace
from zonule.science.lens_power.srk_t import lens_place as srk_t_place
from zonule.science.lens_power.srk_t import with_lens_at as seen_by_srk_t
from zonule.science.lens_power.thin_lens import ThinLensEye

ASSUMED_BEFORE_DPT = 43.5
"""Corneal power before surgery where nobody knows it; the literature uses 43.5 to 44.0 D."""

DoubleK: TypeAlias = Callable[[Numbers, CorrectedCornea, Numbers, Numbers], ThinLensEye]
Kernel: TypeAlias = Callable[[Numbers, Numbers, Numbers, Numbers], ThinLensEye]


def srk_t(
    axial_length_mm: Numbers, cornea: CorrectedCornea, mean_k_before_dpt: Numbers, a_constant: Numbers
) -> ThinLensEye:
    """The eye as SRK/T sees it by double-K.

    Parameters
    ----------
    axial_length_mm
        Axial length, millimetres, 15 to 36.
    cornea
        The cornea of today, corrected once: for the optics.
    mean_k_before_dpt
        Mean keratometric power before surgery, 1.3375 scale, dioptres: for the place of the lens. Where it
        is nan, 43.5 D is assumed.
    a_constant
        The lens's A-constant, without unit.

    Returns
    -------
    ThinLensEye
        Flags: those of SRK/T for the cornea before surgery, and `BEFORE_ASSUMED`.

    Notes
    -----
    aramberri-2003, aramberri-2005. With one power in both places it is SRK/T itself.

    Examples
    --------
    >>> eye = srk_t(24.5, CorrectedCornea(38.0), 43.5, 118.4)
    >>> round(float(eye.lens_position_mm), 4)
    5.4686
    """
    placed = srk_t_place(axial_length_mm, _before(mean_k_before_dpt), a_constant)
    return seen_by_srk_t(axial_length_mm, cornea.power_dpt, _marked(placed, mean_k_before_dpt))


def holladay_1(
    axial_length_mm: Numbers, cornea: CorrectedCornea, mean_k_before_dpt: Numbers, surgeon_factor_mm: Numbers
) -> ThinLensEye:
    """The eye as Holladay 1 sees it by double-K.

    Parameters
    ----------
    axial_length_mm
        Axial length, millimetres, 15 to 38.
    cornea
        The cornea of today, corrected once: for the optics.
    mean_k_before_dpt
        Mean keratometric power before surgery, 1.3375 scale, dioptres: for the place of the lens. Where it
        is nan, 43.5 D is assumed.
    surgeon_factor_mm
        Distance from the iris plane to the lens, millimetres.

    Returns
    -------
    ThinLensEye
        Flags: those of Holladay 1 for the cornea before surgery, and `BEFORE_ASSUMED`.

    Notes
    -----
    aramberri-2003. With one power in both places it is Holladay 1 itself.

    Examples
    --------
    >>> eye = holladay_1(24.5, CorrectedCornea(38.0), 43.5, 1.44992)
    >>> round(float(eye.lens_position_mm), 4)
    5.5784
    """
    placed = holladay_1_place(axial_length_mm, _before(mean_k_before_dpt), surgeon_factor_mm)
    return seen_by_holladay_1(axial_length_mm, cornea.power_dpt, _marked(placed, mean_k_before_dpt))


def hoffer_q(
    axial_length_mm: Numbers, cornea: CorrectedCornea, mean_k_before_dpt: Numbers, p_acd_mm: Numbers
) -> ThinLensEye:
    """The eye as Hoffer Q sees it by double-K.

    Parameters
    ----------
    axial_length_mm
        Axial length, millimetres, 15 to 38.
    cornea
        The cornea of today, corrected once: for the optics.
    mean_k_before_dpt
        Mean keratometric power before surgery, 1.3375 scale, dioptres: for the place of the lens. Where it
        is nan, 43.5 D is assumed.
    p_acd_mm
        Personalised chamber depth of the lens, millimetres.

    Returns
    -------
    ThinLensEye
        Flags: those of Hoffer Q, and `BEFORE_ASSUMED`.

    Notes
    -----
    aramberri-2003. With one power in both places it is Hoffer Q itself.

    Examples
    --------
    >>> eye = hoffer_q(24.5, CorrectedCornea(38.0), 43.5, 5.198688)
    >>> round(float(eye.lens_position_mm), 4)
    5.4574
    """
    placed = hoffer_q_place(axial_length_mm, _before(mean_k_before_dpt), p_acd_mm)
    return seen_by_hoffer_q(axial_length_mm, cornea.power_dpt, _marked(placed, mean_k_before_dpt))


def _before(mean_k_before_dpt: Numbers) -> Numbers:
    return select(np.isnan(mean_k_before_dpt), ASSUMED_BEFORE_DPT, mean_k_before_dpt)


def _marked(placed: LensPlace, mean_k_before_dpt: Numbers) -> LensPlace:
    assumed = flag(np.isnan(mean_k_before_dpt), BEFORE_ASSUMED)
    return LensPlace(placed.position_mm, placed.flags | assumed)


def _of_reading(double_k: DoubleK, corrected: Callable[[Numbers], CorrectedCornea]) -> Kernel:
    """The kernel of a method: it takes the reading as measured and corrects it itself, once."""

    def kernel(
        axial_length_mm: Numbers, mean_k_dpt: Numbers, mean_k_before_dpt: Numbers, constant: Numbers
    ) -> ThinLensEye:
        return double_k(axial_length_mm, corrected(mean_k_dpt), mean_k_before_dpt, constant)

    return kernel


srk_t_after_myopic_laser = _of_reading(srk_t, shammas_without_history)
holladay_1_after_myopic_laser = _of_reading(holladay_1, shammas_without_history)
hoffer_q_after_myopic_laser = _of_reading(hoffer_q, shammas_without_history)

srk_t_after_hyperopic_laser = _of_reading(srk_t, shammas_hyperopic)
holladay_1_after_hyperopic_laser = _of_reading(holladay_1, shammas_hyperopic)
hoffer_q_after_hyperopic_laser = _of_reading(hoffer_q, shammas_hyperopic)

# Cuts flatten front and back alike: the reading is not corrected.
srk_t_after_radial_keratotomy = _of_reading(srk_t, CorrectedCornea)
holladay_1_after_radial_keratotomy = _of_reading(holladay_1, CorrectedCornea)
hoffer_q_after_radial_keratotomy = _of_reading(hoffer_q, CorrectedCornea)
