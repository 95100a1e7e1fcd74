"""Questions to what corrects a corneal power after laser, and to what adjusts or converts a length."""

from __future__ import annotations

from typing import Any

from zonule.checks.lens_power import edge, eye_of
from zonule.checks.question import Question
from zonule.checks.rows import Row
from zonule.science.lens_power import corrected_cornea, length_convention, long_eyes, masket
from zonule.science.lens_power.corrected_cornea import CORRECTIONS


def _corrected_dpt(row: Row) -> Any:
    correction, eye = CORRECTIONS[row.inputs["correction"]], eye_of(row)
    return correction.corrected(*(getattr(eye, name) for name in correction.reads)).power_dpt


def _unmoved_k_dpt(row: Row) -> float:
    """The corneal power that a correction by the reading alone leaves as it is."""
    corrected = CORRECTIONS[row.inputs["correction"]].corrected
    return edge(
        lambda k_dpt: float(corrected(k_dpt).power_dpt) > k_dpt,
        row.number("from_dpt"),
        row.number("to_dpt"),
    )


def _refraction_after_laser_dpt(row: Row) -> Any:
    eye = eye_of(row)
    return corrected_cornea.refraction_from_length_and_cornea_dpt(eye.axial_length_mm, eye.mean_k_dpt)


def _emmetropic_edge(row: Row) -> float:
    """Where the product of length and corneal power enters or leaves the range, at 40 D."""
    return 40.0 * edge(
        lambda length_mm: bool(corrected_cornea.is_like_an_emmetropic_eye(length_mm, 40.0)),
        row.number("from_mm"),
        row.number("to_mm"),
    )


def _adjusted_length_mm(row: Row) -> Any:
    adjustment = long_eyes.ADJUSTMENTS[row.inputs["formula"]]
    return long_eyes.both_lengths(adjustment, row.number("axial_length_mm")).adjusted_mm


def _segmental_length_mm(row: Row) -> Any:
    eye = eye_of(row)
    return length_convention.segmental_length(eye.axial_length_mm, eye.lens_thickness_mm).length_mm


QUESTIONS = {
    "corrected_corneal_power_dpt": Question(
        "Corneal power after laser by {correction} from a reading of {mean_k_dpt} D", _corrected_dpt
    ),
    "corneal_power_left_as_it_is_dpt": Question(
        "Corneal power that {correction} leaves as it is", _unmoved_k_dpt
    ),
    "masket_shift_dpt": Question(
        "What Masket adds to the lens power for {treated_at_cornea_dpt} D treated at the cornea",
        lambda row: masket.masket_shift_dpt(row.number("treated_at_cornea_dpt")),
    ),
    "modified_masket_shift_dpt": Question(
        "What the modified Masket adds to the lens power for {treated_at_cornea_dpt} D treated at the cornea",
        lambda row: masket.modified_masket_shift_dpt(row.number("treated_at_cornea_dpt")),
    ),
    "refraction_after_laser_dpt": Question(
        "Refraction to expect after laser of an eye of {axial_length_mm} mm and K {mean_k_dpt} D",
        _refraction_after_laser_dpt,
    ),
    "emmetropic_product_mm_dpt": Question(
        "Length times corneal power, a limit of eyes without refractive error between {from_mm} and {to_mm} "
        "mm at 40 D",
        _emmetropic_edge,
    ),
    "adjusted_length_mm": Question(
        "Length that {formula} reads in an eye of {axial_length_mm} mm", _adjusted_length_mm
    ),
    "segmental_length_mm": Question(
        "Sum of segments of a composite length of {axial_length_mm} mm with a lens of {lens_thickness_mm} mm",
        _segmental_length_mm,
    ),
}
