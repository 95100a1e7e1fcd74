"""The second eye: what the first eye's own error adds to each method's prediction."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from statistics import median

import numpy as np

from zonule.case.case import Case
from zonule.case.finding import Finding, note, warning
from zonule.case.lesson import Lesson
from zonule.case.outcome_rules import why_left_out
from zonule.case.plan import MethodResult, PlanRequest
from zonule.case.second_eye import FellowOutcome, SecondEye
from zonule.case.second_eye_rules import NOT_CARRIED, why_not_carried
from zonule.science.lens_power.formulas import FORMULAS, EyeNumbers, missing, seen_eye
from zonule.science.statistics.fellow_eye import LEAST_PAIRS, LearnedWeight, fellow_error_dpt, learned_weight
from zonule.workflow.methods import UNFIT, eye_numbers, lane_shift_dpt, same_constants

MOST_LENS_POWER_DPT = 1.0
"""The most that the first eye may move the lens of the second (common practice, no source)."""
SURPRISE_DPT = 1.0
"""A first error beyond this wants an explanation before it is carried over (common practice, no source)."""
_HALF_STEP_DPT = 0.5


def second_eye_shift(
    outcome: FellowOutcome, request: PlanRequest, methods: Sequence[MethodResult]
) -> SecondEye:
    """What the first eye's error adds to each method, or every reason why it adds nothing.

    Parameters
    ----------
    outcome
        What the first eye got; unless it holds the eye as it was planned, its measurements are those of the
        request's fellow eye.
    request
        What is being planned.
    methods
        What each formula says of this eye without the first: with these constants and lessons the first eye
        is predicted anew, so that no error is counted that a lesson has already answered for.
    """
    pairs = 0 if outcome.learned is None else outcome.learned.pairs
    first = outcome.measured or request.fellow
    refusals = why_not_carried(request.eye, first, request.lens, outcome)
    numbers = None if first is None else eye_numbers(first)
    if refusals or numbers is None:
        return _not_used(outcome.weight, pairs, refusals)
    found = {
        one.method: error_and_most
        for one in methods
        if (error_and_most := _error_and_most(one, numbers, outcome, request)) is not None
    }
    fit = [one.method for one in methods if one.fit and one.method in found]
    if not fit:
        return _not_used(outcome.weight, pairs, (_not_predicted(),))
    wanted = {method: float(fellow_error_dpt(error, outcome.weight)) for method, (error, _) in found.items()}
    shifts = {method: float(np.clip(wanted[method], -most, most)) for method, (_, most) in found.items()}
    error = median(found[method][0] for method in fit)
    capped = any(abs(shifts[method]) < abs(wanted[method]) for method in fit)
    return SecondEye(
        used=True,
        weight=outcome.weight,
        pairs=pairs,
        errors_dpt=tuple((method, error_dpt) for method, (error_dpt, _) in found.items()),
        error_dpt=error,
        shifts_dpt=tuple(shifts.items()),
        shift_dpt=median(shifts[method] for method in fit),
        capped=capped,
        findings=tuple(_doubts(error, outcome, request, capped=capped)),
    )


def fellow_outcome_from(case: Case, learned: LearnedWeight | None = None) -> FellowOutcome | None:
    """What an eye on record got, for the plan of its fellow; None before its refraction is known."""
    operation, review = case.operation, case.review
    if operation is None or review is None:
        return None
    lessons = () if case.signed is None else case.signed.request.lessons
    measured = None if case.signed is None else case.signed.request.eye
    return FellowOutcome(
        refraction=review.refraction,
        lens_model=operation.lens_model or "",
        lens_power_dpt=operation.lens_power_dpt,
        operated_on=operation.operated_on,
        refracted_on=review.refracted_on,
        fixation=operation.fixation,
        complication=operation.complication,
        surgeon=operation.surgeon,
        lessons=tuple(one for one in lessons if one.surgeon == operation.surgeon),
        measured=measured,
        learned=learned,
    )


def weight_from(cases: Iterable[Case]) -> LearnedWeight | None:
    """The weight after the clinic's own pairs have had their say; None when there are too few pairs.

    Only pairs count in which the first eye would have been carried to the second.
    """
    pairs = list(_pairs_of_errors(cases))
    if len(pairs) < LEAST_PAIRS:
        return None
    first, second = np.array(pairs).T
    return learned_weight(first, second)


def _error_and_most(
    result: MethodResult, numbers: EyeNumbers, outcome: FellowOutcome, request: PlanRequest
) -> tuple[float, float] | None:
    """The first eye's error by one method, and the refraction that one dioptre of its lens makes."""
    formula, power = FORMULAS[result.method], outcome.lens_power_dpt
    if power is None or request.lens is None or missing(formula, numbers):
        return None
    seen = seen_eye(formula, numbers, result.constants)
    if int(seen.flags) & UNFIT:
        return None
    powers = power + _HALF_STEP_DPT * np.array([-1.0, 0.0, 1.0])
    weaker, predicted, stronger = np.asarray(formula.optics.refraction_dpt(seen, powers)).tolist()
    offset = lane_shift_dpt(request.lens, formula) + _lesson_offset_dpt(result, outcome, request)
    error = outcome.refraction.reported_equivalent_dpt - (predicted + offset)
    return error, MOST_LENS_POWER_DPT * abs(weaker - stronger)


def _lesson_offset_dpt(result: MethodResult, outcome: FellowOutcome, request: PlanRequest) -> float:
    """The personal offset of who operated the first eye."""
    if not _other_surgeon(outcome, request):
        return result.offset_dpt
    return next((one.offset_dpt for one in outcome.lessons if _fits(one, result, request)), 0.0)


def _fits(lesson: Lesson, result: MethodResult, request: PlanRequest) -> bool:
    return (
        lesson.method == result.method
        and request.lens is not None
        and lesson.lens_model == request.lens.name
        and same_constants(lesson.constants, result.constants)
    )


def _other_surgeon(outcome: FellowOutcome, request: PlanRequest) -> bool:
    return bool(outcome.surgeon) and outcome.surgeon != request.surgeon


def _not_used(weight: float, pairs: int, reasons: Sequence[Finding]) -> SecondEye:
    return SecondEye(
        used=False,
        weight=weight,
        pairs=pairs,
        reasons=tuple(one.sentence.removesuffix(NOT_CARRIED) for one in reasons),
        findings=tuple(reasons),
    )


def _not_predicted() -> Finding:
    return note(
        "first-eye-not-predicted",
        f"First eye: no formula that may stand for it predicts its refraction.{NOT_CARRIED}",
        "fellow.biometry",
    )


def _doubts(error: float, outcome: FellowOutcome, request: PlanRequest, *, capped: bool) -> Iterator[Finding]:
    if abs(error) > SURPRISE_DPT:
        yield warning(
            "first-eye-surprised",
            f"The first eye ended {abs(error):.1f} D from its prediction. Find out why before you let it "
            "move this plan: a wrong lens or label, a wrong measurement or a moved lens does not happen "
            "again in the second eye.",
            "fellow.outcome.refraction",
        )
    if capped:
        yield warning(
            "second-eye-capped",
            "The first eye's error asks for more than one dioptre of lens power. The correction stops there.",
            "fellow.outcome.refraction",
        )
    if _other_surgeon(outcome, request):
        yield note(
            "first-eye-other-surgeon",
            f"The first eye was operated by {outcome.surgeon}. Its error is taken after that surgeon's own "
            "lessons, if any.",
            "fellow.outcome.surgeon",
        )


def _pairs_of_errors(cases: Iterable[Case]) -> Iterator[tuple[float, float]]:
    by_patient: dict[str, list[Case]] = defaultdict(list)
    for case in cases:
        if _counts(case):
            by_patient[case.patient.key].append(case)
    for eyes in by_patient.values():
        first, *rest = sorted(eyes, key=_operated_on)
        if len(rest) == 1 and (pair := _errors(first, rest[0])) is not None:
            yield pair


def _counts(case: Case) -> bool:
    operation, review, signed = case.operation, case.review, case.signed
    if operation is None or review is None or signed is None:
        return False
    surgery = signed.request.eye.history.corneal_surgery
    return not why_left_out(surgery, operation.fixation, operation.complication, review.days_after)


def _operated_on(case: Case) -> tuple[str, str]:
    return ("" if case.operation is None else case.operation.operated_on.isoformat(), case.key)


def _errors(first: Case, second: Case) -> tuple[float, float] | None:
    """The middle errors of both eyes over the methods they share, before any personal offset."""
    outcome = fellow_outcome_from(first)
    if outcome is None or second.signed is None:
        return None
    asked = second.signed.request
    if why_not_carried(asked.eye, outcome.measured, asked.lens, outcome):
        return None
    of_first = {} if first.review is None else first.review.method_errors_dpt
    of_second = {} if second.review is None else second.review.method_errors_dpt
    shared = of_first.keys() & of_second.keys()
    if not shared:
        return None
    return median(of_first[one] for one in shared), median(of_second[one] for one in shared)
