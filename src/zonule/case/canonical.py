"""One text for one input, so that the same eye always gives the same seed and the same hash."""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict, is_dataclass
from datetime import date
from enum import Enum
from typing import Any


def canonical_text(record: Any) -> str:
    """The canonical JSON of a record: keys in order, no spaces, dates in ISO form.

    Examples
    --------
    >>> canonical_text({"b": 1.0, "a": None})
    '{"a":null,"b":1.0}'
    """
    plain = asdict(record) if is_dataclass(record) and not isinstance(record, type) else record
    return json.dumps(
        plain,
        sort_keys=True,
        separators=(",", ":"),
        ensure_ascii=False,
        allow_nan=False,
        default=_plain,
    )


def digest(text: str) -> str:
    """The SHA-256 of a text, in hexadecimal."""
    return hashlib.sha256(text.encode()).hexdigest()


def seed_from(text: str) -> int:
    """A seed that depends on nothing but the text."""
    return int(digest(text)[:12], 16)


def _plain(value: object) -> str:
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Enum):
        return str(value.value)
    msg = f"no canonical form for {type(value).__name__}"
    raise TypeError(msg)
