"""Plan: keep the draft, sign it, and tell later whether it still says what it said."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime

from zonule import __version__
from zonule.case.canonical import canonical_text, digest
from zonule.case.case import Case
from zonule.case.finding import Finding, Severity, blocking, gravest_first, is_blocked, warning
from zonule.case.incision import Incision, IncisionLesson
from zonule.case.limits import refuse_impossible
from zonule.case.plan import Intent, Plan, PlanRequest, Prediction, SignedPlan
from zonule.case.toric import ToricOption, ToricWishes
from zonule.errors import ChangedMeanwhileError, InconsistentRecordError, InputError, NotApplicableError
from zonule.workflow.backup import backup_candidates
from zonule.workflow.forecast import plan_eye, with_chosen_power
from zonule.workflow.look_up import unoffset_predictions_dpt
from zonule.workflow.other_eye import other_eyes_case
from zonule.workflow.ports import Record
from zonule.workflow.second_eye import fellow_outcome_from

RECHECK_DPT = 0.001
FAR_FROM_AIM_DPT = 1.0
"""Expected refraction farther than this from the aim asks whether the power was meant (our choice)."""


def request_for(case: Case, record: Record) -> PlanRequest:
    """What a plan of this case is computed from, as the record stands now."""
    intent, other = case.intent, other_eyes_case(record, case)
    lens = record.lens(intent.lens_model) if intent.lens_model else None
    return PlanRequest(
        eye=case.eye,
        fellow=case.fellow,
        lens=lens,
        target_refraction_dpt=intent.target_refraction_dpt,
        feared_side=intent.feared_side,
        surgeon=intent.surgeon,
        lessons=tuple(one for one in record.lessons() if lens is not None and one.lens_model == lens.name),
        fellow_outcome=None if other is None else fellow_outcome_from(other),
        backups=() if lens is None else backup_candidates(lens, record.lenses()),
        pair=intent.pair,
        incision=_incision(intent),
        incision_lesson=_incision_lesson(case, record),
        toric=_toric_wishes(intent),
    )


def _incision(intent: Intent) -> Incision | None:
    if intent.incision_meridian_deg is None:
        return None
    return Incision(intent.incision_meridian_deg, intent.incision_width_mm, intent.incision_flattening_dpt)


def _incision_lesson(case: Case, record: Record) -> IncisionLesson | None:
    """What this surgeon's eyes say of such an incision."""
    incision = _incision(case.intent)
    if incision is None:
        return None
    own = (one for one in record.incision_lessons() if one.surgeon == case.intent.surgeon)
    return next((one for one in own if one.is_about(incision, case.side)), None)


def _toric_wishes(intent: Intent) -> ToricWishes | None:
    """What was chosen about cylinder; nothing when nobody chose."""
    wishes = ToricWishes(
        cornea_model=intent.cornea_model,
        marking=intent.marking,
        lens_cylinder_dpt=intent.lens_cylinder_dpt,
        lens_meridian_deg=intent.lens_meridian_deg,
    )
    return None if wishes == ToricWishes() else wishes


def plan_to_print(case: Case, record: Record, today: date) -> Plan:
    """The plan behind the theatre sheet: as signed, or the draft as it stands today."""
    if case.signed is not None:
        plan = plan_eye(case.signed.request, case.signed.signed_on)
        return with_chosen_power(plan, case.signed.intent.lens_power_dpt)
    return with_chosen_power(plan_eye(request_for(case, record), today), case.intent.lens_power_dpt)


_CAN_BE_IMPOSSIBLE = (
    "incision_meridian_deg",
    "incision_width_mm",
    "incision_flattening_dpt",
    "capsulorhexis_mm",
    "lens_cylinder_dpt",
    "lens_meridian_deg",
)


def save_intent(
    record: Record, case_key: str, intent: Intent, *, revision: int, who: str, now: datetime
) -> int:
    """Keep what the surgeon means to do; the new revision."""
    if intent.lens_model is not None and record.lens(intent.lens_model) is None:
        raise InputError(f"The lens {intent.lens_model} is not in the catalogue. Choose one that is.")
    refuse_impossible(intent, *_CAN_BE_IMPOSSIBLE)
    before = record.case(case_key).intent
    detail = canonical_text({"before": before, "after": intent})
    with record.act(who=who, verb="save draft", subject=case_key, at=now, detail=detail) as act:
        return act.put_intent(case_key, intent, revision)


def sign_plan(
    record: Record,
    case_key: str,
    *,
    power_dpt: float,
    asked: int,
    reasons: str,
    revision: int,
    who: str,
    now: datetime,
) -> SignedPlan:
    """Freeze the plan as it is shown, with the power chosen and the reasons for warnings left standing."""
    case = record.case(case_key)
    if case.operation is not None:
        raise InconsistentRecordError(
            "The operation on this eye is on record. What was promised before it stays; no plan can be "
            "signed after it."
        )
    if not who.strip():
        raise InputError("A plan is signed by a person: type your name.")
    plan = with_chosen_power(plan_eye(request_for(case, record), now.date()), power_dpt)
    if plan.asked != asked:
        raise ChangedMeanwhileError(
            "The measurements, the lens or a lesson changed after this plan was shown. Look at it again, "
            "then sign."
        )
    warnings = standing_warnings(plan, power_dpt)
    if is_blocked(plan.findings):
        raise NotApplicableError("This plan has a finding that must be resolved before it can be signed.")
    if warnings and not reasons.strip():
        raise InputError("Warnings stand. Write in a sentence why you go on, then sign again.")
    case, plan = _with_meridian(case, plan, record)
    signed = _freeze(case, plan, power_dpt, reasons.strip(), warnings, who, now)
    with record.act(who=who, verb="sign plan", subject=case_key, at=now, detail=signed.digest) as act:
        act.put_intent(case_key, signed.intent, revision)
        act.add_signed_plan(case_key, signed)
    return signed


def _with_meridian(case: Case, plan: Plan, record: Record) -> tuple[Case, Plan]:
    """Both with the lens meridian written down, in whole degrees, where only the plan says it so far."""
    chosen, lens = case.intent.lens_cylinder_dpt, plan.request.lens
    if chosen is None and lens is not None and lens.cylinders_dpt:
        raise InputError("This lens is made with cylinder. Choose which, or choose none, then sign.")
    if not chosen or plan.toric is None or case.intent.lens_meridian_deg is not None:
        return case, plan
    meridian_deg = float(round(plan.toric.meridian_deg) % 180 or 180)
    written = replace(case, intent=replace(case.intent, lens_meridian_deg=meridian_deg))
    anew = plan_eye(request_for(written, record), plan.computed_on)
    return written, with_chosen_power(anew, plan.toric.power_dpt)


def findings_with_choice(plan: Plan, power_dpt: float | None) -> tuple[Finding, ...]:
    """Every doubt about a plan, and about the power chosen from it."""
    prediction = None if power_dpt is None else plan.expected_of(power_dpt)
    target_dpt = plan.request.target_refraction_dpt
    if prediction is None or target_dpt is None:
        return plan.findings
    miss_dpt = prediction.refraction_dpt - target_dpt
    if abs(miss_dpt) <= FAR_FROM_AIM_DPT:
        return plan.findings
    side = "long-sighted" if miss_dpt > 0 else "short-sighted"
    far = warning(
        "power-far-from-aim",
        f"With {prediction.lens_power_dpt:g} D this eye is expected {abs(miss_dpt):.1f} D more {side} than "
        "the aim. If that power was not meant, choose another; if it was, correct the aim.",
        "lens_power_dpt",
        "zonule-ranges",
    )
    return gravest_first((*plan.findings, far))


def standing_warnings(plan: Plan, power_dpt: float | None) -> tuple[Finding, ...]:
    """What a signature has to answer for: warnings, and questions of readiness nobody has answered."""
    return tuple(
        finding
        for finding in findings_with_choice(plan, power_dpt)
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
    if _differs_when_computed_anew(signed):
        found.append(_recheck_finding(signed))
    return tuple(found)


def changes_since_signing(case: Case, record: Record) -> tuple[Finding, ...]:
    """What the record now holds otherwise than the signed plan was made from."""
    signed = case.signed
    if signed is None:
        return ()
    if signed.case_key != case.key:
        return (
            blocking(
                "signed-for-another-case",
                f"This plan was signed for {signed.case_key or 'no case'}, not for {case.key}. Do not use "
                "it.",
                "signed",
                "zonule-ranges",
            ),
        )
    now = request_for(case, record)
    parts = (
        ("the eye", signed.request.eye, now.eye),
        ("the fellow eye", signed.request.fellow, now.fellow),
        ("the lens", signed.request.lens, now.lens),
        ("the aim", signed.request.target_refraction_dpt, now.target_refraction_dpt),
        ("what the first eye got", signed.request.fellow_outcome, now.fellow_outcome),
        ("what the patient wants of both eyes", signed.request.pair, now.pair),
        ("the incision", signed.request.incision, now.incision),
        ("what own eyes say of the incision", signed.request.incision_lesson, now.incision_lesson),
        ("what was chosen about the cylinder", signed.request.toric, now.toric),
        ("the chosen power", signed.intent.lens_power_dpt, case.intent.lens_power_dpt),
    )
    changed = [words for words, before, after in parts if canonical_text(before) != canonical_text(after)]
    if not changed:
        return ()
    return (
        warning(
            "changed-since-signing",
            f"After this plan was signed the record changed: {', '.join(changed)}. The signed plan knows "
            "nothing of it. Look at both, and sign anew if the change counts.",
            "signed",
            "zonule-ranges",
        ),
    )


def _differs_when_computed_anew(signed: SignedPlan) -> bool:
    power = signed.intent.lens_power_dpt
    again = plan_eye(signed.request, signed.signed_on)
    prediction = None if power is None else again.expected_of(power)
    if power is None or prediction is None:
        return True
    by_method = unoffset_predictions_dpt(again, power)
    if by_method.keys() != signed.method_predictions_dpt.keys():
        return True
    pairs = [(prediction.refraction_dpt, signed.predicted_refraction_dpt)]
    if signed.predicted_residual_dpt is not None:
        option = _option_chosen(with_chosen_power(again, power), signed.intent)
        if option is None:
            return True
        pairs.append((float(option.residual.magnitude_dpt), signed.predicted_residual_dpt))
    pairs += [(by_method[method], stored) for method, stored in signed.method_predictions_dpt.items()]
    return any(abs(anew - stored) > RECHECK_DPT for anew, stored in pairs)


def _option_chosen(plan: Plan, intent: Intent) -> ToricOption | None:
    """What was chosen of the cylinders; a lens without when nobody spoke of any."""
    return None if plan.toric is None else plan.toric.option(intent.lens_cylinder_dpt or 0.0)


def _recheck_finding(signed: SignedPlan) -> Finding:
    if signed.software_version == __version__:
        return blocking(
            "signed-plan-altered",
            "Computed anew by the same version, the signed plan gives another refraction than is stored: a "
            "stored number was altered after signing. Do not use it.",
            "signed",
            "zonule-ranges",
        )
    return warning(
        "signed-plan-differs",
        f"This version ({__version__}) computes another refraction for the signed plan than version "
        f"{signed.software_version} did. Plan the eye again and compare.",
        "signed",
        "zonule-ranges",
    )


def _freeze(
    case: Case,
    plan: Plan,
    power_dpt: float,
    reasons: str,
    warnings: tuple[Finding, ...],
    who: str,
    now: datetime,
) -> SignedPlan:
    prediction = _prediction_to_sign(plan, power_dpt)
    option = _option_chosen(plan, case.intent)
    draft = SignedPlan(
        request=plan.request,
        intent=replace(case.intent, lens_power_dpt=power_dpt),
        predicted_refraction_dpt=prediction.refraction_dpt,
        method_predictions_dpt=unoffset_predictions_dpt(plan, power_dpt),
        predicted_residual_dpt=None if option is None else float(option.residual.magnitude_dpt),
        displayed=_displayed(plan, prediction) | _displayed_cylinder(plan, case.intent, option),
        reasons=reasons,
        signed_by=who.strip(),
        signed_at=now,
        software_version=plan.software_version,
        seed=plan.seed,
        digest="",
        replaces=case.signed.digest if case.signed else "",
        warnings=warnings,
        case_key=case.key,
    )
    return replace(draft, digest=_digest_of(draft))


def _prediction_to_sign(plan: Plan, power_dpt: float) -> Prediction:
    lens = plan.request.lens
    if lens is None or power_dpt not in lens.powers.powers_dpt:
        raise InconsistentRecordError(f"{power_dpt:g} D is not a power in which this lens is made.")
    prediction = plan.expected_of(power_dpt)
    if prediction is None:
        raise NotApplicableError(
            "No formula may stand for this eye, so nothing is predicted and nothing can be signed."
        )
    return prediction


def _displayed(plan: Plan, prediction: Prediction) -> dict[str, str]:
    displayed = {
        "lens_power_dpt": f"{prediction.lens_power_dpt:.2f}",
        "predicted_refraction_dpt": f"{prediction.refraction_dpt:.2f}",
        "target_refraction_dpt": f"{plan.request.target_refraction_dpt:.2f}",
    }
    if prediction.spread is not None:
        displayed["sd_dpt"] = f"{prediction.spread.sd_dpt:.2f}"
        displayed["within_0_50"] = f"{prediction.spread.within_0_50:.2f}"
    return displayed


def _displayed_cylinder(plan: Plan, intent: Intent, option: ToricOption | None) -> dict[str, str]:
    """The decimals shown about the cylinder; none where nothing is known of it."""
    if plan.toric is None or option is None:
        return {}
    shown = {
        "lens_cylinder_dpt": f"{option.lens_cylinder_dpt:.2f}",
        "cornea_model": plan.toric.planned_on,
        "residual_dpt": f"{float(option.residual.magnitude_dpt):.2f}",
        "residual_within_0_50": f"{option.within_0_50:.2f}",
    }
    if intent.lens_cylinder_dpt and intent.lens_meridian_deg is not None:
        shown["lens_meridian_deg"] = f"{intent.lens_meridian_deg:.0f}"
    return shown


def _digest_of(signed: SignedPlan) -> str:
    """The hash of inputs, constants, lessons, version, seed and what was shown; of no computed float.

    The constants are those of the lens in the request. One converted from A follows from A and the version;
    it is not hashed, for it would be computed again by whatever version checks the hash.
    """
    return digest(
        canonical_text(
            {
                "case_key": signed.case_key,
                "request": signed.request,
                "intent": signed.intent,
                "displayed": signed.displayed,
                "warnings": signed.warnings,
                "reasons": signed.reasons,
                "signed_by": signed.signed_by,
                "signed_at": signed.signed_at,
                "software_version": signed.software_version,
                "seed": signed.seed,
                "replaces": signed.replaces,
            }
        )
    )
