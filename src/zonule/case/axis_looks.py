"""Where the marks of a toric lens lay each time somebody looked, beside where they were meant to lie."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from zonule.case.case import Case
from zonule.case.operation import Operation
from zonule.case.plan import SignedPlan
from zonule.case.toric_checks import SLIP_DEG
from zonule.science.astigmatism.rotation_results import turned_by_deg

ON_PLAN_DEG = 5.0
"""A lens this near to its meridian lies on it, as far as marks can be read (common practice, no source)."""
TURNS_BY_ITSELF_DEG = 20.0
"""Few lenses turn farther by themselves (iso-11979-7 allows it to 5 in 100; from memory)."""
_ACROSS_DEG = 90.0


class Occasion(StrEnum):
    """When somebody looked at the marks."""

    OPERATION = "end of the operation"
    VISIT = "axis visit"
    REFRACTION = "refraction"


class Slip(StrEnum):
    """A known slip that gives a wrong meridian."""

    FLIPPED = "flipped"
    """90 degrees off: the flat meridian for the steep one."""
    MIRRORED = "mirrored"
    """180 minus the meridian: the other eye's chart, or a scale read from the wrong side."""


@dataclass(frozen=True, slots=True)
class AxisLook:
    """One reading of the marks."""

    seen_on: date
    lens_meridian_deg: float
    occasion: Occasion


def is_toric(operation: Operation | None) -> bool:
    """Whether the lens that went in has cylinder."""
    return operation is not None and bool(operation.lens_cylinder_dpt)


def kept_meridian_deg(meridian_deg: float) -> float:
    """A meridian as it is kept: 0 is written as 180."""
    return 180.0 if meridian_deg == 0.0 else meridian_deg


def meridian_signed_deg(signed: SignedPlan | None) -> float | None:
    """Where the marks were meant to lie; None for a plan without cylinder."""
    if signed is None or not signed.intent.lens_cylinder_dpt:
        return None
    return signed.intent.lens_meridian_deg


def planned_meridian_deg(case: Case) -> float | None:
    """The same for the plan that the operation carried out; None where another was signed since."""
    done, signed = case.operation, case.signed
    carried_out = done is not None and signed is not None and done.plan_digest == signed.digest
    return meridian_signed_deg(signed) if carried_out else None


def looks_of(case: Case) -> tuple[AxisLook, ...]:
    """Every look at the marks on record, earliest first."""
    found = [AxisLook(one.seen_on, one.lens_meridian_deg, Occasion.VISIT) for one in case.axis_visits]
    done, review = case.operation, case.review
    if done is not None and done.lens_meridian_deg is not None:
        found.append(AxisLook(done.operated_on, done.lens_meridian_deg, Occasion.OPERATION))
    if review is not None and review.lens_meridian_deg is not None:
        found.append(AxisLook(review.refracted_on, review.lens_meridian_deg, Occasion.REFRACTION))
    order = list(Occasion)
    return tuple(sorted(found, key=lambda look: (look.seen_on, order.index(look.occasion))))


def turn_between_deg(start_deg: float, end_deg: float) -> float:
    """The shortest turn from one meridian to another; plus is counter-clockwise."""
    return float(turned_by_deg(start_deg, end_deg))


def slip_of(seen_deg: float, planned_deg: float) -> Slip | None:
    """The slip that a meridian looks like, the graver first; None near the plan, or near neither."""
    if _apart_deg(seen_deg, planned_deg) <= ON_PLAN_DEG:
        return None
    if _apart_deg(seen_deg, planned_deg + 90.0) <= SLIP_DEG:
        return Slip.FLIPPED
    return Slip.MIRRORED if _apart_deg(seen_deg, -planned_deg) <= SLIP_DEG else None


def likely_slip_of(seen_deg: float, planned_deg: float) -> Slip | None:
    """The slip that explains a meridian better than a lens that has turned so far by itself."""
    if _apart_deg(seen_deg, planned_deg) <= TURNS_BY_ITSELF_DEG:
        return None
    return slip_of(seen_deg, planned_deg)


def turn_words(turn_deg: float) -> str:
    """How far a lens has turned, in words.

    Examples
    --------
    >>> turn_words(4.0), turn_words(-1.0), turn_words(90.0), turn_words(0.0)
    ('4 degrees counter-clockwise', '1 degree clockwise', '90 degrees, across', 'not at all')
    """
    size_deg = round(abs(turn_deg), 1)
    if size_deg == 0.0:
        return "not at all"
    size = f"{size_deg:g} {'degree' if size_deg == 1.0 else 'degrees'}"
    if size_deg == _ACROSS_DEG:
        return f"{size}, across"
    return f"{size} {'counter-clockwise' if turn_deg > 0.0 else 'clockwise'}"


def off_plan_words(turn_deg: float) -> str:
    """Where a lens lies beside the plan, in words.

    Examples
    --------
    >>> off_plan_words(4.0), off_plan_words(90.0), off_plan_words(0.0)
    ('4 degrees counter-clockwise of the plan', '90 degrees from the plan', 'on the plan')
    """
    turned = turn_words(turn_deg)
    if turned == "not at all":
        return "on the plan"
    return f"{turned.removesuffix(', across')} {'from' if turned.endswith('across') else 'of'} the plan"


def _apart_deg(one_deg: float, other_deg: float) -> float:
    return abs(turn_between_deg(one_deg, other_deg))
