"""Who has to be seen again for the axis of a toric lens, and by when.

The days are common practice, no source: a look at the marks from the 1st to the 7th day, while nothing holds
the lens yet, and turning it from the 1st to the 3rd week, before the bag shrinks around it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from zonule.case.axis_looks import (
    AxisLook,
    Occasion,
    Slip,
    is_toric,
    likely_slip_of,
    looks_of,
    planned_meridian_deg,
    turn_between_deg,
)
from zonule.case.case import Case

LOOK_DAYS = (1, 7)
TURNING_DAYS = (7, 21)
LISTED_DAYS = 90
"""An eye operated longer ago than this is no longer chased (our choice)."""
FAR_OFF_DEG = 10.0
"""Beyond this about a third of the cylinder's effect is lost (felipe-2011)."""


class Need(StrEnum):
    """What an eye is on the list for."""

    LOOK = "look"
    """Nobody has looked at the marks since the operation."""
    TURN = "turn"
    """The marks lie far off the plan: turn the lens, or decide not to."""


class Window(StrEnum):
    """How a span of days stands today."""

    TO_COME = "to come"
    OPEN = "open"
    PAST = "past"


@dataclass(frozen=True, slots=True)
class FollowUp:
    """One eye on the list."""

    case: Case
    need: Need
    operated_on: date
    today: date
    last: AxisLook | None = None
    """The latest look at the marks, at the end of the operation or since."""
    turn_deg: float | None = None
    """How far off the plan they lay; plus is counter-clockwise."""
    slip: Slip | None = None
    """The slip of reading that this looks like."""

    @property
    def look_days(self) -> tuple[date, date]:
        """First and last day of the look at the marks."""
        return _span(self.operated_on, LOOK_DAYS)

    @property
    def turning_days(self) -> tuple[date, date]:
        """First and last day of the window in which a lens is turned."""
        return _span(self.operated_on, TURNING_DAYS)

    @property
    def look_window(self) -> Window:
        """How the days for the look stand today."""
        return _window(self.look_days, self.today)

    @property
    def turning_window(self) -> Window:
        """How the days for turning stand today."""
        return _window(self.turning_days, self.today)

    @property
    def urgency(self) -> tuple[bool, int, bool, str]:
        """What closes first comes first; what has closed comes last, the latest of it first."""
        days_left = (self.turning_days[1] - self.today).days
        past = days_left < 0
        return (past, -days_left if past else days_left, self.need is Need.LOOK, self.case.key)


def follow_up(case: Case, today: date) -> FollowUp | None:
    """What this eye has to be seen for; None for one that need not, or that has a settled refraction."""
    done = case.operation
    if done is None or not is_toric(done) or (today - done.operated_on).days > LISTED_DAYS:
        return None
    if case.review is not None and case.review.is_stable:
        return None
    looks, planned_deg = looks_of(case), planned_meridian_deg(case)
    last = looks[-1] if looks else None
    if last is not None and planned_deg is not None:
        turn_deg = turn_between_deg(planned_deg, last.lens_meridian_deg)
        if abs(turn_deg) > FAR_OFF_DEG:
            slip = likely_slip_of(last.lens_meridian_deg, planned_deg)
            return FollowUp(case, Need.TURN, done.operated_on, today, last, turn_deg, slip)
    if any(look.occasion is not Occasion.OPERATION for look in looks):
        return None
    return FollowUp(case, Need.LOOK, done.operated_on, today, last)


def _span(operated_on: date, days: tuple[int, int]) -> tuple[date, date]:
    return operated_on + timedelta(days=days[0]), operated_on + timedelta(days=days[1])


def _window(days: tuple[date, date], today: date) -> Window:
    if today < days[0]:
        return Window.TO_COME
    return Window.OPEN if today <= days[1] else Window.PAST
