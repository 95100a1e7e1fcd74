"""The astigmatism of a plan in sentences, for screen, sheet and terminal."""

from __future__ import annotations

from collections.abc import Iterator

from zonule.case.incision import Incision
from zonule.case.plan import Plan, PlanRequest
from zonule.case.toric import ToricOption, ToricPlan, ToricWishes
from zonule.drawings.numbers import axis_text, chance_text, degrees_text, in_100_text, plain_text, size_text
from zonule.science.astigmatism.vectors import Astigmatism

_NOTHING_DPT = 0.005
"""What is written as 0.00 D has no direction."""


def vector_text(vector: Astigmatism) -> str:
    """A cylinder with its steep meridian, or that there is none.

    Examples
    --------
    >>> from zonule.science.astigmatism.vectors import Plane, steep
    >>> vector_text(steep(1.25, 95.0, Plane.CORNEA)), vector_text(steep(0.0, 95.0, Plane.CORNEA))
    ('1.25 D at 95\u00b0', '0.00 D')
    """
    size = size_text(float(vector.magnitude_dpt))
    if float(vector.magnitude_dpt) < _NOTHING_DPT:
        return size
    return f"{size} at {axis_text(float(vector.steep_meridian_deg))}"


def cornea_sentence(toric: ToricPlan) -> str:
    """From the reading to what the lens has to meet."""
    model = toric.model
    parts = [f"The reading is {vector_text(toric.reading)}."]
    if vector_text(model.before) != vector_text(toric.reading):
        parts.append(f"By {model.words} the whole cornea has {vector_text(model.before)}.")
    if toric.incision is not None:
        parts.append(f"After the incision it has {vector_text(model.after)}.")
    return " ".join(parts)


def incision_sentence(toric: ToricPlan) -> str:
    """What the incision is taken to do."""
    used = toric.incision
    if used is None:
        return "No incision is stated, so nothing is taken off the cornea for it."
    return (
        f"The incision is taken to flatten its meridian by {size_text(used.flattening_dpt)} "
        f"({used.origin}), and to scatter by \u00b1\u00a0{size_text(used.scatter_sd_dpt)} in each direction."
    )


def option_sentence(toric: ToricPlan, option: ToricOption) -> str:
    """One cylinder: where its marks go, what it should leave, and how sure that is."""
    left = f"should leave {vector_text(option.residual)}"
    sure = f"{chance_text(option.within_0_50)} eyes like this end with half a dioptre or less"
    if option.lens_cylinder_dpt == 0.0:
        return f"Without cylinder the lens {left}; {sure}."
    marks = axis_text(toric.meridian_deg)
    return f"{size_text(option.lens_cylinder_dpt)} of cylinder, marks at {marks}, {left}; {sure}."


def slips_sentence(toric: ToricPlan, option: ToricOption) -> str:
    """What the two slips that chart and theatre invite would cost."""
    mirrored = axis_text(180.0 - toric.meridian_deg)
    flipped = axis_text(toric.meridian_deg + 90.0)
    said = f"Set 90{degrees_text(0)[-1]} off, at {flipped}, it would leave {size_text(option.flipped_dpt)}"
    if mirrored == axis_text(toric.meridian_deg):
        return f"{said}."
    return f"{said}; mirrored, at {mirrored}, {size_text(option.mirrored_dpt)}."


def turn_sentence(toric: ToricPlan) -> str:
    """What the lens meridian is taken to scatter by."""
    turn = toric.turn
    torsion = (
        f"the turn of the eye on lying down (SD {plain_text(turn.torsion_sd_deg, 1)}\u00b0)"
        if turn.torsion_sd_deg
        else "no turn of the eye, because the mark was made upright or the eye is registered"
    )
    return (
        f"The lens is taken to end \u00b1\u00a0{plain_text(turn.lens_turn_sd_deg, 1)}\u00b0 from where it "
        f"was meant: marking (SD {plain_text(turn.marking_sd_deg, 1)}\u00b0, {turn.marking_words}), "
        f"{torsion}, and rotation after the operation (SD {plain_text(turn.rotation_sd_deg, 1)}\u00b0). The "
        "axis is never shifted by an average turn of the eye: nobody can foretell its direction."
    )


def worth_sentence(option: ToricOption) -> str:
    """What a cylinder at the lens is worth at this cornea, by both ways of computing it."""
    said = (
        f"{size_text(option.lens_cylinder_dpt)} at the lens are worth "
        f"{size_text(option.cylinder_at_cornea_dpt)} at this cornea"
    )
    if option.ray_traced_dpt is None:
        return f"{said}, by meridional analysis with this eye's own lens position."
    return (
        f"{said} by meridional analysis with this eye's own lens position, and "
        f"{size_text(option.ray_traced_dpt)} by exact rays."
    )


def cylinder_causes(before: PlanRequest, after: PlanRequest) -> Iterator[str]:
    """What was changed about incision, cornea model, marks and cylinder, for the sentence on what moved."""
    if before.incision != after.incision:
        yield _incision_text(after.incision)
    if before.incision_lesson != after.incision_lesson:
        yield "what own eyes say of the incision changed"
    old, new = before.toric or ToricWishes(), after.toric or ToricWishes()
    if old.cornea_model is not new.cornea_model:
        yield "another cornea model was chosen" if new.cornea_model else "no cornea model is chosen any more"
    if old.marking is not new.marking:
        yield "the axis is found in another way" if new.marking else "how the axis is found is open"
    if old.lens_cylinder_dpt != new.lens_cylinder_dpt:
        yield _cylinder_text(new.lens_cylinder_dpt)
    if old.lens_meridian_deg != new.lens_meridian_deg and new.lens_meridian_deg is not None:
        yield f"the marks are meant for {axis_text(new.lens_meridian_deg)}"


def cylinder_effects(before: Plan, after: Plan) -> Iterator[str]:
    """What that did to the meridian, to what is left and to its chance."""
    if before.toric is None or after.toric is None:
        if before.toric is not after.toric:
            yield (
                "the cylinder can be planned now"
                if after.toric
                else "nothing is said of the cylinder any more"
            )
        return
    marks, now = axis_text(before.toric.meridian_deg), axis_text(after.toric.meridian_deg)
    old, new = _in_question(before, before.toric), _in_question(after, after.toric)
    if marks != now and new.lens_cylinder_dpt:
        yield f"the marks belong at {now} instead of {marks}"
    left, left_now = vector_text(old.residual), vector_text(new.residual)
    if left != left_now:
        yield f"the cylinder left went from {left} to {left_now}"
    chance, chance_now = in_100_text(old.within_0_50), in_100_text(new.within_0_50)
    if chance != chance_now:
        yield f"the chance of half a dioptre of it or less went from {chance} to {chance_now} in 100"


def _in_question(plan: Plan, toric: ToricPlan) -> ToricOption:
    """The cylinder chosen, or the best one."""
    wishes = plan.request.toric or ToricWishes()
    chosen = toric.best_cylinder_dpt if wishes.lens_cylinder_dpt is None else wishes.lens_cylinder_dpt
    return toric.option(chosen) or toric.without


def _incision_text(incision: Incision | None) -> str:
    if incision is None:
        return "the incision is no longer stated"
    wide = "" if incision.width_mm is None else f", {plain_text(incision.width_mm, 1)} mm wide"
    own = "" if incision.flattening_dpt is None else f", flattening {size_text(incision.flattening_dpt)}"
    return f"the incision is now at {degrees_text(incision.meridian_deg)}{wide}{own}"


def _cylinder_text(cylinder_dpt: float | None) -> str:
    if cylinder_dpt is None:
        return "no cylinder is chosen any more"
    return f"the cylinder is now {size_text(cylinder_dpt)}" if cylinder_dpt else "no cylinder is wanted"
