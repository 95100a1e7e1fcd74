"""The part of the plan page that asks what the patient wants of both eyes."""

from __future__ import annotations

from collections.abc import Mapping

from zonule.case.pair import STARTING_TARGETS, Distance, Importance, PairWishes, Targets, Task, Tried
from zonule.case.patient import Side
from zonule.drawings.numbers import typed_number
from zonule.web import forms

FIELDS = (
    "dominant_eye",
    "tolerated_anisometropia_dpt",
    "tried_blended",
    *(f"task_{distance}" for distance in Distance),
    *(f"aim_{one.strategy}_{eye}" for one in STARTING_TARGETS for eye in ("dominant", "other")),
)
"""Names of the fields, as in `both_eyes_form.html`."""


def pair_wishes(form: Mapping[str, str]) -> PairWishes | None:
    """What was asked of the patient; None when nothing was."""
    if not any(forms.text(form, name) for name in FIELDS):
        return None
    return PairWishes(
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


def _targets(form: Mapping[str, str], starting: Targets) -> Targets:
    """The aims of one strategy; where a field is empty the talk begins where it always does."""
    aims = [forms.number(form, f"aim_{starting.strategy}_{eye}", "the aim") for eye in ("dominant", "other")]
    return Targets(
        starting.strategy,
        starting.dominant_dpt if aims[0] is None else aims[0],
        starting.other_dpt if aims[1] is None else aims[1],
    )


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
            values[f"aim_{one.strategy}_dominant"] = typed_number(one.dominant_dpt)
            values[f"aim_{one.strategy}_other"] = typed_number(one.other_dpt)
    return values
