"""The arithmetic of what can be done about a refraction that is not the one agreed.

Another lens in the place of the first, a second lens in front of it, a change of the cornea. Optics only:
what an operation does to an eye, and whether it should be done, is not in these numbers.
"""

from __future__ import annotations

import numpy as np

from zonule.science.arrays import Numbers, select
from zonule.science.lens_power.surprise import position_that_explains_mm
from zonule.science.lens_power.thin_lens import (
    REDUCED_INDEX_MM_DPT,
    ThinLensEye,
    inside_the_eye,
    refraction_dpt,
)
from zonule.science.optics.vergence import refraction_at_cornea_dpt, refraction_at_spectacles_dpt
from zonule.science.units import SPECTACLE_VERTEX_MM

HYPEROPIC_RULE = 1.5
"""Dioptres of add-on lens for each dioptre of long-sightedness: common practice, no source."""
MYOPIC_RULE = 1.0
"""The same for short-sightedness: common practice, no source."""


def eye_as_it_turned_out(eye: ThinLensEye, power_dpt: Numbers, achieved_dpt: Numbers) -> ThinLensEye:
    """The eye with its lens where its own refraction says it is.

    Parameters
    ----------
    eye
        The eye as a formula saw it before the operation.
    power_dpt
        Labelled power of the lens implanted, dioptres.
    achieved_dpt
        Spherical equivalent the eye got, dioptres at 12 mm, less what was added to the formula's prediction.

    Returns
    -------
    ThinLensEye
        The same eye with the back-solved lens position; nan and flagged `LENS_OUTSIDE_EYE` where no position
        inside the eye gives this refraction.

    Examples
    --------
    >>> eye = ThinLensEye(43.5, 23.5, 5.0, 0)
    >>> got = eye_as_it_turned_out(eye, 20.0, 1.0)
    >>> round(float(refraction_dpt(got, 20.0)), 9)
    1.0
    """
    position_mm = position_that_explains_mm(eye, power_dpt, achieved_dpt)
    return inside_the_eye(eye._replace(lens_position_mm=position_mm))


def add_on_power_dpt(
    refraction_now_dpt: Numbers,
    wanted_dpt: Numbers,
    corneal_power_dpt: Numbers,
    add_on_position_mm: Numbers,
    vertex_mm: Numbers = SPECTACLE_VERTEX_MM,
) -> Numbers:
    """The second lens, in front of the first, that leaves the wanted refraction.

    Parameters
    ----------
    refraction_now_dpt, wanted_dpt
        Spherical equivalents at the spectacle plane, dioptres.
    corneal_power_dpt
        Net corneal power, dioptres, about 43; on the scale of the index 4/3.
    add_on_position_mm
        Where the second lens will lie behind the cornea, millimetres, 3 to 5.5 in the sulcus.
    vertex_mm
        Vertex distance of both refractions, millimetres. Default 12 mm.

    Returns
    -------
    Numbers
        Power in aqueous, dioptres; plus for a long-sighted eye.

    Notes
    -----
    Refractive vergence formula (holladay-1993), from memory:
    ``P = n / (n / (K + Rc) - d) - n / (n / (K + Wc) - d)`` with ``n = 1336`` and both refractions carried to
    the cornea. Neither the length of the eye nor the lens already in it is needed.

    Examples
    --------
    >>> round(add_on_power_dpt(2.0, 0.0, 43.0, 4.5), 2)
    2.82
    """
    now_dpt = corneal_power_dpt + refraction_at_cornea_dpt(refraction_now_dpt, vertex_mm)
    then_dpt = corneal_power_dpt + refraction_at_cornea_dpt(wanted_dpt, vertex_mm)
    return _further_on_dpt(now_dpt, add_on_position_mm) - _further_on_dpt(then_dpt, add_on_position_mm)


def refraction_with_add_on_dpt(
    refraction_now_dpt: Numbers,
    add_on_dpt: Numbers,
    corneal_power_dpt: Numbers,
    add_on_position_mm: Numbers,
    vertex_mm: Numbers = SPECTACLE_VERTEX_MM,
) -> Numbers:
    """The refraction that a second lens of this power leaves.

    Parameters
    ----------
    refraction_now_dpt
        Spherical equivalent at the spectacle plane without the second lens, dioptres.
    add_on_dpt
        Power of the second lens, dioptres.
    corneal_power_dpt, add_on_position_mm, vertex_mm
        As for `add_on_power_dpt`.

    Returns
    -------
    Numbers
        Spherical equivalent at the spectacle plane, dioptres: the inverse of `add_on_power_dpt`.

    Examples
    --------
    >>> power = add_on_power_dpt(2.0, -0.5, 43.0, 4.5)
    >>> round(refraction_with_add_on_dpt(2.0, power, 43.0, 4.5), 9)
    -0.5
    """
    now_dpt = corneal_power_dpt + refraction_at_cornea_dpt(refraction_now_dpt, vertex_mm)
    before_add_on_dpt = _further_on_dpt(now_dpt, add_on_position_mm) - add_on_dpt
    reduced = add_on_position_mm / REDUCED_INDEX_MM_DPT
    then_dpt = before_add_on_dpt / (1.0 + reduced * before_add_on_dpt)
    return refraction_at_spectacles_dpt(then_dpt - corneal_power_dpt, vertex_mm)


def rough_add_on_power_dpt(to_correct_dpt: Numbers) -> Numbers:
    """The add-on lens by the short rule: a check on the slip of a sign or a point, no more.

    Parameters
    ----------
    to_correct_dpt
        Refraction now minus refraction wanted, dioptres; plus for an eye that is too long-sighted.

    Returns
    -------
    Numbers
        Power, dioptres.

    Notes
    -----
    One and a half times the error if it is long-sighted, once if it is short-sighted: common practice, no
    source. Vergence gives about 1.4 times either way, so the rule is short for a short-sighted error.

    Examples
    --------
    >>> float(rough_add_on_power_dpt(2.0)), float(rough_add_on_power_dpt(-2.0))
    (3.0, -2.0)
    """
    return to_correct_dpt * select(to_correct_dpt > 0.0, HYPEROPIC_RULE, MYOPIC_RULE)


def corneal_change_dpt(
    refraction_now_dpt: Numbers, wanted_dpt: Numbers, vertex_mm: Numbers = SPECTACLE_VERTEX_MM
) -> Numbers:
    """The change of corneal power that turns one refraction into another.

    Parameters
    ----------
    refraction_now_dpt, wanted_dpt
        Spherical equivalents, or powers of one meridian, at the spectacle plane, dioptres.
    vertex_mm
        Vertex distance of both, millimetres. Default 12 mm.

    Returns
    -------
    Numbers
        Change at the cornea, dioptres; plus where the cornea must become steeper.

    Notes
    -----
    Exact vertex transfer of both, textbook optics.

    Examples
    --------
    >>> round(corneal_change_dpt(-2.0, 0.0), 3)
    -1.953
    """
    now_dpt = refraction_at_cornea_dpt(refraction_now_dpt, vertex_mm)
    return now_dpt - refraction_at_cornea_dpt(wanted_dpt, vertex_mm)


def position_scatter_dpt(eye: ThinLensEye, power_dpt: Numbers, position_sd_mm: float) -> Numbers:
    """How far a refraction scatters because a lens does not lie quite where it should.

    Parameters
    ----------
    eye
        The eye as a formula sees it.
    power_dpt
        Power of the lens, dioptres.
    position_sd_mm
        Standard deviation of its position, millimetres.

    Returns
    -------
    Numbers
        Standard deviation, dioptres at the spectacle plane.

    Notes
    -----
    Half the difference between a lens one deviation behind and one in front.

    Examples
    --------
    >>> round(float(position_scatter_dpt(ThinLensEye(43.5, 23.5, 5.0, 0), 20.26, 0.30)), 2)
    0.4
    """
    behind = eye._replace(lens_position_mm=eye.lens_position_mm + position_sd_mm)
    in_front = eye._replace(lens_position_mm=eye.lens_position_mm - position_sd_mm)
    difference_dpt = refraction_dpt(behind, power_dpt) - refraction_dpt(in_front, power_dpt)
    scatter_dpt: Numbers = np.abs(difference_dpt) / 2.0
    return scatter_dpt


def _further_on_dpt(vergence_dpt: Numbers, distance_mm: Numbers) -> Numbers:
    """Vergence in aqueous after a distance, written without the inner reciprocal."""
    return vergence_dpt / (1.0 - distance_mm / REDUCED_INDEX_MM_DPT * vergence_dpt)
