"""What one quantity would have to be to explain the refraction an eye got.

Everything else is held as it was planned, so each answer says: if this alone was wrong, it was wrong by so
much. One refraction cannot tell causes apart; these numbers rank them and prove none.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from zonule.science.arrays import Condition, Numbers, select
from zonule.science.lens_power.formulas import EyeNumbers, Formula, seen_eye
from zonule.science.lens_power.thin_lens import (
    REDUCED_INDEX_MM_DPT,
    ThinLensEye,
    lens_position_mm,
    refraction_dpt,
)
from zonule.science.optics.vergence import refraction_at_cornea_dpt, refraction_at_spectacles_dpt

LENS_POSITION_SD_MM = 0.34
"""How far a lens lies from where it was predicted: the share of lens position in the variance of refractions,
35 % of an SD of 0.75 D (norrby-2008), at 1.32 D for each millimetre of an average eye."""

REFRACTION_SD_DPT = 0.25
"""Of one reading of the spherical equivalent: 95 % limits of 0.70 D between three examiners (photonics-2024),
divided by 2.77."""

_STEPS = 40
"""After so many all of 20,000 eyes of 20.5 to 30 mm and 38 to 48 D had settled, whichever formula; with
SRK/T, near its edge, all but 11."""
_MISSED_DPT = 0.005
"""Hoffer Q jumps by 0.002 D where it changes its branch, so that some refractions are met only so nearly."""


def position_that_explains_mm(eye: ThinLensEye, power_dpt: Numbers, achieved_dpt: Numbers) -> Numbers:
    """Where the lens must be if nothing else was wrong.

    Parameters
    ----------
    eye
        The eye as a formula sees it; fields broadcast. Its own lens position is not used.
    power_dpt
        Labelled power of the lens implanted, dioptres; useless within 3 D of zero.
    achieved_dpt
        Spherical equivalent the eye got, dioptres at 12 mm, less what was added to the formula's prediction.

    Returns
    -------
    Numbers
        Position behind the formula's corneal plane, millimetres; nan where no position inside the eye gives
        this refraction.

    Notes
    -----
    Closed form of `thin_lens.lens_position_mm`, with the formula's gain and shift taken into account.

    Examples
    --------
    >>> eye = ThinLensEye(43.5, 23.5, 5.0, 0)
    >>> round(float(position_that_explains_mm(eye, 20.0, refraction_dpt(eye, 20.0))), 9)
    5.0
    """
    at_cornea_dpt = eye.refraction_gain * refraction_at_cornea_dpt(achieved_dpt)
    position_mm = lens_position_mm(
        eye.corneal_power_dpt,
        eye.optical_length_mm,
        power_dpt - eye.power_shift_dpt,
        refraction_at_spectacles_dpt(at_cornea_dpt),
    )
    inside = (position_mm > 0.0) & (position_mm < eye.optical_length_mm)
    return select(inside, position_mm, np.nan)


def corneal_power_that_explains_dpt(eye: ThinLensEye, power_dpt: Numbers, achieved_dpt: Numbers) -> Numbers:
    """What the corneal power must be with the lens where the formula put it.

    Parameters
    ----------
    eye
        The eye as a formula sees it; fields broadcast.
    power_dpt
        Labelled power of the lens implanted, dioptres.
    achieved_dpt
        As for `position_that_explains_mm`.

    Returns
    -------
    Numbers
        Corneal power on the formula's own scale, dioptres.

    Notes
    -----
    Closed form derived here from the vergence equation of `thin_lens`. It is what an unnoticed change of the
    cornea would have to be; a wrong reading also misplaces the lens, see `mean_k_that_explains_dpt`.

    Examples
    --------
    >>> eye = ThinLensEye(43.5, 23.5, 5.0, 0)
    >>> round(corneal_power_that_explains_dpt(eye, 20.0, refraction_dpt(eye, 20.0)), 9)
    43.5
    """
    position_mm = eye.lens_position_mm
    optics_dpt = power_dpt - eye.power_shift_dpt
    before_lens_dpt = REDUCED_INDEX_MM_DPT / (eye.optical_length_mm - position_mm) - optics_dpt
    needed_dpt = before_lens_dpt / (1.0 + position_mm / REDUCED_INDEX_MM_DPT * before_lens_dpt)
    return needed_dpt - eye.refraction_gain * refraction_at_cornea_dpt(achieved_dpt)


def length_that_explains_mm(eye: ThinLensEye, power_dpt: Numbers, achieved_dpt: Numbers) -> Numbers:
    """What the optical length must be with the lens where the formula put it.

    Parameters
    ----------
    eye
        The eye as a formula sees it; fields broadcast.
    power_dpt
        Labelled power of the lens implanted, dioptres.
    achieved_dpt
        As for `position_that_explains_mm`.

    Returns
    -------
    Numbers
        Optical length of the formula, millimetres.

    Notes
    -----
    Closed form derived here from the vergence equation of `thin_lens`.

    Examples
    --------
    >>> eye = ThinLensEye(43.5, 23.5, 5.0, 0)
    >>> round(length_that_explains_mm(eye, 20.0, refraction_dpt(eye, 20.0)), 9)
    23.5
    """
    position_mm = eye.lens_position_mm
    at_cornea_dpt = eye.refraction_gain * refraction_at_cornea_dpt(achieved_dpt)
    vergence_dpt = eye.corneal_power_dpt + at_cornea_dpt
    at_lens_dpt = vergence_dpt / (1.0 - position_mm / REDUCED_INDEX_MM_DPT * vergence_dpt)
    return position_mm + REDUCED_INDEX_MM_DPT / (power_dpt - eye.power_shift_dpt + at_lens_dpt)


def mean_k_that_explains_dpt(
    formula: Formula,
    eye: EyeNumbers,
    constants: Sequence[float],
    power_dpt: Numbers,
    achieved_dpt: Numbers,
) -> Numbers:
    """The keratometry with which the formula would have predicted what the eye got.

    Parameters
    ----------
    formula, constants
        A row of the table with thin-lens optics, and its constants.
    eye
        The numbers the plan was made with; fields broadcast.
    power_dpt
        Labelled power of the lens implanted, dioptres.
    achieved_dpt
        As for `position_that_explains_mm`.

    Returns
    -------
    Numbers
        Mean K on the 1.3375 scale, dioptres; nan where there is none.

    Notes
    -----
    `corneal_power_that_explains_dpt`, again and again with the lens where the formula puts it for the answer
    so far, because a wrong reading also misplaces the lens. Where the position does not read the cornea
    (Haigis) the first answer is the last.

    Examples
    --------
    >>> from zonule.science.lens_power.formulas import FORMULAS
    >>> srk_t, eye = FORMULAS["srk_t"], EyeNumbers(23.5, 43.5, 3.1)
    >>> read_wrongly = refraction_dpt(seen_eye(srk_t, eye, [118.4]), 20.5)
    >>> wrong = eye._replace(mean_k_dpt=44.5)
    >>> round(float(mean_k_that_explains_dpt(srk_t, wrong, [118.4], 20.5, read_wrongly)), 6)
    43.5
    """
    mean_k_dpt: Numbers = np.asarray(eye.mean_k_dpt, dtype=np.float64)
    seen = seen_eye(formula, eye, constants)
    for _ in range(_STEPS):
        needed_dpt = corneal_power_that_explains_dpt(seen, power_dpt, achieved_dpt)
        mean_k_dpt = mean_k_dpt * needed_dpt / seen.corneal_power_dpt
        seen = seen_eye(formula, eye._replace(mean_k_dpt=mean_k_dpt), constants)
    return select(_explains(seen, power_dpt, achieved_dpt), mean_k_dpt, np.nan)


def axial_length_that_explains_mm(
    formula: Formula,
    eye: EyeNumbers,
    constants: Sequence[float],
    power_dpt: Numbers,
    achieved_dpt: Numbers,
) -> Numbers:
    """The axial length with which the formula would have predicted what the eye got.

    Parameters
    ----------
    formula, constants
        A row of the table with thin-lens optics, and its constants.
    eye
        The numbers the plan was made with; fields broadcast.
    power_dpt
        Labelled power of the lens implanted, dioptres.
    achieved_dpt
        As for `position_that_explains_mm`.

    Returns
    -------
    Numbers
        Axial length, millimetres; nan where there is none.

    Notes
    -----
    `length_that_explains_mm`, again and again with the lens where the formula puts it for the answer so far,
    because a wrong length also misplaces the lens.

    Examples
    --------
    >>> from zonule.science.lens_power.formulas import FORMULAS
    >>> srk_t, eye = FORMULAS["srk_t"], EyeNumbers(23.5, 43.5, 3.1)
    >>> read_wrongly = refraction_dpt(seen_eye(srk_t, eye, [118.4]), 20.5)
    >>> wrong = eye._replace(axial_length_mm=24.0)
    >>> round(float(axial_length_that_explains_mm(srk_t, wrong, [118.4], 20.5, read_wrongly)), 6)
    23.5
    """
    length_mm: Numbers = np.asarray(eye.axial_length_mm, dtype=np.float64)
    seen = seen_eye(formula, eye, constants)
    for _ in range(_STEPS):
        needed_mm = length_that_explains_mm(seen, power_dpt, achieved_dpt)
        length_mm = length_mm + needed_mm - seen.optical_length_mm
        seen = seen_eye(formula, eye._replace(axial_length_mm=length_mm), constants)
    return select(_explains(seen, power_dpt, achieved_dpt), length_mm, np.nan)


def _explains(seen: ThinLensEye, power_dpt: Numbers, achieved_dpt: Numbers) -> Condition:
    """Whether this eye would have been predicted to get what it got."""
    explains: Condition = np.abs(refraction_dpt(seen, power_dpt) - achieved_dpt) < _MISSED_DPT
    return explains
