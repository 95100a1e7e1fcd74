"""Rays, schematic eyes, pupils and aberrations against values from outside the ray trace."""

import csv
import math
from collections.abc import Callable
from functools import partial
from pathlib import Path

import numpy as np
import pytest

from reference.reference_rows import reference_rows, row_name
from zonule.science.optics import schematic_eyes
from zonule.science.optics.matrices import (
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


def systems() -> dict[str, list[Surface]]:
    """The rows of surfaces that both ray tracers were given."""
    found: dict[str, list[Surface]] = {}
    with (Path(__file__).parent / "ray_systems.csv").open(newline="", encoding="utf-8") as file:
        for row in csv.DictReader(file):
            numbers = {name: float(value) for name, value in row.items() if value and name != "system"}
            found.setdefault(row["system"], []).append(Surface(**numbers))
    return found


SYSTEMS = systems()


def expect(row: dict[str, str], found: object) -> None:
    expected, tolerance = float(row["expected"]), float(row["tolerance"])
    assert abs(float(np.asarray(found)) - expected) <= tolerance, (
        f"{found} for {expected} ({row['source']}, {row['table']}: {row['reason']})"
    )


@pytest.mark.parametrize("row", reference_rows("rays"), ids=row_name)
def test_a_ray_ends_where_another_ray_tracer_ends_it(row: dict[str, str]) -> None:
    slope = math.radians(float(row["field_deg"]))
    start = Rays(
        float(row["start_x_mm"]), float(row["start_y_mm"]), -1.0, 0.0, math.sin(slope), math.cos(slope)
    )
    expect(row, getattr(trace(start, SYSTEMS[row["system"]], 1.0), row["quantity"]))


def aberration_dpt(eye: SchematicEye, height_mm: float) -> float:
    """How much more than a paraxial ray one at this height is bent, seen from the back principal plane."""
    points, last = eye_points(eye), eye.surfaces[-1]
    end = trace(Rays(height_mm, 0.0, -1.0, 0.0, 0.0, 1.0), eye.surfaces, 1.0)
    crossing_mm = end.z_mm - end.x_mm * end.cosine_z / end.cosine_x
    bent_dpt = 1000.0 * last.index_after / (crossing_mm - points.back_principal_mm)
    return float(bent_dpt - points.power_dpt)


def of_schematic_eye(eye: SchematicEye, quantity: str) -> object:
    entrance, exit_ = eye_pupils(eye)
    cornea = system_matrix(eye.surfaces[:2], 1.0)
    answers: dict[str, Callable[[], object]] = {
        "entrance_pupil_mm": lambda: entrance.position_mm,
        "entrance_pupil_magnification": lambda: entrance.magnification,
        "exit_pupil_mm": lambda: exit_.position_mm,
        "exit_pupil_magnification": lambda: exit_.magnification,
        "cornea_power_dpt": lambda: -1000.0 * cornea.c_per_mm,
        **{f"aberration_at_{h}_mm_dpt": partial(aberration_dpt, eye, float(h)) for h in (1, 2, 3)},
    }
    return answers[quantity]() if quantity in answers else getattr(eye_points(eye), quantity)


@pytest.mark.parametrize("row", reference_rows("schematic_eyes"), ids=row_name)
def test_published_eyes_come_out_of_matrices_and_rays(row: dict[str, str]) -> None:
    expect(row, of_schematic_eye(getattr(schematic_eyes, row["eye"].upper()), row["quantity"]))


def corneal_zernikes_um(surface: Surface) -> dict[str, float]:
    """Z(4,0) and Z(6,0) over 6 mm of the wavefront that a surface makes of collimated light.

    The wavefront is the path to a sphere about the paraxial focus. OSA normalisation, plus for a rim ahead.
    """
    points = cardinal_points(system_matrix([surface], 1.0), 0.0, 0.0, 1.0, surface.index_after)
    focus_mm = points.back_focus_mm
    nodes, weights = np.polynomial.legendre.leggauss(40)
    share2 = 0.5 * (1.0 + nodes)

    def path_mm(height_mm: object) -> object:
        end = trace(Rays(height_mm, 0.0, -1.0, 0.0, 0.0, 1.0), [surface], 1.0)  # type: ignore[arg-type]
        z_mm = end.z_mm - focus_mm
        along = end.x_mm * end.cosine_x + z_mm * end.cosine_z
        outside = end.x_mm * end.x_mm + z_mm * z_mm - focus_mm * focus_mm
        return end.path_mm - surface.index_after * (along + np.sqrt(along * along - outside))

    ahead_um = 1000.0 * (np.asarray(path_mm(1e-9)) - np.asarray(path_mm(3.0 * np.sqrt(share2))))
    shapes = {
        "z40_um": math.sqrt(5.0) * (6.0 * share2**2 - 6.0 * share2 + 1.0),
        "z60_um": math.sqrt(7.0) * (20.0 * share2**3 - 30.0 * share2**2 + 12.0 * share2 - 1.0),
    }
    return {name: float(np.sum(0.5 * weights * ahead_um * shape)) for name, shape in shapes.items()}


@pytest.mark.parametrize("row", reference_rows("corneal_aberration"), ids=row_name)
def test_a_conic_cornea_has_the_reference_spherical_aberration(row: dict[str, str]) -> None:
    surface = Surface(0.0, float(row["radius_mm"]), float(row["index"]), float(row["conic"]))
    expect(row, corneal_zernikes_um(surface)[row["quantity"]])


@pytest.mark.parametrize("row", reference_rows("entrance_pupils"), ids=row_name)
def test_the_entrance_pupil_is_as_much_larger_as_a_thin_cornea_makes_it(row: dict[str, str]) -> None:
    cornea = at_surface(float(row["corneal_power_dpt"]))
    to_iris = then(cornea, over_distance(float(row["iris_mm"]), 1.336))
    expect(row, entrance_pupil(to_iris, 0.0, 1.0).magnification)


@pytest.mark.parametrize("row", reference_rows("pseudophakic_rays"), ids=row_name)
def test_rays_of_the_pseudophakic_eye_are_as_first_computed(row: dict[str, str]) -> None:
    slope = math.radians(float(row["field_deg"]))
    start = Rays(0.0, float(row["start_y_mm"]), -1.0, 0.0, math.sin(slope), math.cos(slope))
    expect(row, getattr(trace(start, SYSTEMS["regression-eye"], 1.0), row["quantity"]))
