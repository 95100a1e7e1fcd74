"""Plan: keep the draft, sign it, and tell later whether it still says what it said."""

from __future__ import annotations

from dataclasses import asdict, replace
from datetime import date, datetime

from zonule import __version__
from zonule.case.canonical import canonical_text, digest
from zonule.case.case import Case
from zonule.case.finding import Finding, Severity, blocking, is_blocked, warning
from zonule.case.plan import Intent, Plan, PlanRequest, SignedPlan
from zonule.errors import ChangedMeanwhileError, InconsistentRecordError, InputError, NotApplicableError
from zonule.science.lens_power.formulas import FORMULAS
from zonule.workflow.forecast import plan_eye, prediction_at
from zonule.workflow.methods import constants_for
from zonule.workflow.ports import Record

RECHECK_DPT = 0.001


def request_for(case: Case, record: Record) -> PlanRequest:
    """What a plan of this case is computed from, as the record stands now."""
    intent = case.intent
    lens = record.lens(intent.lens_model) if intent.lens_model else None
    return PlanRequest(
        eye=case.eye,
        fellow=case.fellow,
        lens=lens,
        target_refraction_dpt=intent.target_refraction_dpt,
        feared_side=intent.feared_side,
        surgeon=intent.surgeon,
        lessons=tuple(one for one in record.lessons() if lens is not None and one.lens_model == lens.name),
    )


def plan_to_print(case: Case, record: Record, today: date) -> Plan:
    """The plan behind the theatre sheet: as signed, or the draft as it stands today."""
    if case.signed is not None:
        return plan_eye(case.signed.request, case.signed.signed_on)
    return plan_eye(request_for(case, record), today)


def save_intent(
    record: Record, case_key: str, intent: Intent, *, revision: int, who: str, now: datetime
) -> int:
    """Keep what the surgeon means to do; the new revision."""
    if intent.lens_model is not None and record.lens(intent.lens_model) is None:
        raise InputError(f"The lens {intent.lens_model} is not in the catalogue. Choose one that is.")
    before = record.case(case_key).intent
    detail = canonical_text({"before": asdict(before), "after": asdict(intent)})
    with record.act(who=who, verb="save draft", subject=case_key, at=now, detail=detail) as act:
        return act.put_intent(case_key, intent, revision)


def sign_plan(
    record: Record,
    case_key: str,
    *,
    power_dpt: float,
    seed: int,
    reasons: str,
    revision: int,
    who: str,
    now: datetime,
) -> SignedPlan:
    """Freeze the plan as it is shown, with the power chosen and the reasons for warnings left standing."""
    case = record.case(case_key)
    plan = plan_eye(request_for(case, record), now.date())
    if plan.seed != seed:
        raise ChangedMeanwhileError(
            "The measurements, the lens or a lesson changed after this plan was shown. Look at it again, "
            "then sign."
        )
    warnings = standing_warnings(plan)
    if is_blocked(plan.findings):
        raise NotApplicableError("This plan has a finding that must be resolved before it can be signed.")
    if warnings and not reasons.strip():
        raise InputError("Warnings stand. Write in a sentence why you go on, then sign again.")
    signed = _freeze(case, plan, power_dpt, reasons.strip(), warnings, who, now)
    with record.act(who=who, verb="sign plan", subject=case_key, at=now, detail=signed.digest) as act:
        act.put_intent(case_key, signed.intent, revision)
        act.add_signed_plan(case_key, signed)
    return signed


def standing_warnings(plan: Plan) -> tuple[Finding, ...]:
    """What a signature has to answer for: warnings, and questions of readiness nobody has answered."""
    return tuple(
        finding
        for finding in plan.findings
        if finding.severity is Severity.WARNING or finding.code == "readiness-unanswered"
    )


def signed_plan_doubts(signed: SignedPlan) -> tuple[Finding, ...]:
    """Whether a signed plan still says what it said: its hash, and its numbers computed anew."""
    found: list[Finding] = []
    if _digest_of(signed) != signed.digest:
        found.append(
            blocking(
                "signed-plan-altered",
                "The signed plan no longer matches its hash: it was altered after signing. Do not use it.",
                "signed",
                "zonule-ranges",
            )
        )
    again = plan_eye(signed.request, signed.signed_on)
    power = signed.intent.lens_power_dpt
    prediction = None if power is None else prediction_at(again, power)
    if prediction is None or abs(prediction.refraction_dpt - signed.predicted_refraction_dpt) > RECHECK_DPT:
        found.append(
            warning(
                "signed-plan-differs",
                f"This version ({__version__}) computes another refraction for the signed plan than version "
                f"{signed.software_version} did. Plan the eye again and compare.",
                "signed",
                "zonule-ranges",
            )
        )
    return tuple(found)


def _freeze(
    case: Case,
    plan: Plan,
    power_dpt: float,
    reasons: str,
    warnings: tuple[Finding, ...],
    who: str,
    now: datetime,
) -> SignedPlan:
    prediction = prediction_at(plan, power_dpt)
    if prediction is None:
        raise InconsistentRecordError(f"{power_dpt:g} D is not a power in which this lens is made.")
    if not who.strip():
        raise InputError("A plan is signed by a person: type your name.")
    displayed = {
        "lens_power_dpt": f"{power_dpt:.2f}",
        "predicted_refraction_dpt": f"{prediction.refraction_dpt:.2f}",
        "target_refraction_dpt": f"{plan.request.target_refraction_dpt:.2f}",
    }
    if prediction.spread is not None:
        displayed["sd_dpt"] = f"{prediction.spread.sd_dpt:.2f}"
        displayed["within_0_50"] = f"{prediction.spread.within_0_50:.2f}"
    draft = SignedPlan(
        request=plan.request,
        intent=replace(case.intent, lens_power_dpt=power_dpt),
        predicted_refraction_dpt=prediction.refraction_dpt,
        method_predictions_dpt={
            method.method: at.refraction_dpt - method.offset_dpt
            for method in plan.methods
            for at in method.predictions
            if at.lens_power_dpt == power_dpt
        },
        displayed=displayed,
        reasons=reasons,
        signed_by=who.strip(),
        signed_at=now,
        software_version=plan.software_version,
        seed=plan.seed,
        digest="",
        replaces=case.signed.digest if case.signed else "",
        warnings=warnings,
    )
    return replace(draft, digest=_digest_of(draft))


def _digest_of(signed: SignedPlan) -> str:
    """The hash of inputs, constants, lessons, version, seed and the decimals shown; of no computed float."""
    return digest(
        canonical_text(
            {
                "request": asdict(signed.request),
                "intent": asdict(signed.intent),
                "displayed": signed.displayed,
                "reasons": signed.reasons,
                "signed_by": signed.signed_by,
                "signed_at": signed.signed_at,
                "software_version": signed.software_version,
                "seed": signed.seed,
                "replaces": signed.replaces,
                "constants": _constants_used(signed.request),
            }
        )
    )


def _constants_used(request: PlanRequest) -> dict[str, tuple[float, ...]]:
    if request.lens is None:
        return {}
    chosen = {key: constants_for(formula, request.lens) for key, formula in FORMULAS.items()}
    return {key: pair[0] for key, pair in chosen.items() if pair is not None}
