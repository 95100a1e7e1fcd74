"""Questions to the lens power formulas."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from zonule.checks.question import Question
from zonule.checks.rows import Row
from zonule.science.lens_power import constants, flags, haigis, holladay_1
from zonule.science.lens_power.formulas import FORMULAS, EyeNumbers, Formula, formulas_for, seen_eye
from zonule.science.lens_power.thin_lens import (
    ThinLensEye,
    inside_the_eye,
    lens_position_mm,
    lens_power_dpt,
    refraction_dpt,
)

A_CONSTANT = 118.4
"""From which the reference values take their constants."""
_HOFFER_Q_ADDS_MM = 0.05
"""Tables list the depth that Hoffer Q predicts, before this is added."""
_HOFFER_Q_TAKES_AWAY_MM = 0.99166
_SRK_T_OFFSET_MM = 1.877928
_HOFFER_Q_DEPTH_MM = 5.198688
_CLOSE_ENOUGH = 1e-7
_HAIGIS_TRIPLE = (-1.0, 0.25, 0.22)


def eye_of(row: Row) -> EyeNumbers:
    """The eye of a row; what it does not give counts as not measured."""
    return EyeNumbers(*(row.number_or_nan(name) for name in EyeNumbers._fields))


def formula_of(row: Row) -> Formula:
    """The formula of a row, and where a key serves several corneas, the one for the row's cornea."""
    key, cornea = row.inputs["formula"], row.inputs.get("cornea")
    return FORMULAS[key] if cornea is None else formulas_for(cornea)[key]


def seen(row: Row, eye: EyeNumbers | None = None) -> Any:
    """The eye as the row's formula sees it, with constants from one A-constant."""
    formula = formula_of(row)
    return seen_eye(formula, eye_of(row) if eye is None else eye, formula.first_guess(A_CONSTANT))


def _position_mm(row: Row) -> Any:
    added_mm = _HOFFER_Q_ADDS_MM if row.inputs["formula"] == "hoffer_q" else 0.0
    return seen(row).lens_position_mm - added_mm


def _power_dpt(row: Row) -> Any:
    optics = formula_of(row).optics
    return optics.lens_power_dpt(seen(row), row.number("asked_dpt"))


def _refraction_dpt(row: Row) -> Any:
    optics = formula_of(row).optics
    return optics.refraction_dpt(seen(row), row.number("asked_dpt"))


def _triple(row: Row) -> ThinLensEye:
    eye = eye_of(row)
    return haigis.thin_lens_eye(
        eye.axial_length_mm, eye.mean_k_dpt, eye.anterior_chamber_depth_mm, *_HAIGIS_TRIPLE
    )


def _iris_plane_mm(row: Row) -> Any:
    eye = eye_of(row)
    return holladay_1.thin_lens_eye(eye.axial_length_mm, eye.mean_k_dpt, 0.0).lens_position_mm


def _beyond_constants_mm(row: Row) -> Any:
    position_mm = seen(row).lens_position_mm
    return position_mm - _HOFFER_Q_ADDS_MM - _HOFFER_Q_DEPTH_MM + _HOFFER_Q_TAKES_AWAY_MM


def _gain(row: Row) -> Any:
    """What one dioptre of lens does to the refraction in this eye."""
    power_dpt = row.number("lens_power_dpt")
    eye = seen(row)
    return refraction_dpt(eye, power_dpt + 0.5) - refraction_dpt(eye, power_dpt - 0.5)


def edge(is_beyond: Callable[[float], bool], low: float, high: float) -> float:
    """Where something begins between two numbers, by halving."""
    beyond_at_low = is_beyond(low)
    while high - low > _CLOSE_ENOUGH:
        middle = (low + high) / 2.0
        low, high = (middle, high) if is_beyond(middle) is beyond_at_low else (low, middle)
    return (low + high) / 2.0


def _flagged(row: Row, length_mm: float, k_dpt: float) -> bool:
    bit = int(flags.FormulaFlag[row.inputs["flag"].upper()])
    eye = eye_of(row)._replace(axial_length_mm=length_mm, mean_k_dpt=k_dpt)
    return bool(int(seen(row, eye).flags) & bit)


def _flag_edge_mm(row: Row) -> float:
    k_dpt = row.number("mean_k_dpt")
    return edge(lambda x: _flagged(row, x, k_dpt), row.number("from_mm"), row.number("to_mm"))


def _flag_edge_dpt(row: Row) -> float:
    length_mm = row.number("axial_length_mm")
    return edge(lambda x: _flagged(row, length_mm, x), row.number("from_dpt"), row.number("to_dpt"))


def _nearest_lens_inside_mm(_: Row) -> float:
    def is_outside(position_mm: float) -> bool:
        eye = inside_the_eye(ThinLensEye(43.5, 23.5, position_mm, 0))
        return bool(int(eye.flags) & flags.LENS_OUTSIDE_EYE)

    return edge(is_outside, -5.0, 5.0)


def _slope(function: Callable[[float], Any], at: float, step: float = 1e-4) -> float:
    return float((function(at + step) - function(at - step)) / (2.0 * step))


def _whole_formula_slope(field: str) -> Callable[[Row], float]:
    def answer(row: Row) -> float:
        eye = eye_of(row)

        def power_dpt(value: float) -> Any:
            return lens_power_dpt(seen(row, eye._replace(**{field: value})), 0.0)

        return _slope(power_dpt, float(getattr(eye, field)))

    return answer


def _held_lens_slope(place: int) -> Callable[[Row], float]:
    """Refraction by one of length, corneal power, position and lens power, the others held."""

    def answer(row: Row) -> float:
        length_mm, k_dpt, power_dpt = (
            row.number(name) for name in ("axial_length_mm", "mean_k_dpt", "lens_power_dpt")
        )
        on_haigis_index = 331.5 / 337.5
        position_mm = float(lens_position_mm(on_haigis_index * k_dpt, length_mm, power_dpt, 0.0))
        held = [length_mm, k_dpt, position_mm, power_dpt]

        def refraction(value: float) -> Any:
            length, k, position, power = (value if at == place else one for at, one in enumerate(held))
            return refraction_dpt(ThinLensEye(on_haigis_index * k, length, position, 0), power)

        return _slope(refraction, held[place])

    return answer


def _by_a(function: Callable[[float], Any]) -> Callable[[Row], Any]:
    return lambda row: function(row.number("a_constant"))


_EYE = "an eye of {axial_length_mm} mm and K {mean_k_dpt} D"
_THIN = "a lens of {lens_power_dpt} D held in its place in " + _EYE

QUESTIONS = {
    "lens_position_mm": Question("Lens position by {formula} in " + _EYE, _position_mm),
    "power_dpt": Question("Lens power by {formula} for {asked_dpt} D in " + _EYE, _power_dpt),
    "refraction_dpt": Question(
        "Refraction by {formula} with a lens of {asked_dpt} D in " + _EYE, _refraction_dpt
    ),
    "power_of_an_operated_eye_dpt": Question(
        "Lens power by {formula} for {asked_dpt} D after surgery ({cornea}) in " + _EYE, _power_dpt
    ),
    "optical_length_mm": Question(
        "Optical length of {formula} in " + _EYE, lambda row: seen(row).optical_length_mm
    ),
    "corneal_power_dpt": Question(
        "Corneal power of {formula} in " + _EYE, lambda row: seen(row).corneal_power_dpt
    ),
    "corneal_height_mm": Question(
        "Corneal height of {formula} in " + _EYE, lambda row: seen(row).lens_position_mm - _SRK_T_OFFSET_MM
    ),
    "iris_plane_mm": Question("Depth of the iris plane of {formula} in " + _EYE, _iris_plane_mm),
    "depth_beyond_constants_mm": Question(
        "Depth of {formula} beyond its constants in " + _EYE, _beyond_constants_mm
    ),
    "haigis_triple_position_mm": Question(
        "Lens position by {formula} with three constants in " + _EYE,
        lambda row: _triple(row).lens_position_mm,
    ),
    "haigis_triple_power_dpt": Question(
        "Lens power by {formula} with three constants in " + _EYE,
        lambda row: lens_power_dpt(_triple(row), 0.0),
    ),
    "gain_of_a_lens": Question(
        "Change of refraction for each dioptre of lens near {lens_power_dpt} D in " + _EYE, _gain
    ),
    "first_length_flagged_mm": Question(
        "Axial length at which the flag {flag} of {formula} changes, at K {mean_k_dpt} D", _flag_edge_mm
    ),
    "first_k_flagged_dpt": Question(
        "Corneal power at which the flag {flag} of {formula} changes, in an eye of {axial_length_mm} mm",
        _flag_edge_dpt,
    ),
    "nearest_lens_inside_mm": Question(
        "Position in front of which a lens counts as outside the eye", _nearest_lens_inside_mm
    ),
    "power_per_length": Question(
        "Lens power by axial length, {formula} in " + _EYE, _whole_formula_slope("axial_length_mm")
    ),
    "power_per_k": Question(
        "Lens power by corneal power, {formula} in " + _EYE, _whole_formula_slope("mean_k_dpt")
    ),
    "refraction_per_length": Question("Refraction by axial length, " + _THIN, _held_lens_slope(0)),
    "refraction_per_k": Question("Refraction by corneal power, " + _THIN, _held_lens_slope(1)),
    "refraction_per_position": Question("Refraction by lens position, " + _THIN, _held_lens_slope(2)),
    "refraction_per_power": Question("Refraction by lens power, " + _THIN, _held_lens_slope(3)),
    "surgeon_factor_mm": Question(
        "Surgeon factor suggested by an A-constant of {a_constant}", _by_a(constants.surgeon_factor_from_a_mm)
    ),
    "p_acd_mm": Question(
        "Personalised depth suggested by an A-constant of {a_constant}", _by_a(constants.p_acd_from_a_mm)
    ),
    "haigis_a0_mm": Question(
        "Haigis a0 suggested by an A-constant of {a_constant}", _by_a(lambda a: constants.haigis_from_a(a)[0])
    ),
    "haigis_a1": Question(
        "Haigis a1 suggested by an A-constant of {a_constant}", _by_a(lambda a: constants.haigis_from_a(a)[1])
    ),
    "haigis_a2": Question(
        "Haigis a2 suggested by an A-constant of {a_constant}", _by_a(lambda a: constants.haigis_from_a(a)[2])
    ),
}
