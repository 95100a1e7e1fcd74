"""Published eyes with their own lens: what a ray trace is tested against, not what anybody is planned with.

Lengths in millimetres from the front of the cornea. Gullstrand's, Le Grand's and Navarro's eyes are rows of
surfaces; the lens of Liou and Brennan has an index that changes inside, and is integrated.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from zonule.science.optics.matrices import (
    CardinalPoints,
    PupilImage,
    RayMatrix,
    cardinal_points,
    entrance_pupil,
    exit_pupil,
    over_distance,
    system_matrix,
    then,
)
from zonule.science.optics.surfaces import Surface

STEPS_THROUGH_A_GRADIENT = 200
"""Fourth-order steps; 100 give the power of the eye to 1e-9 D."""


class Gradient(NamedTuple):
    """A slab whose index is ``start + along z + along_2 z^2 + across_2 r^2``, z from its own front."""

    thickness_mm: float
    start_index: float
    along_per_mm: float
    along_per_mm2: float
    across_per_mm2: float


@dataclass(frozen=True, slots=True)
class SchematicEye:
    """One published eye."""

    name: str
    source: str
    """Key in docs/sources.md."""
    status: str
    surfaces: tuple[Surface, ...]
    axial_length_mm: float
    iris_mm: float
    gradients: tuple[Gradient, ...] = ()
    """What fills the space between the last two surfaces, front to back; empty for one index."""


def _rows(*rows: tuple[float, float, float, float]) -> tuple[Surface, ...]:
    """Surfaces from rows of radius, conic, distance to the next, index behind."""
    surfaces, at_mm = [], 0.0
    for radius_mm, conic, distance_mm, index in rows:
        surfaces.append(Surface(at_mm, radius_mm, index, conic))
        at_mm += distance_mm
    return tuple(surfaces)


GULLSTRAND = SchematicEye(
    name="Gullstrand No. 1, relaxed",
    source="gullstrand-1909",
    status="from memory, confirmed by a number",
    surfaces=_rows(
        (7.7, 0.0, 0.5, 1.376),
        (6.8, 0.0, 3.1, 1.336),
        (10.0, 0.0, 0.546, 1.386),
        (7.911, 0.0, 2.419, 1.406),
        (-5.76, 0.0, 0.635, 1.386),
        (-6.0, 0.0, 0.0, 1.336),
    ),
    axial_length_mm=24.0,
    iris_mm=3.6,
)
LE_GRAND = SchematicEye(
    name="Le Grand, relaxed",
    source="le-grand-1980",
    status="from memory, confirmed by a number",
    surfaces=_rows(
        (7.8, 0.0, 0.55, 1.3771), (6.5, 0.0, 3.05, 1.3374), (10.2, 0.0, 4.0, 1.42), (-6.0, 0.0, 0.0, 1.336)
    ),
    axial_length_mm=24.197,
    iris_mm=3.6,
)
NAVARRO_589 = SchematicEye(
    name="Navarro, 589 nm",
    source="escudero-sanz-1999",
    status="confirmed in public code",
    surfaces=_rows(
        (7.72, -0.26, 0.55, 1.376),
        (6.5, 0.0, 3.05, 1.3374),
        (10.2, -3.1316, 4.0, 1.42),
        (-6.0, -1.0, 0.0, 1.336),
    ),
    axial_length_mm=24.0,
    iris_mm=3.6,
)
NAVARRO_543 = SchematicEye(
    name="Navarro, 543 nm",
    source="escudero-sanz-1999",
    status="confirmed in public code",
    surfaces=_rows(
        (7.72, -0.26, 0.55, 1.3777),
        (6.5, 0.0, 3.05, 1.3391),
        (10.2, -3.1316, 4.0, 1.4222),
        (-6.0, -1.0, 0.0, 1.3377),
    ),
    axial_length_mm=23.9203,
    iris_mm=3.6,
)
LIOU_BRENNAN = SchematicEye(
    name="Liou-Brennan, 555 nm",
    source="liou-1997",
    status="from memory, confirmed by a number",
    surfaces=_rows(
        (7.77, -0.18, 0.50, 1.376),
        (6.40, -0.60, 3.16, 1.336),
        (12.40, -0.94, 4.02, 1.368),
        (-8.10, 0.96, 0.0, 1.336),
    ),
    axial_length_mm=23.95,
    iris_mm=3.66,
    gradients=(
        Gradient(1.59, 1.368, 0.049057, -0.015427, -0.001978),
        Gradient(2.43, 1.407, 0.0, -0.006605, -0.001978),
    ),
)
SCHEMATIC_EYES = (GULLSTRAND, LE_GRAND, NAVARRO_589, NAVARRO_543, LIOU_BRENNAN)


def through_gradient(gradient: Gradient) -> RayMatrix:
    """The ray matrix of a slab with a parabolic gradient of index.

    Parameters
    ----------
    gradient
        Its thickness and coefficients.

    Returns
    -------
    RayMatrix
        The matrix from its front to its back.

    Notes
    -----
    ``dy/dz = V / n(z)``, ``dV/dz = 2 n_rr y`` with ``V = n dy/dz``: the paraxial limit of the ray
    equation, derived here. Runge and Kutta's fourth-order steps on both starting rays.

    Examples
    --------
    >>> flat = through_gradient(Gradient(1.336, 1.336, 0.0, 0.0, 0.0))
    >>> round(flat.b_mm, 12), flat.c_per_mm
    (1.0, 0.0)
    """
    a, c = _ray_through(gradient, 1.0, 0.0)
    b, d = _ray_through(gradient, 0.0, 1.0)
    return RayMatrix(a, b, c, d)


def _index_at(gradient: Gradient, z_mm: float) -> float:
    return gradient.start_index + gradient.along_per_mm * z_mm + gradient.along_per_mm2 * z_mm * z_mm


def _ray_through(gradient: Gradient, height: float, slope: float) -> tuple[float, float]:
    step = gradient.thickness_mm / STEPS_THROUGH_A_GRADIENT

    def change(z: float, y: float, v: float) -> tuple[float, float]:
        return v / _index_at(gradient, z), 2.0 * gradient.across_per_mm2 * y

    y, v = height, slope
    for number in range(STEPS_THROUGH_A_GRADIENT):
        z = number * step
        y1, v1 = change(z, y, v)
        y2, v2 = change(z + 0.5 * step, y + 0.5 * step * y1, v + 0.5 * step * v1)
        y3, v3 = change(z + 0.5 * step, y + 0.5 * step * y2, v + 0.5 * step * v2)
        y4, v4 = change(z + step, y + step * y3, v + step * v3)
        y += step / 6.0 * (y1 + 2.0 * y2 + 2.0 * y3 + y4)
        v += step / 6.0 * (v1 + 2.0 * v2 + 2.0 * v3 + v4)
    return y, v


def eye_matrix(eye: SchematicEye) -> RayMatrix:
    """The ray matrix of a whole eye, from the front of the cornea to the back of the lens.

    Parameters
    ----------
    eye
        One of `SCHEMATIC_EYES`.

    Returns
    -------
    RayMatrix
        The matrix.

    Examples
    --------
    >>> round(-1000.0 * eye_matrix(LIOU_BRENNAN).c_per_mm, 3)
    60.343
    """
    if not eye.gradients:
        return system_matrix(eye.surfaces, 1.0)
    *front, back = eye.surfaces
    whole = system_matrix(front, 1.0)
    index = front[-1].index_after
    for gradient in eye.gradients:
        whole = then(whole, through_gradient(gradient))
        index = _index_at(gradient, gradient.thickness_mm)
    return then(whole, system_matrix([back], index))


def eye_points(eye: SchematicEye) -> CardinalPoints:
    """Power and cardinal points of an eye.

    Parameters
    ----------
    eye
        One of `SCHEMATIC_EYES`.

    Returns
    -------
    CardinalPoints
        Power, dioptres, and points, millimetres from the cornea.

    Examples
    --------
    >>> round(eye_points(GULLSTRAND).power_dpt, 2)
    58.64
    """
    last = eye.surfaces[-1]
    return cardinal_points(eye_matrix(eye), 0.0, last.vertex_mm, 1.0, last.index_after)


def eye_pupils(eye: SchematicEye) -> tuple[PupilImage, PupilImage]:
    """Entrance and exit pupil of an eye whose iris lies on the front of its lens.

    Parameters
    ----------
    eye
        One of `SCHEMATIC_EYES` without a gradient.

    Returns
    -------
    tuple of PupilImage
        Entrance pupil and exit pupil.

    Examples
    --------
    >>> round(eye_pupils(NAVARRO_589)[0].magnification, 4)
    1.1328
    """
    cornea, lens = eye.surfaces[:2], eye.surfaces[2:]
    chamber_index = cornea[-1].index_after
    to_iris = then(
        system_matrix(cornea, 1.0), over_distance(eye.iris_mm - cornea[-1].vertex_mm, chamber_index)
    )
    from_iris = system_matrix(lens, chamber_index)
    last = lens[-1]
    return entrance_pupil(to_iris, 0.0, 1.0), exit_pupil(from_iris, last.vertex_mm, last.index_after)
