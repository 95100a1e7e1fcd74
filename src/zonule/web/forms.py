"""Typed text from forms, turned into values or into a sentence that says what to correct."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from enum import StrEnum
from typing import TypeVar

from zonule.errors import InputError

Choice = TypeVar("Choice", bound=StrEnum)

LONGEST_WHOLE_NUMBER = 18
"""Digits; more than any revision or seed has, and fewer than a database's whole numbers hold."""

_NUMBER = re.compile(r"[+-]?(\d{1,9}(\.\d{0,15})?|\.\d{1,15})", re.ASCII)
_AS_TYPED = str.maketrans({",": ".", "\u2212": "-", "\u2013": "-", "\u2010": "-", "\u2011": "-"})
"""A decimal comma, and the minus signs and dashes that keyboards and other programs write."""


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
    typed = text(form, name)
    if not typed:
        return None
    plain = typed.translate(_AS_TYPED)
    if not _NUMBER.fullmatch(plain):
        raise InputError(f"{typed[:40]!r} is not a number. Please correct {words}.")
    return float(plain)


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


def whole_number(form: Mapping[str, str], name: str, words: str) -> int:
    """A number that the page itself put into the form."""
    typed = text(form, name)
    if not (typed.isascii() and typed.isdigit() and len(typed) <= LONGEST_WHOLE_NUMBER):
        raise InputError(f"The page did not say {words} it shows. Open it again.")
    return int(typed)


def revision(form: Mapping[str, str]) -> int:
    """The revision of the case that the page was made from."""
    return whole_number(form, "revision", "which version of the case")
