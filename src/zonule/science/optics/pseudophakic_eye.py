"""An eye with a lens implanted, by exact rays: two conic surfaces of the cornea and two of a thick lens.

Light is sent out from the fovea. Rays fill the pupil and leave the eye through the cornea, and the glasses
are those that make their wavefront most nearly plane (`best_glasses`). By reversal of light these glasses
bring a distant point to the fovea, and they need one trace where aiming at the retina needs several.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from zonule.science.arrays import Numbers
from zonule.science.optics.best_glasses import (
    USUAL_PUPIL,
    Moments,
    Pupil,
    PupilGrid,
    Refraction,
    fall_off,
    fitted,
    full_circle,
    pupil_grid,
    slope_weight,
)
from zonule.science.optics.lens_design import LensShape
from zonule.science.optics.matrices import entrance_pupil, over_distance, system_matrix, then
from zonule.science.optics.ray_trace import Rays, trace
from zonule.science.optics.surfaces import Surface, mirrored
from zonule.science.units import AQUEOUS_INDEX, CORNEAL_INDEX, SPECTACLE_VERTEX_MM

MEAN_ANTERIOR_CONIC = -0.18
"""Q of an untouched front of the cornea where none was measured (liou-1997)."""

MEAN_POSTERIOR_CONIC = -0.60
"""Q of the back of the cornea where none was measured (liou-1997)."""

RINGS = 4
"""Gauss nodes in the square of the radius: 8 instead of 4 move no refraction by 1e-6 D at 6 mm."""

SPOKES = 16
"""Directions across the pupil of an eye that is not round; a round one needs one."""


class PseudophakicEye(NamedTuple):
    """The four surfaces in the order of the light, and where the retina is; fields broadcast."""

    cornea_front: Surface
    cornea_back: Surface
    lens_front: Surface
    lens_back: Surface
    axial_length_mm: Numbers

    @property
    def surfaces(self) -> tuple[Surface, ...]:
        """The four surfaces."""
        return self[:4]


def pseudophakic_eye(
    anterior_radius_mm: Numbers,
    posterior_radius_mm: Numbers,
    corneal_thickness_mm: Numbers,
    lens: LensShape,
    lens_centre_mm: Numbers,
    axial_length_mm: Numbers,
    anterior_conic: Numbers = MEAN_ANTERIOR_CONIC,
    posterior_conic: Numbers = MEAN_POSTERIOR_CONIC,
) -> PseudophakicEye:
    """A centred eye with a thick lens.

    Parameters
    ----------
    anterior_radius_mm, posterior_radius_mm, corneal_thickness_mm
        The cornea, millimetres.
    lens
        Shape of the implant.
    lens_centre_mm
        From the front of the cornea to the middle of the lens, millimetres.
    axial_length_mm
        From the front of the cornea to the retina, millimetres.
    anterior_conic, posterior_conic
        Q of both sides of the cornea. Default: the mean eye of liou-1997, -0.18 and -0.60.

    Returns
    -------
    PseudophakicEye
        The eye; replace fields of its surfaces to make it toric, tilted or decentred.

    Examples
    --------
    >>> from zonule.science.optics.lens_design import shape_for_power
    >>> eye = pseudophakic_eye(7.7, 6.4, 0.54, shape_for_power(21.0), 5.0, 23.5)
    >>> round(float(refraction(eye).spherical_equivalent_dpt), 2)
    0.09
    """
    front_mm = lens_centre_mm - 0.5 * lens.thickness_mm
    return PseudophakicEye(
        Surface(0.0, anterior_radius_mm, CORNEAL_INDEX, anterior_conic),
        Surface(corneal_thickness_mm, posterior_radius_mm, AQUEOUS_INDEX, posterior_conic),
        Surface(front_mm, lens.front_radius_mm, lens.refractive_index, lens.front_conic),
        Surface(front_mm + lens.thickness_mm, lens.back_radius_mm, AQUEOUS_INDEX, lens.back_conic),
        axial_length_mm,
    )


def refraction(
    eye: PseudophakicEye, pupil: Pupil = USUAL_PUPIL, vertex_mm: float = SPECTACLE_VERTEX_MM
) -> Refraction:
    """The glasses that this eye needs for far.

    Parameters
    ----------
    eye
        One eye or many; fields broadcast.
    pupil
        Diameter and weights. Default 3 mm, all light alike.
    vertex_mm
        Vertex distance, millimetres. Default 12 mm.

    Returns
    -------
    Refraction
        Spherical equivalent and cross cylinders, dioptres, for an infinitely distant chart: a 6 m lane reads
        0.17 D more plus. nan and flagged where a ray of the pupil has no way out.

    Notes
    -----
    Exact rays from the fovea, and the least root mean square of their wavefront in the spectacle plane
    (derived here). The fovea is taken on the axis. A constant slope is left out: the eye turns to meet it.

    Examples
    --------
    >>> from zonule.science.optics.lens_design import shape_for_power
    >>> eye = pseudophakic_eye(7.7, 6.4, 0.54, shape_for_power(21.0), 5.0, 23.5)
    >>> wide = refraction(eye, Pupil(6.0))
    >>> round(float(wide.spherical_equivalent_dpt), 2)
    -0.82
    """
    sums = moments(eye, pupil, usual_grid(eye), vertex_mm)
    return fitted(full_circle(sums) if is_round(eye) else sums)


def is_round(eye: PseudophakicEye) -> bool:
    """Whether every surface is a surface of revolution about the axis, in all eyes of the batch.

    Parameters
    ----------
    eye
        One eye or many.

    Returns
    -------
    bool
        False as soon as one surface is toric, tilted or decentred.

    Examples
    --------
    >>> from zonule.science.optics.lens_design import shape_for_power
    >>> is_round(pseudophakic_eye(7.7, 6.4, 0.54, shape_for_power(21.0), 5.0, 23.5))
    True
    """
    return all(is_surface_round(surface) for surface in eye.surfaces)


def is_surface_round(surface: Surface) -> bool:
    """Whether a surface is one of revolution about the axis of the eye, in all eyes of the batch.

    Parameters
    ----------
    surface
        One surface of one eye or many.

    Returns
    -------
    bool
        False where it is toric, tilted or decentred.

    Examples
    --------
    >>> is_surface_round(Surface(0.0, 7.7, 1.376)), is_surface_round(Surface(0.0, 7.7, 1.376, tilt_x_deg=1.0))
    (True, False)
    """
    return surface.other_radius_mm is None and not any(np.any(leaning) for leaning in surface[6:])


def usual_grid(eye: PseudophakicEye) -> PupilGrid:
    """The points of the pupil that an eye needs.

    Parameters
    ----------
    eye
        One eye or many.

    Returns
    -------
    PupilGrid
        4 points on one spoke of round eyes, 64 on 16 spokes of others.

    Examples
    --------
    >>> from zonule.science.optics.lens_design import shape_for_power
    >>> usual_grid(pseudophakic_eye(7.7, 6.4, 0.54, shape_for_power(21.0), 5.0, 23.5)).weight.size
    4
    """
    return pupil_grid(RINGS, 1 if is_round(eye) else SPOKES)


def launch_slope(eye: PseudophakicEye, pupil: Pupil) -> Numbers:
    """The slope at the fovea of the ray that passes the rim of the pupil.

    Parameters
    ----------
    eye
        One eye or many.
    pupil
        Its diameter.

    Returns
    -------
    Numbers
        Tangent of the angle with the axis.

    Notes
    -----
    Paraxial: the entrance pupil is turned into an opening at the front of the lens by the cornea's matrix,
    and that into a slope by the lens's. The rays then fill the opening evenly.

    Examples
    --------
    >>> from zonule.science.optics.lens_design import shape_for_power
    >>> eye = pseudophakic_eye(7.7, 6.4, 0.54, shape_for_power(21.0), 5.0, 23.5)
    >>> round(float(launch_slope(eye, Pupil(3.0))), 4)
    0.0682
    """
    cornea, lens = eye.surfaces[:2], eye.surfaces[2:]
    chamber_mm = eye.lens_front.vertex_mm - eye.cornea_back.vertex_mm
    to_iris = then(system_matrix(cornea, 1.0), over_distance(chamber_mm, eye.cornea_back.index_after))
    opening_mm = 0.5 * pupil.diameter_mm / entrance_pupil(to_iris, 0.0, 1.0).magnification
    back_index = eye.lens_back.index_after
    behind = over_distance(eye.axial_length_mm - eye.lens_back.vertex_mm, back_index)
    # Read from the retina, a matrix (a b; c d) becomes (d b; c a): b is the same both ways.
    reduced_mm = then(system_matrix(lens, eye.cornea_back.index_after), behind).b_mm
    return opening_mm / (reduced_mm * back_index)


def moments(
    eye: PseudophakicEye, pupil: Pupil, grid: PupilGrid, vertex_mm: float = SPECTACLE_VERTEX_MM
) -> Moments:
    """Sums over the rays that leave an eye, as the best glasses need them.

    Parameters
    ----------
    eye
        One eye or many; fields broadcast.
    pupil
        Diameter and weights.
    grid
        Points of the pupil.
    vertex_mm
        Vertex distance, millimetres. Default 12 mm.

    Returns
    -------
    Moments
        Sums, in the broadcast shape of the eyes.

    Examples
    --------
    >>> from zonule.science.optics.lens_design import shape_for_power
    >>> eye = pseudophakic_eye(7.7, 6.4, 0.54, shape_for_power(21.0), 5.0, 23.5)
    >>> round(float(moments(eye, Pupil(), pupil_grid(4, 16)).weight), 9)
    0.5
    """
    slope = _over_rays(launch_slope(eye, pupil))
    slope_x, slope_y = slope * grid.x_share, slope * grid.y_share
    along = 1.0 / np.sqrt(1.0 + slope_x * slope_x + slope_y * slope_y)
    start = Rays(0.0, 0.0, 0.0, slope_x * along, slope_y * along, along)
    way_out, index = mirrored(eye.surfaces, 1.0, eye.axial_length_mm)
    end = trace(start, [_surface_over_rays(surface) for surface in way_out], _over_rays(index))
    u, v = end.cosine_x / end.cosine_z, end.cosine_y / end.cosine_z
    to_glasses_mm = _over_rays(eye.axial_length_mm) + vertex_mm - end.z_mm
    x, y = end.x_mm + to_glasses_mm * u, end.y_mm + to_glasses_mm * v
    w = grid.weight * slope_weight(grid.x_share**2 + grid.y_share**2, _over_rays(fall_off(pupil)))
    products = (1.0, x, y, u, v, x * x, x * y, y * y, x * u, x * v, y * u, y * v)
    return Moments(*(np.sum(w * one, axis=-1) for one in products))


def _over_rays(value: Numbers) -> Numbers:
    """Numbers of eyes with one more axis, for the rays of each."""
    return value if np.ndim(value) == 0 else np.asarray(value)[..., np.newaxis]


def _surface_over_rays(surface: Surface) -> Surface:
    return surface._replace(
        **{name: _over_rays(value) for name, value in surface._asdict().items() if value is not None}
    )
