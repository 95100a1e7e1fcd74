"""Doubts about where a toric lens lies: as it was left at the end of the operation, and as seen since."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from zonule.case.axis_looks import (
    ON_PLAN_DEG,
    Occasion,
    Slip,
    is_toric,
    likely_slip_of,
    looks_of,
    meridian_signed_deg,
    off_plan_words,
    planned_meridian_deg,
    slip_of,
    turn_between_deg,
    turn_words,
)
from zonule.case.case import Case
from zonule.case.finding import Finding, note, warning
from zonule.case.follow_up import FAR_OFF_DEG
from zonule.case.operation import Operation
from zonule.case.plan import SignedPlan
from zonule.science.astigmatism.toric_lens import residual
from zonule.science.astigmatism.vectors import Plane, steep
from zonule.workflow.forecast import plan_eye
from zonule.workflow.methods import eye_numbers
from zonule.workflow.toric import cylinder_at_cornea_dpt, thin_eyes

SLIP_WORDS = {
    Slip.FLIPPED: "That is about 90 degrees off, as when the flat meridian is taken for the steep one.",
    Slip.MIRRORED: (
        "That is about 180 minus it: the mirror image, as from the other eye's chart or a scale read from "
        "the wrong side."
    ),
}


def placed_findings(operation: Operation, signed: SignedPlan) -> Iterator[Finding]:
    """What to know of the meridian at which the lens was left."""
    where, placed_deg = "operation.lens_meridian_deg", operation.lens_meridian_deg
    if not is_toric(operation):
        return
    if placed_deg is None:
        yield note(
            "lens-meridian-not-recorded",
            "Where the marks lay at the end of the operation is not recorded. If the lens is found off its "
            "meridian later, nobody can tell whether it was put there or has turned.",
            where,
        )
        return
    planned_deg = meridian_signed_deg(signed)
    yield from _beside_the_plan(
        _Seen("At the end of the operation", placed_deg, where), planned_deg, signed, operation
    )


def seen_findings(case: Case) -> Iterator[Finding]:
    """What the latest look since the operation says of the lens."""
    done, signed = case.operation, case.signed
    since = [look for look in looks_of(case) if look.occasion is not Occasion.OPERATION]
    if done is None or signed is None or not since:
        return
    last = since[-1]
    where = "review.lens_meridian_deg" if last.occasion is Occasion.REFRACTION else "axis_visits"
    seen = _Seen(f"On {last.seen_on:%d %B %Y}", last.lens_meridian_deg, where)
    yield from _beside_the_plan(seen, planned_meridian_deg(case), signed, done)


def turn_costs_dpt(
    signed: SignedPlan, operation: Operation, planned_deg: float, seen_deg: float
) -> float | None:
    """The cylinder that a lens off its meridian adds at the cornea; None where the plan cannot tell.

    ``2 T sin(turn)``, T the lens cylinder at the cornea by the positions that the signed plan predicts.
    """
    lens, power_dpt, cylinder_dpt = signed.request.lens, operation.lens_power_dpt, operation.lens_cylinder_dpt
    if lens is None or lens.name != operation.lens_model or power_dpt is None or not cylinder_dpt:
        return None
    plan, numbers = plan_eye(signed.request, signed.signed_on), eye_numbers(signed.request.eye)
    eyes = () if numbers is None else thin_eyes(plan, numbers)
    if not eyes:
        return None
    worth_dpt = float(cylinder_at_cornea_dpt(eyes, cylinder_dpt, power_dpt))
    added = residual(steep(worth_dpt, planned_deg, Plane.CORNEA), worth_dpt, seen_deg)
    return float(added.magnitude_dpt)


@dataclass(frozen=True, slots=True)
class _Seen:
    when: str
    lens_meridian_deg: float
    where: str


def _beside_the_plan(
    seen: _Seen, planned_deg: float | None, signed: SignedPlan, operation: Operation
) -> Iterator[Finding]:
    seen_deg = seen.lens_meridian_deg
    if planned_deg is None:
        yield note(
            "lens-meridian-not-planned",
            "The plan that was carried out names no meridian for a toric lens. Where the marks lie is kept, "
            "and compared with nothing.",
            seen.where,
        )
        return
    turn_deg = turn_between_deg(planned_deg, seen_deg)
    if abs(turn_deg) <= ON_PLAN_DEG:
        return
    said = f"{seen.when} the marks lay at {seen_deg:g}\u00b0; the plan says {planned_deg:g}\u00b0."
    costs_dpt = turn_costs_dpt(signed, operation, planned_deg, seen_deg)
    cost = "" if costs_dpt is None else f" If it lies so, it adds {_COST.format(costs_dpt)}"
    likely = likely_slip_of(seen_deg, planned_deg)
    if likely is not None:
        sentence = f"{said} {SLIP_WORDS[likely]} {_READ_AGAIN}{cost}"
        if likely is Slip.FLIPPED:
            yield warning("lens-seems-flipped", sentence, seen.where)
        else:
            yield warning("lens-seems-mirrored", sentence, seen.where)
        return
    mirrored = f" {_MIRRORED_TOO}" if slip_of(seen_deg, planned_deg) is Slip.MIRRORED else ""
    sentence = (
        f"{said} The lens lies {off_plan_words(turn_deg)}.{_since_operation(seen, operation)}{mirrored}{cost}"
    )
    if abs(turn_deg) > FAR_OFF_DEG:
        yield warning("lens-off-plan", sentence, seen.where, "felipe-2011")
    else:
        yield note("lens-off-plan", sentence, seen.where, "felipe-2011")


_COST = "a cylinder of {:.2f} D at the cornea to what the plan would leave."
_MIRRORED_TOO = (
    "It is also about 180 minus the planned meridian: make sure that the right chart and scale were read."
)
_READ_AGAIN = (
    "A slip of reading or of the chart is more often the cause than a lens that lies so far off. Look at the "
    "marks again before anything is done about it."
)


def _since_operation(seen: _Seen, operation: Operation) -> str:
    """Whether it was left there or has turned, where both were seen."""
    left_deg = operation.lens_meridian_deg
    if left_deg is None or seen.where == "operation.lens_meridian_deg":
        return ""
    turn_deg = turn_between_deg(left_deg, seen.lens_meridian_deg)
    return f" At the end of the operation they lay at {left_deg:g}\u00b0: {_moved(turn_deg)}."


def _moved(turn_deg: float) -> str:
    if abs(turn_deg) <= ON_PLAN_DEG:
        return "it lies about where it was left"
    return f"it has turned by {turn_words(turn_deg)}"
