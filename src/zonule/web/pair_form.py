"""The part of the plan page that asks what the patient wants of both eyes."""

from __future__ import annotations

from collections.abc import Mapping

from zonule.case.pair import (
    STARTING_TARGETS,
    Distance,
    Importance,
    PairWishes,
    Strategy,
    Targets,
    Task,
    Tried,
    refuse_impossible_wishes,
)
from zonule.case.patient import Side
from zonule.drawings.numbers import typed_number
from zonule.web import forms

FIELDS = (
    "dominant_eye",
    "tolerated_anisometropia_dpt",
    "tried_blended",
    *(f"task_{distance}" for distance in Distance),
    "aim_distance",
    "aim_blended_dominant",
    "aim_blended_other",
    "aim_near",
)
"""Names of the fields, as in `both_eyes_form.html`."""


def pair_wishes(form: Mapping[str, str]) -> PairWishes | None:
    """What was asked of the patient; None when nothing was. An `InputError` says what to correct."""
    if not any(forms.text(form, name) for name in FIELDS):
        return None
    wishes = PairWishes(
        dominant_eye=forms.choice(form, "dominant_eye", Side, "the leading eye"),
        tasks=tuple(
            Task(distance, importance)
            for distance in Distance
            if (importance := forms.choice(form, f"task_{distance}", Importance, "how much it matters"))
        ),
        tolerated_anisometropia_dpt=forms.number(
            form, "tolerated_anisometropia_dpt", "the difference the patient tolerates"
        ),
        tried_blended=forms.choice(form, "tried_blended", Tried, "whether it was tried") or Tried.UNKNOWN,
        targets=tuple(_targets(form, one) for one in STARTING_TARGETS),
    )
    refuse_impossible_wishes(wishes)
    return wishes


def _targets(form: Mapping[str, str], starting: Targets) -> Targets:
    """The aims of one strategy; where a field is empty the talk begins where it always does."""
    dominant, other = (forms.number(form, name, "the aim") for name in _aim_fields(starting.strategy))
    return Targets(
        starting.strategy,
        starting.dominant_dpt if dominant is None else dominant,
        starting.other_dpt if other is None else other,
    )


def _aim_fields(strategy: Strategy) -> tuple[str, str]:
    """The fields of the leading and the other eye: one and the same where both eyes are aimed alike."""
    if strategy is Strategy.BLENDED:
        return "aim_blended_dominant", "aim_blended_other"
    return f"aim_{strategy}", f"aim_{strategy}"


def pair_fields(wishes: PairWishes | None) -> dict[str, str]:
    """The same as the form shows it; aims that were not changed stay empty."""
    values = dict.fromkeys(FIELDS, "")
    if wishes is None:
        return values
    values |= {
        "dominant_eye": wishes.dominant_eye or "",
        "tolerated_anisometropia_dpt": typed_number(wishes.tolerated_anisometropia_dpt),
        "tried_blended": "" if wishes.tried_blended is Tried.UNKNOWN else wishes.tried_blended,
    }
    values |= {f"task_{task.distance}": task.importance for task in wishes.tasks}
    for one, starting in zip(wishes.targets, STARTING_TARGETS, strict=True):
        if one != starting:
            dominant, other = _aim_fields(one.strategy)
            values[dominant] = typed_number(one.dominant_dpt)
            values[other] = typed_number(one.other_dpt)
    return values
