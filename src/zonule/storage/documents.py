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
    plain = _adapter(type(record)).dump_python(record, mode="json")
    try:
        return json.dumps(plain, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    except ValueError as error:
        raise InputError(
            f"{type(record).__name__}: one of its numbers is infinite or not a number, "
            "so it cannot be kept. Leave out what was not measured."
        ) from error


def from_document(kind: type[_R], document: str) -> _R:
    """The record that a document was made from."""
    try:
        read: _R = _adapter(kind).validate_json(document)
    except (ValidationError, InputError) as error:
        raise StorageError(
            f"The record holds a {kind.__name__} that cannot be read; it was changed by another program. "
            "Restore the latest copy of the file."
        ) from error
    return read


def from_document_if_any(kind: type[_R], document: str | None) -> _R | None:
    """The same, where there may be nothing."""
    return None if document is None else from_document(kind, document)


def _adapter(kind: Any) -> TypeAdapter[Any]:
    return _built(kind)


@cache
def _built(kind: type[Any]) -> TypeAdapter[Any]:
    return TypeAdapter(kind)
