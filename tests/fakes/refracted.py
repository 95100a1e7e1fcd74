"""Reviewed eyes told by what their astigmatism was; nothing was computed for them."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from fakes.examples import (
    SURGEON,
    ordinary_case,
    ordinary_eye,
    ordinary_intent,
    ordinary_keratometry,
    ordinary_lens,
    ordinary_operation,
    ordinary_patient,
    ordinary_request,
    ordinary_review,
    ordinary_signed_plan,
)
from zonule.case.axis_visit import AxisVisit
from zonule.case.biometry import Keratometry
from zonule.case.case import Case, case_key
from zonule.case.patient import Side
from zonule.case.refraction import Refraction

OPERATED_ON = date(2026, 3, 2)
REFRACTED_ON = OPERATED_ON + timedelta(days=35)
MEAN_DPT = 43.5
STEPS_DPT = (1.0, 1.5, 2.25)
LESSON_WIDTH_MM = 2.2


def cornea(size_dpt: float, meridian_deg: float | None, **changes: Any) -> Keratometry:
    """A cornea of 43.5 D with so much astigmatism."""
    flat, steep = MEAN_DPT - size_dpt / 2.0, MEAN_DPT + size_dpt / 2.0
    return ordinary_keratometry(flat, steep, steep_meridian_deg=meridian_deg, **changes)


def left(size_dpt: float, meridian_deg: float) -> Refraction:
    """A refraction at the cornea whose eye is that much steeper there."""
    return Refraction(0.0, size_dpt, meridian_deg, vertex_mm=0.0, lane_m=6.0)


def refracted_case(
    number: int = 0,
    *,
    before: Keratometry | None = None,
    refraction: Refraction | None = None,
    side: Side = Side.RIGHT,
    **changes: Any,
) -> Case:
    """One eye all the way round, without incision and with a lens without cylinder.

    A change may name a field of the intent (`planned_` before it), the request, operation or review, or
    `axis_visits`.
    """
    intent = {
        name.removeprefix("planned_"): changes.pop(name) for name in tuple(changes) if "planned_" in name
    }
    visits = changes.pop("axis_visits", ())
    request = _taken(changes, "incision", "incision_lesson", "lens", "eye")
    seen = _taken(changes, "days_after", "lens_meridian_deg_seen", "keratometry")
    eye = replace(
        ordinary_eye(side),
        biometry=replace(ordinary_eye(side).biometry, keratometry=before or cornea(1.0, 90.0)),
    )
    asked = replace(ordinary_request(side), **{"eye": eye, "incision": None} | request)
    signed = ordinary_signed_plan(
        side, request=asked, intent=replace(ordinary_intent(incision_meridian_deg=None), **intent)
    )
    if "lens_meridian_deg_seen" in seen:
        seen["lens_meridian_deg"] = seen.pop("lens_meridian_deg_seen")
    patient = ordinary_patient(f"demo-{number:04d}", name=f"Person {number}")
    done: dict[str, Any] = {
        "operated_on": OPERATED_ON,
        "surgeon": SURGEON,
        "incision_meridian_deg": None,
        "lens_power_dpt": 21.0,
    }
    return replace(
        ordinary_case(side),
        key=case_key(patient.key, side),
        patient=patient,
        eye=asked.eye,
        signed=signed,
        operation=ordinary_operation(**done | changes),
        review=ordinary_review(refracted_on=REFRACTED_ON, refraction=refraction or left(1.0, 90.0), **seen),
        axis_visits=visits,
    )


def toric_case(
    number: int = 0, *, meant_deg: float | None = 90.0, left_deg: float | None = 90.0, **changes: Any
) -> Case:
    """The same with a toric lens of 1.5 D."""
    own: dict[str, Any] = {
        "lens": ordinary_lens(cylinders_dpt=STEPS_DPT),
        "planned_lens_cylinder_dpt": 1.5,
        "planned_lens_meridian_deg": meant_deg,
        "lens_cylinder_dpt": 1.5,
        "lens_meridian_deg": left_deg,
    }
    return refracted_case(number, **own | changes)


def visit(days: int, meridian_deg: float) -> AxisVisit:
    """A look at the marks so many days after the operation."""
    return AxisVisit(OPERATED_ON + timedelta(days=days), meridian_deg)


def _taken(changes: dict[str, Any], *names: str) -> dict[str, Any]:
    return {name: changes.pop(name) for name in names if name in changes}
