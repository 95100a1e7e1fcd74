"""Learn: what all reviewed eyes say, and what of it the next plan may use."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

import numpy as np

from zonule.case.applicability import keratoconus_asked
from zonule.case.case import Case
from zonule.case.learned import Excluded, Group, Learned
from zonule.case.lesson import Lesson
from zonule.case.outcome_rules import why_left_out
from zonule.errors import InputError
from zonule.science.lens_power.formulas import FORMULAS
from zonule.science.statistics.outcomes import outcome_summary
from zonule.science.statistics.shrinkage import blended_scale_dpt, effective_eyes, shrunk_offset
from zonule.workflow.methods import constants_for, same_constants
from zonule.workflow.ports import Record
from zonule.workflow.second_eye import weight_from

LEAST_EYES = 2
"""One eye has no spread; with two a lesson can be drawn, though it will weigh next to nothing."""


@dataclass(frozen=True, slots=True)
class _Error:
    patient_key: str
    operated_on: date
    error_dpt: float


_GroupKey = tuple[str, str, str, tuple[float, ...]]


def look_back(record: Record, today: date) -> Learned:
    """The outcome summary of every eye that counts, and what each group of eyes teaches."""
    return learned_from(record.reviewed_cases(), record.lessons(), today)


def learned_from(cases: Sequence[Case], lessons: Iterable[Lesson], today: date) -> Learned:
    """The same from given cases and lessons."""
    reasons = [(case, why_not_learned_from(case)) for case in cases]
    counting = [case for case, reason in reasons if reason is None]
    excluded = Counter(reason for _, reason in reasons if reason is not None)
    current = {(one.surgeon, one.method, one.lens_model): one for one in lessons}
    groups = tuple(
        _group(key, errors, _with_baseline(current.get(key[:3]), key[3]), today)
        for key, errors in sorted(_errors_by_group(counting).items())
    )
    errors = tuple(
        case.review.error_dpt
        for case in counting
        if case.review is not None and case.review.error_dpt is not None
    )
    return Learned(
        eyes=len(counting),
        excluded=tuple(Excluded(reason, eyes) for reason, eyes in sorted(excluded.items())),
        achieved=outcome_summary(np.array(errors)) if errors else None,
        errors_dpt=errors,
        groups=groups,
        fellow_weight=weight_from(counting),
    )


def accept_lesson(
    record: Record, *, surgeon: str, method: str, lens_model: str, who: str, now: datetime
) -> Lesson:
    """Store what these eyes teach about the constants the lens has now; the next plan with them uses it."""
    lens = record.lens(lens_model)
    chosen = None if lens is None or method not in FORMULAS else constants_for(FORMULAS[method], lens)
    if chosen is None:
        raise InputError(f"The catalogue holds no constant of this formula for the lens {lens_model}.")
    for group in look_back(record, now.date()).groups:
        if (group.surgeon, group.method, group.lens_model) != (surgeon, method, lens_model):
            continue
        if group.proposed is not None and same_constants(group.constants, chosen[0]):
            with record.act(who=who, verb="accept lesson", subject=group.proposed.key, at=now) as act:
                act.add_lesson(group.proposed)
            return group.proposed
    raise InputError(
        "There are too few reviewed eyes of this surgeon, formula and lens, with the constants that the lens "
        "has now, to learn from."
    )


def why_not_learned_from(case: Case) -> str | None:
    """The reason why this eye teaches nothing about constants; None when it does."""
    operation, review, signed = case.operation, case.review, case.signed
    if operation is None or review is None or signed is None:
        return "not yet reviewed"
    eye = signed.request.eye
    reason = why_left_out(
        eye.history.corneal_surgery, operation.fixation, operation.complication, review.days_after
    )
    if not reason and not review.method_errors_dpt:
        reason = "nothing predicted for the lens implanted"
    if not reason and keratoconus_asked(eye) is not None:
        reason = "very steep cornea, keratoconus asked"
    return reason or None


def _with_baseline(lesson: Lesson | None, constants: tuple[float, ...]) -> Lesson | None:
    """The lesson that plans with these constants use; one learned on others is ignored by them."""
    return lesson if lesson is not None and same_constants(lesson.constants, constants) else None


def _errors_by_group(cases: Sequence[Case]) -> dict[_GroupKey, list[_Error]]:
    """Errors by surgeon, method, lens and the constants that the plans were made with."""
    groups: dict[_GroupKey, list[_Error]] = defaultdict(list)
    for case in cases:
        if case.review is None or case.signed is None or case.operation is None:
            continue
        lens = case.signed.request.lens
        if lens is None:
            continue
        for method, error in case.review.method_errors_dpt.items():
            chosen = constants_for(FORMULAS[method], lens)
            if chosen is not None:
                key = (case.operation.surgeon, method, lens.name, chosen[0])
                groups[key].append(_Error(case.patient.key, case.operation.operated_on, error))
    return groups


def _group(key: _GroupKey, errors: Sequence[_Error], current: Lesson | None, today: date) -> Group:
    surgeon, method, lens_model, constants = key
    values = np.array([one.error_dpt for one in errors])
    return Group(
        surgeon=surgeon,
        method=method,
        lens_model=lens_model,
        constants=constants,
        summary=outcome_summary(values),
        proposed=_lesson(key, errors, today) if len(errors) >= LEAST_EYES else None,
        current=current if current is not None and current.constants == constants else None,
    )


def _lesson(key: _GroupKey, errors: Sequence[_Error], today: date) -> Lesson:
    surgeon, method, lens_model, constants = key
    values = np.array([one.error_dpt for one in errors])
    independent = effective_eyes(np.array(list(Counter(one.patient_key for one in errors).values())))
    offset = shrunk_offset(values, independent)
    days = [one.operated_on for one in errors]
    return Lesson(
        key=f"{surgeon}: {method}, {lens_model}",
        surgeon=surgeon,
        method=method,
        lens_model=lens_model,
        constants=constants,
        first_on=min(days),
        last_on=max(days),
        eyes=len(errors),
        mean_error_dpt=offset.mean_error_dpt,
        weight=offset.weight,
        offset_dpt=offset.offset_dpt,
        offset_sd_dpt=offset.offset_sd_dpt,
        scale_dpt=blended_scale_dpt(values - values.mean(), independent),
        learned_on=today,
    )
