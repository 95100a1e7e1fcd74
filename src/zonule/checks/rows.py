"""The store of outside values, read strictly: a row that does not say what it stands on is an error."""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from importlib import resources
from importlib.resources.abc import Traversable

from zonule.errors import ConfigurationError

REQUIRED = (
    "source",
    "table",
    "quantity",
    "expected",
    "tolerance",
    "unit",
    "reason",
    "status",
    "provenance",
)


class Status(StrEnum):
    """What an expected value is worth."""

    PUBLISHED = "published"
    """A number, or an equation with its coefficients, that was read in a paper, a register or a standard."""
    INDEPENDENT = "independent"
    """Computed by an independent library or by independent algebra."""
    FROM_MEMORY = "from memory"
    """Computed from equations or numbers that were written from memory."""


@dataclass(frozen=True, slots=True)
class Row:
    """One value from outside, and what to ask of our code to compare with it."""

    file: str
    line: int
    source: str
    """Key of docs/sources.md."""
    table: str
    """Where it stands in the source, or what kind of comparison this is."""
    quantity: str
    """Which question to ask: a key of `zonule.checks.questions.QUESTIONS`."""
    inputs: Mapping[str, str]
    """What the question needs, as written."""
    expected: float
    expected_text: str
    tolerance: float
    tolerance_text: str
    unit: str
    reason: str
    """Why the tolerance is what it is."""
    status: Status
    provenance: str

    @property
    def where(self) -> str:
        """The place of this row in the store."""
        return f"{self.file}, line {self.line}"

    def number(self, name: str) -> float:
        """An input; one that is not there is an error, never a default."""
        text = self.inputs.get(name)
        if text is None:
            raise ConfigurationError(f"{self.where}: {self.quantity} needs {name}.")
        return _number(text, name, self.where)

    def number_or_nan(self, name: str) -> float:
        """An input that the eye may lack."""
        return self.number(name) if name in self.inputs else math.nan


@cache
def all_rows() -> tuple[Row, ...]:
    """Every row of every file of the store, in order of file name and line."""
    folder = resources.files(__package__) / "values"
    files = sorted(
        (file for file in folder.iterdir() if file.name.endswith(".csv")), key=lambda one: one.name
    )
    return tuple(row for file in files for row in rows_of(file))


def rows_of(file: Traversable) -> Iterator[Row]:
    """The rows of one file; `ConfigurationError` where one is incomplete."""
    reader = csv.DictReader(file.read_text(encoding="utf-8").splitlines(), strict=True)
    absent = [name for name in REQUIRED if name not in (reader.fieldnames or ())]
    if absent:
        raise ConfigurationError(f"{file.name}: no column {', '.join(absent)}.")
    for line, cells in enumerate(reader, start=2):
        yield _row(file.name, line, cells)


def _row(file: str, line: int, cells: Mapping[str | None, str | None]) -> Row:
    where = f"{file}, line {line}"
    missing = [name for name in REQUIRED if not cells.get(name)]
    if missing or None in cells or None in cells.values():
        raise ConfigurationError(f"{where}: {', '.join(missing) or 'a cell'} is missing or too many.")
    said = {name: text for name, text in cells.items() if name and text}
    tolerance = _number(said["tolerance"], "tolerance", where)
    if tolerance <= 0.0:
        raise ConfigurationError(f"{where}: a tolerance is above 0.")
    if said["status"] not in set(Status):
        raise ConfigurationError(f"{where}: status is one of {', '.join(Status)}.")
    return Row(
        file=file,
        line=line,
        source=said["source"],
        table=said["table"],
        quantity=said["quantity"],
        inputs={name: text for name, text in said.items() if name not in REQUIRED},
        expected=_number(said["expected"], "expected", where),
        expected_text=said["expected"],
        tolerance=tolerance,
        tolerance_text=said["tolerance"],
        unit=said["unit"],
        reason=said["reason"],
        status=Status(said["status"]),
        provenance=said["provenance"],
    )


def _number(text: str, name: str, where: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise ConfigurationError(f"{where}: {name} is no number: {text}.")
    return value
