"""One operated eye of an audit: what it was, what it got, and what it became."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from zonule.case.biometry import Keratometry, Meridian
from zonule.case.eye import CornealSurgery
from zonule.case.measured import Measured
from zonule.case.operation import Complication, Fixation
from zonule.case.patient import Side
from zonule.case.refraction import Refraction


@dataclass(frozen=True, slots=True)
class OutcomeRow:
    """One row of an outcome table, in its own columns; what was not written is absent."""

    patient_key: str
    eye: Side
    surgeon: str = ""
    operated_on: date | None = None
    axial_length_mm: float | None = None
    flat_power_dpt: float | None = None
    steep_power_dpt: float | None = None
    steep_meridian_deg: float | None = None
    keratometric_index: float | None = None
    anterior_chamber_depth_mm: float | None = None
    biometer: str = ""
    corneal_surgery: CornealSurgery = CornealSurgery.UNKNOWN
    lens_model: str = ""
    a_constant: float | None = None
    lens_power_dpt: float | None = None
    fixation: Fixation | None = None
    complication: Complication | None = None
    refracted_on: date | None = None
    refraction: Refraction | None = None
    """Sphere, cylinder, axis, vertex and lane of the row travel together."""
    acuity_logmar: float | None = None
    row: int = 0
    """Where it stood in its file, as a spreadsheet shows it."""

    @property
    def mean_k_dpt(self) -> float | None:
        """Mean of the two dioptres on the 1.3375 scale (docs/explanation/conventions.md)."""
        if not self.flat_power_dpt or not self.steep_power_dpt:
            return None
        return Keratometry(
            flat=Meridian(power_dpt=Measured(self.flat_power_dpt)),
            steep=Meridian(power_dpt=Measured(self.steep_power_dpt)),
            keratometric_index=self.keratometric_index,
        ).mean_k_dpt

    @property
    def days_after(self) -> int | None:
        """Days from the operation to the refraction."""
        if self.operated_on is None or self.refracted_on is None:
            return None
        return (self.refracted_on - self.operated_on).days
