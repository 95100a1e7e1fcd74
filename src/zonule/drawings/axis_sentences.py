"""Where the marks of a toric lens lie, and who is to be seen for it, in sentences."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from zonule.case.axis_looks import (
    AxisLook,
    Occasion,
    looks_of,
    off_plan_words,
    planned_meridian_deg,
    turn_between_deg,
    turn_words,
)
from zonule.case.case import Case
from zonule.case.follow_up import LOOK_DAYS, TURNING_DAYS, FollowUp, Need, Window
from zonule.drawings.numbers import axis_text, day_text

_WORDS = {
    Occasion.OPERATION: "End of the operation",
    Occasion.VISIT: "Axis visit",
    Occasion.REFRACTION: "With the refraction",
}


@dataclass(frozen=True, slots=True)
class SeenMarks:
    """One look at the marks as a line of a table."""

    day: str
    occasion: str
    meridian: str
    beside_plan: str
    since_operation: str
    """How far it has turned; empty where nobody saw how it was left."""
    notes: str


def seen_marks(case: Case) -> tuple[SeenMarks, ...]:
    """Every look at the marks of a case, earliest first."""
    return tuple(_line(case, look) for look in looks_of(case))


def _line(case: Case, look: AxisLook) -> SeenMarks:
    planned_deg = planned_meridian_deg(case)
    left_deg = case.operation.lens_meridian_deg if case.operation else None
    is_later = look.occasion is not Occasion.OPERATION
    notes = (one.notes for one in case.axis_visits if one.seen_on == look.seen_on)
    return SeenMarks(
        day=day_text(look.seen_on),
        occasion=_WORDS[look.occasion],
        meridian=axis_text(look.lens_meridian_deg),
        beside_plan="no meridian was planned"
        if planned_deg is None
        else off_plan_words(turn_between_deg(planned_deg, look.lens_meridian_deg)),
        since_operation=turn_words(turn_between_deg(left_deg, look.lens_meridian_deg))
        if is_later and left_deg is not None
        else "",
        notes=next(notes, "") if look.occasion is Occasion.VISIT else "",
    )


def days_sentence(operated_on: date) -> str:
    """When to look at the marks, and when a lens is turned."""
    look, turn = LOOK_DAYS, TURNING_DAYS
    return (
        f"Look from day {look[0]} to day {look[1]} after the operation of {day_text(operated_on)}. A lens "
        f"that has to be turned is usually turned from day {turn[0]} to day {turn[1]}, before the bag has "
        "shrunk around it (common practice, no source)."
    )


def need_sentence(one: FollowUp) -> str:
    """What an eye is on the follow-up list for."""
    if one.need is Need.LOOK or one.last is None or one.turn_deg is None:
        return "Nobody has looked at the marks since the operation."
    occasion = f"{_WORDS[one.last.occasion].lower()}, {day_text(one.last.seen_on)}"
    seen = f"Marks {off_plan_words(one.turn_deg)} ({occasion})."
    if one.slip is None:
        return seen
    return f"{seen} This looks like a slip of reading: look again before anything is done."


def window_sentence(one: FollowUp) -> str:
    """By when, in days from today."""
    if one.need is Need.LOOK and one.turning_window is not Window.PAST:
        return _look_sentence(one)
    first, last = one.turning_days
    if one.turning_window is Window.TO_COME:
        return f"Window for turning opens {_in_days(first, one.today)}, closes {day_text(last)}."
    if one.turning_window is Window.OPEN:
        return f"Window for turning closes {_in_days(last, one.today)}, on {day_text(last)}."
    return f"Window for turning closed {_days_ago(last, one.today)}, on {day_text(last)}."


def _look_sentence(one: FollowUp) -> str:
    first, last = one.look_days
    if one.look_window is Window.TO_COME:
        return f"Axis visit due from {_in_days(first, one.today)} to {day_text(last)}."
    if one.look_window is Window.OPEN:
        return f"Axis visit due by {day_text(last)}, {_in_days(last, one.today)}."
    closes = one.turning_days[1]
    return (
        f"Axis visit overdue since {_days_ago(last, one.today)}. Window for turning closes "
        f"{_in_days(closes, one.today)}."
    )


def _in_days(day: date, today: date) -> str:
    left = (day - today).days
    return {0: "today", 1: "tomorrow"}.get(left, f"in {left} days")


def _days_ago(day: date, today: date) -> str:
    gone = (today - day).days
    return "yesterday" if gone == 1 else f"{gone} days ago"
