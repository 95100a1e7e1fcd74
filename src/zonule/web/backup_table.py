"""The table of lenses for a torn capsule: by place, and only those that can be opened for this eye."""

from __future__ import annotations

from dataclasses import dataclass

from zonule.case.backup import PLACES, Backup, BackupLens
from zonule.case.finding import Finding
from zonule.drawings.backup_sentences import (
    BackupRow,
    backup_row,
    own_constants_sentence,
    place_words,
)
from zonule.drawings.numbers import plain_text

_CONSTANTS_APART = "chamber-ways-differ"


@dataclass(frozen=True, slots=True)
class PlaceRows:
    """One place in the eye with the lenses for it."""

    place: str
    rows: tuple[BackupRow, ...]
    none_made: str
    """What this eye needs there, when no lens on record is made so; else empty."""


def place_rows(backup: Backup) -> list[PlaceRows]:
    """Each place for which something is known."""
    return [_place(place_words(place), found) for place in PLACES if (found := backup.at(place))]


def _place(name: str, found: tuple[BackupLens, ...]) -> PlaceRows:
    rows = tuple(_row(one) for one in found if not _is_not_made(one))
    return PlaceRows(name, rows, "" if rows else _needed(found))


def _needed(found: tuple[BackupLens, ...]) -> str:
    """What this eye needs in a place; lenses differ in it by their constants."""
    powers = [one.power_for_target_dpt for one in found]
    ends = dict.fromkeys(plain_text(one, 1) for one in (min(powers), max(powers)))
    return f"{' to '.join(ends)} D"


def _row(found: BackupLens) -> BackupRow:
    """The row, without a range where its ends are the same as they are shown."""
    row = backup_row(found)
    lowest, highest = (plain_text(one, 1) for one in found.power_range_dpt)
    return row._replace(wanted_range="") if lowest == highest else row


def _is_not_made(found: BackupLens) -> bool:
    """A lens on record that this eye cannot be given; a power without a lens is an orientation."""
    return found.model is not None and found.power_dpt is None


def not_made_sentence(backup: Backup) -> str:
    """Which lenses the table leaves out because they are not made in the power; empty when none."""
    places: dict[str, list[str]] = {}
    for one in backup.lenses:
        if one.model is not None and one.power_dpt is None:
            needed = f"{plain_text(one.power_for_target_dpt, 1)} D"
            places.setdefault(one.model, []).append(f"{place_words(one.position).lower()} {needed}")
    named = "; ".join(f"{model} ({' and '.join(where)})" for model, where in places.items())
    return f"Not made in the power needed: {named}." if named else ""


def lens_findings(backup: Backup) -> list[Finding]:
    """What is to be said of the lenses in the table, and of those that must not be in it."""
    barred = [found for one in backup.not_offered for found in one.findings[:1]]
    return [*barred, *(found for one in backup.lenses if not _is_not_made(one) for found in one.findings)]


def own_constants(backup: Backup) -> list[str]:
    """What chamber lenses would need by their own constants, where no finding says it already."""
    return [
        own_constants_sentence(one)
        for one in backup.lenses
        if one.own_constants_power_dpt is not None
        and not _is_not_made(one)
        and not any(found.code == _CONSTANTS_APART for found in one.findings)
    ]
