"""What the planned incision will do to this cornea, and on whose word."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from zonule.case.finding import Finding, note, warning
from zonule.case.incision import Incision, IncisionLesson
from zonule.errors import NotDefinedError
from zonule.science.astigmatism.incision import (
    TEMPORAL,
    WIDTHS_MM,
    IncisionEffect,
    induced,
    published_effect,
)
from zonule.science.astigmatism.vectors import Astigmatism

if TYPE_CHECKING:
    from zonule.case.patient import Side

USUAL_WIDTH_MM = 2.2
"""Width of the published series, taken where nobody said; the plan says so."""
_SERIES = "small-incision-2021"


@dataclass(frozen=True, slots=True)
class Effect:
    """An effect with its origin."""

    effect: IncisionEffect
    origin: str
    source: str
    finding: Finding | None = None


def expected_effect(incision: Incision, lesson: IncisionLesson | None, side: Side) -> Effect:
    """The effect to plan with: the surgeon's own account, else what own eyes taught, else published."""
    published, finding = _published(incision)
    if incision.flattening_dpt is not None:
        stated = published._replace(flattening_dpt=incision.flattening_dpt)
        return Effect(stated, "stated by the surgeon; scatter published", _SERIES)
    if lesson is not None and lesson.is_about(incision, side):
        return Effect(_learned(lesson, side), f"learned from {lesson.eyes} own eyes", "zonule-ranges")
    return Effect(published, "published, incisions of 2.2 mm", _SERIES, finding)


def no_incision() -> IncisionEffect:
    """Nothing known of where the incision will be: no mean effect, and the widest published scatter."""
    scatter_dpt2 = TEMPORAL.scatter_sd_dpt**2 * np.eye(2)
    return IncisionEffect(0.0, 0.0, scatter_dpt2, 0.0)


def _published(incision: Incision) -> tuple[IncisionEffect, Finding | None]:
    if incision.width_mm is None:
        taken = note(
            "incision-width-missing",
            f"The width of the incision is not stated; the published effect of {USUAL_WIDTH_MM:g} mm is "
            "taken.",
            "incision.width_mm",
            _SERIES,
        )
        return published_effect(incision.meridian_deg, USUAL_WIDTH_MM), taken
    try:
        return published_effect(incision.meridian_deg, incision.width_mm), None
    except NotDefinedError:
        unknown = warning(
            "incision-effect-unknown",
            f"No published effect of an incision of {incision.width_mm:g} mm is known here, only of "
            f"{WIDTHS_MM[0]:g} to {WIDTHS_MM[1]:g} mm. No flattening is taken off the cornea: state what "
            "your own eyes show.",
            "incision.flattening_dpt",
            _SERIES,
        )
        return no_incision(), unknown


def _learned(lesson: IncisionLesson, side: Side) -> IncisionEffect:
    """The lesson's effect in this eye: lessons tell of right eyes, and a left one is the mirror."""
    turn = 1.0 if side.value == "right" else -1.0
    along, both, aside = lesson.scatter_dpt2
    scatter_dpt2 = np.array([[along, turn * both], [turn * both, aside]])
    return IncisionEffect(
        lesson.flattening_dpt, turn * lesson.torque_dpt, scatter_dpt2, lesson.centroid_sd_dpt
    )


def induced_mean(incision: Incision, lesson: IncisionLesson | None, side: Side) -> Astigmatism:
    """The mean change to expect of an incision."""
    return induced(expected_effect(incision, lesson, side).effect, incision.meridian_deg).plain
