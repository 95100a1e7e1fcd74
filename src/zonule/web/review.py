"""Review: what the eye got."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import Response

from zonule.case.axis_looks import is_toric, kept_meridian_deg
from zonule.case.biometry import Keratometry, Meridian
from zonule.case.case import Case, Stage
from zonule.case.measured import Measured
from zonule.case.refraction import Refraction
from zonule.drawings.numbers import typed_number
from zonule.drawings.result import result_drawing
from zonule.drawings.rotation import sweep_drawing
from zonule.drawings.turn_dial import turn_dial
from zonule.web import forms
from zonule.web.axis_visit import axis_context
from zonule.web.case_frame import case_page
from zonule.web.pages import Write, case_url, parts, two_widths, write_or_explain
from zonule.workflow.review import expected_refraction, record_review, review_findings
from zonule.workflow.surprise import deserves_a_look
from zonule.workflow.turning import turning

router = APIRouter(prefix="/cases/{key:path}")

RESULT_WIDTH = 720
CORNEA_FIELDS = {
    "after_flat_power_dpt": "the flat power after the operation",
    "after_steep_power_dpt": "the steep power after the operation",
    "after_steep_meridian_deg": "the steep meridian after the operation",
    "after_keratometric_index": "the keratometric index of these powers",
}


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
            lens_meridian_deg=forms.number(form, "lens_meridian_deg", "where the marks lie"),
            keratometry=_cornea_after(form),
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
        **_turning(case),
        **axis_context(case),
    )


def _turning(case: Case) -> dict[str, Any]:
    """What the section about turning a toric lens shows; without such a lens it is not there."""
    if case.review is None or not is_toric(case.operation):
        return {"toric_lens": is_toric(case.operation), "turn_missing": "The refraction is missing."}
    found = turning(case)
    if isinstance(found, str):
        return {"toric_lens": True, "turn_missing": found}
    sweep = two_widths(lambda width: sweep_drawing(found, width=width), RESULT_WIDTH)
    dial = turn_dial(found, case.side)
    return {"toric_lens": True, "turn_missing": "", "turn": found, "sweep": sweep, "dial": dial}


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
        return dict.fromkeys((*names, "notes", "lens_meridian_deg", *CORNEA_FIELDS), "")
    refraction = review.refraction
    return {
        **_cornea_as_recorded(review.keratometry),
        "lens_meridian_deg": typed_number(review.lens_meridian_deg),
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


def _cornea_after(form: Mapping[str, str]) -> Keratometry | None:
    """The cornea after the operation, when anything of it was typed."""
    if not any(forms.text(form, name) for name in CORNEA_FIELDS):
        return None
    flat_dpt, steep_dpt, meridian_deg, index = (
        forms.needed_number(form, name, words) for name, words in CORNEA_FIELDS.items()
    )
    return Keratometry(
        Meridian(power_dpt=Measured(flat_dpt)),
        Meridian(power_dpt=Measured(steep_dpt)),
        kept_meridian_deg(meridian_deg),
        index,
    )


def _cornea_as_recorded(cornea: Keratometry | None) -> dict[str, str]:
    if cornea is None:
        return dict.fromkeys(CORNEA_FIELDS, "")
    flat, steep = cornea.flat.power_dpt, cornea.steep.power_dpt
    powers = [None if one is None else one.value for one in (flat, steep)]
    values = (*powers, cornea.steep_meridian_deg, cornea.keratometric_index)
    return dict(zip(CORNEA_FIELDS, map(typed_number, values), strict=True))
