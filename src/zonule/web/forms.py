"""Typed text from forms, turned into values or into a sentence that says what to correct."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import date
from enum import StrEnum
from typing import TypeVar

from zonule.errors import InputError

Choice = TypeVar("Choice", bound=StrEnum)


def text(form: Mapping[str, str], name: str) -> str:
    """What was typed, without spaces around it; empty when the field is absent."""
    return form.get(name, "").strip()


def needed_text(form: Mapping[str, str], name: str, words: str) -> str:
    """The same for a field that must be filled."""
    typed = text(form, name)
    if not typed:
        raise InputError(f"Please enter {words}.")
    return typed


def number(form: Mapping[str, str], name: str, words: str) -> float | None:
    """A number with point or comma and any kind of minus; None when the field is empty."""
    typed = text(form, name).replace("\u2212", "-").replace(",", ".")
    if not typed:
        return None
    try:
        value = float(typed)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise InputError(f"{text(form, name)!r} is not a number. Please correct {words}.")
    return value


def needed_number(form: Mapping[str, str], name: str, words: str) -> float:
    """The same for a field that must be filled."""
    value = number(form, name, words)
    if value is None:
        raise InputError(f"Please enter {words}.")
    return value


def day(form: Mapping[str, str], name: str, words: str) -> date:
    """A date as the browser's date field sends it."""
    typed = needed_text(form, name, words)
    try:
        return date.fromisoformat(typed)
    except ValueError:
        raise InputError(f"{typed!r} is not a date. Please enter {words} as year-month-day.") from None


def choice(form: Mapping[str, str], name: str, kind: type[Choice], words: str) -> Choice | None:
    """One of the words of an enumeration; None when nothing was chosen."""
    typed = text(form, name)
    if not typed:
        return None
    try:
        return kind(typed)
    except ValueError:
        raise InputError(f"{typed!r} is not a choice for {words}.") from None


def needed_choice(form: Mapping[str, str], name: str, kind: type[Choice], words: str) -> Choice:
    """The same for a choice that must be made."""
    chosen = choice(form, name, kind, words)
    if chosen is None:
        raise InputError(f"Please choose {words}.")
    return chosen


def revision(form: Mapping[str, str]) -> int:
    """The revision of the case that the page was made from."""
    typed = text(form, "revision")
    if not typed.isdigit():
        raise InputError("The page did not say which version of the case it shows. Open it again.")
    return int(typed)
