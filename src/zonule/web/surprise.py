"""When the refraction surprises: what could explain it, and what can be done, in numbers."""

from __future__ import annotations

from collections.abc import Mapping

from fastapi import APIRouter, Request
from starlette.responses import Response

from zonule.case.case import Stage
from zonule.case.limits import refuse_impossible
from zonule.case.surprise import MeasuredAgain
from zonule.drawings import surprise_sentences
from zonule.drawings.surprise import causes_drawing
from zonule.errors import InputError
from zonule.web import forms
from zonule.web.case_frame import case_page
from zonule.web.pages import parts, two_widths
from zonule.workflow.other_eye import other_eyes_case
from zonule.workflow.surprise import look_into_surprise

router = APIRouter(prefix="/cases/{key:path}")

CAUSES_WIDTH = 720
QUANTITIES = ("mean_k_dpt", "axial_length_mm")


@router.get("/review/surprise")
def surprise_page(request: Request, key: str) -> Response:
    """Likely causes of a refraction that was not the predicted one, and the arithmetic of each remedy."""
    record = parts(request).record
    case = record.case(key)
    values = {name: request.query_params.get(name, "") for name in QUANTITIES}
    again, problem = _again(values)
    seen = look_into_surprise(
        case,
        catalogue=record.lenses(),
        lessons=record.lessons(),
        fellow=other_eyes_case(record, case),
        again=again,
    )
    return case_page(
        request,
        case,
        Stage.REVIEW,
        "surprise.html",
        status=422 if problem else 200,
        problem="",
        again_problem=problem,
        values=values,
        surprise=seen,
        drawing=two_widths(lambda width: causes_drawing(seen, width=width), CAUSES_WIDTH) if seen else None,
        surprise_sentences=surprise_sentences,
    )


def _again(values: Mapping[str, str]) -> tuple[MeasuredAgain, str]:
    """What was measured again, or why it cannot be read."""
    try:
        again = MeasuredAgain(
            mean_k_dpt=forms.number(values, "mean_k_dpt", "the mean K"),
            axial_length_mm=forms.number(values, "axial_length_mm", "the axial length"),
        )
        refuse_impossible(again, *QUANTITIES)
    except InputError as error:
        return MeasuredAgain(), str(error)
    return again, ""
