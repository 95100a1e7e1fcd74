"""The astigmatism of a plan on its page, and while its incision is being moved."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import Response

from zonule.case.axis_looks import kept_meridian_deg
from zonule.case.plan import Intent, Plan
from zonule.case.toric import CorneaModelName, MarkingName
from zonule.drawings.numbers import typed_number
from zonule.drawings.toric import cylinders_drawing
from zonule.web import forms
from zonule.web.pages import parts, show, two_widths
from zonule.workflow.cornea_models import MODEL_WORDS
from zonule.workflow.forecast import plan_eye, with_chosen_power
from zonule.workflow.plan import request_for
from zonule.workflow.toric import MARKING_WORDS

router = APIRouter(prefix="/cases/{key:path}")

WORK_WIDTH = 960


@router.get("/plan/astigmatism")
def while_moving(request: Request, key: str, incision_meridian_deg: float) -> Response:
    """What the cylinders would leave with the incision there; nothing is saved."""
    held = parts(request)
    case = held.record.case(key)
    moved = replace(case, intent=replace(case.intent, incision_meridian_deg=incision_meridian_deg % 360.0))
    plan = plan_eye(request_for(moved, held.record), held.today())
    plan = with_chosen_power(plan, moved.intent.lens_power_dpt)
    context = astigmatism_context(plan, moved.intent)
    return show(request, "astigmatism.html", case=moved, plan=plan, **context)


def astigmatism_context(plan: Plan, intent: Intent) -> dict[str, Any]:
    """What the section on astigmatism shows beside the plan itself."""
    toric = plan.toric
    if toric is None or not toric.options:
        return {"cylinders": None}
    chosen = intent.lens_cylinder_dpt
    return {"cylinders": two_widths(lambda width: cylinders_drawing(toric, chosen, width=width), WORK_WIDTH)}


def astigmatism_choices() -> dict[str, Any]:
    """What the form lets a person choose from."""
    return {"cornea_models": MODEL_WORDS, "markings": MARKING_WORDS}


def astigmatism_fields(intent: Intent) -> dict[str, str]:
    """What was chosen about incision and cylinder, as the form shows it."""
    return {
        "incision_width_mm": typed_number(intent.incision_width_mm),
        "incision_flattening_dpt": typed_number(intent.incision_flattening_dpt),
        "cornea_model": intent.cornea_model or "",
        "marking": intent.marking or "",
        "lens_cylinder_dpt": typed_number(intent.lens_cylinder_dpt),
        "lens_meridian_deg": typed_number(intent.lens_meridian_deg),
    }


def with_astigmatism(intent: Intent, form: Mapping[str, str]) -> Intent:
    """The draft with what the form says of incision and cylinder."""
    meridian_deg = forms.number(form, "lens_meridian_deg", "the meridian of the marks")
    return replace(
        intent,
        incision_width_mm=forms.number(form, "incision_width_mm", "the width of the incision"),
        incision_flattening_dpt=forms.number(form, "incision_flattening_dpt", "what the incision flattens"),
        cornea_model=forms.choice(form, "cornea_model", CorneaModelName, "the cornea model"),
        marking=forms.choice(form, "marking", MarkingName, "how the axis is marked"),
        lens_cylinder_dpt=forms.number(form, "lens_cylinder_dpt", "the cylinder"),
        lens_meridian_deg=None if meridian_deg is None else kept_meridian_deg(meridian_deg),
    )
