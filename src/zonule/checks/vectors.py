"""Questions to astigmatism as vectors: one eye's, an operation's, and that of many eyes."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from zonule.checks.question import Question
from zonule.checks.rows import Row
from zonule.science.astigmatism.aggregate import (
    aggregate,
    centroid_ellipse,
    covariance_dpt2,
    data_ellipse,
    data_ellipse_of_many,
    hotelling_test,
)
from zonule.science.astigmatism.surgical_vectors import SurgicalVectors, surgical_vectors
from zonule.science.astigmatism.vectors import (
    Astigmatism,
    Plane,
    SpheroCylinder,
    at_cornea,
    sphero_cylinder,
    steep,
)


def _written(row: Row) -> SpheroCylinder:
    sphere_dpt, cylinder_dpt, axis_deg = map(row.number, ("sphere_dpt", "cylinder_dpt", "axis_deg"))
    return sphero_cylinder(sphere_dpt, cylinder_dpt, axis_deg, Plane.SPECTACLES)


def _blur_dpt(row: Row) -> Any:
    seen = _written(row)
    return np.hypot(seen.equivalent_dpt, seen.correcting.magnitude_dpt / 2.0)


def _operation(row: Row) -> SurgicalVectors:
    return surgical_vectors(_cornea(row, "before"), _cornea(row, "wanted"), _cornea(row, "after"))


def _cornea(row: Row, when: str) -> Astigmatism:
    return steep(row.number(f"{when}_dpt"), row.number(f"{when}_deg"), Plane.CORNEA)


def _eyes(row: Row) -> Astigmatism:
    x_dpt, y_dpt = (np.array(row.inputs[name].split(";"), dtype=np.float64) for name in ("x_dpt", "y_dpt"))
    return Astigmatism(x_dpt, y_dpt, Plane.CORNEA)


OF_OPERATION: dict[str, Callable[[SurgicalVectors], Any]] = {
    "induced_cylinder": lambda found: found.induced.magnitude_dpt,
    "induced_steep_meridian": lambda found: found.induced.steep_meridian_deg,
    "difference_cylinder": lambda found: found.difference.magnitude_dpt,
    "difference_steep_meridian": lambda found: found.difference.steep_meridian_deg,
    "magnitude_error": lambda found: found.magnitude_error_dpt,
    "angle_error": lambda found: found.angle_error_deg,
    "correction_index": lambda found: found.correction_index,
    "index_of_success": lambda found: found.index_of_success,
    "flattening_effect": lambda found: found.flattening_effect_dpt,
    "flattening_index": lambda found: found.flattening_index,
}
OF_EYES: dict[str, Callable[[Astigmatism], Any]] = {
    "centroid_x": lambda eyes: aggregate(eyes).centroid.x_dpt,
    "centroid_y": lambda eyes: aggregate(eyes).centroid.y_dpt,
    "centroid_cylinder": lambda eyes: aggregate(eyes).centroid.magnitude_dpt,
    "centroid_steep_meridian": lambda eyes: aggregate(eyes).centroid.steep_meridian_deg,
    "variance_of_x": lambda eyes: covariance_dpt2(eyes)[0, 0],
    "covariance": lambda eyes: covariance_dpt2(eyes)[0, 1],
    "variance_of_y": lambda eyes: covariance_dpt2(eyes)[1, 1],
    "centroid_ellipse_short_half": lambda eyes: centroid_ellipse(eyes).semi_minor_dpt,
    "centroid_ellipse_long_half": lambda eyes: centroid_ellipse(eyes).semi_major_dpt,
    "data_ellipse_short_half": lambda eyes: data_ellipse(eyes).semi_minor_dpt,
    "data_ellipse_long_half": lambda eyes: data_ellipse(eyes).semi_major_dpt,
    "large_sample_ellipse_short_half": lambda eyes: data_ellipse_of_many(eyes).semi_minor_dpt,
    "large_sample_ellipse_long_half": lambda eyes: data_ellipse_of_many(eyes).semi_major_dpt,
    "direction_of_the_ellipse_in_the_plot": lambda eyes: data_ellipse(eyes).plot_angle_deg,
    "total_vector_SD": lambda eyes: aggregate(eyes).total_sd_dpt,
    "mean_magnitude": lambda eyes: aggregate(eyes).mean_magnitude_dpt,
    "T_squared_against_zero": lambda eyes: hotelling_test(eyes).t_squared,
    "p_against_zero": lambda eyes: hotelling_test(eyes).p_value,
}

_AS_WRITTEN = "of {sphere_dpt} / {cylinder_dpt} x {axis_deg}"
QUESTIONS = {
    "spherical_equivalent_dpt": Question(
        f"Spherical equivalent {_AS_WRITTEN}", lambda row: _written(row).equivalent_dpt
    ),
    "power_vector_j0_dpt": Question(
        f"Power vector J0 {_AS_WRITTEN}", lambda row: -_written(row).correcting.x_dpt / 2.0
    ),
    "power_vector_j45_dpt": Question(
        f"Power vector J45 {_AS_WRITTEN}", lambda row: -_written(row).correcting.y_dpt / 2.0
    ),
    "power_vector_blur_dpt": Question(f"Length of the power vector {_AS_WRITTEN}", _blur_dpt),
    "steep_meridian_deg": Question(
        f"Steep meridian that glasses {_AS_WRITTEN} correct",
        lambda row: _written(row).correcting.steep_meridian_deg,
    ),
    "cylinder_of_glasses_at_cornea_dpt": Question(
        f"Cylinder at the cornea {_AS_WRITTEN}, 12 mm before it",
        lambda row: at_cornea(_written(row)).correcting.magnitude_dpt,
    ),
    "surgical_vector": Question(
        "{figure}, before {before_dpt} D at {before_deg}, wanted {wanted_dpt} D at {wanted_deg}, "
        "after {after_dpt} D at {after_deg} degrees",
        lambda row: OF_OPERATION[row.inputs["figure"]](_operation(row)),
    ),
    "astigmatism_of_many_eyes": Question(
        "{figure} of ten eyes", lambda row: OF_EYES[row.inputs["figure"]](_eyes(row))
    ),
}
