"""Operate: the plan as theatre needs to read it, and what was done."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from fastapi import APIRouter, Request
from starlette.responses import Response

from zonule.case.case import Case, Stage
from zonule.case.operation import Complication, Fixation, Operation
from zonule.case.plan import SignedPlan
from zonule.drawings.axis_words import planned_axis_words
from zonule.drawings.eye_face import eye_face
from zonule.drawings.numbers import typed_number
from zonule.drawings.seen_eye import before_operation
from zonule.errors import InconsistentRecordError
from zonule.web import forms
from zonule.web.case_frame import case_page, signed_doubts
from zonule.web.pages import Write, case_url, go, parts, show, write_or_explain
from zonule.workflow.operate import operation_findings, record_operation

router = APIRouter(prefix="/cases/{key:path}")

_NUMBERS = (
    "lens_power_dpt",
    "lens_cylinder_dpt",
    "lens_meridian_deg",
    "capsulorhexis_mm",
    "pupil_smallest_mm",
    "incision_meridian_deg",
    "incision_width_mm",
)
"""Fields of the form that hold a number and bear the name of the record's field."""


@router.get("/operate")
def operate_page(request: Request, key: str) -> Response:
    """What is planned, and the form for what was done."""
    return _page(request, parts(request).record.case(key), "", {})


@router.get("/theatre")
def theatre_display(request: Request, key: str) -> Response:
    """The plan in large type on dark, to be read across the room."""
    case = parts(request).record.case(key)
    if case.signed is None:
        return go(case_url(key, Stage.OPERATE))
    planned = before_operation(case)
    return show(
        request,
        "theatre.html",
        case=case,
        signed=case.signed,
        face=eye_face(planned, seat=planned.intent.seat, dark=True),
        axis=planned_axis_words(planned),
        doubts=signed_doubts(request, case),
    )


@router.post("/operate")
def save_operation(request: Request, key: str, typed: Write) -> Response:
    """Record the operation."""
    held = parts(request)
    case = held.record.case(key)
    return write_or_explain(
        lambda: record_operation(
            held.record,
            key,
            _operation(typed.values, case),
            revision=forms.revision(typed.values),
            who=typed.signer,
            now=held.now(),
        ),
        case_url(key, Stage.OPERATE),
        typed,
        partial(_page, request, case),
    )


def _page(request: Request, case: Case, problem: str, values: Mapping[str, str]) -> Response:
    return case_page(
        request,
        case,
        Stage.OPERATE,
        "operate.html",
        status=422 if problem else 200,
        problem=problem,
        values=values or _as_recorded(case),
        doubts=signed_doubts(request, case),
        findings=operation_findings(case.operation, case.signed) if case.operation and case.signed else [],
        fixations=list(Fixation),
        complications=list(Complication),
        lenses=parts(request).record.lenses(),
    )


def _as_recorded(case: Case) -> dict[str, str]:
    """The operation on record, or the signed plan read into the form; nothing else is filled in."""
    done, signed = case.operation, case.signed
    if done is not None:
        numbers = {name: typed_number(getattr(done, name)) for name in _NUMBERS}
        return numbers | {
            "operated_on": done.operated_on.isoformat(),
            "surgeon": done.surgeon,
            "lens_model": done.lens_model or "",
            "lens_serial": done.lens_serial,
            "fixation": done.fixation,
            "complication": done.complication,
            "notes": done.notes,
            "changed_from_plan": done.changed_from_plan,
        }
    lens = signed.request.lens if signed else None
    texts = ("operated_on", "lens_serial", "fixation", "complication", "notes", "changed_from_plan")
    return dict.fromkeys((*texts, *_NUMBERS), "") | {
        "surgeon": signed.intent.surgeon if signed else "",
        "lens_model": lens.name if lens else "",
        "lens_power_dpt": typed_number(signed.intent.lens_power_dpt if signed else None),
        "lens_cylinder_dpt": typed_number(_cylinder_signed_dpt(signed)),
    }


def _cylinder_signed_dpt(signed: SignedPlan | None) -> float | None:
    """The cylinder signed for; nothing for a lens without."""
    return signed.intent.lens_cylinder_dpt or None if signed else None


def _operation(form: Mapping[str, str], case: Case) -> Operation:
    if case.signed is None:
        raise InconsistentRecordError("There is no signed plan. Sign one before you record the operation.")
    fixation = forms.needed_choice(form, "fixation", Fixation, "where the lens sits")
    no_lens = fixation is Fixation.NO_LENS
    return Operation(
        plan_digest=forms.needed_text(form, "plan_digest", "the plan that was carried out"),
        operated_on=forms.day(form, "operated_on", "the day of operation"),
        surgeon=forms.needed_text(form, "surgeon", "the surgeon"),
        lens_model=None if no_lens else forms.needed_text(form, "lens_model", "the lens model"),
        lens_power_dpt=None if no_lens else forms.needed_number(form, "lens_power_dpt", "the lens power"),
        fixation=fixation,
        complication=forms.needed_choice(
            form, "complication", Complication, "whether there was a complication"
        ),
        lens_serial=forms.text(form, "lens_serial"),
        capsulorhexis_mm=forms.number(form, "capsulorhexis_mm", "the capsulorhexis"),
        pupil_smallest_mm=forms.number(form, "pupil_smallest_mm", "the smallest pupil"),
        incision_meridian_deg=forms.number(form, "incision_meridian_deg", "the incision's meridian"),
        incision_width_mm=forms.number(form, "incision_width_mm", "the width of the incision"),
        lens_cylinder_dpt=None
        if no_lens
        else forms.number(form, "lens_cylinder_dpt", "the cylinder of the lens"),
        lens_meridian_deg=forms.number(form, "lens_meridian_deg", "where the marks lay at the end"),
        notes=forms.text(form, "notes"),
        changed_from_plan=forms.text(form, "changed_from_plan"),
    )
