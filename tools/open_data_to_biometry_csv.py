"""Turn rows of two open data sets into a biometry table.

Usage::

    python tools/open_data_to_biometry_csv.py nhanes ROWS.csv > biometry.csv
    python tools/open_data_to_biometry_csv.py papila ROWS.csv > biometry.csv

Codes for "not obtained" become empty cells and nothing else is corrected: an error of the source comes
out as it went in, so that whoever reads the table has to find it. tests/data/open/README.md tells where
the rows are from and what their columns mean.
"""

from __future__ import annotations

import csv
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path

NOT_OBTAINED = {"88", "666", "888"}
"""What NHANES writes where a reading could not be had, by the size of the column."""
NOT_OBTAINED_AXIS = {"888"}
"""88 is an axis like any other."""
SEXES = {"1": "male", "2": "female"}
HEADERS = (
    "patient_key",
    "sex",
    "eye",
    "method",
    "axial_length_mm",
    "flat_radius_mm",
    "flat_power_dpt",
    "flat_meridian_deg",
    "steep_radius_mm",
    "steep_power_dpt",
    "steep_meridian_deg",
    "keratometric_index",
    "corneal_thickness_um",
    "glasses_sphere_dpt",
    "glasses_cylinder_dpt",
    "glasses_axis_deg",
)
Cells = dict[str, str]


def nhanes_eyes(rows: Iterable[Cells]) -> Iterator[Cells]:
    """Both eyes of each person, with keratometry and the power of their own glasses."""
    for row in rows:
        for side, letter in (("right", "R"), ("left", "L")):
            cornea = {
                "flat_radius_mm": obtained(row[f"VIXK{letter}M1"]),
                "flat_power_dpt": obtained(row[f"VIXK{letter}D1"]),
                "flat_meridian_deg": obtained_axis(row[f"VIXK{letter}G1"]),
                "steep_radius_mm": obtained(row[f"VIXK{letter}M2"]),
                "steep_power_dpt": obtained(row[f"VIXK{letter}D2"]),
                "steep_meridian_deg": obtained_axis(row[f"VIXK{letter}G2"]),
            }
            if any(cornea.values()):
                yield {
                    "patient_key": f"nhanes-{row['SEQN']}",
                    "sex": SEXES.get(row["RIAGENDR"].removesuffix(".0"), ""),
                    "eye": side,
                    **cornea,
                    "keratometric_index": "1.3375",
                    "glasses_sphere_dpt": obtained(row[f"VIXP{letter}S"]),
                    "glasses_cylinder_dpt": obtained(row[f"VIXP{letter}C"]),
                    "glasses_axis_deg": obtained_axis(row[f"VIXP{letter}A"]),
                }


def papila_eyes(rows: Iterable[Cells]) -> Iterator[Cells]:
    """Left eyes with their length, and their refraction in the place of glasses."""
    for row in rows:
        yield {
            "patient_key": f"papila-{row['patient_id'].removeprefix('#')}",
            "eye": "left",
            "axial_length_mm": row["axial_length"],
            "corneal_thickness_um": row["pachymetry"],
            "glasses_sphere_dpt": row["sphere"],
            "glasses_cylinder_dpt": row["cylinder"],
            "glasses_axis_deg": row["axis"],
        }


def obtained(cell: str) -> str:
    """A cell, empty where it holds a code."""
    return "" if cell.removesuffix(".0") in NOT_OBTAINED else cell


def obtained_axis(cell: str) -> str:
    """An axis, empty where it holds a code."""
    return "" if cell.removesuffix(".0") in NOT_OBTAINED_AXIS else cell


SOURCES = {"nhanes": nhanes_eyes, "papila": papila_eyes}


def main(source: str, path: str) -> None:
    """Write the table to standard output."""
    with Path(path).open(encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(sys.stdout, HEADERS, restval="", lineterminator="\n")
        writer.writeheader()
        writer.writerows(SOURCES[source](csv.DictReader(file)))


if __name__ == "__main__":
    main(*sys.argv[1:])
