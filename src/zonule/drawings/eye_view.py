"""Where things lie in the picture of an eye from in front, and how sure ones and planned ones are drawn."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, radians, sin

from zonule.case.plan import Seat
from zonule.drawings.ink import Ink
from zonule.drawings.seats import turn_deg
from zonule.drawings.seen_eye import SeenEye, State

DASHES = {
    State.MEASURED: (),
    State.DONE: (),
    State.PLANNED: (0.36, 0.2),
    State.NOT_MEASURED: (0.02, 0.3),
}
_LEAST_HALF_WIDTH_MM = 10.0
_ROOM_AROUND_LIMBUS_MM = 4.1


@dataclass(frozen=True, slots=True)
class View:
    """An eye, the way it is turned, and the colours it is drawn in."""

    eye: SeenEye
    seat: Seat | None
    ink: Ink

    @property
    def limbus_mm(self) -> float:
        """Radius of the limbus."""
        return self.eye.limbus.diameter_mm / 2

    @property
    def pupil_mm(self) -> float:
        """Radius of the dark ground that the pupil makes; 0 without a measured one."""
        return 0.0 if self.eye.pupil is None else self.eye.pupil.diameter_mm / 2

    @property
    def half_width_mm(self) -> float:
        """Half the width of the picture: the same for all but very large eyes, so that eyes compare."""
        return max(_LEAST_HALF_WIDTH_MM, self.limbus_mm + _ROOM_AROUND_LIMBUS_MM)

    @property
    def turn_deg(self) -> int:
        """How far the picture is turned to the seat."""
        return turn_deg(self.seat, self.eye.side)

    def shown_deg(self, direction_deg: float) -> float:
        """A direction as it lies in the picture, counter-clockwise from the right."""
        return (direction_deg + self.turn_deg) % 360

    def point(self, radius_mm: float, direction_deg: float) -> tuple[float, float]:
        """Where a direction and a radius lie in the picture; rows run down."""
        angle = radians(self.shown_deg(direction_deg))
        return radius_mm * cos(angle), -radius_mm * sin(angle)
