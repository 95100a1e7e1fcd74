"""The eye surface by surface, with a thin lens where the anatomy puts it.

Both surfaces of the cornea as measured, no assumed ratio of their radii, and the lens at
``ACD + C LT`` behind the front of the cornea (concept of olsen-2014). Vergence chain of
`zonule.science.optics.four_surface` (concept of langenbucher-2021). Nothing is tuned but C.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from zonule.science.arrays import Flags, Numbers, flag, select
from zonule.science.lens_power.flags import LENS_OUTSIDE_EYE
from zonule.science.optics.four_surface import Cornea, thin_lens_power_dpt, thin_lens_refraction_dpt
from zonule.science.optics.keratometry import corneal_radius_mm
from zonule.science.units import SPECTACLE_VERTEX_MM


class FourSurfaceEye(NamedTuple):
    """An eye as its surfaces were measured; fields broadcast."""

    axial_length_mm: Numbers
    anterior_radius_mm: Numbers
    posterior_radius_mm: Numbers
    corneal_thickness_mm: Numbers
    lens_position_mm: Numbers
    """Of the thin lens, behind the front of the cornea."""
    flags: Flags
    """Bits of `zonule.science.lens_power.flags`."""

    @property
    def cornea(self) -> Cornea:
        """Both surfaces of the cornea."""
        return Cornea(self.anterior_radius_mm, self.posterior_radius_mm, self.corneal_thickness_mm)


def four_surface_eye(
    axial_length_mm: Numbers,
    mean_k_dpt: Numbers,
    anterior_chamber_depth_mm: Numbers,
    lens_thickness_mm: Numbers,
    corneal_thickness_mm: Numbers,
    posterior_radius_mm: Numbers,
    c_constant: Numbers,
) -> FourSurfaceEye:
    """The eye as measured, with its lens at a share of the old one.

    Parameters
    ----------
    axial_length_mm
        From the front of the cornea to the retina, millimetres.
    mean_k_dpt
        Mean keratometric power on the 1.3375 scale, dioptres: it stands for the radius of the front.
    anterior_chamber_depth_mm
        From the epithelium to the old lens, millimetres.
    lens_thickness_mm
        Of the old lens, millimetres.
    corneal_thickness_mm
        Millimetres.
    posterior_radius_mm
        Mean radius of the back of the cornea, millimetres, measured.
    c_constant
        The lens's C, without unit: the share of the old lens's thickness at which the new one lies.

    Returns
    -------
    FourSurfaceEye
        The eye, never flagged by itself.

    Notes
    -----
    ``d = ACD + C LT`` (olsen-2014, C of about 0.39 from memory). After surgery on the cornea the mean K must
    be that of the front surface as it is now.

    Examples
    --------
    >>> eye = four_surface_eye(23.5, 43.5, 3.1, 4.5, 0.54, 6.4, 0.39)
    >>> round(eye.lens_position_mm, 3), round(eye.anterior_radius_mm, 3)
    (4.855, 7.759)
    """
    return FourSurfaceEye(
        axial_length_mm,
        corneal_radius_mm(mean_k_dpt),
        posterior_radius_mm,
        corneal_thickness_mm,
        anterior_chamber_depth_mm + c_constant * lens_thickness_mm,
        0,
    )


def inside_the_eye(eye: FourSurfaceEye) -> FourSurfaceEye:
    """The eye with its lens position, or without one and flagged where no answer is defined.

    Parameters
    ----------
    eye
        The eye as measured.

    Returns
    -------
    FourSurfaceEye
        Position nan, and `LENS_OUTSIDE_EYE` set, where the lens is not between cornea and retina, or where
        one of the numbers is not known.

    Examples
    --------
    >>> eye = inside_the_eye(four_surface_eye(23.5, 43.5, 3.1, 4.5, 0.54, np.nan, 0.39))
    >>> float(eye.lens_position_mm), int(eye.flags)
    (nan, 64)
    """
    position_mm = eye.lens_position_mm
    known = (
        (eye.posterior_radius_mm > 0.0) & (eye.anterior_radius_mm > 0.0) & (eye.corneal_thickness_mm > 0.0)
    )
    inside = known & (position_mm > eye.corneal_thickness_mm) & (position_mm < eye.axial_length_mm)
    return eye._replace(
        lens_position_mm=select(inside, position_mm, np.nan),
        flags=eye.flags | flag(np.logical_not(inside), LENS_OUTSIDE_EYE),
    )


def lens_power_dpt(
    eye: FourSurfaceEye, refraction_dpt: Numbers, vertex_mm: Numbers = SPECTACLE_VERTEX_MM
) -> Numbers:
    """The lens power that leaves this eye with `refraction_dpt`.

    Parameters
    ----------
    eye
        The eye; fields broadcast.
    refraction_dpt
        Wanted spherical equivalent at the spectacle plane, dioptres.
    vertex_mm
        Vertex distance, millimetres. Default 12 mm.

    Returns
    -------
    Numbers
        Power in aqueous, dioptres.

    Notes
    -----
    The chain of langenbucher-2021. Light comes from infinity: a 6 m lane reads 0.17 D more plus.

    Examples
    --------
    >>> round(lens_power_dpt(four_surface_eye(23.5, 43.5, 3.1, 4.5, 0.54, 6.4, 0.39), 0.0), 2)
    21.51
    """
    return thin_lens_power_dpt(
        eye.cornea, eye.axial_length_mm, eye.lens_position_mm, refraction_dpt, vertex_mm
    )


def refraction_dpt(
    eye: FourSurfaceEye, power_dpt: Numbers, vertex_mm: Numbers = SPECTACLE_VERTEX_MM
) -> Numbers:
    """The refraction that this eye will have with a lens of `power_dpt`.

    Parameters
    ----------
    eye
        The eye; fields broadcast against `power_dpt`.
    power_dpt
        Labelled power of the lens, dioptres.
    vertex_mm
        Vertex distance, millimetres. Default 12 mm.

    Returns
    -------
    Numbers
        Spherical equivalent at the spectacle plane, dioptres, plus for hyperopia.

    Notes
    -----
    The closed-form inverse of `lens_power_dpt`.

    Examples
    --------
    >>> eye = four_surface_eye(23.5, 43.5, 3.1, 4.5, 0.54, 6.4, 0.39)
    >>> round(refraction_dpt(eye, lens_power_dpt(eye, -2.0)), 9)
    -2.0
    """
    return thin_lens_refraction_dpt(
        eye.cornea, eye.axial_length_mm, eye.lens_position_mm, power_dpt, vertex_mm
    )
