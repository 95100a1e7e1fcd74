"""What to have ready if the capsule tears, in lines short enough for a page and a sheet."""

from __future__ import annotations

from typing import NamedTuple

from zonule.case.backup import PLACES, Backup, BackupLens
from zonule.case.operation import Fixation
from zonule.drawings.numbers import plain_text, power_text, refraction_text

_PLACES = {
    Fixation.SULCUS: "Sulcus",
    Fixation.SULCUS_CAPTURED: "Sulcus, optic captured",
    Fixation.ANTERIOR_CHAMBER: "Anterior chamber",
}


class BackupRow(NamedTuple):
    """One lens in one place, as a row of a table."""

    place: str
    lens: str
    power: str
    """What to ask for."""
    expected: str
    """The refraction to expect of it."""
    wanted_range: str
    """The powers that this eye could want, by where the lens comes to lie."""
    step_rule: str


def place_words(position: Fixation) -> str:
    """A place in the eye.

    Examples
    --------
    >>> place_words(Fixation.SULCUS_CAPTURED)
    'Sulcus, optic captured'
    """
    return _PLACES[position]


def backup_sentence(found: BackupLens, target_dpt: float) -> str:
    """One lens in one place, in a line.

    Examples
    --------
    >>> found = BackupLens(Fixation.SULCUS, "Meadow Three", ("srk_t",), 19.6, (18.8, 20.1), 20.5, 19.5, 0.1)
    >>> backup_sentence(found, 0.0)
    'Sulcus, three-piece Meadow Three: 19.5 D for plano, expected +0.10 D (step rule: no answer).'
    """
    row = backup_row(found)
    aim = "plano" if refraction_text(target_dpt) == refraction_text(0.0) else refraction_text(target_dpt)
    expected = f", expected {row.expected}" if row.expected else ""
    rule = f" (step rule: {row.step_rule})" if row.step_rule else ""
    return f"{row.place}, {row.lens}: {row.power} for {aim}{expected}{rule}."


def backup_row(found: BackupLens) -> BackupRow:
    """One lens in one place, as cells."""
    lowest, highest = found.power_range_dpt
    return BackupRow(
        place=place_words(found.position),
        lens=_lens(found),
        power=_power(found),
        expected="" if found.refraction_dpt is None else refraction_text(found.refraction_dpt),
        wanted_range=f"{plain_text(lowest, 1)} to {plain_text(highest, 1)} D",
        step_rule=_step_rule(found),
    )


def first_rows(backup: Backup) -> list[BackupRow]:
    """A row for each place with the first lens there; of a place without a power, that there is none."""
    return [_first_row(backup, place) for place in PLACES]


def barred_sentence(backup: Backup) -> str:
    """Why the planned lens must not lie in the sulcus; empty when it may."""
    barred = (one for one in backup.not_offered if one.model == backup.planned_model)
    return next((one.findings[0].sentence for one in barred), "")


def more_sentence(backup: Backup) -> str:
    """How many lenses `first_rows` leaves out; empty when none."""
    shown = {found[0].model for found in map(backup.at, PLACES) if found}
    left_out = len({one.model for one in backup.lenses} - shown)
    lenses = "lens" if left_out == 1 else "lenses"
    return f"{left_out} more {lenses} on the screen." if left_out else ""


def unchanged_sentence(backup: Backup) -> str:
    """What the power for the bag would leave if it went into the sulcus; empty when not known."""
    for found in backup.at(Fixation.SULCUS):
        if found.unchanged_refraction_dpt is not None:
            left = refraction_text(found.unchanged_refraction_dpt)
            if found.model is None:
                return (
                    f"The bag's power left unchanged in the sulcus would end at {left} (by the planned "
                    "lens's constants)."
                )
            return (
                f"The power that {found.model} needs in the bag, left unchanged in the sulcus, would end at "
                f"{left}."
            )
    return ""


def own_constants_sentence(found: BackupLens) -> str:
    """What the constants of a chamber lens ask for, unmoved; empty for any other."""
    if found.own_constants_power_dpt is None:
        return ""
    asked = f"{plain_text(found.own_constants_power_dpt, 1)} D"
    return f"By its own constants {found.model} would need {asked}; the power above is by the iris."


def _first_row(backup: Backup, place: Fixation) -> BackupRow:
    found = backup.at(place)
    return backup_row(found[0]) if found else BackupRow(place_words(place), "not computed", "", "", "", "")


def _lens(found: BackupLens) -> str:
    if found.model is None:
        return "no lens in the catalogue"
    return found.model if found.position is Fixation.ANTERIOR_CHAMBER else f"three-piece {found.model}"


def _step_rule(found: BackupLens) -> str:
    """What the rule says of the sulcus; it says nothing of other places."""
    if found.position is not Fixation.SULCUS:
        return ""
    return "no answer" if found.step_rule_dpt is None else power_text(found.step_rule_dpt)


def _power(found: BackupLens) -> str:
    needed = f"{plain_text(found.power_for_target_dpt, 1)} D"
    if found.model is None:
        return f"about {needed}"
    return f"{needed}, not made" if found.power_dpt is None else power_text(found.power_dpt)
