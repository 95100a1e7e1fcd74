"""A toric lens in one eye: what its cylinder is worth at the cornea, and what it leaves.

The vergence equation is answered once in each principal meridian, with one lens position, that of this eye
(fam-2007, from memory). A fixed ratio would overcorrect short eyes and undercorrect long ones.

The lens meridian is the one that its marks show, and whose steepness it takes away. All meridians are degrees
counter-clockwise as the examiner sees the eye.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from zonule.science.arrays import Numbers
from zonule.science.astigmatism.vectors import HALF_TURN_DEG, Astigmatism, Plane, steep
from zonule.science.lens_power.thin_lens import REDUCED_INDEX_MM_DPT, ThinLensEye, lens_power_dpt
from zonule.science.optics.vergence import refraction_at_cornea_dpt


class Slip(NamedTuple):
    """A lens at a wrong meridian, and what it would leave."""

    meridian_deg: Numbers
    residual: Astigmatism


class Slips(NamedTuple):
    """The two slips that chart and theatre invite."""

    flipped: Slip
    """90 degrees away: flat taken for steep."""
    mirrored: Slip
    """180 minus the meridian: the other eye's chart, or the scale read from the wrong side."""


def meridional_powers_dpt(
    eye: ThinLensEye, cylinder_dpt: Numbers, refraction_dpt: Numbers
) -> tuple[Numbers, Numbers]:
    """The lens powers that the flat and the steep meridian of this eye need.

    Parameters
    ----------
    eye
        The eye as a formula sees it: the mean corneal power and one lens position; fields broadcast.
    cylinder_dpt
        Corneal astigmatism, dioptres, 0 or more.
    refraction_dpt
        Wanted refraction in both meridians, at the spectacle plane, dioptres.

    Returns
    -------
    tuple of Numbers
        Power for the flat and for the steep meridian, dioptres; their mean is the spherical equivalent of
        the lens, their difference its cylinder. nan where the eye has no lens position; its flags say so.

    Notes
    -----
    `zonule.science.lens_power.thin_lens.lens_power_dpt` at ``K - C/2`` and ``K + C/2`` (fam-2007).

    Examples
    --------
    >>> flat, steep = meridional_powers_dpt(ThinLensEye(44.0, 23.5, 5.0, 0), 2.0, 0.0)
    >>> round(flat, 2), round(steep, 2)
    (20.97, 18.1)
    """
    half_dpt = 0.5 * cylinder_dpt
    return (
        lens_power_dpt(eye._replace(corneal_power_dpt=eye.corneal_power_dpt - half_dpt), refraction_dpt),
        lens_power_dpt(eye._replace(corneal_power_dpt=eye.corneal_power_dpt + half_dpt), refraction_dpt),
    )


def cylinder_at_lens_dpt(eye: ThinLensEye, cylinder_dpt: Numbers, refraction_dpt: Numbers) -> Numbers:
    """The lens cylinder, at the lens, that takes a corneal cylinder away.

    Parameters
    ----------
    eye
        The eye as a formula sees it; fields broadcast.
    cylinder_dpt
        Corneal astigmatism, dioptres.
    refraction_dpt
        Wanted refraction in both meridians, at the spectacle plane, dioptres.

    Returns
    -------
    Numbers
        Cylinder of the lens as labelled, dioptres.

    Notes
    -----
    Difference of `meridional_powers_dpt` (fam-2007).

    Examples
    --------
    >>> round(cylinder_at_lens_dpt(ThinLensEye(43.0, 27.0, 5.8, 0), 2.0, 0.0), 2)
    3.02
    """
    flat_dpt, steep_dpt = meridional_powers_dpt(eye, cylinder_dpt, refraction_dpt)
    return flat_dpt - steep_dpt


def cylinder_at_cornea_dpt(eye: ThinLensEye, lens_cylinder_dpt: Numbers, power_dpt: Numbers) -> Numbers:
    """What the cylinder of a lens is worth at the cornea of this eye.

    Parameters
    ----------
    eye
        The eye as a formula sees it; fields broadcast against the lens.
    lens_cylinder_dpt
        Cylinder of the lens as labelled, dioptres.
    power_dpt
        Spherical equivalent of the lens as labelled, dioptres.

    Returns
    -------
    Numbers
        The corneal cylinder that this lens takes away when its marks lie at the steep meridian, dioptres;
        nan where the eye has no lens position, which its flags say.

    Notes
    -----
    The vergence that must arrive at the cornea's back, ``V = B / (1 + d B / n)`` with
    ``B = n / (L - d) - (P - s)``, for ``P - T/2`` and ``P + T/2``; the exact inverse of
    `cylinder_at_lens_dpt` (fam-2007).

    Examples
    --------
    >>> eye = ThinLensEye(44.0, 23.5, 5.0, 0)
    >>> flat, steep = meridional_powers_dpt(eye, 2.0, -1.0)
    >>> round(cylinder_at_cornea_dpt(eye, flat - steep, (flat + steep) / 2.0), 9)
    2.0
    """
    half_dpt = 0.5 * lens_cylinder_dpt
    return _vergence_at_cornea_dpt(eye, power_dpt - half_dpt) - _vergence_at_cornea_dpt(
        eye, power_dpt + half_dpt
    )


def cylinder_ratio(eye: ThinLensEye, refraction_dpt: Numbers) -> Numbers:
    """Dioptres of cylinder at the lens for one at the cornea, in the limit of a small cylinder.

    Parameters
    ----------
    eye
        The eye as a formula sees it; fields broadcast.
    refraction_dpt
        Wanted refraction at the spectacle plane, dioptres.

    Returns
    -------
    Numbers
        The ratio, above 1. To tell a surgeon how this eye differs from another; cylinders are moved by
        `cylinder_at_cornea_dpt`.

    Notes
    -----
    ``1 / (1 - d V / n)^2`` with ``V = K + g Rc``: the derivative of the vergence equation, derived here.

    Examples
    --------
    >>> round(cylinder_ratio(ThinLensEye(43.5, 23.5, 5.0, 0), 0.0), 3)
    1.427
    """
    vergence_dpt = eye.corneal_power_dpt + eye.refraction_gain * refraction_at_cornea_dpt(refraction_dpt)
    left = 1.0 - eye.lens_position_mm * vergence_dpt / REDUCED_INDEX_MM_DPT
    return 1.0 / (left * left)


def residual(cornea: Astigmatism, lens_at_cornea_dpt: Numbers, lens_meridian_deg: Numbers) -> Astigmatism:
    """The astigmatism that is left when this lens lies at this meridian.

    Parameters
    ----------
    cornea
        Total corneal astigmatism, at the cornea.
    lens_at_cornea_dpt
        Cylinder of the lens at the cornea, dioptres, 0 for a lens without.
    lens_meridian_deg
        Where its marks lie, degrees.

    Returns
    -------
    Astigmatism
        At the cornea. Its magnitude is the cylinder of the refraction there, its steep meridian the axis of
        the plus cylinder. The spherical equivalent does not depend on the meridian.

    Raises
    ------
    InconsistentRecordError
        When `cornea` is not at the cornea.

    Notes
    -----
    Difference of the vectors (holladay-1998, felipe-2011). When both are T and the lens lies off by delta,
    ``2 T sin(delta)`` is left.

    Examples
    --------
    >>> left = residual(steep(2.0, 90.0, Plane.CORNEA), 2.0, 100.0)
    >>> round(float(left.magnitude_dpt / 2.0), 3), round(float(left.steep_meridian_deg), 6)
    (0.347, 50.0)
    """
    return cornea.minus(steep(lens_at_cornea_dpt, lens_meridian_deg, Plane.CORNEA))


def slips(cornea: Astigmatism, lens_at_cornea_dpt: Numbers, lens_meridian_deg: Numbers) -> Slips:
    """What a flipped or a mirrored axis would leave.

    Parameters
    ----------
    cornea
        Total corneal astigmatism, at the cornea.
    lens_at_cornea_dpt
        Cylinder of the lens at the cornea, dioptres.
    lens_meridian_deg
        Where its marks belong, degrees.

    Returns
    -------
    Slips
        Both wrong meridians, above 0 and up to 180, and both residuals. A lens at 90 or 180 has no mirror
        slip: it is its own mirror image.

    Examples
    --------
    >>> wrong = slips(steep(2.0, 100.0, Plane.CORNEA), 2.0, 100.0)
    >>> [float(slip.meridian_deg) for slip in wrong]
    [10.0, 80.0]
    >>> [round(float(slip.residual.magnitude_dpt), 2) for slip in wrong]
    [4.0, 1.37]
    """
    flipped_deg = _folded_deg(lens_meridian_deg + 0.5 * HALF_TURN_DEG)
    mirrored_deg = _folded_deg(-lens_meridian_deg)
    return Slips(
        Slip(flipped_deg, residual(cornea, lens_at_cornea_dpt, flipped_deg)),
        Slip(mirrored_deg, residual(cornea, lens_at_cornea_dpt, mirrored_deg)),
    )


def _vergence_at_cornea_dpt(eye: ThinLensEye, power_dpt: Numbers) -> Numbers:
    """Corneal power and refraction together that this eye and a lens of this power need."""
    optics_dpt = power_dpt - eye.power_shift_dpt
    before_lens_dpt = REDUCED_INDEX_MM_DPT / (eye.optical_length_mm - eye.lens_position_mm) - optics_dpt
    return before_lens_dpt / (1.0 + eye.lens_position_mm / REDUCED_INDEX_MM_DPT * before_lens_dpt)


def _folded_deg(meridian_deg: Numbers) -> Numbers:
    """The same meridian above 0 and up to 180 degrees."""
    return HALF_TURN_DEG - np.mod(-meridian_deg, HALF_TURN_DEG)
