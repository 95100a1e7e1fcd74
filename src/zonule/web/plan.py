"""Plan: choose aim, lens and power with the odds in view; sign; print the sheet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import partial
from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import Response

from zonule.case.case import Case, Stage
from zonule.case.finding import is_blocked
from zonule.case.pair import STARTING_TARGETS, Importance, StrategyOutlook
from zonule.case.plan import FearedSide, Intent, Plan, Seat
from zonule.drawings.doubts import besides_refusals
from zonule.drawings.methods import methods_drawing
from zonule.drawings.numbers import typed_number
from zonule.drawings.odds import odds_drawing
from zonule.drawings.pair import pair_drawing
from zonule.drawings.sentences import anisometropia_sentence, refusals, what_changed_sentence
from zonule.errors import InputError, ZonuleError
from zonule.web import forms
from zonule.web.astigmatism import (
    astigmatism_choices,
    astigmatism_context,
    astigmatism_fields,
    with_astigmatism,
)
from zonule.web.case_frame import case_page, draft_face, signed_doubts
from zonule.web.pages import (
    NOBODY,
    TwoWidths,
    Write,
    case_url,
    go,
    parts,
    show,
    two_widths,
    write_or_explain,
)
from zonule.web.pair_form import FIELDS, pair_fields, pair_wishes
from zonule.workflow.forecast import plan_eye, with_chosen_power
from zonule.workflow.look_up import predictions_near
from zonule.workflow.methods import eye_numbers, measurement_sds
from zonule.workflow.plan import (
    findings_with_choice,
    plan_to_print,
    request_for,
    save_intent,
    sign_plan,
    standing_warnings,
)
from zonule.workflow.ports import Record

router = APIRouter(prefix="/cases/{key:path}")

WORK_WIDTH = 960
"""The width of the column beside the eye on a wide screen, CSS pixels."""
SHOWN = "shown_"


@router.get("/plan")
def plan_page(request: Request, key: str) -> Response:
    """The forecast for the aim and lens of the draft."""
    return _page(request, parts(request).record.case(key), "", {})


@router.post("/plan/draft")
def save_draft(request: Request, key: str, typed: Write) -> Response:
    """Keep the draft; a script gets the forecast back, a plain form is sent on to the page."""
    held = parts(request)
    before = held.record.case(key)
    if "hx-request" not in request.headers:
        return write_or_explain(
            lambda: _save(request, before, typed),
            case_url(key, Stage.PLAN),
            typed,
            partial(_page, request, before),
        )
    try:
        _save(request, before, typed)
    except InputError as error:
        return show(request, "problem_fragment.html", problem=str(error), kept=typed.values)
    except ZonuleError as error:
        return show(request, "problem_fragment.html", problem=str(error), kept={})
    after = held.record.case(key)
    shown = replace(before, intent=_shown(typed.values, before.intent))
    changed = what_changed_sentence(_plan(held.record, shown, request), _plan(held.record, after, request))
    context = _forecast(request, after)
    face = draft_face(request, after, context["plan"])
    values = _draft(after.intent)
    return show(request, "forecast_answer.html", **context, values=values, changed=changed, face=face)


@router.post("/plan/sign")
def sign(request: Request, key: str, typed: Write) -> Response:
    """Freeze the plan as it was shown."""
    held = parts(request)
    form = typed.values
    return write_or_explain(
        lambda: sign_plan(
            held.record,
            key,
            power_dpt=forms.needed_number(form, "lens_power_dpt", "the lens power"),
            asked=forms.whole_number(form, "asked", "which forecast"),
            reasons=forms.text(form, "reasons"),
            revision=forms.revision(form),
            who=forms.needed_text(form, "who", "your name"),
            now=held.now(),
        ),
        case_url(key, Stage.PLAN),
        typed,
        partial(_page, request, held.record.case(key)),
    )


@router.get("/plan/draft")
@router.get("/plan/sign")
def back_to_draft(key: str) -> Response:
    """Where a reload leads after a save or a signature was refused."""
    return go(f"{case_url(key, Stage.PLAN)}?draft=1")


@router.get("/sheet.pdf")
def sheet(request: Request, key: str) -> Response:
    """The theatre sheet of the signed plan, or of the draft, which says so in large letters."""
    held = parts(request)
    case = held.record.case(key)
    plan = plan_to_print(case, held.record, held.today())
    pdf = held.theatre_sheet(case, plan, plan.request.lens)
    return Response(pdf, media_type="application/pdf", headers={"Content-Disposition": "inline"})


def _save(request: Request, case: Case, typed: Write) -> None:
    held = parts(request)
    intent = _intent(typed.values, case.intent)
    save_intent(
        held.record,
        case.key,
        intent,
        revision=forms.revision(typed.values),
        who=typed.who or NOBODY,
        now=held.now(),
    )


def _intent(form: Mapping[str, str], before: Intent) -> Intent:
    intent = Intent(
        lens_model=forms.text(form, "lens_model") or None,
        target_refraction_dpt=forms.number(form, "target_refraction_dpt", "the aim"),
        feared_side=forms.choice(form, "feared_side", FearedSide, "the feared side") or before.feared_side,
        surgeon=forms.text(form, "surgeon"),
        lens_power_dpt=forms.number(form, "lens_power_dpt", "the lens power"),
        incision_meridian_deg=forms.number(form, "incision_meridian_deg", "the incision's meridian"),
        capsulorhexis_mm=forms.number(form, "capsulorhexis_mm", "the capsulorhexis"),
        seat=forms.choice(form, "seat", Seat, "your seat"),
        pair=pair_wishes(form),
    )
    if intent.lens_model != before.lens_model:
        # A cylinder was chosen of the other lens.
        return with_astigmatism(intent, {**form, "lens_cylinder_dpt": "", "lens_meridian_deg": ""})
    return with_astigmatism(intent, form)


def _shown(form: Mapping[str, str], saved: Intent) -> Intent:
    """The draft behind the forecast that is on the screen, which quick hands may have left behind."""
    fields = {name.removeprefix(SHOWN): value for name, value in form.items() if name.startswith(SHOWN)}
    return _intent(fields, saved) if fields else saved


def _plan(record: Record, case: Case, request: Request) -> Plan:
    return plan_eye(request_for(case, record), parts(request).today())


def _page(request: Request, case: Case, problem: str, values: Mapping[str, str]) -> Response:
    if case.signed is not None and not problem and "draft" not in request.query_params:
        return _signed_page(request, case)
    fields = {**_draft(case.intent), **values}
    return case_page(
        request,
        case,
        Stage.PLAN,
        "plan.html",
        status=422 if problem else 200,
        problem=problem,
        values=fields,
        pair_asked=any(fields[name] for name in FIELDS),
        lenses=parts(request).record.lenses(),
        feared_sides=list(FearedSide),
        seats=list(Seat),
        importances=list(Importance),
        starting_targets=STARTING_TARGETS,
        **astigmatism_choices(),
        changed="",
        **_forecast(request, case, framed=True),
    )


def _signed_page(request: Request, case: Case) -> Response:
    signed = case.signed
    assert signed is not None  # noqa: S101 - the caller asked
    power = signed.intent.lens_power_dpt
    plan = with_chosen_power(plan_eye(signed.request, signed.signed_on), power)
    return case_page(
        request,
        case,
        Stage.PLAN,
        "plan_signed.html",
        problem="",
        signed=signed,
        plan=plan,
        doubts=signed_doubts(request, case),
        odds=_odds(plan, power),
        **astigmatism_context(plan, signed.intent),
    )


def _forecast(request: Request, case: Case, *, framed: bool = False) -> dict[str, Any]:
    """What the forecast part of the page shows."""
    record = parts(request).record
    chosen = case.intent.lens_power_dpt
    plan = with_chosen_power(_plan(record, case, request), chosen)
    blocked = is_blocked(plan.findings)
    findings = findings_with_choice(plan, chosen)
    power = chosen if chosen is not None else (plan.odds.best_power_dpt if plan.odds else None)
    context: dict[str, Any] = {
        "plan": plan,
        "power": power,
        "chosen": chosen,
        "prediction": None if power is None else plan.expected_of(power),
        "near": predictions_near(plan, power),
        "odds": _odds(plan, chosen),
        "agreement": None
        if power is None
        else two_widths(lambda width: methods_drawing(plan, power, width=width), WORK_WIDTH),
        "refused": [] if blocked else refusals(plan),
        "apart": anisometropia_sentence(plan),
        "pair_drawings": _pair(plan),
        **astigmatism_context(plan, case.intent),
        "read": eye_numbers(case.eye),
        "read_sds": measurement_sds(case.eye.biometry),
        "shown": {f"{SHOWN}{name}": value for name, value in _draft(case.intent).items()},
        "blocked": blocked,
        "findings": findings if blocked else besides_refusals(plan, findings),
        "standing": standing_warnings(plan, chosen),
    }
    return context if framed else {**context, "case": case}


def _odds(plan: Plan, chosen: float | None) -> TwoWidths:
    return two_widths(lambda width: odds_drawing(plan, chosen_power_dpt=chosen, width=width), WORK_WIDTH)


def _pair(plan: Plan) -> list[TwoWidths]:
    """One drawing for each way of aiming both eyes."""
    ways = () if plan.pair is None else plan.pair.strategies
    return [_way(way) for way in ways]


def _way(way: StrategyOutlook) -> TwoWidths:
    return two_widths(lambda width: pair_drawing(way, width=width), WORK_WIDTH)


def _draft(intent: Intent) -> dict[str, str]:
    """The draft as the form shows it."""
    return {
        "lens_model": intent.lens_model or "",
        "target_refraction_dpt": typed_number(intent.target_refraction_dpt),
        "feared_side": intent.feared_side,
        "surgeon": intent.surgeon,
        "incision_meridian_deg": typed_number(intent.incision_meridian_deg),
        "capsulorhexis_mm": typed_number(intent.capsulorhexis_mm),
        "seat": intent.seat or "",
        "lens_power_dpt": typed_number(intent.lens_power_dpt),
        **astigmatism_fields(intent),
        **pair_fields(intent.pair),
        "reasons": "",
        "who": "",
    }
