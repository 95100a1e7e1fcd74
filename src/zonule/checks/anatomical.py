"""Questions to the eye whose surfaces were measured: a thin lens by vergence, a thick one by exact rays."""

from __future__ import annotations

from itertools import product
from typing import Any

from zonule.checks.lens_power import edge
from zonule.checks.matrices import Matrix, gap, glasses_dpt, surface
from zonule.checks.question import Question
from zonule.checks.rows import Row
from zonule.science.lens_power import four_surface_lens, ray_traced
from zonule.science.lens_power.flags import LENS_OUTSIDE_EYE
from zonule.science.lens_power.ray_traced import RayTracedEye, ray_traced_eye
from zonule.science.optics.best_glasses import Pupil
from zonule.science.optics.lens_design import shape_for_power

_AQUEOUS, _STROMA, _VERTEX_MM = 1.336, 1.376, 12.0
_C = 0.39
_NARROW = Pupil(0.002)
_EYES = tuple(product((21.5, 23.5, 27.0), (40.0, 43.5, 47.0), (2.6, 3.4)))
"""Length, corneal power, chamber depth."""
_THICKNESS_MM, _CORNEA_MM, _BACK_MM = 4.5, 0.54, 6.4
_LENSES_DPT = (-4.0, 10.0, 21.0, 30.0)


def _numbers(length_mm: float, k_dpt: float, depth_mm: float) -> tuple[float, ...]:
    return length_mm, k_dpt, depth_mm, _THICKNESS_MM, _CORNEA_MM, _BACK_MM, _C


def _cornea(k_dpt: float) -> list[Matrix]:
    front_mm = 337.5 / k_dpt
    front, back = 1000.0 * (_STROMA - 1.0) / front_mm, 1000.0 * (_AQUEOUS - _STROMA) / _BACK_MM
    return [surface(front), gap(_CORNEA_MM, _STROMA), surface(back)]


def _thin_against_matrices(_: Row) -> float:
    """The largest difference in refraction over eyes and lenses."""
    differences = []
    for (length_mm, k_dpt, depth_mm), lens_dpt in product(_EYES, _LENSES_DPT):
        seen = four_surface_lens.four_surface_eye(*_numbers(length_mm, k_dpt, depth_mm))
        ours = four_surface_lens.refraction_dpt(four_surface_lens.inside_the_eye(seen), lens_dpt)
        place_mm = depth_mm + _C * _THICKNESS_MM
        behind = [
            gap(place_mm - _CORNEA_MM, _AQUEOUS),
            surface(lens_dpt),
            gap(length_mm - place_mm, _AQUEOUS),
        ]
        differences.append(abs(float(ours) - glasses_dpt([*_cornea(k_dpt), *behind], _VERTEX_MM)))
    return max(differences)


def _thick_glasses_dpt(length_mm: float, k_dpt: float, depth_mm: float, lens_dpt: float) -> float:
    """Glasses by ray matrices for the generic thick lens about its middle."""
    shape = shape_for_power(lens_dpt)
    thickness_mm, index = float(shape.thickness_mm), float(shape.refractive_index)
    front_mm = depth_mm + _C * _THICKNESS_MM - thickness_mm / 2.0
    lens = [
        surface(1000.0 * (index - _AQUEOUS) / float(shape.front_radius_mm)),
        gap(thickness_mm, index),
        surface(1000.0 * (_AQUEOUS - index) / float(shape.back_radius_mm)),
    ]
    chamber, vitreous = (
        gap(front_mm - _CORNEA_MM, _AQUEOUS),
        gap(length_mm - front_mm - thickness_mm, _AQUEOUS),
    )
    return glasses_dpt([*_cornea(k_dpt), chamber, *lens, vitreous], _VERTEX_MM)


def _rays_against_matrices(_: Row) -> float:
    """The largest difference in refraction through a pupil so narrow that rays stay near the axis."""
    differences = []
    for eye, lens_dpt in product(_EYES, _LENSES_DPT):
        seen = ray_traced.inside_the_eye(ray_traced_eye(*_numbers(*eye)))._replace(pupil=_NARROW)
        ours = ray_traced.refraction_dpt(seen, lens_dpt)
        differences.append(abs(float(ours) - _thick_glasses_dpt(*eye, lens_dpt)))
    return max(differences)


def _power_and_back(_: Row) -> float:
    """The largest difference between a refraction asked for and the one that the power found leaves."""
    differences = []
    for eye, wanted_dpt in product(_EYES[::3], (-2.5, 0.0)):
        seen = ray_traced.inside_the_eye(ray_traced_eye(*_numbers(*eye)))
        power_dpt = ray_traced.lens_power_dpt(seen, wanted_dpt)
        differences.append(abs(float(ray_traced.refraction_dpt(seen, power_dpt)) - wanted_dpt))
    return max(differences)


def _is_outside(eye: RayTracedEye) -> bool:
    return bool(int(ray_traced.inside_the_eye(eye).flags) & LENS_OUTSIDE_EYE)


def _nearest_middle_mm(_: Row) -> float:
    """How far behind the back of the cornea the middle of a lens must lie."""
    depth_mm = edge(lambda x: _is_outside(ray_traced_eye(*_numbers(23.5, 43.5, x))), -1.0, 3.0)
    return depth_mm + _C * _THICKNESS_MM - _CORNEA_MM


def _needed_dpt(row: Row) -> Any:
    """The thin-lens power at which an eye gets too long or too short for any lens."""
    length_mm = edge(
        lambda x: _is_outside(ray_traced_eye(*_numbers(x, row.number("mean_k_dpt"), 3.1))),
        row.number("from_mm"),
        row.number("to_mm"),
    )
    seen = four_surface_lens.four_surface_eye(*_numbers(length_mm, row.number("mean_k_dpt"), 3.1))
    return four_surface_lens.lens_power_dpt(seen, 0.0)


QUESTIONS = {
    "four_surface_lens_against_matrices_dpt": Question(
        "Largest difference in refraction between the four-surface lens and ray matrices over 72 eyes",
        _thin_against_matrices,
    ),
    "rays_against_matrices_dpt": Question(
        "Largest difference in refraction between exact rays near the axis and ray matrices over 72 eyes",
        _rays_against_matrices,
    ),
    "ray_traced_power_and_back_dpt": Question(
        "Largest difference between a refraction asked for and what the ray-traced power leaves over 12 eyes",
        _power_and_back,
    ),
    "nearest_middle_of_a_lens_mm": Question(
        "Least distance of the middle of a ray-traced lens from the cornea", _nearest_middle_mm
    ),
    "lens_beyond_any_design_dpt": Question(
        "Lens power at which no generic lens exists, found between {from_mm} and {to_mm} mm", _needed_dpt
    ),
}
