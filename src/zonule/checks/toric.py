"""Questions to toric lenses: cylinder at lens and cornea, residual, and turning a lens after surgery."""

from __future__ import annotations

from typing import Any

from scipy.optimize import brentq

from zonule.checks.question import Question
from zonule.checks.rows import Row
from zonule.science.astigmatism import rotation, toric_lens
from zonule.science.astigmatism.vectors import Plane, sphero_cylinder, steep
from zonule.science.lens_power.thin_lens import ThinLensEye

_SMALL_DPT = 1e-4
_PERFECT_DPT = 1.0
_EYE = "of {axial_length_mm} mm, K {flat_k_dpt} and {steep_k_dpt} D, lens at {lens_position_mm} mm"
_SEEN = (
    "a lens of {lens_at_cornea_dpt} D at the cornea, marks at {lens_meridian_deg}, refraction {sphere_dpt} / "
    "{cylinder_dpt} x {axis_deg}"
)


def _ratio_of_the_limit(row: Row) -> Any:
    return toric_lens.cylinder_ratio(_any_length(row), 0.0)


def _ratio_of_a_small_cylinder(row: Row) -> Any:
    return toric_lens.cylinder_at_lens_dpt(_any_length(row), _SMALL_DPT, 0.0) / _SMALL_DPT


def _any_length(row: Row) -> ThinLensEye:
    """An eye whose length does not matter: for sight at far only cornea and lens position do."""
    return ThinLensEye(row.number("mean_k_dpt"), 23.5, row.number("lens_position_mm"), 0)


def _eye_and_cylinder(row: Row) -> tuple[ThinLensEye, float]:
    flat_dpt, steep_dpt = row.number("flat_k_dpt"), row.number("steep_k_dpt")
    mean_dpt = (flat_dpt + steep_dpt) / 2.0
    eye = ThinLensEye(mean_dpt, row.number("axial_length_mm"), row.number("lens_position_mm"), 0)
    return eye, steep_dpt - flat_dpt


def _flat_power_dpt(row: Row) -> Any:
    return toric_lens.meridional_powers_dpt(*_eye_and_cylinder(row), 0.0)[0]


def _steep_power_dpt(row: Row) -> Any:
    return toric_lens.meridional_powers_dpt(*_eye_and_cylinder(row), 0.0)[1]


def _mean_power_dpt(row: Row) -> Any:
    return (_flat_power_dpt(row) + _steep_power_dpt(row)) / 2.0


def _lens_cylinder_dpt(row: Row) -> Any:
    return toric_lens.cylinder_at_lens_dpt(*_eye_and_cylinder(row), 0.0)


def _cylinder_ratio(row: Row) -> Any:
    eye, cylinder_dpt = _eye_and_cylinder(row)
    return toric_lens.cylinder_at_lens_dpt(eye, cylinder_dpt, 0.0) / cylinder_dpt


def _corneal_cylinder_back_dpt(row: Row) -> Any:
    """What the labelled cylinder of the row is worth at the cornea."""
    eye, _ = _eye_and_cylinder(row)
    return toric_lens.cylinder_at_cornea_dpt(
        eye, row.number("lens_cylinder_dpt"), row.number("lens_power_dpt")
    )


def _left_dpt(off_deg: float, lens_dpt: float = _PERFECT_DPT) -> Any:
    cornea = steep(_PERFECT_DPT, 70.0, Plane.CORNEA)
    return toric_lens.residual(cornea, lens_dpt, 70.0 + off_deg).magnitude_dpt


def _left_by_turn(row: Row) -> Any:
    return _left_dpt(row.number("off_deg"))


def _useless_turn_deg(row: Row) -> Any:
    lens_dpt = row.number("lens_share")
    return brentq(lambda off_deg: _left_dpt(off_deg, lens_dpt) - _PERFECT_DPT, 1.0, 89.0)


def _turn(row: Row) -> rotation.Rotation:
    seen = sphero_cylinder(
        row.number("sphere_dpt"), row.number("cylinder_dpt"), row.number("axis_deg"), Plane.CORNEA
    )
    return rotation.best_rotation(seen, row.number("lens_at_cornea_dpt"), row.number("lens_meridian_deg"))


QUESTIONS = {
    "small_cylinder_ratio": Question(
        "Cylinder at the lens for a small one at a cornea of {mean_k_dpt} D, lens at {lens_position_mm} mm",
        _ratio_of_a_small_cylinder,
    ),
    "limit_cylinder_ratio": Question(
        "The same from its limit, cornea of {mean_k_dpt} D, lens at {lens_position_mm} mm",
        _ratio_of_the_limit,
    ),
    "flat_meridian_power_dpt": Question("Lens power for the flat meridian " + _EYE, _flat_power_dpt),
    "steep_meridian_power_dpt": Question("Lens power for the steep meridian " + _EYE, _steep_power_dpt),
    "mean_meridian_power_dpt": Question("Spherical equivalent of the toric lens " + _EYE, _mean_power_dpt),
    "lens_cylinder_dpt": Question("Cylinder of the toric lens " + _EYE, _lens_cylinder_dpt),
    "cylinder_ratio": Question("Cylinder at the lens over that at the cornea " + _EYE, _cylinder_ratio),
    "lens_cylinder_at_cornea_dpt": Question(
        "What {lens_cylinder_dpt} D at a lens of {lens_power_dpt} D are worth at the cornea, eye " + _EYE,
        _corneal_cylinder_back_dpt,
    ),
    "left_by_turn": Question(
        "Share of the cylinder left by a fitting toric lens {off_deg} degrees off", _left_by_turn
    ),
    "useless_turn_deg": Question(
        "Turn at which a toric lens of {lens_share} of the corneal cylinder no longer helps",
        _useless_turn_deg,
    ),
    "astigmatism_to_correct_dpt": Question(
        "Astigmatism to correct, " + _SEEN, lambda row: _turn(row).to_correct.magnitude_dpt
    ),
    "best_lens_meridian_deg": Question("Best meridian, " + _SEEN, lambda row: _turn(row).best_meridian_deg),
    "turn_lens_by_deg": Question(
        "Turn of the lens, counter-clockwise plus, " + _SEEN, lambda row: _turn(row).rotate_by_deg
    ),
    "cylinder_after_turn_dpt": Question(
        "Cylinder after the best turn, " + _SEEN, lambda row: _turn(row).best.correcting.magnitude_dpt
    ),
    "gain_of_turn_dpt": Question("Gain of the best turn, " + _SEEN, lambda row: _turn(row).gain_dpt),
    "sphere_after_turn_dpt": Question(
        "Sphere of the minus form after the best turn, " + _SEEN,
        lambda row: rotation.minus_form(_turn(row).best).sphere_dpt,
    ),
    "axis_after_turn_deg": Question(
        "Axis of the minus form after the best turn, " + _SEEN,
        lambda row: rotation.minus_form(_turn(row).best).axis_deg,
    ),
}
