"""Who the eye belongs to."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum


class Side(StrEnum):
    """Which eye; always a word, never a letter."""

    RIGHT = "right"
    LEFT = "left"

    @property
    def other(self) -> Side:
        """The fellow eye."""
        return Side.LEFT if self is Side.RIGHT else Side.RIGHT


class Sex(StrEnum):
    """As recorded by the clinic."""

    FEMALE = "female"
    MALE = "male"
    OTHER = "other"


@dataclass(frozen=True, slots=True)
class Patient:
    """A person, by the clinic's own key."""

    key: str
    name: str = ""
    born_on: date | None = None
    sex: Sex | None = None

    def age_years(self, today: date) -> int | None:
        """Completed years on `today`, when the date of birth is known."""
        if self.born_on is None:
            return None
        before_birthday = (today.month, today.day) < (self.born_on.month, self.born_on.day)
        return today.year - self.born_on.year - int(before_birthday)
