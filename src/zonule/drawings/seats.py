"""How an eye lies before the surgeon: the turn of the picture for each seat, and its name."""

from __future__ import annotations

from zonule.case.patient import Side
from zonule.case.plan import Seat

_TURNS_DEG = {
    Seat.SUPERIOR: {Side.RIGHT: 180, Side.LEFT: 180},
    Seat.TEMPORAL: {Side.RIGHT: 90, Side.LEFT: 270},
}
SEEN = {
    None: "seen facing the patient",
    Seat.SUPERIOR: "seen from the head",
    Seat.TEMPORAL: "seen from the temple",
}


def turn_deg(seat: Seat | None, side: Side) -> int:
    """By how much the picture is turned counter-clockwise; the surgeon sits at its lower edge.

    Examples
    --------
    >>> turn_deg(None, Side.LEFT), turn_deg(Seat.TEMPORAL, Side.LEFT)
    (0, 270)
    """
    return 0 if seat is None else _TURNS_DEG[seat][side]
