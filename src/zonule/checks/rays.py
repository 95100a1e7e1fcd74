"""Questions to ray matrices, schematic eyes and the exact ray trace."""

from __future__ import annotations

import csv
import math
from collections.abc import Callable
from functools import cache
from importlib import resources
from typing import Any

import numpy as np
from numpy.typing import NDArray

from zonule.checks.question import Question
from zonule.checks.rows import Row
from zonule.science.optics import schematic_eyes
from zonule.science.optics.matrices import (
    CardinalPoints,
    PupilImage,
    at_surface,
    cardinal_points,
    entrance_pupil,
    over_distance,
    system_matrix,
    then,
)
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


@cache
def _systems() -> dict[str, tuple[Surface, ...]]:
    """The rows of surfaces that an independent ray tracer was given too."""
    text = (resources.files(__package__) / "ray_systems.csv").read_text(encoding="utf-8")
    found: dict[str, tuple[Surface, ...]] = {}
    for row in csv.DictReader(text.splitlines()):
        system = row.pop("system")
        numbers = {name: float(value) for name, value in row.items() if value}
        found[system] = (*found.get(system, ()), Surface(**numbers))
    return found


def _traced_elsewhere(part: str) -> Callable[[Row], Any]:
    def answer(row: Row) -> Any:
        slope = math.radians(row.number("field_deg"))
        place = row.number("start_x_mm"), row.number("start_y_mm"), _START_MM
        start = Rays(*place, 0.0, math.sin(slope), math.cos(slope))
        return getattr(trace(start, _systems()[row.inputs["system"]], 1.0), part)

    return answer


def _ahead_um(surface: Surface, heights_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """By how much the wavefront of collimated light runs ahead of a sphere about the paraxial focus."""
    points = cardinal_points(system_matrix([surface], 1.0), 0.0, 0.0, 1.0, surface.index_after)
    focus_mm = points.back_focus_mm

    def path_mm(height_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        end = trace(Rays(height_mm, 0.0, _START_MM, 0.0, 0.0, 1.0), [surface], 1.0)
        z_mm = end.z_mm - focus_mm
        along = end.x_mm * end.cosine_x + z_mm * end.cosine_z
        outside = end.x_mm * end.x_mm + z_mm * z_mm - focus_mm * focus_mm
        return np.asarray(end.path_mm - surface.index_after * (along + np.sqrt(along * along - outside)))

    return 1000.0 * (path_mm(np.array(1e-9)) - path_mm(heights_mm))


def _corneal_zernike_um(
    shape: Callable[[NDArray[np.float64]], NDArray[np.float64]],
) -> Callable[[Row], float]:
    """A coefficient over 6 mm, normalised to 1 in the mean square, plus where the rim is ahead."""

    def answer(row: Row) -> float:
        surface = Surface(
            0.0, row.number("anterior_radius_mm"), row.number("corneal_index"), row.number("conic")
        )
        nodes, weights = np.polynomial.legendre.leggauss(40)
        share2 = 0.5 * (1.0 + nodes)
        ahead_um = _ahead_um(surface, 3.0 * np.sqrt(share2))
        return float(np.sum(0.5 * weights * ahead_um * shape(share2)))

    return answer


def _fourth(share2: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(np.sqrt(5.0) * (6.0 * share2**2 - 6.0 * share2 + 1.0))


def _sixth(share2: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(np.sqrt(7.0) * (20.0 * share2**3 - 30.0 * share2**2 + 12.0 * share2 - 1.0))


def _thin_cornea_pupil(row: Row) -> Any:
    to_iris = then(
        at_surface(row.number("corneal_power_dpt")), over_distance(row.number("iris_mm"), _AQUEOUS)
    )
    return entrance_pupil(to_iris, 0.0, 1.0).magnification


def _pseudophakic_points() -> CardinalPoints:
    return cardinal_points(system_matrix(_PSEUDOPHAKIC, 1.0), 0.0, 5.40, 1.0, 1.336)


_ELSEWHERE = "a ray from {start_x_mm} / {start_y_mm} mm at {field_deg} degrees, system {system}"
_SURFACE = "a surface of {anterior_radius_mm} mm, Q {conic}, index {corneal_index}, over 6 mm"
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
    "traced_x_mm": Question("x on the retina of " + _ELSEWHERE, _traced_elsewhere("x_mm")),
    "traced_y_mm": Question("y on the retina of " + _ELSEWHERE, _traced_elsewhere("y_mm")),
    "traced_cosine_y": Question("Direction in y of " + _ELSEWHERE, _traced_elsewhere("cosine_y")),
    "traced_path_mm": Question("Optical path of " + _ELSEWHERE, _traced_elsewhere("path_mm")),
    "corneal_z40_um": Question(
        "Fourth-order spherical aberration of " + _SURFACE, _corneal_zernike_um(_fourth)
    ),
    "corneal_z60_um": Question(
        "Sixth-order spherical aberration of " + _SURFACE, _corneal_zernike_um(_sixth)
    ),
    "thin_cornea_pupil_magnification": Question(
        "Magnification of a pupil {iris_mm} mm behind a thin cornea of {corneal_power_dpt} D",
        _thin_cornea_pupil,
    ),
}
