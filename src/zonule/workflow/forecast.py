"""The forecast for one eye: which power, and how sure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date

import numpy as np

from zonule import __version__
from zonule.case.applicability import keratoconus_asked, odds_withheld
from zonule.case.backup import Backup
from zonule.case.canonical import canonical_numbers, seed_from
from zonule.case.eye import Eye
from zonule.case.finding import Finding, Severity, gravest_first, note, warning
from zonule.case.lens import LensModel
from zonule.case.lesson import Lesson, LessonUse
from zonule.case.plan import (
    CorneaEstimate,
    MethodResult,
    Odds,
    Plan,
    PlanRequest,
    Prediction,
    Refused,
)
from zonule.case.request_checks import aim_difference_dpt, request_findings
from zonule.case.second_eye import SecondEye
from zonule.science.lens_power.corrected_cornea import CORRECTIONS
from zonule.science.lens_power.formulas import FORMULAS, EyeNumbers
from zonule.science.uncertainty.propagation import DRAWS, drawn_eyes
from zonule.science.uncertainty.spread import ErrorLaw, error_law, fraction_within
from zonule.workflow.backup import backup_lenses
from zonule.workflow.method_choice import counts_for, method_choice, methods_concerned, published_scale_dpt
from zonule.workflow.methods import (
    Evaluation,
    Question,
    constants_for,
    evaluate,
    eye_numbers,
    measurement_sds,
    method_result,
    predictions,
    same_constants,
)
from zonule.workflow.second_eye import second_eye_shift

SHOWN_EACH_SIDE = 4
"""Powers shown on either side of the chosen one; the rest are in the data."""

LOW_POWER_DPT = 3.0
HIGH_POWER_DPT = 30.0
NEAR_EQUAL = 0.001
"""Chances that differ by no more are the same to a surgeon."""
DISAGREEMENT_DPT = 1.0
"""Of lens power, between methods (common practice, no source)."""


def plan_eye(request: PlanRequest, today: date) -> Plan:
    """What each method predicts for this eye and what the odds are; every doubt beside it."""
    found = request_findings(request, today)
    blocked = tuple(finding for finding in found if finding.severity is Severity.BLOCKING)
    seed = seed_from(canonical_numbers(replace(request, surgeon="")))
    numbers = eye_numbers(request.eye)
    lens, target_dpt = request.lens, request.target_refraction_dpt
    blank = Plan(
        request=request,
        methods=(),
        refused=(),
        findings=gravest_first(found),
        seed=seed,
        software_version=__version__,
        no_odds_because="A finding must be resolved first.",
        aim_difference_dpt=aim_difference_dpt(request),
    )
    if blocked or numbers is None or lens is None or target_dpt is None:
        return replace(blank, refused=tuple(Refused(key, blocked) for key in methods_concerned(request.eye)))
    uses = _lesson_uses(request, lens)
    question = Question(
        lens=lens,
        numbers=numbers,
        drawn=drawn_eyes(numbers, measurement_sds(request.eye.biometry), seed),
        target_dpt=target_dpt,
        feared=request.feared_side,
        lessons={use.lesson.method: use.lesson for use in uses if use.used},
        law_scale_dpt=published_scale_dpt(request.eye),
        odds_allowed=not odds_withheld(request.eye),
    )
    return _answered(blank, question, uses)


def _answered(blank: Plan, question: Question, uses: Sequence[LessonUse]) -> Plan:
    """The plan of an eye that may be planned."""
    request, lens = blank.request, question.lens
    evaluated, refused = _ask_all(request.eye, question)
    methods, odds, second = _with_first_eye(evaluated, question, request)
    keratoconus = keratoconus_asked(request.eye)
    return replace(
        blank,
        methods=methods,
        refused=tuple(refused),
        findings=_together(
            blank.findings, keratoconus, methods, refused, second, _result_findings(methods, lens)
        ),
        odds=odds,
        no_odds_because="" if odds else odds_withheld(request.eye) or _NONE_COUNTS,
        lessons=tuple(_unless_refused(use, refused) for use in uses),
        corneas=_corneas(request.eye, question.numbers),
        second_eye=second,
        backup=_backup(question, request, [one for one in methods if one.counts], odds),
    )


def with_chosen_power(plan: Plan, power_dpt: float | None) -> Plan:
    """The plan with its backup lenses beside the power that was chosen instead of the best one."""
    if plan.backup is None or power_dpt is None:
        return plan
    request = plan.request
    numbers = eye_numbers(request.eye)
    assert request.lens is not None  # noqa: S101 - a plan with backups has a lens
    assert numbers is not None  # noqa: S101 - same
    eyes = {one.method: numbers for one in plan.methods if one.counts}
    target_dpt = plan.backup.target_refraction_dpt
    return replace(plan, backup=backup_lenses(request.lens, power_dpt, target_dpt, eyes, request.backups))


def _backup(
    question: Question, request: PlanRequest, counting: Sequence[MethodResult], odds: Odds | None
) -> Backup | None:
    """The other lenses to have ready beside the power with the best odds."""
    if not counting:
        return None
    eyes = {one.method: question.numbers for one in counting}
    power_dpt = None if odds is None else odds.best_power_dpt
    return backup_lenses(question.lens, power_dpt, question.target_dpt, eyes, request.backups)


def _ask_all(eye: Eye, question: Question) -> tuple[list[Evaluation], list[Refused]]:
    """Every method that suits this eye: those that answered, and those that must not be used."""
    choice = method_choice(eye, question.numbers)
    evaluated: list[Evaluation] = []
    refused = list(choice.refused)
    for formula in choice.asked:
        answer = evaluate(formula, question, may_stand=counts_for(formula, eye))
        if isinstance(answer, Refused):
            refused.append(answer)
        else:
            evaluated.append(answer)
    return evaluated, refused


def _with_first_eye(
    evaluated: Sequence[Evaluation], question: Question, request: PlanRequest
) -> tuple[tuple[MethodResult, ...], Odds | None, SecondEye | None]:
    """Results and odds, after the first eye's own error has had its say where it may."""
    alone = tuple(method_result(one, question) for one in evaluated)
    counting = [one for one in evaluated if one.counts]
    odds = _odds(counting, question, None)
    if request.fellow_outcome is None:
        return alone, odds, None
    second = second_eye_shift(request.fellow_outcome, request, alone)
    if not second.used:
        return alone, odds, second
    moved = tuple(method_result(one, question, second) for one in evaluated)
    after = _odds(counting, question, second)
    if odds is not None and after is not None:
        second = second.with_powers(odds.best_power_dpt, after.best_power_dpt)
    return moved, after, second


def _corneas(eye: Eye, numbers: EyeNumbers) -> tuple[CorneaEstimate, ...]:
    """What each published correction makes of an operated cornea, as far as its history is known."""
    estimates = []
    for one in CORRECTIONS.values():
        read = [getattr(numbers, name) for name in one.reads]
        if eye.history.corneal_surgery not in one.corneas or np.isnan(read).any():
            continue
        words = [_HISTORY_WORDS[name] for name in one.reads if name in _HISTORY_WORDS]
        power_dpt = float(one.corrected(*read).power_dpt)
        estimates.append(CorneaEstimate(one.name, power_dpt, " and ".join(words), one.source, one.status))
    return tuple(estimates)


_HISTORY_WORDS = {
    "mean_k_before_dpt": "the power before surgery",
    "treated_at_cornea_dpt": "the change achieved",
    "axial_length_mm": "the axial length",
}


def predictions_near(plan: Plan, power_dpt: float | None) -> tuple[Prediction, ...]:
    """What to expect of the powers around one, or around the power for the aim."""
    if not plan.methods:
        return ()
    made = [one.lens_power_dpt for one in plan.methods[0].predictions]
    middle = plan.methods[0].power_for_target_dpt if power_dpt is None else power_dpt
    index = min(range(len(made)), key=lambda place: abs(made[place] - middle))
    near = made[max(0, index - SHOWN_EACH_SIDE) : index + SHOWN_EACH_SIDE + 1]
    found = (prediction_at(plan, power) for power in near)
    return tuple(one for one in found if one is not None)


def prediction_at(plan: Plan, power_dpt: float) -> Prediction | None:
    """What to expect of one power: from the odds, or, where they are withheld, the middle of fit methods."""
    if plan.odds is not None:
        for prediction in plan.odds.predictions:
            if prediction.lens_power_dpt == power_dpt:
                return prediction
        return None
    found = [
        prediction.refraction_dpt
        for method in plan.methods
        if method.fit
        for prediction in method.predictions
        if prediction.lens_power_dpt == power_dpt
    ]
    return Prediction(power_dpt, float(np.median(found))) if found else None


def unoffset_predictions_dpt(plan: Plan, power_dpt: float) -> dict[str, float]:
    """What each fit method predicts for one power before any personal offset: what lessons are drawn from."""
    return {
        method.method: prediction.refraction_dpt - method.offset_dpt
        for method in plan.methods
        if method.fit
        for prediction in method.predictions
        if prediction.lens_power_dpt == power_dpt
    }


def _lesson_uses(request: PlanRequest, lens: LensModel) -> tuple[LessonUse, ...]:
    """Which lessons are used and why not the others; one for each formula."""
    uses: list[LessonUse] = []
    for lesson in request.lessons:
        reason = _why_not(lesson, request, lens)
        if not reason and any(use.used and use.lesson.method == lesson.method for use in uses):
            reason = "Another lesson about the same formula is used already."
        uses.append(
            LessonUse(lesson, used=not reason, reason=reason or "Same surgeon, formula, lens and constant.")
        )
    return tuple(uses)


def _why_not(lesson: Lesson, request: PlanRequest, lens: LensModel) -> str:
    """Why this plan must not use a lesson; empty when it may."""
    formula = FORMULAS.get(lesson.method)
    chosen = None if formula is None else constants_for(formula, lens)
    if lesson.lens_model != lens.name:
        return f"It was learned on another lens, {lesson.lens_model}."
    if chosen is None:
        return "Its formula is not used for this lens."
    if not same_constants(chosen[0], lesson.constants):
        return "It was learned against another constant."
    if lesson.surgeon != request.surgeon:
        teacher, reader = lesson.surgeon or "nobody named", request.surgeon or "nobody named"
        return f"It was learned by {teacher}; this plan is for {reader}."
    return ""


def _unless_refused(use: LessonUse, refused: Sequence[Refused]) -> LessonUse:
    if use.used and any(one.method == use.lesson.method for one in refused):
        return LessonUse(use.lesson, used=False, reason="Its formula is refused for this eye.")
    return use


def _odds(counting: Sequence[Evaluation], question: Question, second: SecondEye | None) -> Odds | None:
    """The middle of the methods that count, with the mean of their variances."""
    if not counting:
        return None
    target = question.target_dpt
    shifts = [0.0 if second is None else second.shift_of(one.formula.key) for one in counting]
    refractions = [one.refractions_dpt + shift for one, shift in zip(counting, shifts, strict=True)]
    middle = np.median(refractions, axis=0)
    law = _mean_law(counting, 1.0 if second is None else second.variance_left)
    made = predictions(question.lens.powers.powers_dpt, middle, law, target, question.feared)
    best = _best(made)
    index = made.index(best)
    measured = float(np.mean([one.measurement_variances_dpt2[index] for one in counting]))
    error = float(np.mean([one.variance_errors_dpt2[index] for one in counting]))
    shifted = replace(law, measurement_variance_dpt2=measured + np.array([-error, error]) / 2.0)
    low, high = fraction_within(0.5, target, middle[index], shifted)
    return Odds(
        methods=tuple(one.formula.key for one in counting),
        predictions=made,
        best_power_dpt=best.lens_power_dpt,
        draws=DRAWS,
        standard_error=float(abs(high - low)),
        measurement_sd_dpt=float(np.sqrt(measured)),
    )


def _mean_law(counting: Sequence[Evaluation], residual_left: float) -> ErrorLaw:
    """The law whose variances, over many eyes, of the average eye and of this one, are the methods' means."""
    law = error_law(
        float(np.sqrt(np.mean([one.law_scale_dpt**2 for one in counting]))),
        float(np.mean([one.average_eye_variance_dpt2 for one in counting])),
        np.mean([one.measurement_variances_dpt2 for one in counting], axis=0),
    )
    return replace(law, residual_variance_dpt2=law.residual_variance_dpt2 * residual_left)


def _best(made: Sequence[Prediction]) -> Prediction:
    """The power most often within half a dioptre; of near equals, the one less often on the feared side."""
    spreads = [(one.spread, one) for one in made if one.spread is not None]
    most = max(spread.within_0_50 for spread, _ in spreads)
    near = [(spread.beyond_feared, one) for spread, one in spreads if spread.within_0_50 >= most - NEAR_EQUAL]
    return min(near, key=lambda pair: pair[0])[1]


def _result_findings(methods: Sequence[MethodResult], lens: LensModel) -> Iterator[Finding]:
    needed = [one.power_for_target_dpt for one in methods if one.fit]
    formulas = [FORMULAS[one.method] for one in methods]
    unchecked = [formula.name for formula in formulas if formula.status.startswith("from memory")]
    if unchecked:
        yield note(
            "formulas-from-memory",
            f"The coefficients of {', '.join(unchecked)} were written from memory and confirmed by numbers, "
            "not yet checked against the papers; docs/sources.md says how far each was checked.",
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
    if middle > HIGH_POWER_DPT:
        yield warning(
            "high-power",
            f"At {middle:.1f} D a thin-lens formula is at its limit, and the label may be off by up to 1 D.",
            "methods",
            "haigis-2008",
        )
    if max(needed) - min(needed) > DISAGREEMENT_DPT:
        yield warning(
            "methods-disagree",
            f"The methods differ by {max(needed) - min(needed):.1f} D of lens power. Look for what drives "
            "them apart before you choose the middle.",
            "methods",
        )


_NONE_COUNTS = "No method may be counted: constants are first guesses, or the eye lies outside their range."


def _together(
    found: Sequence[Finding],
    keratoconus: Finding | None,
    methods: Sequence[MethodResult],
    refused: Sequence[Refused],
    second: SecondEye | None,
    rest: Iterator[Finding],
) -> tuple[Finding, ...]:
    """Every finding once, gravest first."""
    every = [*found, *((keratoconus,) if keratoconus else ()), *rest]
    every.extend(finding for one in methods for finding in one.findings)
    every.extend(finding for one in refused for finding in one.findings)
    every.extend(() if second is None else second.findings)
    return gravest_first(every)
