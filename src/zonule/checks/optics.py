"""Questions to the optics: corneas, thick lenses, vertex distance, lane; and ours against ray matrices."""

from __future__ import annotations

from itertools import product
from typing import Any

from zonule.checks.matrices import equivalent_power_dpt, gap, glasses_dpt, surface
from zonule.checks.question import Question
from zonule.checks.rows import Row
from zonule.science.lens_power.thin_lens import ThinLensEye, refraction_dpt
from zonule.science.optics.four_surface import (
    Cornea,
    ThickLens,
    equivalent_corneal_power_dpt,
    equivalent_lens_power_dpt,
    surface_power_dpt,
    symmetric_thick_lens,
    thick_lens_refraction_dpt,
    thin_lens_power_dpt,
    thin_lens_refraction_dpt,
    vergence_behind_cornea_dpt,
)
from zonule.science.optics.keratometry import corneal_power_dpt, corneal_radius_mm, implied_keratometric_index
from zonule.science.optics.vergence import (
    refraction_at_cornea_dpt,
    refraction_at_spectacles_dpt,
    refraction_in_reported_lane_dpt,
)

_AQUEOUS, _STROMA = 1.336, 1.376
_VERTEX_MM = 12.0
_CORNEAS = ((7.0, 5.9, 0.48), (7.7, 6.8, 0.50), (8.4, 7.1, 0.60))
_LENGTHS_MM, _POSITIONS_MM, _LENSES_DPT = (20.0, 23.5, 30.0), (4.0, 5.5), (-5.0, 10.0, 21.0, 34.0)


def cornea_of(row: Row) -> Cornea:
    """The cornea of a row."""
    return Cornea(
        row.number("anterior_radius_mm"),
        row.number("posterior_radius_mm"),
        row.number("corneal_thickness_mm"),
    )


def thick_lens_of(row: Row) -> ThickLens:
    """The thick lens of a row, in aqueous."""
    index = row.number("lens_index")
    return ThickLens(
        surface_power_dpt(row.number("lens_front_radius_mm"), _AQUEOUS, index),
        surface_power_dpt(row.number("lens_back_radius_mm"), index, _AQUEOUS),
        row.number("lens_thickness_mm"),
        index,
    )


def _four_surface_power(row: Row) -> Any:
    length_mm, position_mm = row.number("axial_length_mm"), row.number("lens_position_mm")
    return thin_lens_power_dpt(cornea_of(row), length_mm, position_mm, row.number("refraction_dpt"))


def _four_surface_refraction(row: Row) -> Any:
    length_mm, position_mm = row.number("axial_length_mm"), row.number("lens_position_mm")
    return thin_lens_refraction_dpt(cornea_of(row), length_mm, position_mm, row.number("lens_power_dpt"))


def _thick_lens_refraction(row: Row) -> Any:
    return thick_lens_refraction_dpt(
        cornea_of(row),
        row.number("axial_length_mm"),
        row.number("lens_front_mm"),
        thick_lens_of(row),
        vertex_mm=row.number("vertex_mm"),
    )


def _symmetric_surface_dpt(row: Row) -> Any:
    return symmetric_thick_lens(
        row.number("lens_power_dpt"), row.number("lens_thickness_mm"), row.number("lens_index")
    ).front_power_dpt


def _index_of_equivalent_power(row: Row) -> Any:
    return implied_keratometric_index(
        row.number("anterior_radius_mm"), equivalent_corneal_power_dpt(cornea_of(row))
    )


def _index_of_back_vertex_power(row: Row) -> Any:
    return implied_keratometric_index(
        row.number("anterior_radius_mm"), vergence_behind_cornea_dpt(cornea_of(row), 0.0)
    )


def _front_over_keratometric(row: Row) -> Any:
    radius_mm = row.number("anterior_radius_mm")
    return surface_power_dpt(radius_mm, 1.0, row.number("corneal_index")) / corneal_power_dpt(radius_mm)


def _thin_lens_against_matrices(_: Row) -> float:
    """The largest difference over a grid of eyes that the four classical formulas could see."""
    differences = []
    for k_dpt, length_mm, position_mm, lens_dpt in product(
        (36.0, 43.0, 50.0), _LENGTHS_MM, _POSITIONS_MM, _LENSES_DPT
    ):
        ours = refraction_dpt(ThinLensEye(k_dpt, length_mm, position_mm, 0), lens_dpt)
        parts = (gap(position_mm, _AQUEOUS), surface(lens_dpt), gap(length_mm - position_mm, _AQUEOUS))
        theirs = glasses_dpt([surface(k_dpt), *parts], _VERTEX_MM)
        differences.append(abs(float(ours) - theirs))
    return max(differences)


def _surfaces(radii: tuple[float, float, float]) -> list[Any]:
    front_mm, back_mm, thickness_mm = radii
    front = surface(1000.0 * (_STROMA - 1.0) / front_mm)
    return [front, gap(thickness_mm, _STROMA), surface(1000.0 * (_AQUEOUS - _STROMA) / back_mm)]


def _four_surfaces_against_matrices(_: Row) -> float:
    """The same with both surfaces of the cornea."""
    differences = []
    for radii, length_mm, position_mm, lens_dpt in product(_CORNEAS, _LENGTHS_MM, _POSITIONS_MM, _LENSES_DPT):
        ours = thin_lens_refraction_dpt(Cornea(*radii), length_mm, position_mm, lens_dpt)
        chamber, behind = gap(position_mm - radii[2], _AQUEOUS), gap(length_mm - position_mm, _AQUEOUS)
        theirs = glasses_dpt([*_surfaces(radii), chamber, surface(lens_dpt), behind], _VERTEX_MM)
        differences.append(abs(float(ours) - theirs))
    return max(differences)


def _corneas_against_matrices(_: Row) -> float:
    """The largest difference in equivalent power."""
    return max(
        abs(float(equivalent_corneal_power_dpt(Cornea(*radii))) - equivalent_power_dpt(_surfaces(radii)))
        for radii in _CORNEAS
    )


_CORNEA = "a cornea of {anterior_radius_mm} / {posterior_radius_mm} mm, {corneal_thickness_mm} mm thick"

QUESTIONS = {
    "keratometric_power_dpt": Question(
        "Keratometric power of a radius of {anterior_radius_mm} mm",
        lambda row: corneal_power_dpt(row.number("anterior_radius_mm")),
    ),
    "corneal_radius_mm": Question(
        "Radius of a cornea that reads {corneal_power_dpt} D",
        lambda row: corneal_radius_mm(row.number("corneal_power_dpt")),
    ),
    "symmetric_lens_surface_dpt": Question(
        "Surface power of a lens of {lens_power_dpt} D, equal on both sides, {lens_thickness_mm} mm thick, "
        "index {lens_index}",
        _symmetric_surface_dpt,
    ),
    "keratometric_power_on_an_index_dpt": Question(
        "Keratometric power of a radius of {anterior_radius_mm} mm on index {keratometric_index}",
        lambda row: corneal_power_dpt(row.number("anterior_radius_mm"), row.number("keratometric_index")),
    ),
    "front_surface_over_keratometric": Question(
        "Power of the front surface with index {corneal_index}, over the keratometric power",
        _front_over_keratometric,
    ),
    "equivalent_corneal_power_dpt": Question(
        "Equivalent power of " + _CORNEA, lambda row: equivalent_corneal_power_dpt(cornea_of(row))
    ),
    "back_vertex_corneal_power_dpt": Question(
        "Back vertex power of " + _CORNEA, lambda row: vergence_behind_cornea_dpt(cornea_of(row), 0.0)
    ),
    "index_of_equivalent_power": Question(
        "Keratometric index that gives the equivalent power of " + _CORNEA, _index_of_equivalent_power
    ),
    "index_of_back_vertex_power": Question(
        "Keratometric index that gives the back vertex power of " + _CORNEA, _index_of_back_vertex_power
    ),
    "equivalent_lens_power_dpt": Question(
        "Equivalent power of a lens of {lens_front_radius_mm} / {lens_back_radius_mm} mm, "
        "{lens_thickness_mm} mm thick, index {lens_index}",
        lambda row: equivalent_lens_power_dpt(thick_lens_of(row)),
    ),
    "thick_lens_refraction_dpt": Question(
        "Refraction of an eye of {axial_length_mm} mm with a thick lens, its front at {lens_front_mm} mm",
        _thick_lens_refraction,
    ),
    "four_surface_power_dpt": Question(
        "Thin lens at {lens_position_mm} mm for {refraction_dpt} D in an eye of {axial_length_mm} mm behind "
        + _CORNEA,
        _four_surface_power,
    ),
    "four_surface_refraction_dpt": Question(
        "Refraction with a thin lens of {lens_power_dpt} D at {lens_position_mm} mm in an eye of "
        "{axial_length_mm} mm behind " + _CORNEA,
        _four_surface_refraction,
    ),
    "refraction_at_cornea_dpt": Question(
        "Glasses of {refraction_dpt} D at {vertex_mm} mm, told at the cornea",
        lambda row: refraction_at_cornea_dpt(row.number("refraction_dpt"), row.number("vertex_mm")),
    ),
    "refraction_at_spectacles_dpt": Question(
        "A refraction of {refraction_dpt} D at the cornea, told at {vertex_mm} mm",
        lambda row: refraction_at_spectacles_dpt(row.number("refraction_dpt"), row.number("vertex_mm")),
    ),
    "refraction_in_a_6_m_lane_dpt": Question(
        "A refraction of {refraction_dpt} D found in a lane of {lane_m} m, told for 6 m",
        lambda row: refraction_in_reported_lane_dpt(row.number("refraction_dpt"), row.number("lane_m")),
    ),
    "thin_lens_against_matrices_dpt": Question(
        "Largest difference in refraction between the thin-lens engine and ray matrices over 72 eyes",
        _thin_lens_against_matrices,
    ),
    "four_surfaces_against_matrices_dpt": Question(
        "Largest difference in refraction between the four-surface chain and ray matrices over 72 eyes",
        _four_surfaces_against_matrices,
    ),
    "corneas_against_matrices_dpt": Question(
        "Largest difference in equivalent power between the cornea and ray matrices over 3 corneas",
        _corneas_against_matrices,
    ),
}
