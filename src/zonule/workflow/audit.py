"""Audit: how each method would have predicted a set of operated eyes, from a table or from the record."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from zonule.case.case import Case
from zonule.case.finding import Finding, note
from zonule.case.learned import Audit, Excluded, MethodOutcome
from zonule.case.lens import LensConstants, LensModel, PowerRange
from zonule.case.outcome import OutcomeRow
from zonule.case.outcome_rules import why_left_out
from zonule.science.lens_power.formulas import UNTOUCHED, EyeNumbers, Formula, missing, seen_eye
from zonule.science.statistics.constants import constant_for_zero_mean
from zonule.science.statistics.outcomes import outcome_summary
from zonule.workflow.methods import UNFIT, constants_for, eye_numbers, lane_shift_dpt
from zonule.workflow.ports import Record


@dataclass(frozen=True, slots=True)
class OperatedEye:
    """What an audit reads of an operated eye."""

    patient_key: str
    lens: LensModel
    numbers: EyeNumbers
    lens_power_dpt: float
    achieved_dpt: float
    """Spherical equivalent at 12 mm and in the lane that is reported."""


def audit_record(record: Record) -> Audit:
    """The audit of every reviewed case on record."""
    return _audit([_from_case(case) for case in record.reviewed_cases()])


def audit_table(rows: Iterable[OutcomeRow]) -> tuple[Audit, tuple[Finding, ...]]:
    """The audit of a table of outcomes, and what its constants are worth."""
    answer = _audit([_from_row(row) for row in rows])
    return answer, tuple(_constant_findings(answer))


def _constant_findings(answer: Audit) -> Iterable[Finding]:
    methods = [one.method for one in answer.methods]
    if methods:
        yield note(
            "raw-errors",
            "These are raw prediction errors with the constants given. To compare formulas, zero each one's "
            "mean first: constant_for_zero_mean says with which constant.",
            "methods",
            "wang-2017",
        )
    if "haigis" not in methods:
        yield note(
            "haigis-left-out",
            "Haigis is left out: a constant converted from an A-constant runs about 1 D high and says "
            "nothing about the formula.",
            "methods",
            "constant-conversion",
        )


def _from_row(row: OutcomeRow) -> OperatedEye | str:
    """An operated eye, or the reason why it is left out."""
    mean_k = row.mean_k_dpt
    reason = why_left_out(row.corneal_surgery, row.fixation, row.complication, row.days_after)
    if reason:
        return reason
    if row.axial_length_mm is None or mean_k is None:
        return "length or cornea missing"
    if row.refraction is None or row.lens_power_dpt is None:
        return "refraction or lens power missing"
    if row.a_constant is None or not row.lens_model:
        return "lens or constant missing"
    depth = math.nan if row.anterior_chamber_depth_mm is None else row.anterior_chamber_depth_mm
    lens = LensModel(row.lens_model, PowerRange(0.0, 0.0, 0.5), LensConstants(a_constant=row.a_constant))
    numbers = EyeNumbers(row.axial_length_mm, mean_k, depth)
    return OperatedEye(
        row.patient_key, lens, numbers, row.lens_power_dpt, row.refraction.reported_equivalent_dpt
    )


def _from_case(case: Case) -> OperatedEye | str:
    operation, review, signed = case.operation, case.review, case.signed
    if operation is None or review is None or signed is None:
        return "not yet reviewed"
    surgery = signed.request.eye.history.corneal_surgery
    reason = why_left_out(surgery, operation.fixation, operation.complication, review.days_after)
    if reason:
        return reason
    numbers, lens = eye_numbers(signed.request.eye), signed.request.lens
    if (
        numbers is None
        or lens is None
        or operation.lens_power_dpt is None
        or operation.lens_model != lens.name
    ):
        return "another lens than planned"
    achieved_dpt = review.refraction.reported_equivalent_dpt
    return OperatedEye(case.patient.key, lens, numbers, operation.lens_power_dpt, achieved_dpt)


def _audit(operated: Sequence[OperatedEye | str]) -> Audit:
    eyes = [one for one in operated if isinstance(one, OperatedEye)]
    excluded = Counter(one for one in operated if isinstance(one, str))
    lenses = sorted({eye.lens.name for eye in eyes})
    by_lens = {name: _methods([eye for eye in eyes if eye.lens.name == name]) for name in lenses}
    return Audit(
        eyes=len(eyes),
        patients=len({eye.patient_key for eye in eyes}),
        excluded=tuple(Excluded(reason, count) for reason, count in sorted(excluded.items())),
        methods=_methods(eyes),
        by_lens=by_lens if len(lenses) > 1 else {},
    )


def _methods(eyes: Sequence[OperatedEye]) -> tuple[MethodOutcome, ...]:
    answers = (_method(formula, eyes) for formula in UNTOUCHED.values())
    return tuple(answer for answer in answers if answer is not None)


def _method(formula: Formula, eyes: Sequence[OperatedEye]) -> MethodOutcome | None:
    """One formula over the eyes that it fits and whose lens has a constant for it; None without any."""
    usable = [(eye, own) for eye in eyes if (own := _own_constants(formula, eye)) is not None]
    if not usable:
        return None
    rows = np.array(
        [
            (eye.lens_power_dpt, eye.achieved_dpt - lane_shift_dpt(eye.lens, formula), *eye.numbers)
            for eye, _ in usable
        ]
    )
    constants = np.array([own for _, own in usable])
    fits = _fits(formula, rows, constants)
    rows, constants = rows[fits], constants[fits]
    if not rows.size:
        return None
    powers, achieved, numbers = rows.T[0], rows.T[1], EyeNumbers(*rows.T[2:])
    seen = seen_eye(formula, numbers, list(constants.T))
    predicted = np.asarray(formula.optics.refraction_dpt(seen, powers))
    first = tuple(constants[0].tolist())
    one_lens = bool((constants == constants[0]).all())
    zero = constant_for_zero_mean(formula, first, numbers, powers, achieved) if one_lens else None
    return MethodOutcome(formula.key, outcome_summary(achieved - predicted), zero)


def _own_constants(formula: Formula, eye: OperatedEye) -> tuple[float, ...] | None:
    chosen = constants_for(formula, eye.lens)
    if chosen is None or (chosen[1] and not formula.converted_fit_for_odds):
        return None
    if missing(formula, eye.numbers):
        return None
    return chosen[0]


def _fits(formula: Formula, rows: NDArray[np.float64], constants: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Which eyes the formula does not run away on."""
    seen = seen_eye(formula, EyeNumbers(*rows.T[2:]), list(constants.T))
    flags = np.broadcast_to(np.asarray(seen.flags), (len(rows),))
    return np.asarray((flags & int(UNFIT)) == 0)
