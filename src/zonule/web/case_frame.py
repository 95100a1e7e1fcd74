"""The frame around every page of a case: who, which eye, and how far each stage has come."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from fastapi import Request
from starlette.responses import HTMLResponse

from zonule.case.case import Case, Stage
from zonule.case.finding import Finding
from zonule.case.lens import LensModel
from zonule.case.plan import Plan
from zonule.drawings import numbers
from zonule.drawings.eye_face import eye_face
from zonule.drawings.eye_section import eye_section
from zonule.drawings.seen_eye import as_signed, with_meridian
from zonule.drawings.svg import Drawing
from zonule.web.pages import case_url, parts, show
from zonule.workflow.other_eye import other_eyes_case
from zonule.workflow.plan import changes_since_signing, signed_plan_doubts


@dataclass(frozen=True, slots=True)
class StageTab:
    """One of the five stages as the frame shows it."""

    stage: Stage
    title: str
    state: str
    url: str
    here: bool


def case_page(
    request: Request, case: Case, stage: Stage, template: str, *, status: int = 200, **context: Any
) -> HTMLResponse:
    """A page of a case inside its frame, with the eye always in view.

    A signed eye is drawn as signed, save where its next draft is being made.
    """
    drafting = stage is Stage.PLAN and "signed" not in context
    return show(
        request,
        template,
        status=status,
        case=case,
        tabs=stage_tabs(case, stage),
        face=draft_face(request, case, context.get("plan")) if drafting else _face(request, as_signed(case)),
        movable=drafting and case.operation is None,
        section=eye_section(case),
        age=case.patient.age_years(parts(request).today()),
        other_eye_url=_other_eye_url(request, case),
        **context,
    )


def draft_face(request: Request, case: Case, plan: Plan | None) -> Drawing:
    """The eye as the draft means to leave it, with the lens on the meridian of its plan."""
    return _face(request, with_meridian(case, plan))


def _face(request: Request, case: Case) -> Drawing:
    return eye_face(case, seat=case.intent.seat, lens=_lens(request, case))


def _lens(request: Request, case: Case) -> LensModel | None:
    """The lens that is meant or was implanted, for its optic; as signed where it is the signed one."""
    name = case.intent.lens_model if case.operation is None else case.operation.lens_model
    signed = None if case.signed is None else case.signed.request.lens
    if name is None or (signed is not None and signed.name == name):
        return signed
    return parts(request).record.lens(name)


def _other_eye_url(request: Request, case: Case) -> str | None:
    """Where the other eye's case is, when it has one."""
    other = other_eyes_case(parts(request).record, case)
    return None if other is None else case_url(other.key)


def signed_doubts(request: Request, case: Case) -> tuple[Finding, ...]:
    """Whether the signed plan still says what it said, and whether the record still says what it was told."""
    if case.signed is None:
        return ()
    return (*signed_plan_doubts(case.signed), *changes_since_signing(case, parts(request).record))


def stage_tabs(case: Case, here: Stage) -> list[StageTab]:
    """The five stages with the state of each in two or three words."""
    states = {
        Stage.MEASURE: _measure_state(case),
        Stage.PLAN: _plan_state(case),
        Stage.OPERATE: f"done {numbers.day_text(case.operation.operated_on)}"
        if case.operation
        else "not yet",
        Stage.REVIEW: _review_state(case),
        Stage.LEARN: "all eyes",
    }
    return [
        StageTab(stage, stage.value.capitalize(), state, case_url(case.key, stage), stage is here)
        for stage, state in states.items()
    ]


def _measure_state(case: Case) -> str:
    measured = case.eye.biometry.measured_on
    return f"measured {numbers.day_text(measured)}" if measured else "no date"


def _plan_state(case: Case) -> str:
    if case.signed is not None and case.signed.intent.lens_power_dpt is not None:
        return f"signed, {numbers.power_text(case.signed.intent.lens_power_dpt)}"
    return "draft" if case.intent.target_refraction_dpt is not None else "not begun"


def _review_state(case: Case) -> str:
    if case.review is None:
        return "not yet"
    error = case.review.error_dpt
    return "no prediction" if error is None else f"{numbers.refraction_text(error)} off"
