"""The follow-up list: toric eyes whose axis has to be looked at, or whose lens may have to be turned."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import Response

from zonule.drawings.axis_sentences import need_sentence, window_sentence
from zonule.web.pages import parts, show
from zonule.workflow.follow_up import follow_up_list

router = APIRouter()


@router.get("/follow-up")
def follow_up_page(request: Request) -> Response:
    """Who has to be seen for the axis of a toric lens, the most urgent first."""
    held = parts(request)
    return show(
        request,
        "follow_up.html",
        eyes=follow_up_list(held.record, held.today()),
        need_sentence=need_sentence,
        window_sentence=window_sentence,
    )
