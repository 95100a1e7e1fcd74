"""The forecast for one eye: which power, and how sure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date

import numpy as np

from zonule import __version__
from zonule.case.agreement import Agreement
from zonule.case.applicability import keratoconus_asked, odds_withheld
from zonule.case.backup import Backup
from zonule.case.canonical import canonical_numbers, seed_from
from zonule.case.eye import Eye
from zonule.case.finding import Finding, Severity, gravest_first, note, warning
from zonule.case.lens import LensModel
from zonule.case.lesson import LessonUse
from zonule.case.operated_cornea import has_no_correction, untouched_only
from zonule.case.pair import PairOutlook
from zonule.case.plan import CorneaEstimate, MethodResult, Plan, PlanRequest, Refused, is_same_power
from zonule.case.quantity import QUANTITIES
from zonule.case.request_checks import aim_difference_dpt, request_findings
from zonule.case.second_eye import SecondEye
from zonule.case.worth import Worth
from zonule.science.lens_power.anatomical_rows import RAY_TRACED
from zonule.science.lens_power.corrected_cornea import CORRECTIONS
from zonule.science.lens_power.formulas import FORMULAS, EyeNumbers
from zonule.science.uncertainty.propagation import drawn_eyes
from zonule.science.uncertainty.spread import sd_dpt as routine_sd_dpt
from zonule.workflow.agreement import agreement, disagreement_findings
from zonule.workflow.backup import backup_lenses
from zonule.workflow.lesson_use import lesson_uses, unless_refused
from zonule.workflow.method_choice import method_choice, methods_concerned, published_scale_dpt, suits
from zonule.workflow.methods import (
    Evaluation,
    Question,
    evaluate,
    eye_numbers,
    lane_shift_dpt,
    measurement_sds,
    method_result,
)
from zonule.workflow.odds import Together, together
from zonule.workflow.pair import EyeOfPair, pair_outlook
from zonule.workflow.second_eye import second_eye_shift
from zonule.workflow.toric import toric_answer
from zonule.workflow.worth import worth_repeating

LOW_POWER_DPT = 3.0
HIGH_POWER_DPT = 30.0


def plan_eye(request: PlanRequest, today: date) -> Plan:
    """What each method predicts for this eye and what the odds are; every doubt beside it."""
    found = request_findings(request, today)
    blocked = tuple(finding for finding in found if finding.severity is Severity.BLOCKING)
    of_sphere = replace(_of_numbers(request), incision=None, incision_lesson=None, toric=None)
    seed = seed_from(canonical_numbers(of_sphere))
    numbers = eye_numbers(request.eye)
    lens, target_dpt = request.lens, request.target_refraction_dpt
    blank = Plan(
        request=request,
        methods=(),
        refused=(),
        findings=gravest_first(found),
        seed=seed,
        asked=asked_of(request),
        software_version=__version__,
        no_odds_because="A finding must be resolved first.",
        aim_difference_dpt=aim_difference_dpt(request),
        computed_on=today,
    )
    if blocked or numbers is None or lens is None or target_dpt is None:
        return replace(blank, refused=tuple(Refused(key, blocked) for key in methods_concerned(request.eye)))
    uses = lesson_uses(request, lens)
    question = Question(
        lens=lens,
        numbers=numbers,
        drawn=drawn_eyes(numbers, measurement_sds(request.eye.biometry), seed),
        target_dpt=target_dpt,
        feared=request.feared_side,
        lessons={use.lesson.method: use.lesson for use in uses if use.used},
        law_scale_dpt=published_scale_dpt(request.eye),
        odds_allowed=not odds_withheld(request.eye),
        anatomy_stands=has_no_correction(request.eye),
    )
    return _answered(blank, question, uses)


def asked_of(request: PlanRequest) -> int:
    """What tells two requests apart whose plans may have other numbers; a signature names it."""
    return seed_from(canonical_numbers(_of_numbers(request)))


def _of_numbers(request: PlanRequest) -> PlanRequest:
    """The request without what moves no number of methods, odds or cylinder."""
    return replace(request, surgeon="", backups=(), pair=None)


def _answered(blank: Plan, question: Question, uses: Sequence[LessonUse]) -> Plan:
    """The plan of an eye that may be planned."""
    request = blank.request
    evaluated, refused = _ask_all(request.eye, question)
    counting = [one for one in evaluated if one.counts]
    alone = tuple(method_result(one, question) for one in evaluated)
    before = together(counting, question)
    second = None
    if request.fellow_outcome is not None:
        second = second_eye_shift(request.fellow_outcome, request, alone)
    methods, whole = alone, before
    if second is not None and second.used:
        methods = tuple(method_result(one, question, second) for one in evaluated)
        whole = together(counting, question, second)
        if before is not None and whole is not None:
            second = second.with_powers(before.odds.best_power_dpt, whole.odds.best_power_dpt)
    plan = replace(
        blank,
        methods=methods,
        refused=tuple(refused),
        odds=None if whole is None else whole.odds,
        no_odds_because="" if whole else odds_withheld(request.eye) or _NONE_COUNTS,
        lessons=tuple(unless_refused(use, refused) for use in uses),
        corneas=_corneas(request.eye, question.numbers),
        second_eye=second,
        worth=None if whole is None else _worth(counting, question, whole, blank),
        agreement=_agreement(methods, question, whole),
        backup=_backup(question, request, counting, whole, second),
        pair=_pair(request, whole, blank),
    )
    return _with_cylinder(replace(plan, findings=_together(plan, refused)))


def _with_cylinder(plan: Plan, power_dpt: float | None = None) -> Plan:
    """The plan with its astigmatism, for the power chosen; what was said of another power is taken back."""
    answer = toric_answer(plan, power_dpt)
    before = () if plan.toric is None else plan.toric.findings
    others = (one for one in plan.findings if one not in before)
    return replace(plan, toric=answer.toric, findings=gravest_first((*others, *answer.findings)))


def with_chosen_power(plan: Plan, power_dpt: float | None) -> Plan:
    """The plan with backup lenses and cylinders for the power that was chosen instead of the best one."""
    if power_dpt is None:
        return plan
    if plan.toric is not None and not is_same_power(power_dpt, plan.toric.power_dpt):
        plan = _with_cylinder(plan, power_dpt)
    request, numbers = plan.request, eye_numbers(plan.request.eye)
    if plan.backup is None or request.lens is None or numbers is None:
        return plan
    eyes = {one.method: numbers for one in plan.methods if one.counts}
    target_dpt = plan.backup.target_refraction_dpt
    found = backup_lenses(request.lens, power_dpt, target_dpt, eyes, request.backups)
    return replace(plan, backup=_without_first_eye(found, plan.second_eye))


def _backup(
    question: Question,
    request: PlanRequest,
    counting: Sequence[Evaluation],
    whole: Together | None,
    second: SecondEye | None,
) -> Backup | None:
    """The other lenses to have ready beside the power with the best odds."""
    if whole is None:
        return None
    eyes = {one.formula.key: question.numbers for one in counting}
    best_dpt, target_dpt = whole.odds.best_power_dpt, question.target_dpt
    found = backup_lenses(question.lens, best_dpt, target_dpt, eyes, request.backups)
    return _without_first_eye(found, second)


def _without_first_eye(found: Backup, second: SecondEye | None) -> Backup:
    """The same, saying so where the first eye moved the planned lens: it speaks of that lens alone."""
    if second is None or not second.used or not second.shift_dpt:
        return found
    side = "long-sighted" if second.shift_dpt > 0.0 else "short-sighted"
    moved = note(
        "backup-without-first-eye",
        "The first eye moved the planned lens and moves none of these: its error belongs to the same lens "
        f"in the bag. If this eye repeats it, they end about {abs(second.shift_dpt):.2f} D more {side} than "
        "shown. The step rule starts from the planned power and so carries it.",
        "backup",
        "zonule-ranges",
    )
    return replace(found, findings=(*found.findings, moved))


def _worth(counting: Sequence[Evaluation], question: Question, whole: Together, blank: Plan) -> Worth:
    """Where the doubt comes from at the best power, and what repeating a measurement buys."""
    return worth_repeating(
        [(one.formula, one.constants) for one in counting],
        question.numbers,
        measurement_sds(blank.request.eye.biometry),
        np.array(question.lens.powers.powers_dpt),
        whole.refractions_dpt,
        whole.best,
        whole.law,
        question.target_dpt,
        blank.seed,
    )


def _agreement(
    methods: Sequence[MethodResult], question: Question, whole: Together | None
) -> Agreement | None:
    """How far apart the methods lie that may stand for this eye, against what each leaves open.

    Nothing where no spread may be promised: then nobody knows what each leaves open.
    """
    if not question.odds_allowed:
        return None
    fit = [one for one in methods if one.fit]
    spread_dpt = (
        float(routine_sd_dpt(question.law_scale_dpt)) if whole is None else _sd_at_best_power_dpt(whole)
    )
    asked = [
        (
            FORMULAS[one.method],
            one.constants,
            lane_shift_dpt(question.lens, FORMULAS[one.method]) + one.offset_dpt + one.second_eye_dpt,
        )
        for one in fit
    ]
    return agreement(asked, question.numbers, spread_dpt, question.target_dpt)


def _sd_at_best_power_dpt(whole: Together) -> float:
    """Not over all powers made: a weaker lens is labelled more exactly than a strong eye's own."""
    return float(np.asarray(whole.law.sd_dpt)[whole.best])


def _pair(request: PlanRequest, whole: Together | None, blank: Plan) -> PairOutlook | None:
    """Both eyes together, when somebody asked what the patient wants of them."""
    if request.pair is None:
        return None
    this = EyeOfPair(
        request.eye.side,
        () if whole is None else whole.odds.predictions,
        why_not="" if whole else "This eye has no odds.",
    )
    return pair_outlook(request.pair, this, _fellow_of_pair(request, blank))


def _fellow_of_pair(request: PlanRequest, blank: Plan) -> EyeOfPair:
    """What the fellow eye got, or what the same lens would give it."""
    side = request.eye.side.other
    if request.fellow_outcome is not None:
        return EyeOfPair(side, achieved_dpt=request.fellow_outcome.refraction.reported_equivalent_dpt)
    if request.fellow is None:
        return EyeOfPair(side, why_not="The fellow eye was not given.")
    asked = PlanRequest(
        eye=request.fellow,
        lens=request.lens,
        target_refraction_dpt=request.target_refraction_dpt,
        feared_side=request.feared_side,
        surgeon=request.surgeon,
        lessons=request.lessons,
    )
    plan = plan_eye(asked, blank.computed_on)
    if plan.odds is None:
        return EyeOfPair(side, why_not=f"The fellow eye has no odds. {plan.no_odds_because}")
    return EyeOfPair(side, plan.odds.predictions)


def _ask_all(eye: Eye, question: Question) -> tuple[list[Evaluation], list[Refused]]:
    """Every method that suits this eye: those that answered, and those that must not be used."""
    choice = method_choice(eye, question.numbers)
    evaluated: list[Evaluation] = []
    refused = list(choice.refused)
    for formula in choice.asked:
        is_spoken_for = any(one.fit and one.formula.key == formula.repairs for one in evaluated)
        may_stand = suits(formula, eye) and not is_spoken_for
        answer = evaluate(formula, question, may_stand=may_stand)
        if isinstance(answer, Refused):
            refused.append(answer)
        else:
            evaluated.append(answer)
    return evaluated, refused


def _corneas(eye: Eye, numbers: EyeNumbers) -> tuple[CorneaEstimate, ...]:
    """What each published correction makes of an operated cornea, as far as its history is known."""
    estimates = []
    for one in CORRECTIONS.values():
        read = [getattr(numbers, name) for name in one.reads]
        if eye.history.corneal_surgery not in one.corneas or np.isnan(read).any():
            continue
        words = [f"the {QUANTITIES[name].words}" for name in one.reads if name != "mean_k_dpt"]
        power_dpt = float(one.corrected(*read).power_dpt)
        estimates.append(CorneaEstimate(one.name, power_dpt, " and ".join(words), one.source, one.status))
    return tuple(estimates)


def _result_findings(methods: Sequence[MethodResult], lens: LensModel) -> Iterator[Finding]:
    needed = [one.power_for_target_dpt for one in methods if one.fit]
    formulas = [FORMULAS[one.method] for one in methods]
    unchecked = [formula.name for formula in formulas if "from memory" in formula.status]
    if unchecked:
        yield note(
            "formulas-from-memory",
            f"Numbers inside {'; '.join(unchecked)} were written from memory, and nobody has yet checked "
            "them against the papers; docs/sources.md says how far each was checked.",
            "methods",
            "zonule-ranges",
        )
    if not needed:
        return
    middle = float(np.median(needed))
    half_step = lens.powers.step_dpt / 2.0
    if not lens.powers.from_dpt - half_step <= middle <= lens.powers.to_dpt + half_step:
        yield warning(
            "power-not-made",
            f"This eye needs {middle:.1f} D, and {lens.name} is made from {lens.powers.from_dpt:g} to "
            f"{lens.powers.to_dpt:g} D. Choose another lens.",
            "lens.powers_dpt",
        )
    if abs(middle) < LOW_POWER_DPT:
        yield warning(
            "low-power",
            f"At {middle:.1f} D the refraction hardly depends on where the lens sits, and constants found "
            "in ordinary eyes do not hold; lenses of minus power need their own.",
            "methods",
            "haigis-2008",
        )
    elif middle < 0.0:
        yield warning(
            "minus-power",
            f"This eye needs {middle:.1f} D. Lenses of minus power need constants of their own: those "
            "found in ordinary eyes may not hold, and the odds shown are those of ordinary eyes.",
            "methods",
            "haigis-2008",
        )
    if middle > HIGH_POWER_DPT:
        yield warning(
            "high-power",
            f"At {middle:.1f} D a thin-lens formula is at its limit, and the label may be off by up to 1 D.",
            "methods",
            "haigis-2008",
        )


_NONE_COUNTS = "No method may be counted: constants are first guesses, or the eye lies outside their range."


def _together(plan: Plan, refused: Sequence[Refused]) -> tuple[Finding, ...]:
    """Every finding once, gravest first; backup lenses and the pair keep theirs, which stop no plan."""
    operated = untouched_only(plan.request.eye) is not None
    every = [*plan.findings, *disagreement_findings(plan.agreement, operated=operated)]
    keratoconus = keratoconus_asked(plan.request.eye)
    every.extend(() if keratoconus is None else (keratoconus,))
    if plan.request.lens is not None:
        every.extend(_result_findings(plan.methods, plan.request.lens))
    every.extend(finding for one in plan.methods for finding in one.findings)
    every.extend(finding for one in refused for finding in one.findings)
    every.extend(() if plan.second_eye is None else plan.second_eye.findings)
    every.extend(_usual_shapes(plan))
    return gravest_first(every)


def _usual_shapes(plan: Plan) -> Iterator[Finding]:
    """Rays through an operated cornea go through shapes that nobody measured."""
    traced = any(one.method == RAY_TRACED.key for one in plan.methods)
    if traced and untouched_only(plan.request.eye) is not None:
        yield note(
            "usual-corneal-shape",
            "The rays take the asphericity of untouched corneas (Q -0.18 in front, -0.60 behind). Through "
            "a pupil of 3 mm a front of Q +0.5 to +1, as after laser for short sight, would end 0.2 to 0.4 "
            "D more short-sighted, one of Q -1, as in keratoconus, 0.5 D more long-sighted; through a "
            "wider pupil more.",
            "methods.ray_traced",
            "liou-1997",
        )
