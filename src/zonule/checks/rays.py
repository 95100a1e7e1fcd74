"""Questions to ray matrices, schematic eyes and the exact ray trace."""

from __future__ import annotations

import math
from typing import Any

from zonule.checks.question import Question
from zonule.checks.rows import Row
from zonule.science.optics import schematic_eyes
from zonule.science.optics.matrices import CardinalPoints, PupilImage, cardinal_points, system_matrix
from zonule.science.optics.ray_trace import Rays, trace
from zonule.science.optics.schematic_eyes import SchematicEye, eye_points, eye_pupils
from zonule.science.optics.surfaces import Surface

_START_MM = -1.0
_AQUEOUS = 1.336
_PSEUDOPHAKIC = (
    Surface(0.0, 7.75, 1.376, -0.20),
    Surface(0.55, 6.45, 1.336, -0.25),
    Surface(4.50, 12.0, 1.46, 0.0),
    Surface(5.40, -11.0, 1.336, -2.0),
)
"""The regression eye of docs/sources.md, with its conics."""


def eye_of(row: Row) -> SchematicEye:
    """The schematic eye that a row names."""
    eye: SchematicEye = getattr(schematic_eyes, row.inputs["eye"].upper())
    return eye


def _point(row: Row) -> Any:
    points: CardinalPoints = eye_points(eye_of(row))
    return getattr(points, row.inputs["point"])


def _pupil(row: Row) -> PupilImage:
    entrance, leaving = eye_pupils(eye_of(row))
    return {"entrance": entrance, "exit": leaving}[row.inputs["pupil"]]


def _traced(row: Row) -> Rays:
    """A ray through the regression eye to a screen; it starts 1 mm in front of the cornea at its height."""
    slope = math.radians(row.number("field_deg"))
    start = Rays(0.0, row.number("height_mm"), _START_MM, 0.0, math.sin(slope), math.cos(slope))
    screen = Surface(_pseudophakic_points().back_focus_mm, math.inf, _AQUEOUS)
    return trace(start, (*_PSEUDOPHAKIC, screen), 1.0)


def _spherical_aberration_dpt(row: Row) -> float:
    """How much stronger the eye is for a ray at this height than near its axis."""
    eye = eye_of(row)
    points = eye_points(eye)
    ray = trace(Rays(0.0, row.number("height_mm"), _START_MM, 0.0, 0.0, 1.0), eye.surfaces, 1.0)
    crossing_mm = float(ray.z_mm - ray.y_mm * ray.cosine_z / ray.cosine_y)
    index = float(eye.surfaces[-1].index_after)
    return 1000.0 * index / (crossing_mm - float(points.back_principal_mm)) - float(points.power_dpt)


def _pseudophakic_points() -> CardinalPoints:
    return cardinal_points(system_matrix(_PSEUDOPHAKIC, 1.0), 0.0, 5.40, 1.0, 1.336)


_RAY = "a ray that starts {height_mm} mm from the axis at {field_deg} degrees, pseudophakic eye"

QUESTIONS = {
    "eye_power_dpt": Question(
        "Power of the schematic eye {eye}", lambda row: eye_points(eye_of(row)).power_dpt
    ),
    "eye_point_mm": Question("Place of the {point} of the schematic eye {eye}", _point),
    "pupil_place_mm": Question(
        "Place of the {pupil} pupil of the schematic eye {eye}", lambda row: _pupil(row).position_mm
    ),
    "pupil_magnification": Question(
        "Magnification of the {pupil} pupil of the schematic eye {eye}", lambda row: _pupil(row).magnification
    ),
    "spherical_aberration_dpt": Question(
        "Spherical aberration of the schematic eye {eye} for a ray {height_mm} mm from the axis",
        _spherical_aberration_dpt,
    ),
    "pseudophakic_eye_power_dpt": Question(
        "Power of the whole pseudophakic eye by ray matrices", lambda _: _pseudophakic_points().power_dpt
    ),
    "pseudophakic_eye_point_mm": Question(
        "Place of the {point} of the pseudophakic eye by ray matrices",
        lambda row: getattr(_pseudophakic_points(), row.inputs["point"]),
    ),
    "ray_height_mm": Question("Height at the focus of " + _RAY, lambda row: _traced(row).y_mm),
    "ray_path_mm": Question("Optical path to the focus of " + _RAY, lambda row: _traced(row).path_mm),
}
