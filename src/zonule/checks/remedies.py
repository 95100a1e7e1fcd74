"""Questions to the arithmetic of a torn capsule and of a refraction that surprised."""

from __future__ import annotations

import math
from typing import Any

from zonule.checks.lens_power import A_CONSTANT, edge, eye_of, formula_of, seen
from zonule.checks.question import Question
from zonule.checks.rows import Row
from zonule.science.lens_power import moved_lens, remedies, surprise
from zonule.science.lens_power.thin_lens import ThinLensEye


def thin_eye_of(row: Row) -> ThinLensEye:
    """The eye of a row as its three thin-lens numbers."""
    return ThinLensEye(
        row.number("corneal_power_dpt"), row.number("optical_length_mm"), row.number("lens_position_mm"), 0
    )


def _forward_mm(row: Row) -> float:
    place: moved_lens.Forward = getattr(moved_lens, row.inputs["place"].upper())
    return float(getattr(place, row.inputs["which"]))


def _step_dpt(power_dpt: float) -> float:
    return float(moved_lens.sulcus_step(power_dpt).step_dpt)


def _step_edge_dpt(row: Row) -> float:
    """Where the rule gives its first answer, or its last, between two powers."""
    return edge(lambda power: math.isnan(_step_dpt(power)), row.number("from_dpt"), row.number("to_dpt"))


def _moved_power_dpt(row: Row) -> Any:
    return moved_lens.moved_power_dpt(seen(row), row.number("forward_mm"), row.number("asked_dpt"))


def _moved_refraction_dpt(row: Row) -> Any:
    return moved_lens.moved_refraction_dpt(seen(row), row.number("forward_mm"), row.number("lens_power_dpt"))


def _add_on_dpt(row: Row) -> Any:
    return remedies.add_on_power_dpt(
        row.number("refraction_dpt"),
        row.number("asked_dpt"),
        row.number("corneal_power_dpt"),
        row.number("lens_position_mm"),
    )


def _refraction_with_add_on_dpt(row: Row) -> Any:
    return remedies.refraction_with_add_on_dpt(
        row.number("refraction_dpt"),
        row.number("add_on_dpt"),
        row.number("corneal_power_dpt"),
        row.number("lens_position_mm"),
    )


def _position_scatter_dpt(row: Row) -> Any:
    power_dpt = row.number("lens_power_dpt")
    return remedies.position_scatter_dpt(seen(row), power_dpt, surprise.LENS_POSITION_SD_MM)


def _explaining_position_mm(row: Row) -> Any:
    powers = row.number("lens_power_dpt"), row.number("refraction_dpt")
    return surprise.position_that_explains_mm(thin_eye_of(row), *powers)


def _explaining_cornea_dpt(row: Row) -> Any:
    powers = row.number("lens_power_dpt"), row.number("refraction_dpt")
    return surprise.corneal_power_that_explains_dpt(thin_eye_of(row), *powers)


def _explaining_length_mm(row: Row) -> Any:
    powers = row.number("lens_power_dpt"), row.number("refraction_dpt")
    return surprise.length_that_explains_mm(thin_eye_of(row), *powers)


def _explaining_k_dpt(row: Row) -> Any:
    formula = formula_of(row)
    powers = row.number("lens_power_dpt"), row.number("refraction_dpt")
    return surprise.mean_k_that_explains_dpt(formula, eye_of(row), formula.first_guess(A_CONSTANT), *powers)


def _explaining_axial_length_mm(row: Row) -> Any:
    formula = formula_of(row)
    powers = row.number("lens_power_dpt"), row.number("refraction_dpt")
    constants = formula.first_guess(A_CONSTANT)
    return surprise.axial_length_that_explains_mm(formula, eye_of(row), constants, *powers)


_GOT = "a lens of {lens_power_dpt} D that left {refraction_dpt} D"
_THIN = "thin-lens eye {corneal_power_dpt} D / {optical_length_mm} mm / {lens_position_mm} mm"

QUESTIONS = {
    "forward_of_its_place_mm": Question(
        "How far in front of its place a lens lies, {place}, {which}", _forward_mm
    ),
    "sulcus_step_dpt": Question(
        "What the step rule takes off a bag power of {lens_power_dpt} D for the sulcus",
        lambda row: _step_dpt(row.number("lens_power_dpt")),
    ),
    "sulcus_step_edge_dpt": Question(
        "Bag power between {from_dpt} and {to_dpt} D at which the step rule begins or ends to answer",
        _step_edge_dpt,
    ),
    "moved_power_dpt": Question(
        "Lens power for {asked_dpt} D by {formula} with the lens {forward_mm} mm forward in an eye of "
        "{axial_length_mm} mm and K {mean_k_dpt} D",
        _moved_power_dpt,
    ),
    "moved_refraction_dpt": Question(
        "Refraction by {formula} with an unchanged lens of {lens_power_dpt} D {forward_mm} mm forward in an "
        "eye of {axial_length_mm} mm and K {mean_k_dpt} D",
        _moved_refraction_dpt,
    ),
    "add_on_power_dpt": Question(
        "Add-on lens at {lens_position_mm} mm that turns {refraction_dpt} D into {asked_dpt} D", _add_on_dpt
    ),
    "refraction_with_add_on_dpt": Question(
        "Refraction when an add-on lens of {add_on_dpt} D at {lens_position_mm} mm meets {refraction_dpt} D",
        _refraction_with_add_on_dpt,
    ),
    "rough_add_on_power_dpt": Question(
        "Add-on lens for {refraction_dpt} D by the short rule",
        lambda row: remedies.rough_add_on_power_dpt(row.number("refraction_dpt")),
    ),
    "corneal_change_dpt": Question(
        "Change of corneal power that turns {refraction_dpt} D into {asked_dpt} D",
        lambda row: remedies.corneal_change_dpt(row.number("refraction_dpt"), row.number("asked_dpt")),
    ),
    "position_scatter_dpt": Question(
        "Scatter of refraction from an uncertain lens position, {formula} in an eye of {axial_length_mm} mm "
        "with {lens_power_dpt} D",
        _position_scatter_dpt,
    ),
    "refraction_sd_dpt": Question(
        "SD of one measured refraction that the ranking of causes uses", lambda _: surprise.REFRACTION_SD_DPT
    ),
    "position_that_explains_mm": Question(
        "Lens position that explains " + _GOT + ", " + _THIN, _explaining_position_mm
    ),
    "corneal_power_that_explains_dpt": Question(
        "Corneal power that explains " + _GOT + ", " + _THIN, _explaining_cornea_dpt
    ),
    "length_that_explains_mm": Question("Length that explains " + _GOT + ", " + _THIN, _explaining_length_mm),
    "mean_k_that_explains_dpt": Question(
        "Corneal reading by {formula} that explains " + _GOT + ", read as {mean_k_dpt} D", _explaining_k_dpt
    ),
    "axial_length_that_explains_mm": Question(
        "Axial length by {formula} that explains " + _GOT + ", read as {axial_length_mm} mm",
        _explaining_axial_length_mm,
    ),
}
