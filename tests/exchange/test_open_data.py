"""Eyes of real people, with the errors that life left in: each one is named, and all others come in."""

from __future__ import annotations

import csv
import subprocess
import sys

import pytest

from exchange.documents import DATA, ROOT, TODAY
from zonule.case.finding import Severity
from zonule.case.intake import IncomingEye, Intake
from zonule.exchange.biometry_file import read_biometry

TOOL = ROOT / "tools" / "open_data_to_biometry_csv.py"
CODES = {"88", "88.0", "666", "666.0", "888", "888.0"}


def converted(source: str) -> bytes:
    rows = DATA / "open" / f"{source}_rows.csv"
    run = subprocess.run([sys.executable, str(TOOL), source, str(rows)], capture_output=True, check=True)  # noqa: S603 - our own tool
    return run.stdout


def imported(source: str) -> tuple[dict[int, dict[str, str]], Intake]:
    """Rows by the number a spreadsheet shows, and what became of them."""
    data = converted(source)
    rows = dict(enumerate(csv.DictReader(data.decode().splitlines()), start=2))
    return rows, read_biometry(data, file=f"{source}.csv", today=TODAY)


def refused_rows(intake: Intake) -> set[int]:
    blocking = (finding for finding in intake.findings if finding.severity is Severity.BLOCKING)
    return {int(finding.where.split(", row ")[1].split(",")[0]) for finding in blocking}


def by_row(intake: Intake) -> dict[int, IncomingEye]:
    return {int(incoming.where.removeprefix("row ")): incoming for incoming in intake.eyes}


def skew(row: dict[str, str]) -> bool:
    """Whether flat and steep meridian are not at right angles, on a cornea that is no sphere."""
    flat, steep = row["flat_meridian_deg"], row["steep_meridian_deg"]
    if not flat or not steep or row["flat_radius_mm"] == row["steep_radius_mm"]:
        return False
    return abs((float(steep) - float(flat)) % 180 - 90) > 2


def glasses_are_torn(row: dict[str, str]) -> bool:
    sphere, cylinder = row["glasses_sphere_dpt"], row["glasses_cylinder_dpt"]
    return (not sphere and bool(cylinder)) or abs(float(cylinder or 0)) > 15


@pytest.mark.parametrize("source", ["nhanes", "papila"])
def test_every_awkward_row_is_named_and_all_others_come_in(source: str) -> None:
    rows, intake = imported(source)
    awkward = {number for number, row in rows.items() if skew(row) or glasses_are_torn(row)}
    assert awkward
    assert refused_rows(intake) == awkward
    assert set(by_row(intake)) == set(rows) - awkward


def test_a_cylinder_of_75_dioptres_is_refused_by_its_row_and_cell() -> None:
    rows, intake = imported("papila")
    (number,) = [number for number, row in rows.items() if row["glasses_cylinder_dpt"] == "-75.0"]
    (finding,) = [
        one for one in intake.findings if one.where == f"papila.csv, row {number}, glasses_cylinder_dpt"
    ]
    assert finding.severity is Severity.BLOCKING
    assert "-75" in finding.sentence


def test_a_code_for_not_obtained_never_becomes_a_number() -> None:
    with (DATA / "open" / "nhanes_rows.csv").open(encoding="utf-8") as file:
        raw = {cell for row in csv.DictReader(file) for name, cell in row.items() if name.startswith("VIX")}
    assert raw & CODES
    rows, _ = imported("nhanes")
    axes = {"flat_meridian_deg", "steep_meridian_deg", "glasses_axis_deg"}
    cells = {cell for row in rows.values() for name, cell in row.items() if name not in axes}
    assert not cells & CODES
    assert "88" in {row[name] for row in rows.values() for name in axes}
    assert "888" not in {row[name] for row in rows.values() for name in axes}


def test_an_axis_of_0_comes_in_as_180() -> None:
    rows, intake = imported("nhanes")
    eyes = by_row(intake)
    zero = [number for number, row in rows.items() if row["steep_meridian_deg"] == "0" and number in eyes]
    assert zero
    for number in zero:
        assert eyes[number].eye.biometry.keratometry.steep_meridian_deg == 180.0


def test_spherical_corneas_come_in() -> None:
    rows, intake = imported("nhanes")
    spheres = [number for number, row in rows.items() if row["flat_radius_mm"] == row["steep_radius_mm"]]
    assert spheres
    assert set(spheres) <= set(by_row(intake))


def test_a_person_with_one_eye_measured_comes_in_with_that_eye() -> None:
    rows, intake = imported("nhanes")
    keys = [row["patient_key"] for row in rows.values()]
    single = {key for key in keys if keys.count(key) == 1}
    assert single
    assert single <= {incoming.patient.key for incoming in intake.eyes}


def test_plus_cylinders_stay_as_they_were_written() -> None:
    rows, intake = imported("nhanes")
    glasses = {number: incoming.eye.history.glasses for number, incoming in by_row(intake).items()}
    written = {number: glass.cylinder_dpt for number, glass in glasses.items() if glass is not None}
    assert written
    assert min(written.values()) >= 0.0
    assert all(written[number] == float(rows[number]["glasses_cylinder_dpt"]) for number in written)


def test_an_eye_without_a_length_comes_in_without_one() -> None:
    rows, intake = imported("papila")
    missing = [number for number, row in rows.items() if not row["axial_length_mm"]]
    assert missing
    for number in missing:
        assert by_row(intake)[number].eye.biometry.axial_length_mm is None


def test_powers_given_with_their_radius_stay_as_the_device_rounded_them() -> None:
    rows, intake = imported("nhanes")
    for number, incoming in by_row(intake).items():
        cornea = incoming.eye.biometry.keratometry
        assert cornea.radii_mm is not None
        assert cornea.flat.power_dpt is not None
        assert cornea.flat.power_dpt.value == float(rows[number]["flat_power_dpt"])
        assert cornea.radii_mm[0] == float(rows[number]["flat_radius_mm"])
