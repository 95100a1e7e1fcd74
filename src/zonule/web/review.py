"""Review: what the eye got."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from fastapi import APIRouter, Request
from starlette.responses import Response

from zonule.case.case import Case, Stage
from zonule.case.refraction import Refraction
from zonule.drawings.result import result_drawing
from zonule.web import forms
from zonule.web.axis_visit import axis_context
from zonule.web.case_frame import case_page
from zonule.web.pages import Write, case_url, parts, two_widths, write_or_explain
from zonule.workflow.review import expected_refraction, record_review, review_findings
from zonule.workflow.surprise import deserves_a_look

router = APIRouter(prefix="/cases/{key:path}")

RESULT_WIDTH = 720


@router.get("/review")
def review_page(request: Request, key: str) -> Response:
    """The refraction after the operation against what was promised."""
    return _page(request, parts(request).record.case(key), "", {})


@router.post("/review")
def save_review(request: Request, key: str, typed: Write) -> Response:
    """Record a refraction."""
    held = parts(request)
    form = typed.values
    return write_or_explain(
        lambda: record_review(
            held.record,
            key,
            refraction=_refraction(form),
            refracted_on=forms.day(form, "refracted_on", "the day of refraction"),
            acuity_logmar=forms.number(form, "acuity_logmar", "the acuity"),
            notes=forms.text(form, "notes"),
            revision=forms.revision(form),
            who=typed.signer,
            now=held.now(),
        ),
        case_url(key, Stage.REVIEW),
        typed,
        partial(_page, request, held.record.case(key)),
    )


def _page(request: Request, case: Case, problem: str, values: Mapping[str, str]) -> Response:
    operation, signed, review = case.operation, case.signed, case.review
    expected = expected_refraction(signed, operation) if signed and operation else None
    drawing = None
    if expected is not None and review is not None:
        drawing = two_widths(
            lambda width: result_drawing(expected.refraction_dpt, review, width=width), RESULT_WIDTH
        )
    return case_page(
        request,
        case,
        Stage.REVIEW,
        "review.html",
        status=422 if problem else 200,
        problem=problem,
        values=values or _as_recorded(case),
        expected=expected,
        result=drawing,
        findings=review_findings(case),
        look_into_it=deserves_a_look(case),
        **axis_context(case),
    )


def _as_recorded(case: Case) -> dict[str, str]:
    review = case.review
    if review is None:
        names = (
            "sphere_dpt",
            "cylinder_dpt",
            "axis_deg",
            "vertex_mm",
            "lane_m",
            "refracted_on",
            "acuity_logmar",
        )
        return dict.fromkeys((*names, "notes"), "")
    refraction = review.refraction
    return {
        "sphere_dpt": f"{refraction.sphere_dpt:g}",
        "cylinder_dpt": f"{refraction.cylinder_dpt:g}",
        "axis_deg": "" if refraction.axis_deg is None else f"{refraction.axis_deg:g}",
        "vertex_mm": f"{refraction.vertex_mm:g}",
        "lane_m": "" if refraction.lane_m is None else f"{refraction.lane_m:g}",
        "refracted_on": review.refracted_on.isoformat(),
        "acuity_logmar": "" if review.acuity_logmar is None else f"{review.acuity_logmar:g}",
        "notes": review.notes,
    }


def _refraction(form: Mapping[str, str]) -> Refraction:
    return Refraction(
        sphere_dpt=forms.needed_number(form, "sphere_dpt", "the sphere"),
        cylinder_dpt=forms.needed_number(form, "cylinder_dpt", "the cylinder (0 if there is none)"),
        axis_deg=forms.number(form, "axis_deg", "the axis"),
        vertex_mm=forms.needed_number(form, "vertex_mm", "the vertex distance (usually 12 mm)"),
        lane_m=forms.number(form, "lane_m", "the length of the lane"),
    )
