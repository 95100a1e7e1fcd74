"""Records as documents and back, exactly."""

from __future__ import annotations

import json
from functools import cache
from typing import Any, TypeVar

from pydantic import TypeAdapter, ValidationError

from zonule.errors import InputError, StorageError

_R = TypeVar("_R")


def as_document(record: object) -> str:
    """The JSON text of a record; a number that is not finite is refused, for JSON would lose it."""
    return _text(type(record), type(record), record)


def many_as_document(kind: type[_R], records: tuple[_R, ...]) -> str:
    """The same for several records of one kind, as one document."""
    return _text(kind, tuple[kind, ...], records)  # type: ignore[valid-type]


def _text(named: type[Any], kind: Any, record: object) -> str:
    plain = _adapter(kind).dump_python(record, mode="json")
    try:
        return json.dumps(plain, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    except ValueError as error:
        raise InputError(
            f"{named.__name__}: one of its numbers is infinite or not a number, "
            "so it cannot be kept. Leave out what was not measured."
        ) from error


def from_document(kind: type[_R], document: str) -> _R:
    """The record that a document was made from."""
    read: _R = _read(kind, kind, document)
    return read


def from_document_if_any(kind: type[_R], document: str | None) -> _R | None:
    """The same, where there may be nothing."""
    return None if document is None else from_document(kind, document)


def many_from_document(kind: type[_R], document: str | None) -> tuple[_R, ...]:
    """The records that a tuple's document was made from; none where there is no document."""
    if document is None:
        return ()
    read: tuple[_R, ...] = _read(kind, tuple[kind, ...], document)  # type: ignore[valid-type]
    return read


def _read(named: type[Any], kind: Any, document: str) -> Any:
    try:
        return _adapter(kind).validate_json(document)
    except (ValidationError, InputError) as error:
        raise StorageError(
            f"The record holds a {named.__name__} that cannot be read; it was changed by another program. "
            "Restore the latest copy of the file."
        ) from error


def _adapter(kind: Any) -> TypeAdapter[Any]:
    return _built(kind)


@cache
def _built(kind: type[Any]) -> TypeAdapter[Any]:
    return TypeAdapter(kind)
