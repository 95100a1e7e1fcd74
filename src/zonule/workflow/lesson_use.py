"""Which lessons a plan uses, and why not the others."""

from __future__ import annotations

from collections.abc import Sequence

from zonule.case.lens import LensModel
from zonule.case.lesson import Lesson, LessonUse
from zonule.case.plan import PlanRequest, Refused
from zonule.science.lens_power.formulas import FORMULAS
from zonule.workflow.methods import constants_for, same_constants


def lesson_uses(request: PlanRequest, lens: LensModel) -> tuple[LessonUse, ...]:
    """Which lessons are used and why not the others; one for each formula."""
    uses: list[LessonUse] = []
    for lesson in request.lessons:
        reason = _why_not(lesson, request, lens)
        if not reason and any(use.used and use.lesson.method == lesson.method for use in uses):
            reason = "Another lesson about the same formula is used already."
        uses.append(
            LessonUse(lesson, used=not reason, reason=reason or "Same surgeon, formula, lens and constant.")
        )
    return tuple(uses)


def _why_not(lesson: Lesson, request: PlanRequest, lens: LensModel) -> str:
    """Why this plan must not use a lesson; empty when it may."""
    formula = FORMULAS.get(lesson.method)
    chosen = None if formula is None else constants_for(formula, lens)
    if lesson.lens_model != lens.name:
        return f"It was learned on another lens, {lesson.lens_model}."
    if chosen is None:
        return "Its formula is not used for this lens."
    if not same_constants(chosen[0], lesson.constants):
        return "It was learned against another constant."
    if lesson.surgeon != request.surgeon:
        teacher, reader = lesson.surgeon or "nobody named", request.surgeon or "nobody named"
        return f"It was learned by {teacher}; this plan is for {reader}."
    return ""


def unless_refused(use: LessonUse, refused: Sequence[Refused]) -> LessonUse:
    """The same use of a lesson, or none where its formula is refused for this eye."""
    if use.used and any(one.method == use.lesson.method for one in refused):
        return LessonUse(use.lesson, used=False, reason="Its formula is refused for this eye.")
    return use
