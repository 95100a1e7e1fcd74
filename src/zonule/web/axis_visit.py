"""A look at the marks of a toric lens after the operation: the form, and every look so far."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import Response

from zonule.case.axis_looks import is_toric, planned_meridian_deg
from zonule.case.axis_visit import AxisVisit
from zonule.case.case import Case, Stage
from zonule.case.finding import Finding
from zonule.drawings.axis_sentences import SeenMarks, days_sentence, seen_marks
from zonule.web import forms
from zonule.web.case_frame import case_page
from zonule.web.pages import Write, case_url, parts, write_or_explain
from zonule.workflow.axis_findings import seen_findings
from zonule.workflow.axis_visits import record_axis_visit

router = APIRouter(prefix="/cases/{key:path}")


@dataclass(frozen=True, slots=True)
class AxisSection:
    """What `axis_visit.html` shows of a toric lens."""

    planned_deg: float | None
    days: str
    """When to look, and when to turn."""
    seen: tuple[SeenMarks, ...]
    findings: tuple[Finding, ...]
    values: Mapping[str, str]


def axis_context(case: Case, values: Mapping[str, str] | None = None) -> dict[str, Any]:
    """What `axis_visit.html` needs; it shows nothing where no toric lens went in."""
    done = case.operation
    if done is None or not (is_toric(done) or case.axis_visits):
        return {"axis": None}
    return {
        "axis": AxisSection(
            planned_meridian_deg(case),
            days_sentence(done.operated_on),
            seen_marks(case),
            tuple(seen_findings(case)),
            values or {},
        )
    }


@router.get("/axis")
def axis_page(request: Request, key: str) -> Response:
    """The looks at the marks, by themselves."""
    return _page(request, parts(request).record.case(key), "", {})


@router.post("/axis")
def save_axis_visit(request: Request, key: str, typed: Write) -> Response:
    """Record where the marks lie."""
    held = parts(request)
    return write_or_explain(
        lambda: record_axis_visit(
            held.record,
            key,
            _visit(typed.values),
            revision=forms.revision(typed.values),
            who=typed.signer,
            now=held.now(),
        ),
        f"{case_url(key, Stage.REVIEW)}#axis",
        typed,
        partial(_page, request, held.record.case(key)),
    )


def _page(request: Request, case: Case, problem: str, values: Mapping[str, str]) -> Response:
    return case_page(
        request,
        case,
        Stage.REVIEW,
        "axis.html",
        status=422 if problem else 200,
        problem=problem,
        **axis_context(case, values),
    )


def _visit(form: Mapping[str, str]) -> AxisVisit:
    return AxisVisit(
        seen_on=forms.day(form, "axis_seen_on", "the day on which the marks were looked at"),
        lens_meridian_deg=forms.needed_number(form, "axis_meridian_deg", "where the marks lie"),
        notes=forms.text(form, "axis_notes"),
    )
