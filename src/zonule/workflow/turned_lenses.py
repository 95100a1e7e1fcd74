"""How far toric lenses lie from where they were meant to lie, and how far they turned between two looks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

import numpy as np

from zonule.case.astigmatism_results import TurnFrom, Turns
from zonule.case.case import Case
from zonule.case.operation import Complication, Fixation
from zonule.science.astigmatism.rotation_results import Since, rotation_results, turned_by_deg

MONTHS_APART_DAYS = (60, 122)
"""What counts as about 3 months (our choice)."""
_THREE_MONTHS_DAYS = 91


def turns_of(cases: Sequence[Case]) -> tuple[Turns, ...]:
    """Turns of the toric lenses in the bag, for each pair of looks."""
    lenses = [case for case in cases if _is_toric_in_the_bag(case)]
    return tuple(_turns(between, lenses) for between in TurnFrom)


def _turns(between: TurnFrom, cases: Sequence[Case]) -> Turns:
    pairs = [pair for case in cases if (pair := _pair(between, case)) is not None]
    if not pairs:
        return Turns(between, (), None)
    starts_deg, ends_deg = np.array(pairs).T
    turns_deg = np.asarray(turned_by_deg(starts_deg, ends_deg))
    since = Since.EARLIER_VISIT if between is TurnFrom.VISIT_TO_VISIT else Since.INTENDED
    return Turns(between, tuple(turns_deg.tolist()), rotation_results(turns_deg, since))


def _is_toric_in_the_bag(case: Case) -> bool:
    operation = case.operation
    return (
        operation is not None
        and bool(operation.lens_cylinder_dpt)
        and operation.fixation is Fixation.BAG
        and operation.complication is Complication.NONE
    )


def _pair(between: TurnFrom, case: Case) -> tuple[float, float] | None:
    """Where the lens lay first and then; None where one of the two is not known."""
    if between is TurnFrom.VISIT_TO_VISIT:
        return _three_months_apart(case)
    meant_deg = None if case.signed is None else case.signed.intent.lens_meridian_deg
    then_deg = _later_meridian_deg(between, case)
    return None if meant_deg is None or then_deg is None else (meant_deg, then_deg)


def _later_meridian_deg(between: TurnFrom, case: Case) -> float | None:
    if between is TurnFrom.PLAN_TO_END:
        return None if case.operation is None else case.operation.lens_meridian_deg
    if between is TurnFrom.PLAN_TO_VISIT:
        return case.axis_visits[-1].lens_meridian_deg if case.axis_visits else None
    return None if case.review is None else case.review.lens_meridian_deg


def _three_months_apart(case: Case) -> tuple[float, float] | None:
    """The two looks whose distance is nearest to 3 months, where it is near enough."""
    looks = sorted(_looks(case))
    low, high = MONTHS_APART_DAYS
    apart = [
        (abs((later - first).days - _THREE_MONTHS_DAYS), (first_deg, later_deg))
        for place, (first, first_deg) in enumerate(looks)
        for later, later_deg in looks[place + 1 :]
        if low <= (later - first).days <= high
    ]
    return min(apart)[1] if apart else None


def _looks(case: Case) -> Iterator[tuple[date, float]]:
    """Every look after the operation."""
    for visit in case.axis_visits:
        yield visit.seen_on, visit.lens_meridian_deg
    if case.review is not None and case.review.lens_meridian_deg is not None:
        yield case.review.refracted_on, case.review.lens_meridian_deg
