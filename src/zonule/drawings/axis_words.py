"""Where the marks of a lens lie, in words that can be followed from the surgeon's seat.

The rule: the meridian is rounded to whole degrees. Then the line is told from upright or from level,
whichever is nearer (upright at 45 degrees), as the seat shows it; and each end from the nearest of superior,
nasal, inferior and temporal toward the next of them, which holds from every seat. Left and right are those
of the picture; up is away from the surgeon.
"""

from __future__ import annotations

from zonule.case.case import Case
from zonule.case.patient import Side
from zonule.case.plan import Seat
from zonule.drawings.numbers import axis_text, degrees_text
from zonule.drawings.seats import SEEN, turn_deg

_QUARTER_DEG, _HALF_QUARTER_DEG = 90, 45


def axis_words(meridian_deg: float, side: Side, seat: Seat | None) -> str:
    """Where the marks lie, as the seat shows them and by the parts of the eye.

    Parameters
    ----------
    meridian_deg
        Of the marks, above 0 and up to 180, counter-clockwise as the examiner faces the eye.
    side
        Which eye.
    seat
        None for one who faces the patient.

    Examples
    --------
    >>> print(axis_words(104.0, Side.RIGHT, Seat.SUPERIOR))
    Lens marks at 104°. Seen from the head the line leans 14° counter-clockwise from upright, its top to the \
left. One end lies 14° from superior toward temporal, the other 14° from inferior toward nasal.
    >>> print(axis_words(180.0, Side.LEFT, Seat.TEMPORAL))
    Lens marks at 180°. Seen from the temple the line stands upright. One end lies nasal, the other \
temporal.
    """
    whole_deg = int(axis_text(meridian_deg)[:-1])
    shown_deg = (whole_deg + turn_deg(seat, side)) % 180
    one, other = (_end(end_deg, side) for end_deg in (whole_deg, whole_deg + 180))
    where = SEEN[seat].capitalize()
    return (
        f"Lens marks at {axis_text(whole_deg)}. {where} {_line(shown_deg)}. "
        f"One end lies {one}, the other {other}."
    )


def planned_axis_words(case: Case) -> str:
    """The words for the meridian that the case means its marks for; empty without a toric lens."""
    intent = case.intent
    if not intent.lens_cylinder_dpt or intent.lens_meridian_deg is None:
        return ""
    return axis_words(intent.lens_meridian_deg, case.side, intent.seat)


def _line(shown_deg: int) -> str:
    """The line as it lies in the picture, 0 up to 180, counter-clockwise from the right."""
    from_upright = shown_deg - _QUARTER_DEG
    if abs(from_upright) <= _HALF_QUARTER_DEG:
        if from_upright == 0:
            return "the line stands upright"
        top = "left" if from_upright > 0 else "right"
        return f"the line leans {_turned(from_upright)} from upright, its top to the {top}"
    from_level = shown_deg if shown_deg < _QUARTER_DEG else shown_deg - 180
    if from_level == 0:
        return "the line lies level"
    higher = "right" if from_level > 0 else "left"
    return f"the line is turned {_turned(from_level)} from level, its {higher} end up"


def _turned(angle_deg: int) -> str:
    way = "counter-clockwise" if angle_deg > 0 else "clockwise"
    return f"{degrees_text(abs(angle_deg))} {way}"


def _end(direction_deg: int, side: Side) -> str:
    """A direction from the nearest of the four ends of the eye toward the next."""
    quarter, beyond = divmod(direction_deg, _QUARTER_DEG)
    if beyond == 0:
        return _part(quarter, side)
    if beyond <= _HALF_QUARTER_DEG:
        return f"{degrees_text(beyond)} from {_part(quarter, side)} toward {_part(quarter + 1, side)}"
    back = _QUARTER_DEG - beyond
    return f"{degrees_text(back)} from {_part(quarter + 1, side)} toward {_part(quarter, side)}"


def _part(quarter: int, side: Side) -> str:
    """What lies at 0, 90, 180 and 270 degrees; facing the patient, the nose of the right eye is at 0."""
    around = ("nasal", "superior", "temporal", "inferior")
    if side is Side.LEFT:
        around = ("temporal", "superior", "nasal", "inferior")
    return around[quarter % 4]
