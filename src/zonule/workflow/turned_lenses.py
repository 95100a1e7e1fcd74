"""How far toric lenses lie from where they were meant to lie, and how far they turned between two looks."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from zonule.case.astigmatism_results import TurnFrom, Turns
from zonule.case.axis_looks import Occasion, is_toric, looks_of, planned_meridian_deg
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
    done = case.operation
    return (
        done is not None
        and is_toric(done)
        and done.fixation is Fixation.BAG
        and done.complication is Complication.NONE
    )


def _pair(between: TurnFrom, case: Case) -> tuple[float, float] | None:
    """Where the lens lay first and then; None where one of the two is not known."""
    if between is TurnFrom.VISIT_TO_VISIT:
        return _three_months_apart(case)
    meant_deg = planned_meridian_deg(case)
    looks = [look for look in looks_of(case) if look.occasion is _OCCASIONS[between]]
    return None if meant_deg is None or not looks else (meant_deg, looks[-1].lens_meridian_deg)


_OCCASIONS = {
    TurnFrom.PLAN_TO_END: Occasion.OPERATION,
    TurnFrom.PLAN_TO_VISIT: Occasion.VISIT,
    TurnFrom.PLAN_TO_REVIEW: Occasion.REFRACTION,
}


def _three_months_apart(case: Case) -> tuple[float, float] | None:
    """The two later looks whose distance is nearest to 3 months, where it is near enough."""
    looks = [look for look in looks_of(case) if look.occasion is not Occasion.OPERATION]
    apart = [
        (abs(days - _THREE_MONTHS_DAYS), (first.lens_meridian_deg, later.lens_meridian_deg))
        for place, first in enumerate(looks)
        for later in looks[place + 1 :]
        if MONTHS_APART_DAYS[0] <= (days := (later.seen_on - first.seen_on).days) <= MONTHS_APART_DAYS[1]
    ]
    return min(apart)[1] if apart else None
