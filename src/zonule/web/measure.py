"""Measure: whether the numbers can be trusted, and whether the eye is ready."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from fastapi import APIRouter, Request
from starlette.responses import Response

from zonule.case.case import Case, Stage
from zonule.case.eye import ContactLens, CornealSurgery, History, Look, Readiness
from zonule.case.refraction import Refraction
from zonule.web import forms
from zonule.web.case_frame import case_page
from zonule.web.pages import Write, case_url, go, parts, write_or_explain
from zonule.workflow.measure import answer, list_for, trust
from zonule.workflow.methods import measurement_sds, quantity_sd

router = APIRouter(prefix="/cases/{key:path}")


@router.get("/measure")
def measure_page(request: Request, key: str) -> Response:
    """The measurements, the doubts about them, and the questions no device can answer."""
    return _page(request, parts(request).record.case(key), "", {})


@router.post("/measure")
def save_answers(request: Request, key: str, typed: Write) -> Response:
    """Record the answers."""
    held = parts(request)
    case = held.record.case(key)
    return write_or_explain(
        lambda: answer(
            held.record,
            key,
            history=_history(typed.values, case.eye.history),
            readiness=_readiness(typed.values),
            revision=forms.revision(typed.values),
            who=typed.signer,
            now=held.now(),
        ),
        case_url(key, Stage.MEASURE),
        typed,
        partial(_page, request, case),
    )


@router.get("/listing")
def listing_address(key: str) -> Response:
    """Where a reload goes after a refused change of the list."""
    return go(case_url(key, Stage.MEASURE))


@router.post("/listing")
def put_on_list(request: Request, key: str, typed: Write) -> Response:
    """Put the case on the list of a day, or take it off."""
    held = parts(request)
    day = forms.day(typed.values, "listed_on", "the day") if forms.text(typed.values, "listed_on") else None
    return write_or_explain(
        lambda: list_for(
            held.record,
            key,
            day,
            revision=forms.revision(typed.values),
            who=typed.signer,
            now=held.now(),
        ),
        case_url(key, Stage.MEASURE),
        typed,
        partial(_page, request, held.record.case(key)),
    )


def _page(request: Request, case: Case, problem: str, values: Mapping[str, str]) -> Response:
    findings = trust(case, parts(request).today())
    return case_page(
        request,
        case,
        Stage.MEASURE,
        "measure.html",
        status=422 if problem else 200,
        problem=problem,
        values=values or _answers(case.eye.history, case.eye.readiness),
        findings=findings,
        quantity_sd=quantity_sd,
        mean_k_sd_dpt=measurement_sds(case.eye.biometry).mean_k_dpt,
        surgeries=list(CornealSurgery),
        contact_lenses=list(ContactLens),
        looks=list(Look),
    )


def _answers(history: History, readiness: Readiness) -> dict[str, str]:
    """The answers on record, as the form shows them."""
    glasses = history.glasses
    answers: dict[str, object] = {
        "corneal_surgery": history.corneal_surgery,
        "sphere_dpt": glasses.sphere_dpt if glasses else None,
        "cylinder_dpt": glasses.cylinder_dpt if glasses else None,
        "axis_deg": glasses.axis_deg if glasses else None,
        "vertex_mm": glasses.vertex_mm if glasses else None,
        "contact_lens": readiness.contact_lens,
        "contact_lens_out_days": readiness.contact_lens_out_days,
        "tear_film": readiness.tear_film,
        "macula": readiness.macula,
        "fundus": readiness.fundus,
        "pressure_mmhg": readiness.pressure_mmhg,
        "dilated_pupil_mm": readiness.dilated_pupil_mm,
    }
    return {name: _shown(value) for name, value in answers.items()}


def _shown(value: object) -> str:
    if value is None:
        return ""
    return f"{value:g}" if isinstance(value, float) else str(value)


def _history(form: Mapping[str, str], before: History) -> History:
    sphere = forms.number(form, "sphere_dpt", "the sphere of the glasses")
    glasses = (
        None
        if sphere is None
        else Refraction(
            sphere_dpt=sphere,
            cylinder_dpt=forms.number(form, "cylinder_dpt", "the cylinder of the glasses") or 0.0,
            axis_deg=forms.number(form, "axis_deg", "the axis of the glasses"),
            vertex_mm=forms.needed_number(
                form, "vertex_mm", "the vertex distance of the glasses (usually 12 mm)"
            ),
        )
    )
    surgery = forms.choice(form, "corneal_surgery", CornealSurgery, "corneal surgery")
    return History(
        corneal_surgery=surgery or CornealSurgery.UNKNOWN,
        glasses=glasses,
        treated_at_cornea_dpt=before.treated_at_cornea_dpt,
        flat_power_before_dpt=before.flat_power_before_dpt,
        steep_power_before_dpt=before.steep_power_before_dpt,
    )


def _readiness(form: Mapping[str, str]) -> Readiness:
    return Readiness(
        contact_lens=forms.choice(form, "contact_lens", ContactLens, "contact lenses"),
        contact_lens_out_days=forms.number(form, "contact_lens_out_days", "the days without contact lenses"),
        tear_film=forms.choice(form, "tear_film", Look, "the tear film"),
        macula=forms.choice(form, "macula", Look, "the macula"),
        fundus=forms.choice(form, "fundus", Look, "the fundus"),
        pressure_mmhg=forms.number(form, "pressure_mmhg", "the eye pressure"),
        dilated_pupil_mm=forms.number(form, "dilated_pupil_mm", "the dilated pupil"),
    )
