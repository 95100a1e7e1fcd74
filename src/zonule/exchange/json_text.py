"""JSON as it should be: one object, each key once, nothing after it."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date
from typing import Any

from zonule.case.finding import Finding
from zonule.exchange.refusal import RefusedFileError, problem, refused, shown

_ABSENT: tuple[Any, ...] = (None, "", {}, [])


class _Keys(dict[str, Any]):
    """An object of a JSON file, with the keys that it held more than once."""

    doubled: tuple[str, ...] = ()


def read_json_object(text: str | bytes, *, file: str, limit_bytes: int) -> dict[str, Any]:
    """The one object that a JSON text holds.

    Parameters
    ----------
    text
        The file, as bytes in UTF-8 or as text.
    file
        Its name, for messages.
    limit_bytes
        Largest size accepted.

    Returns
    -------
    dict
        Keys and values; NaN and Infinity come through as floats, for the caller to refuse by name.

    Raises
    ------
    RefusedFileError
        When the text is too large, not UTF-8, not JSON, cut short, or holds a key twice.
    """
    document = _parse(_decoded(text, file, limit_bytes), file)
    if not isinstance(document, _Keys):
        raise refused(
            "not-an-object", f"The file holds {shown(document)} where an object in braces was expected.", file
        )
    doubled = list(_doubled(document, ""))
    if doubled:
        raise RefusedFileError(doubled)
    return document


def plain_value(value: Any) -> Any:
    """Plain JSON values, with everything absent left out of groups of keys.

    Examples
    --------
    >>> plain_value({"on": date(2026, 11, 2), "by": "", "of": (1.5, {"a": None})})
    {'on': '2026-11-02', 'of': [1.5, {}]}
    """
    if isinstance(value, dict):
        plain = {name: plain_value(inner) for name, inner in value.items()}
        return {name: inner for name, inner in plain.items() if inner not in _ABSENT}
    if isinstance(value, list | tuple):
        return [plain_value(inner) for inner in value]
    if isinstance(value, date):
        return value.isoformat()
    return str(value) if isinstance(value, str) else value


def _decoded(text: str | bytes, file: str, limit_bytes: int) -> str:
    if len(text) > limit_bytes:
        raise refused("file-too-large", f"The file is larger than {limit_bytes // 1_000_000} MB.", file)
    try:
        return text.encode().decode() if isinstance(text, str) else text.decode("utf-8-sig")
    except UnicodeError:
        raise refused(
            "not-utf-8", "The file is not text in UTF-8. Save it again as UTF-8 text.", file
        ) from None


def _parse(text: str, file: str) -> Any:
    try:
        return json.loads(text, object_pairs_hook=_keys)
    except json.JSONDecodeError as error:
        if error.pos >= len(text.rstrip()) or error.msg.startswith("Unterminated"):
            sentence = "The file ends before it is complete. It is half-written or empty; fetch it again."
            raise refused("file-cut-short", sentence, file) from None
        sentence = f"The file is not JSON: {error.msg} at line {error.lineno}, column {error.colno}."
        raise refused("not-json", sentence, file) from None
    except (ValueError, RecursionError):
        raise refused(
            "not-json", "The file is nested too deeply or holds a number too long to read.", file
        ) from None


def _keys(pairs: list[tuple[str, Any]]) -> _Keys:
    keys = _Keys(pairs)
    if len(keys) < len(pairs):
        names = [name for name, _ in pairs]
        keys.doubled = tuple(sorted(name for name in keys if names.count(name) > 1))
    return keys


def _doubled(value: Any, path: str) -> Iterator[Finding]:
    if isinstance(value, _Keys):
        for name in value.doubled:
            sentence = f"The key {shown(name)} stands here more than once. Keep the right one."
            yield problem("doubled-key", sentence, f"{path}{name}")
        for name, inner in value.items():
            yield from _doubled(inner, f"{path}{name}.")
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from _doubled(inner, f"{path}{index}.")
