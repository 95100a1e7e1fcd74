"""Turning a toric lens, in sentences."""

from __future__ import annotations

from zonule.case.follow_up import TURNING_DAYS
from zonule.case.rotation import Advice, Because, CausePart, ResidualCause, RotationReview
from zonule.drawings.numbers import (
    DEGREE,
    axis_text,
    chance_text,
    plain_text,
    refraction_text,
    size_text,
    sphero_cylinder_text,
)
from zonule.drawings.toric_sentences import vector_text
from zonule.science.astigmatism.rotation_odds import MERIDIAN_SD_DEG, REFRACTION_SD_DPT
from zonule.workflow.rotation import SPHERE_OFF_DPT, TURN_SD_DEG

CAUSE_WORDS = {
    ResidualCause.PLANNED: "left by the plan itself",
    ResidualCause.TURNED: "from the lens lying elsewhere than planned",
    ResidualCause.INCISION: "from an incision that did otherwise than planned",
    ResidualCause.REST: "from everything else: cornea model, measurement, label and place of the lens",
    ResidualCause.PLACE: "from the lens not lying where it would leave least; a turn can take this away",
    ResidualCause.STRENGTH: "from the lens being weaker or stronger than what it has to meet; no turn takes "
    "this away",
}


def turn_text(turn_deg: float) -> str:
    """A turn with its direction, in numbers and words.

    Examples
    --------
    >>> turn_text(10.9), turn_text(-3.8), turn_text(0.2), turn_text(89.8)
    ('11\u00b0 counter-clockwise', '4\u00b0 clockwise', 'not at all', '90\u00b0, either way round')
    """
    size = plain_text(abs(turn_deg), 0)
    if size == "0":
        return "not at all"
    if size == "90":
        return f"90{DEGREE}, either way round"
    return f"{size}\u00b0 {'counter-clockwise' if turn_deg > 0.0 else 'clockwise'}"


def seen_sentence(review: RotationReview) -> str:
    """What is left, and where the lens lies."""
    lies = axis_text(review.outcome.lens_meridian_deg)
    return (
        f"{size_text(float(review.seen.magnitude_dpt))} of cylinder are left at the cornea, with the marks "
        f"at {lies}. Without its lens this eye has {vector_text(review.to_correct)}; the lens takes away "
        f"{size_text(review.outcome.lens_at_cornea_dpt)}."
    )


def best_sentence(review: RotationReview) -> str:
    """The best that turning can do, and how sure it is."""
    turn = turn_text(review.rotate_by_deg)
    if turn == "not at all":
        return f"The lens lies where it leaves least: {size_text(float(review.after.magnitude_dpt))}."
    chances = review.chances
    return (
        f"Turned by {turn} as the examiner sees the eye, to {axis_text(review.best_meridian_deg)}, it "
        f"should leave {size_text(float(review.after.magnitude_dpt))}, a gain of "
        f"{size_text(review.gain_dpt)}; the glasses would be "
        f"{sphero_cylinder_text(review.after_at_spectacles)}. Allowing for errors of refraction, reading "
        f"and turning, {chance_text(chances.gains_half)} such eyes gain half a dioptre or more, and "
        f"{chance_text(chances.worse)} get worse. Half a dioptre or less is there now in "
        f"{chance_text(chances.within_now[1])}, after the turn in {chance_text(chances.within[1])}."
    )


def scatter_sentence() -> str:
    """What the chances allow for, and on whose word."""
    return (
        f"Allowed for: the refraction, {size_text(REFRACTION_SD_DPT)} in each component of its cylinder (our "
        f"choice); reading the marks, {plain_text(MERIDIAN_SD_DEG, 1)}{DEGREE}; marking, placing and staying "
        f"of the lens once more, {plain_text(TURN_SD_DEG, 1)}{DEGREE} (from memory). What the lens is worth "
        "at the cornea is taken as exact."
    )


def advice_sentence(review: RotationReview) -> str:
    """What the numbers speak for."""
    window = f"usually {TURNING_DAYS[0]} to {TURNING_DAYS[1]} days after the operation (common practice)"
    if review.advice is Advice.ROTATE:
        return f"The numbers speak for turning the lens, {window}."
    reasons = " ".join(_REASONS[one](review) for one in review.because)
    if review.advice is Advice.WAIT:
        return f"Wait before the lens is turned. {reasons}"
    return f"The numbers speak against turning the lens. {reasons}"


def cause_sentence(cause: CausePart) -> str:
    """One part of what is left."""
    return f"{vector_text(cause.part)}: {CAUSE_WORDS[cause.kind]}."


def _small_gain(review: RotationReview) -> str:
    return (
        f"It would gain {size_text(review.gain_dpt)}, less than the half dioptre for which an operation is "
        "usually worth while."
    )


def _sphere(review: RotationReview) -> str:
    aim = review.outcome.target_refraction_dpt
    equivalent = refraction_text(review.outcome.refraction.reported_equivalent_dpt)
    told = "0, as no aim is known" if aim is None else f"the aim of {refraction_text(aim)}"
    return (
        f"The spherical equivalent is {equivalent}, more than {SPHERE_OFF_DPT:g} D from {told}: turning "
        "changes the cylinder alone, so the sphere would stay."
    )


def _too_early(review: RotationReview) -> str:
    return (
        f"Only {review.days_after} days have passed; lenses are usually turned {TURNING_DAYS[0]} to "
        f"{TURNING_DAYS[1]} days after the operation, once they have come to rest (common practice)."
    )


def _lens_moved(_: RotationReview) -> str:
    return (
        "It has turned since this refraction, and all numbers here tell of where it lay then. Refract again."
    )


_REASONS = {
    Because.SMALL_GAIN: _small_gain,
    Because.SPHERE: _sphere,
    Because.TOO_EARLY: _too_early,
    Because.LENS_MOVED: _lens_moved,
}
