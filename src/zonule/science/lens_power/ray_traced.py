"""The eye by exact rays: both conic surfaces of the cornea, and a thick lens where the anatomy puts it.

As `four_surface_lens`, but nothing is thin and nothing paraxial: rays fill the pupil, and the refraction is
that of the best focus over it (`zonule.science.optics.pseudophakic_eye`). What a label does not state, the
shape of the lens, comes from the catalogue or from a stated generic design.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from zonule.science.arrays import Flags, Numbers, flag, select
from zonule.science.lens_power import four_surface_lens
from zonule.science.lens_power.flags import LENS_OUTSIDE_EYE
from zonule.science.optics import pseudophakic_eye
from zonule.science.optics.best_glasses import USUAL_PUPIL, Pupil
from zonule.science.optics.lens_design import LensShape, rescaled, shape_for_power
from zonule.science.optics.pseudophakic_eye import MEAN_ANTERIOR_CONIC, MEAN_POSTERIOR_CONIC, PseudophakicEye
from zonule.science.optics.ray_kernels import are_compiled
from zonule.science.units import SPECTACLE_VERTEX_MM

BREAK_EVEN_EYES_ONCE_COMPILED = 300
"""From this many eyes in one call a process that has compiled is done sooner.

300 eyes took 1.5 ms with NumPy and 1.3 ms compiled, 10,000 took 30 and 8 ms, on two busy cores.
"""

BREAK_EVEN_EYES_FRESH = 1_000_000
"""From this many eyes in one call the 2 s of compiling are earned back (same run)."""

POWERS_DPT = (-30.0, 60.0)
"""Thin-lens powers for plano beyond which no lens of the generic design exists."""

HALF_A_LENS_MM = 1.5
"""The middle of a lens keeps this distance from cornea and retina."""

SECANT_STEPS = 12
SETTLED_DPT = 1e-9
NEARLY_SETTLED_DPT = 1e-6
"""Where rounding keeps an eye from settling, this is still an answer; anything worse is none."""


class RayTracedEye(NamedTuple):
    """An eye as its surfaces were measured, and what was assumed of them; fields broadcast."""

    axial_length_mm: Numbers
    anterior_radius_mm: Numbers
    posterior_radius_mm: Numbers
    corneal_thickness_mm: Numbers
    lens_centre_mm: Numbers
    """Of the middle of the lens, behind the front of the cornea."""
    flags: Flags
    """Bits of `zonule.science.lens_power.flags`."""
    anterior_conic: Numbers = MEAN_ANTERIOR_CONIC
    """Q of the front of the cornea; not measured by a keratometer, so the mean of liou-1997 stands in."""
    posterior_conic: Numbers = MEAN_POSTERIOR_CONIC
    pupil: Pupil = USUAL_PUPIL
    known_lens: LensShape | None = None
    """The lens at one power, from the catalogue; None for the generic design."""


def ray_traced_eye(
    axial_length_mm: Numbers,
    mean_k_dpt: Numbers,
    anterior_chamber_depth_mm: Numbers,
    lens_thickness_mm: Numbers,
    corneal_thickness_mm: Numbers,
    posterior_radius_mm: Numbers,
    c_constant: Numbers,
) -> RayTracedEye:
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
        The lens's C, without unit: the share of the old lens's thickness at which the middle of the new one
        lies.

    Returns
    -------
    RayTracedEye
        The eye with the mean conics of liou-1997, a pupil of 3 mm and the generic lens; replace these fields
        where more is known. Never flagged by itself.

    Notes
    -----
    ``d = ACD + C LT`` (olsen-2014, C of about 0.39 from memory).

    Examples
    --------
    >>> eye = ray_traced_eye(23.5, 43.5, 3.1, 4.5, 0.54, 6.4, 0.39)
    >>> round(eye.lens_centre_mm, 3), eye.anterior_conic
    (4.855, -0.18)
    """
    seen = four_surface_lens.four_surface_eye(
        axial_length_mm,
        mean_k_dpt,
        anterior_chamber_depth_mm,
        lens_thickness_mm,
        corneal_thickness_mm,
        posterior_radius_mm,
        c_constant,
    )
    return RayTracedEye(*seen)


def inside_the_eye(eye: RayTracedEye) -> RayTracedEye:
    """The eye with its lens, or without one and flagged where no answer is defined.

    Parameters
    ----------
    eye
        The eye as measured.

    Returns
    -------
    RayTracedEye
        Lens position nan, and `LENS_OUTSIDE_EYE` set, where the lens does not fit between cornea and retina,
        where a number is not known, or where no lens of the generic design would focus this eye.

    Examples
    --------
    >>> eye = inside_the_eye(ray_traced_eye(23.5, 43.5, 3.1, 4.5, 0.54, np.nan, 0.39))
    >>> float(eye.lens_centre_mm), int(eye.flags)
    (nan, 64)
    """
    thin = four_surface_lens.inside_the_eye(_thin(eye))
    centre_mm = thin.lens_position_mm
    needed_dpt = four_surface_lens.lens_power_dpt(thin, 0.0)
    fits = (
        (centre_mm > eye.corneal_thickness_mm + HALF_A_LENS_MM)
        & (centre_mm < eye.axial_length_mm - HALF_A_LENS_MM)
        & (needed_dpt > POWERS_DPT[0])
        & (needed_dpt < POWERS_DPT[1])
    )
    return eye._replace(
        lens_centre_mm=select(fits, centre_mm, np.nan),
        flags=thin.flags | flag(np.logical_not(fits), LENS_OUTSIDE_EYE),
    )


def with_lens(eye: RayTracedEye, power_dpt: Numbers) -> PseudophakicEye:
    """The surfaces of this eye with a lens of `power_dpt`.

    Parameters
    ----------
    eye
        The eye; fields broadcast against `power_dpt`.
    power_dpt
        Labelled power, dioptres.

    Returns
    -------
    PseudophakicEye
        What the rays go through.

    Examples
    --------
    >>> eye = with_lens(ray_traced_eye(23.5, 43.5, 3.1, 4.5, 0.54, 6.4, 0.39), 21.0)
    >>> round(float(eye.lens_front.vertex_mm), 3)
    4.316
    """
    lens = shape_for_power(power_dpt) if eye.known_lens is None else rescaled(eye.known_lens, power_dpt)
    return pseudophakic_eye.pseudophakic_eye(
        eye.anterior_radius_mm,
        eye.posterior_radius_mm,
        eye.corneal_thickness_mm,
        lens,
        eye.lens_centre_mm,
        eye.axial_length_mm,
        eye.anterior_conic,
        eye.posterior_conic,
    )


def refraction_dpt(eye: RayTracedEye, power_dpt: Numbers, vertex_mm: float = SPECTACLE_VERTEX_MM) -> Numbers:
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
        Spherical equivalent at the spectacle plane, dioptres, plus for hyperopia; nan where the eye has none.

    Notes
    -----
    Best focus of exact rays over the pupil. Light comes from infinity: a 6 m lane reads 0.17 D more plus.

    Examples
    --------
    >>> eye = ray_traced_eye(23.5, 43.5, 3.1, 4.5, 0.54, 6.4, 0.39)
    >>> round(float(refraction_dpt(eye, 21.0)), 2)
    0.26
    """
    whole = with_lens(eye, power_dpt)
    count = np.broadcast(eye.axial_length_mm, eye.lens_centre_mm, eye.anterior_radius_mm, power_dpt).size
    if count >= (BREAK_EVEN_EYES_ONCE_COMPILED if are_compiled() else BREAK_EVEN_EYES_FRESH):
        from zonule.science.optics import ray_trace_compiled

        return ray_trace_compiled.refraction(whole, eye.pupil, vertex_mm).spherical_equivalent_dpt
    return pseudophakic_eye.refraction(whole, eye.pupil, vertex_mm).spherical_equivalent_dpt


def lens_power_dpt(
    eye: RayTracedEye, refraction_dpt: Numbers, vertex_mm: float = SPECTACLE_VERTEX_MM
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
        Labelled power, dioptres; nan where the eye has none.

    Notes
    -----
    The inverse of `refraction_dpt` by secants from the thin lens of `four_surface_lens`, to 1e-9 D.

    Examples
    --------
    >>> eye = ray_traced_eye(23.5, 43.5, 3.1, 4.5, 0.54, 6.4, 0.39)
    >>> round(float(lens_power_dpt(eye, 0.0)), 2)
    21.36
    """
    first_dpt = four_surface_lens.lens_power_dpt(_thin(eye), refraction_dpt, vertex_mm)
    second_dpt = first_dpt + 0.5
    first_error = _missed_by_dpt(eye, first_dpt, refraction_dpt, vertex_mm)
    for _ in range(SECANT_STEPS):
        error = _missed_by_dpt(eye, second_dpt, refraction_dpt, vertex_mm)
        moving = np.abs(error) > SETTLED_DPT
        if not np.any(moving):
            return second_dpt
        slope = select(moving, error - first_error, 1.0)
        step_dpt = select(moving, error * (second_dpt - first_dpt) / slope, 0.0)
        first_dpt, first_error, second_dpt = second_dpt, error, second_dpt - step_dpt
    return select(np.abs(first_error) < NEARLY_SETTLED_DPT, first_dpt, np.nan)


def _missed_by_dpt(eye: RayTracedEye, power_dpt: Numbers, wanted_dpt: Numbers, vertex_mm: float) -> Numbers:
    return refraction_dpt(eye, power_dpt, vertex_mm) - wanted_dpt


def _thin(eye: RayTracedEye) -> four_surface_lens.FourSurfaceEye:
    return four_surface_lens.FourSurfaceEye(*eye[:6])
