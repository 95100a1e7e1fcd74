"""What the eye got."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from zonule.case.biometry import Keratometry
from zonule.case.refraction import Refraction

STABLE_AFTER_DAYS = 28
"""Refractions earlier than this are shown, not learned from (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Review:
    """A refraction after the operation, and the errors it reveals."""

    refracted_on: date
    refraction: Refraction
    days_after: int
    error_dpt: float | None
    """Achieved minus predicted, for the power implanted; absent where nothing was predicted for it."""
    method_errors_dpt: dict[str, float]
    """The same for each method that counted, before any personal offset."""
    acuity_logmar: float | None = None
    notes: str = ""
    lens_meridian_deg: float | None = None
    """Where the marks of a toric lens lay when the eye was refracted."""
    keratometry: Keratometry | None = None
    """The cornea as it is after the operation."""

    @property
    def is_stable(self) -> bool:
        """Whether enough time has passed for it to count."""
        return self.days_after >= STABLE_AFTER_DAYS
