"""The catalogue: which lenses the clinic can order, with the constants its plans are computed from."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from zonule.case.canonical import canonical_text
from zonule.case.finding import Finding, warning
from zonule.case.lens import LensModel
from zonule.case.lens_checks import refuse_impossible_lens
from zonule.workflow.ports import Record

_AUTHORITY = "zonule-contracts"


@dataclass(frozen=True, slots=True)
class CatalogueReport:
    """What bringing in a catalogue did, by the names of its lenses."""

    added: tuple[str, ...]
    changed: tuple[str, ...]
    unchanged: tuple[str, ...]
    findings: tuple[Finding, ...]
    """What was changed in each lens that was on record, and which new names look like old ones."""


def save_lens(record: Record, lens: LensModel, *, who: str, now: datetime) -> None:
    """Add a lens, or change the one of its name; plans signed before keep the constants they had."""
    refuse_impossible_lens(lens)
    before = record.lens(lens.name)
    detail = canonical_text({"before": before, "after": lens})
    verb = "add lens" if before is None else "change lens"
    with record.act(who=who, verb=verb, subject=lens.name, at=now, detail=detail) as act:
        act.put_lens(lens)


def take_in_lenses(
    record: Record, lenses: Sequence[LensModel], *, file: str, who: str, now: datetime
) -> CatalogueReport:
    """Put the lenses of a file into the record, all in one act; each one that it changes is named."""
    for lens in lenses:
        refuse_impossible_lens(lens)
    before = {lens.name: lens for lens in record.lenses()}
    added = [lens for lens in lenses if lens.name not in before]
    changed = [lens for lens in lenses if lens.name in before and before[lens.name] != lens]
    if added or changed:
        kept = {lens.name: before[lens.name] for lens in changed}
        detail = canonical_text({"before": kept, "after": {lens.name: lens for lens in (*added, *changed)}})
        with record.act(who=who, verb="import lenses", subject=file, at=now, detail=detail) as act:
            for lens in (*added, *changed):
                act.put_lens(lens)
    findings = [_changed(before[lens.name], lens) for lens in changed]
    touched = {lens.name for lens in (*added, *changed)}
    return CatalogueReport(
        tuple(lens.name for lens in added),
        tuple(lens.name for lens in changed),
        tuple(lens.name for lens in lenses if lens.name not in touched),
        (*findings, *_look_alikes(added, before)),
    )


def _changed(before: LensModel, after: LensModel) -> Finding:
    was, now_is = dict(_entries(before)), dict(_entries(after))
    differing = sorted(name for name in was | now_is if was.get(name) != now_is.get(name))
    parts = [f"{name} was {_words(was.get(name))}, is {_words(now_is.get(name))}" for name in differing]
    retired = before.constants != after.constants
    lessons = " Lessons learned on the old constants are no longer used." if retired else ""
    return warning("lens-changed", f"{after.name}: {'; '.join(parts)}.{lessons}", after.name, _AUTHORITY)


def _entries(lens: LensModel) -> Iterator[tuple[str, Any]]:
    """What is on record of a lens, one entry for each field, fields of groups told by both names."""
    for name, value in json.loads(canonical_text(lens)).items():
        if isinstance(value, dict):
            yield from ((f"{name} {inner}", one) for inner, one in value.items())
        else:
            yield name, value


def _words(value: Any) -> str:
    if isinstance(value, list):
        return ", ".join(_words(one) for one in value)
    if isinstance(value, dict):
        return ", ".join(f"{name} {_words(one)}" for name, one in value.items())
    return "not recorded" if value is None else str(value)


def _look_alikes(added: Iterable[LensModel], before: Iterable[str]) -> Iterator[Finding]:
    """New names that differ from a recorded one in capitals or spaces only."""
    known = {_plain(name): name for name in before}
    for lens in added:
        other = known.get(_plain(lens.name))
        if other is not None:
            sentence = f"{lens.name!r} was added beside {other!r}. If they are one lens, keep one name."
            yield warning("lens-name-alike", sentence, lens.name, _AUTHORITY)


def _plain(name: str) -> str:
    return "".join(name.casefold().split())
