"""Reference values as rows of CSV, each with its source, tolerance and reason."""

import csv
from pathlib import Path

REQUIRED = ("source", "table", "expected", "tolerance", "unit", "reason", "provenance")


def reference_rows(name: str) -> list[dict[str, str]]:
    """The rows of `name`.csv; a row without source, tolerance or reason is an error."""
    path = Path(__file__).parent / f"{name}.csv"
    with path.open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    for number, row in enumerate(rows, start=2):
        missing = [column for column in REQUIRED if not row.get(column)]
        assert not missing, f"{path.name}, line {number}: {missing} missing"
    return rows


def row_name(row: dict[str, str]) -> str:
    """A row told in a test's name, source first."""
    inputs = [value for key, value in row.items() if key not in REQUIRED and value]
    return "-".join([row["source"], *inputs])
