"""A look at where the marks of a toric lens lie, some time after the operation."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class AxisVisit:
    """One measurement of the lens meridian."""

    seen_on: date
    lens_meridian_deg: float
    """Above 0, up to 180, counter-clockwise as the examiner sees the eye."""
    notes: str = ""
