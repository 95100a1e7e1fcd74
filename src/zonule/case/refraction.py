"""Glasses and refractions: sphere, cylinder and axis travel together."""

from __future__ import annotations

from dataclasses import dataclass

from zonule.errors import InconsistentRecordError, OutOfRangeError
from zonule.science.optics.vergence import (
    refraction_at_cornea_dpt,
    refraction_at_spectacles_dpt,
    refraction_in_reported_lane_dpt,
)
from zonule.science.units import SPECTACLE_VERTEX_MM

MAX_SPHERE_DPT = 20.0
MAX_CYLINDER_DPT = 10.0
"""Limits of what an operated eye may need."""
GLASSES_SPHERES_DPT = (-40.0, 30.0)
MAX_GLASSES_CYLINDER_DPT = 15.0
"""Limits of glasses worn before any operation; -75 was written for -0.75 (common practice, no source)."""
MAX_VERTEX_MM = 20.0
LANES_M = (1.0, 10.0)
HALF_TURN_DEG = 180.0


@dataclass(frozen=True, slots=True)
class Refraction:
    """A sphero-cylinder as written, in either sign of cylinder."""

    sphere_dpt: float
    cylinder_dpt: float = 0.0
    axis_deg: float | None = None
    """Above 0, up to 180; absent only without cylinder."""
    vertex_mm: float = SPECTACLE_VERTEX_MM
    lane_m: float | None = None
    """Length of the lane; absent when nobody wrote it down."""

    def __post_init__(self) -> None:
        if self.cylinder_dpt and self.axis_deg is None:
            raise InconsistentRecordError(
                "This refraction has a cylinder but no axis. Enter the axis, or a cylinder of 0."
            )
        if self.axis_deg == 0:
            object.__setattr__(self, "axis_deg", 180.0)

    @property
    def reported_equivalent_dpt(self) -> float:
        """Spherical equivalent at 12 mm, in a 6 m lane where another lane is known.

        The exact vertex transfer is made meridian by meridian, then averaged.
        """
        meridians = (self.sphere_dpt, self.sphere_dpt + self.cylinder_dpt)
        moved = [
            float(refraction_at_spectacles_dpt(refraction_at_cornea_dpt(power, self.vertex_mm)))
            for power in meridians
        ]
        equivalent = sum(moved) / 2.0
        if self.lane_m is None:
            return equivalent
        return float(refraction_in_reported_lane_dpt(equivalent, self.lane_m))


def refuse_impossible_refraction(refraction: Refraction) -> None:
    """Raise `OutOfRangeError` for numbers that no eye needs: a slip of sign, decimal point or field."""
    if not (
        abs(refraction.sphere_dpt) <= MAX_SPHERE_DPT and abs(refraction.cylinder_dpt) <= MAX_CYLINDER_DPT
    ):
        raise OutOfRangeError(
            f"A sphere beyond {MAX_SPHERE_DPT:g} D or a cylinder beyond {MAX_CYLINDER_DPT:g} D cannot be. "
            "Check signs and decimal points."
        )
    _refuse_impossible_place(refraction)


def refuse_impossible_glasses(glasses: Refraction) -> None:
    """The same for glasses worn before any operation, which may be stronger."""
    lowest_dpt, highest_dpt = GLASSES_SPHERES_DPT
    if not (
        lowest_dpt <= glasses.sphere_dpt <= highest_dpt
        and abs(glasses.cylinder_dpt) <= MAX_GLASSES_CYLINDER_DPT
    ):
        raise OutOfRangeError(
            f"Glasses have a sphere of {lowest_dpt:g} to {highest_dpt:g} D and a cylinder of up to "
            f"{MAX_GLASSES_CYLINDER_DPT:g} D. Check signs and decimal points."
        )
    _refuse_impossible_place(glasses)


def _refuse_impossible_place(refraction: Refraction) -> None:
    if refraction.axis_deg is not None and not 0 < refraction.axis_deg <= HALF_TURN_DEG:
        raise OutOfRangeError("An axis lies above 0 and up to 180 degrees.")
    if not 0 <= refraction.vertex_mm <= MAX_VERTEX_MM:
        raise OutOfRangeError(f"A vertex distance lies between 0 (at the cornea) and {MAX_VERTEX_MM:g} mm.")
    if refraction.lane_m is not None and not LANES_M[0] <= refraction.lane_m <= LANES_M[1]:
        raise OutOfRangeError(
            f"A refraction lane is {LANES_M[0]:g} to {LANES_M[1]:g} m long. Check the unit."
        )
