"""Learn: what all reviewed eyes say, and what the next plan may use of it."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import Response

from zonule.case.case import Stage
from zonule.case.learned import Learned
from zonule.drawings.errors import errors_drawing
from zonule.web import forms
from zonule.web.case_frame import case_page
from zonule.web.pages import TwoWidths, Write, go, parts, show, two_widths
from zonule.workflow.learn import accept_lesson, look_back, why_not_learned_from

router = APIRouter()

ERRORS_WIDTH = 720


@router.get("/cases/{key:path}/learn")
def case_learn_page(request: Request, key: str) -> Response:
    """What this eye added, among all the others."""
    held = parts(request)
    case = held.record.case(key)
    learned = look_back(held.record, held.today())
    return case_page(
        request,
        case,
        Stage.LEARN,
        "learn_case.html",
        problem="",
        learned=learned,
        why_not=why_not_learned_from(case),
        errors=_errors(learned),
    )


@router.get("/learn")
def learn_page(request: Request) -> Response:
    """Every group of eyes, without a case."""
    held = parts(request)
    learned = look_back(held.record, held.today())
    return show(request, "learn.html", problem="", learned=learned, errors=_errors(learned))


@router.post("/learn/accept")
def accept(request: Request, typed: Write) -> Response:
    """Let the next plans use what a group of eyes teaches."""
    held = parts(request)
    form = typed.values
    accept_lesson(
        held.record,
        surgeon=forms.text(form, "surgeon"),
        method=forms.needed_text(form, "method", "the formula"),
        lens_model=forms.needed_text(form, "lens_model", "the lens"),
        who=typed.signer,
        now=held.now(),
    )
    return go(request.headers.get("referer", "/learn"), typed)


def _errors(learned: Learned) -> TwoWidths:
    return two_widths(lambda width: errors_drawing(learned.errors_dpt, width=width), ERRORS_WIDTH)
