"""Trace the reference rays anew with a general-purpose ray tracer, and compare with the frozen file.

    make reference

The surfaces stand in src/zonule/checks/ray_systems.csv, the rays in values/traced_rays.csv beside it with the
version of the tracer they came from. With `--write` the file is written; without it the run fails when a
number has moved by more than a millionth of a millimetre.
"""

from __future__ import annotations

import csv
import math
import sys
from collections.abc import Iterator
from importlib.metadata import version
from pathlib import Path

import numpy as np
from optiland.materials import IdealMaterial
from optiland.optic import Optic
from optiland.rays import RealRays

CHECKS = Path(__file__).parent.parent / "src" / "zonule" / "checks"
OUT = CHECKS / "values" / "traced_rays.csv"
COLUMNS = (
    "source",
    "table",
    "quantity",
    "system",
    "start_x_mm",
    "start_y_mm",
    "field_deg",
    "expected",
    "tolerance",
    "unit",
    "reason",
    "status",
    "provenance",
)
IN_ONE_PLANE = (
    (0.0, 0.5, 0.0),
    (0.0, 2.0, 0.0),
    (0.0, 3.0, 0.0),
    (2.0, 0.0, 0.0),
    (0.0, 1.0, 5.0),
    (0.0, 3.0, 5.0),
)
"""Start x and y, millimetres, and field, degrees."""
EVERYWHERE = (
    *IN_ONE_PLANE,
    (0.0, 1.0, 0.0),
    (1.5, -1.0, 0.0),
    (-2.0, 2.0, 0.0),
    (1.5, -1.0, 5.0),
    (-2.0, 2.0, 5.0),
)
SYSTEMS = {
    "navarro-543": EVERYWHERE,
    "regression-eye": EVERYWHERE,
    "tilted-lens": EVERYWHERE,
    # optiland adds the two profiles of a biconic, which is the usual biconic in its own two planes only.
    "toric-cornea": IN_ONE_PLANE,
}
START_Z_MM = -1.0
WAVELENGTH_UM = 0.55
"""Of no consequence: every index is given as a number."""
SAME_MM = 1e-9
REASON = "agreement asked of two ray tracers in double precision"


def main() -> int:
    """Write or compare; 1 when a number has moved."""
    rows = list(_traced())
    if "--write" in sys.argv:
        with OUT.open("w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, COLUMNS, lineterminator="\n")
            writer.writeheader()
            writer.writerows(rows)
        print(f"{len(rows)} numbers written")
        return 0
    with OUT.open(newline="", encoding="utf-8") as file:
        kept = list(csv.DictReader(file))
    moved = [
        abs(float(new["expected"]) - float(old["expected"])) for new, old in zip(rows, kept, strict=True)
    ]
    print(
        f"{len(moved)} numbers by optiland {version('optiland')}; the largest differs by {max(moved):.1e} mm"
    )
    return int(max(moved) > SAME_MM)


def optic_of(system: str) -> Optic:
    """A row of surfaces as the other ray tracer holds it."""
    with (CHECKS / "ray_systems.csv").open(newline="", encoding="utf-8") as file:
        surfaces = [row for row in csv.DictReader(file) if row["system"] == system]
    optic = Optic()
    optic.surfaces.add(index=0, z=-math.inf)
    for number, row in enumerate(surfaces, start=1):
        optic.surfaces.add(
            index=number,
            is_stop=number == 1,
            material=IdealMaterial(float(row["index_after"])),
            x=float(row["decentre_x_mm"]),
            y=float(row["decentre_y_mm"]),
            z=float(row["vertex_mm"]),
            rx=-math.radians(float(row["tilt_y_deg"])),
            ry=math.radians(float(row["tilt_x_deg"])),
            **_shape(row),
        )
    optic.wavelengths.add(WAVELENGTH_UM, is_primary=True)
    return optic


def _shape(row: dict[str, str]) -> dict[str, object]:
    radius, conic = float(row["radius_mm"]), float(row["conic"])
    if not row["other_radius_mm"]:
        return {"radius": radius, "conic": conic}
    other = float(row["other_radius_mm"])
    along = (1.0 + conic) * 0.5 * (1.0 / radius + 1.0 / other)
    return {
        "surface_type": "biconic",
        "radius_x": radius,
        "radius_y": other,
        "conic_x": along * radius - 1.0,
        "conic_y": along * other - 1.0,
        "tol": 1e-14,
        "max_iter": 200,
    }


def _traced() -> Iterator[dict[str, str]]:
    for system, starts in SYSTEMS.items():
        optic = optic_of(system)
        for x, y, field in starts:
            yield from _rows(optic, system, x, y, field)


def _rows(optic: Optic, system: str, x: float, y: float, field_deg: float) -> list[dict[str, str]]:
    slope = math.radians(field_deg)
    one = np.ones(1)
    towards = (0.0 * one, math.sin(slope) * one, math.cos(slope) * one)
    rays = RealRays(x * one, y * one, START_Z_MM * one, *towards, one, WAVELENGTH_UM)
    end = optic.surfaces.trace(rays)
    found = {"x_mm": end.x, "y_mm": end.y, "cosine_y": end.M, "path_mm": end.opd}
    return [
        {
            "source": "optiland",
            "table": "exact rays onto the retina",
            "system": system,
            "start_x_mm": str(x),
            "start_y_mm": str(y),
            "field_deg": str(field_deg),
            "quantity": f"traced_{quantity}",
            "expected": repr(round(float(np.ravel(value)[-1]), 12)),
            "tolerance": "1e-9",
            "unit": "cosine" if quantity == "cosine_y" else "mm",
            "reason": REASON,
            "status": "independent",
            "provenance": f"computed with optiland {version('optiland')}",
        }
        for quantity, value in found.items()
    ]


if __name__ == "__main__":
    sys.exit(main())
