"""A measurement, one type from file to screen."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class Measured:
    """A value with its spread and where it came from; the unit is in the name of the field that holds it."""

    value: float
    sd: float | None = None
    """Standard deviation of repeats, in the unit of the value; absent when nobody repeated it."""
    n: int = 1
    """How many readings the value stands for."""
    device: str = ""
    on: date | None = None
    source: str = ""
    """Where the number was read: a file and row, a DICOM tag, or who typed it."""
