"""Learn about astigmatism: every reviewed eye as a vector, and what the next plan may use of it."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import Response

from zonule.case.astigmatism_results import AstigmatismResults, Turns, VectorGroup
from zonule.drawings.double_angle import double_angle_drawing
from zonule.drawings.rotations import rotations_drawing
from zonule.web import forms
from zonule.web.pages import TwoWidths, Write, go, parts, show, two_widths
from zonule.workflow.astigmatism_results import results_from
from zonule.workflow.incision_lessons import accept_incision_lesson, incisions_from
from zonule.workflow.vector_groups import outline_of

router = APIRouter()

PLOT_WIDTH, TURNS_WIDTH = 560, 720
PAGE = "/learn/astigmatism"
SHOWN_FIRST = "residual"


@router.get(PAGE)
def astigmatism_page(request: Request, vectors: str = SHOWN_FIRST) -> Response:
    """The double-angle plot of the vectors asked for, cornea models, turns and incisions."""
    held = parts(request)
    cases = held.record.reviewed_cases()
    lessons = held.record.incision_lessons()
    results = results_from(cases, lessons)
    groups = _groups(results)
    chosen = vectors if vectors in groups else SHOWN_FIRST
    return show(
        request,
        "astigmatism_results.html",
        results=results,
        groups=groups,
        chosen=chosen,
        plot=_plot(groups.get(chosen)),
        turns=[(each, _turns(each)) for each in results.turns],
        incisions=incisions_from(cases, lessons, held.today()),
    )


@router.post(f"{PAGE}/accept")
def accept(request: Request, typed: Write) -> Response:
    """Let the next plans use what a kind of incision teaches."""
    held = parts(request)
    key = forms.needed_text(typed.values, "key", "the kind of incision")
    accept_incision_lesson(held.record, key, typed.signer, held.now())
    return go(f"{PAGE}#incisions", typed)


def _groups(results: AstigmatismResults) -> dict[str, VectorGroup]:
    """What can be looked at, by the name in the address."""
    change = results.change
    named = {
        "cornea": results.cornea,
        "residual": results.residual,
        "target": None if change is None else change.target,
        "induced": None if change is None else change.induced,
        "difference": None if change is None else change.difference,
        **{one.key.value: one.misses for one in results.models},
    }
    return {key: group for key, group in named.items() if group is not None}


def _plot(group: VectorGroup | None) -> TwoWidths | None:
    if group is None:
        return None
    outline = outline_of(group)
    return two_widths(
        lambda width: double_angle_drawing(group.vectors, outline=outline, width=width), PLOT_WIDTH
    )


def _turns(turns: Turns) -> TwoWidths | None:
    found = turns.results
    if found is None:
        return None
    return two_widths(lambda width: rotations_drawing(turns.turns_deg, found, width=width), TURNS_WIDTH)
