"""Rays, schematic eyes, pupils and aberrations against values from outside the ray trace."""

import csv
import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from reference.reference_rows import reference_rows, row_name
from zonule.science.optics.ray_trace import Rays, trace
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
