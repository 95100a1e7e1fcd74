"""What was done in theatre."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum


class Fixation(StrEnum):
    """Where the lens sits."""

    BAG = "bag"
    SULCUS = "sulcus"
    SULCUS_CAPTURED = "sulcus_captured"
    ANTERIOR_CHAMBER = "anterior_chamber"
    NO_LENS = "no_lens"


class Complication(StrEnum):
    """What went wrong, if anything."""

    NONE = "none"
    CAPSULE_TEAR = "capsule_tear"
    VITREOUS_LOSS = "vitreous_loss"
    ZONULE_LOSS = "zonule_loss"
    OTHER = "other"


@dataclass(frozen=True, slots=True)
class Operation:
    """One operation on one eye, told by the plan it carried out."""

    plan_digest: str
    operated_on: date
    surgeon: str
    lens_model: str | None
    lens_power_dpt: float | None
    fixation: Fixation
    complication: Complication
    lens_serial: str = ""
    capsulorhexis_mm: float | None = None
    pupil_smallest_mm: float | None = None
    incision_meridian_deg: float | None = None
    incision_width_mm: float | None = None
    lens_cylinder_dpt: float | None = None
    """Of the lens that went in, as labelled; 0 or absent for one without."""
    lens_meridian_deg: float | None = None
    """Where its marks lay at the end of the operation."""
    notes: str = ""
    changed_from_plan: str = ""
    """Why another lens was implanted than the plan says."""
