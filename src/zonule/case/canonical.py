"""One text for one input, so that the same eye always gives the same seed and the same hash."""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Iterable
from dataclasses import fields, is_dataclass
from datetime import UTC, date, datetime
from enum import Enum
from typing import Any

from zonule.errors import OutOfRangeError

_ORIGINS = frozenset({"source", "device", "constants_from", "biometer_family"})
_ABSENT: tuple[object, ...] = (None, "", [], {})


def canonical_text(record: Any) -> str:
    """The canonical JSON of a record: keys in order, no spaces, times in UTC, what is absent left out.

    What is absent is left out so that a field which a later version adds does not change the text, and so
    the hash, of a record signed before. 23 and 23.0 are one number.

    Raises
    ------
    OutOfRangeError
        If a number is infinite or not a number.

    Examples
    --------
    >>> canonical_text({"b": 1.0, "a": None, "c": (0.5, None)})
    '{"b":1,"c":[0.5,null]}'
    """
    return json.dumps(_plain(record), sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def canonical_numbers(record: Any) -> str:
    """The canonical text without where the numbers came from: a renamed file changes no odds.

    Examples
    --------
    >>> canonical_numbers({"value": 23.5, "source": "one.csv, row 2", "device": "any"})
    '{"value":23.5}'
    """
    return canonical_text(_without_origins(_plain(record)))


def digest(text: str) -> str:
    """The SHA-256 of a text, in hexadecimal."""
    return hashlib.sha256(text.encode()).hexdigest()


def seed_from(text: str) -> int:
    """A seed that depends on nothing but the text."""
    return int(digest(text)[:12], 16)


def _plain(value: Any) -> Any:
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, float):
        return _number(value)
    if isinstance(value, date):
        return _moment(value)
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    if value is None or isinstance(value, bool | int | str):
        return value
    return _present(_items(value))


def _without_origins(plain: Any) -> Any:
    if isinstance(plain, dict):
        return {name: _without_origins(value) for name, value in plain.items() if name not in _ORIGINS}
    if isinstance(plain, list):
        return [_without_origins(value) for value in plain]
    return plain


def _items(value: Any) -> Iterable[tuple[str, Any]]:
    if isinstance(value, dict):
        return value.items()
    if is_dataclass(value) and not isinstance(value, type):
        return ((field.name, getattr(value, field.name)) for field in fields(value))
    msg = f"no canonical form for {type(value).__name__}"
    raise TypeError(msg)


def _present(items: Iterable[tuple[str, Any]]) -> dict[str, Any]:
    plain = ((name, _plain(value)) for name, value in items)
    return {name: value for name, value in plain if value not in _ABSENT}


def _number(value: float) -> float | int:
    if not math.isfinite(value):
        raise OutOfRangeError(
            "One of the numbers is infinite or not a number. Leave out what was not measured."
        )
    return int(value) if value.is_integer() else value


def _moment(value: date) -> str:
    if isinstance(value, datetime) and value.tzinfo is not None:
        return value.astimezone(UTC).isoformat()
    return value.isoformat()
