"""The chain of hashes that makes a changed or missing line of the trail show."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, datetime

from zonule.case.canonical import canonical_text, digest
from zonule.errors import InputError
from zonule.workflow.ports import TrailEntry

BEFORE_THE_FIRST = ""
"""What the first entry is chained to."""


def new_entry(
    last: TrailEntry | None, *, who: str, verb: str, subject: str, at: datetime, detail: str
) -> TrailEntry:
    """The entry that follows `last`, with its hash."""
    if not who.strip():
        raise InputError("Say who does this: every change is recorded with a name.")
    number, before = (1, BEFORE_THE_FIRST) if last is None else (last.number + 1, last.digest)
    entry = TrailEntry(number, in_utc(at), who, verb, subject, detail, digest="")
    return replace(entry, digest=digest_of(entry, before))


def digest_of(entry: TrailEntry, before: str) -> str:
    """The hash of an entry that has the hash of the one before it in the place of its own."""
    return digest(canonical_text(replace(entry, digest=before)))


def broken(entries: Iterable[TrailEntry]) -> tuple[int, ...]:
    """Numbers of the entries that do not follow from the one before; `entries` come oldest first.

    Lines cut off at the end leave a chain that is whole, and so does a chain that somebody computed anew.
    """
    found: list[int] = []
    before = BEFORE_THE_FIRST
    for entry in entries:
        if entry.digest != digest_of(entry, before):
            found.append(entry.number)
        before = entry.digest
    return tuple(found)


def in_utc(at: datetime) -> datetime:
    """The same moment in UTC; a time without a zone could be any of 24."""
    if at.tzinfo is None:
        raise InputError("A time in the record needs its time zone.")
    return at.astimezone(UTC)
