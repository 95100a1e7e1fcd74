"""The incision: where it is made, how wide, what it is told to do, and what own eyes say it does."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from zonule.case.patient import Side

_NEAR_DEG = 30.0
"""An incision this far from upright or level at most still counts as such (our choice)."""


class Place(StrEnum):
    """Where on the limbus an incision lies; effects are learned for each place apart."""

    SUPERIOR = "superior"
    TEMPORAL = "temporal"
    NASAL = "nasal"
    INFERIOR = "inferior"
    OBLIQUE = "oblique"


@dataclass(frozen=True, slots=True)
class Incision:
    """An incision as planned or made."""

    meridian_deg: float
    """Direction from the centre, 0 to 360, counter-clockwise as the examiner sees the eye."""
    width_mm: float | None = None
    flattening_dpt: float | None = None
    """What it takes off its own meridian in the surgeon's own account; goes before published and learned."""


@dataclass(frozen=True, slots=True)
class IncisionLesson:
    """What a surgeon's own eyes say of one kind of incision, shrunk toward the published effect."""

    key: str
    surgeon: str
    place: Place
    width_mm: float
    first_on: date
    last_on: date
    eyes: int
    weight: float
    """How much of the own mean is believed, 0 to 1."""
    own_flattening_dpt: float
    """The own mean before it was shrunk."""
    flattening_dpt: float
    torque_dpt: float
    """Of a right eye; a left eye turns the other way."""
    scatter_dpt2: tuple[float, float, float]
    """Variance of the flattening, its covariance with the torque, variance of the torque, between eyes."""
    centroid_sd_dpt: float
    learned_on: date

    def is_about(self, incision: Incision, side: Side) -> bool:
        """Whether it tells of such an incision; width to a tenth of a millimetre."""
        if incision.width_mm is None or round(incision.width_mm, 1) != round(self.width_mm, 1):
            return False
        return self.place is place_of(incision.meridian_deg, side)


def place_of(meridian_deg: float, side: Side) -> Place:
    """Where an incision lies; facing the patient, the nose of the right eye is at 0 degrees."""
    direction = meridian_deg % 360.0
    nose_deg = 0.0 if side is Side.RIGHT else 180.0
    ends = {
        Place.SUPERIOR: 90.0,
        Place.INFERIOR: 270.0,
        Place.NASAL: nose_deg,
        Place.TEMPORAL: 180.0 - nose_deg,
    }
    near = (place for place, end_deg in ends.items() if _apart_deg(direction, end_deg) <= _NEAR_DEG)
    return next(near, Place.OBLIQUE)


def _apart_deg(one_deg: float, other_deg: float) -> float:
    turn = abs(one_deg - other_deg) % 360.0
    return min(turn, 360.0 - turn)
