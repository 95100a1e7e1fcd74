"""Eye files and tables as a clinic might send them; each test changes only what it is about."""

from __future__ import annotations

import copy
import csv
import io
import json
from datetime import date
from pathlib import Path
from typing import Any

from hypothesis import settings

from zonule.case.finding import Finding

ROOT = Path(__file__).parents[2]
DATA = ROOT / "tests" / "data"
EXAMPLES = ROOT / "examples"
TODAY = date(2026, 11, 9)
UNTIMED = settings(deadline=None)
"""Tests assert no times; the machine may be busy."""

CONTRACT_EYE: dict[str, Any] = {
    "zonule": 1,
    "eye": "right",
    "patient": {"key": "demo-0042", "born_on": "1951-03-02", "sex": "female"},
    "biometry": {
        "measured_on": "2026-11-02",
        "device": "any name",
        "method": "optical",
        "length_convention": "composite",
        "axial_length_mm": 23.5,
        "flat_power_dpt": 43.0,
        "steep_power_dpt": 44.0,
        "steep_meridian_deg": 95,
        "keratometric_index": 1.3375,
        "cornea_kind": "anterior",
        "anterior_chamber_depth_mm": 3.1,
        "chamber_from": "epithelium",
        "lens_thickness_mm": 4.5,
        "corneal_thickness_um": 540,
        "white_to_white_mm": 11.9,
        "lens_status": "cataract",
        "vitreous": "natural",
        "repeats": {"axial_length_mm": [23.49, 23.50, 23.51]},
    },
    "history": {
        "corneal_surgery": "none",
        "glasses": {"sphere_dpt": 0.5, "cylinder_dpt": -0.5, "axis_deg": 90, "vertex_mm": 12},
    },
    "target_refraction_dpt": 0.0,
    "lens": {
        "model": "any name",
        "a_constant": 118.4,
        "powers_dpt": {"from": 6.0, "to": 30.0, "step": 0.5},
    },
}
"""The example of docs/reference/eye-file.md."""

ABSENT = object()
"""Stands for a key that is left out."""

ORDINARY_ROW = {
    "patient_key": "clinic-7",
    "name": "Noor Haddad",
    "born_on": "1950-05-17",
    "sex": "female",
    "eye": "right",
    "measured_on": "2026-11-02",
    "device": "Biometer A",
    "axial_length_mm": "23.5",
    "flat_power_dpt": "43.0",
    "steep_power_dpt": "44.0",
    "steep_meridian_deg": "95",
    "keratometric_index": "1.3375",
    "glasses_sphere_dpt": "0.5",
    "glasses_cylinder_dpt": "-0.5",
    "glasses_axis_deg": "90",
    "glasses_vertex_mm": "12",
}


def eye_document(**changes: Any) -> dict[str, Any]:
    """The contract's eye; a change names a dotted path with two underscores for each dot."""
    document = copy.deepcopy(CONTRACT_EYE)
    for path, value in changes.items():
        *groups, name = path.split("__")
        place = document
        for group in groups:
            place = place.setdefault(group, {})
        if value is ABSENT:
            place.pop(name, None)
        else:
            place[name] = value
    return document


def eye_text(**changes: Any) -> str:
    """The contract's eye as text."""
    return json.dumps(eye_document(**changes))


def row(**changes: str) -> dict[str, str]:
    """An ordinary row of biometry with these cells changed."""
    return {**ORDINARY_ROW, **changes}


def table(*rows: dict[str, str], delimiter: str = ",") -> bytes:
    """Rows as a table, with the union of their headers in order."""
    headers = list(dict.fromkeys(name for one in rows for name in one))
    written = io.StringIO()
    writer = csv.DictWriter(written, headers, restval="", delimiter=delimiter, lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return written.getvalue().encode()


def places(findings: tuple[Finding, ...]) -> set[str]:
    """Where the findings stand."""
    return {finding.where for finding in findings}


def codes(findings: tuple[Finding, ...]) -> set[str]:
    """What the findings are."""
    return {finding.code for finding in findings}
