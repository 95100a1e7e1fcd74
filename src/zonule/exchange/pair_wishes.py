"""What was asked of the patient about both eyes, in an eye file: `pair` (docs/reference/eye-file.md)."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field

from zonule.case.pair import (
    AIM_RANGE_DPT,
    STARTING_TARGETS,
    TOLERATED_RANGE_DPT,
    Distance,
    Importance,
    PairWishes,
    Strategy,
    Targets,
    Task,
    Tried,
)
from zonule.case.patient import Side
from zonule.exchange.form_base import Form, Number, Text, Word

_Aim = Annotated[Number, Field(ge=AIM_RANGE_DPT[0], le=AIM_RANGE_DPT[1])]


class TaskForm(Form):
    """One of `pair.tasks`."""

    distance: Annotated[Distance, Field(strict=False)]
    importance: Annotated[Importance, Field(strict=False)]
    words: Text | None = None


class TargetsForm(Form):
    """The aims of one strategy."""

    dominant_dpt: _Aim
    other_dpt: _Aim


class StrategiesForm(Form):
    """`pair.targets`: aims that take the place of the starting ones."""

    distance: TargetsForm | None = None
    blended: TargetsForm | None = None
    near: TargetsForm | None = None


class PairWishesForm(Form):
    """`pair`."""

    dominant_eye: Side | None = Word
    tasks: Annotated[list[TaskForm], Field(max_length=20)] | None = None
    tolerated_anisometropia_dpt: (
        Annotated[Number, Field(ge=TOLERATED_RANGE_DPT[0], le=TOLERATED_RANGE_DPT[1])] | None
    ) = None
    tried_blended: Tried | None = Word
    targets: StrategiesForm | None = None


def pair_wishes_record(form: PairWishesForm) -> PairWishes:
    """What was asked, as the file states it; what it leaves out was not asked."""
    changed = form.targets or StrategiesForm()
    return PairWishes(
        dominant_eye=form.dominant_eye,
        tasks=tuple(Task(one.distance, one.importance, one.words or "") for one in form.tasks or ()),
        tolerated_anisometropia_dpt=form.tolerated_anisometropia_dpt,
        tried_blended=form.tried_blended or Tried.UNKNOWN,
        targets=tuple(_targets(one, getattr(changed, one.strategy)) for one in STARTING_TARGETS),
    )


def _targets(starting: Targets, form: TargetsForm | None) -> Targets:
    if form is None:
        return starting
    return Targets(Strategy(starting.strategy), form.dominant_dpt, form.other_dpt)


def pair_wishes_as_dict(wishes: PairWishes) -> dict[str, Any]:
    """The same keys from a record; what was not asked is left out. Reading them gives it back."""
    written: dict[str, Any] = {
        "tasks": [
            {"distance": one.distance.value, "importance": one.importance.value, "words": one.words}
            if one.words
            else {"distance": one.distance.value, "importance": one.importance.value}
            for one in wishes.tasks
        ],
        "tried_blended": wishes.tried_blended.value,
        "targets": {
            one.strategy.value: {"dominant_dpt": one.dominant_dpt, "other_dpt": one.other_dpt}
            for one in wishes.targets
        },
    }
    if wishes.dominant_eye is not None:
        written["dominant_eye"] = wishes.dominant_eye.value
    if wishes.tolerated_anisometropia_dpt is not None:
        written["tolerated_anisometropia_dpt"] = wishes.tolerated_anisometropia_dpt
    return written
