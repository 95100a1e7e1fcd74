"""A refraction that surprised, in plain sentences for the page: causes, clues and remedies."""

from __future__ import annotations

from zonule.case.surprise import (
    Cause,
    CauseKind,
    Clue,
    ClueKind,
    Exchange,
    MixUp,
    MixUpKind,
    Remedy,
    RemedyKind,
    Room,
    Surprise,
)
from zonule.drawings.numbers import (
    chance_text,
    mm_text,
    plain_text,
    power_text,
    refraction_text,
    size_text,
    sphero_cylinder_text,
)

WITHIN_USUAL = 2.0
"""Deviations up to which a quantity scatters by itself, as about 95 in 100 do under a normal law."""
UNUSUAL = 3.0

CAUSE_TITLES = {
    CauseKind.WRONG_LENS: "Another lens than recorded",
    CauseKind.LENS_POSITION: "The lens lies elsewhere",
    CauseKind.CONSTANT: "The constant of this lens",
    CauseKind.REFRACTION: "The refraction itself",
    CauseKind.CORNEA: "The corneal power",
    CauseKind.LENGTH: "The length of the eye",
}

LOOK_NEXT = {
    CauseKind.WRONG_LENS: "Read the label kept with the notes: side, patient, model, power and its sign; "
    "compare "
    "the other lenses of that list.",
    CauseKind.LENS_POSITION: "Dilate and look: all of it in the bag, capsule distended, optic tilted or "
    "caught? "
    "Measure the chamber depth.",
    CauseKind.CONSTANT: "Look at your other eyes with this lens under Learn, and at where its constants "
    "came from.",
    CauseKind.REFRACTION: "Refract again, by another person, after four weeks, and write down vertex and "
    "lane.",
    CauseKind.CORNEA: "Measure the cornea again with topography, ask once more about laser, and look at "
    "the tear film.",
    CauseKind.LENGTH: "Measure the length again, set for an artificial lens, and compare it with the "
    "other eye.",
}

REMEDY_TITLES = {
    RemedyKind.GLASSES: "Glasses or contact lenses",
    RemedyKind.LASER: "Laser on the cornea",
    RemedyKind.ADD_ON: "A second lens in front of the first",
    RemedyKind.EXCHANGE: "Exchange of the lens",
}

_OUTLOOKS = {
    RemedyKind.GLASSES: "With them the far distance is seen at",
    RemedyKind.LASER: "Expected",
    RemedyKind.ADD_ON: "Expected",
    RemedyKind.EXCHANGE: "If the lens lies elsewhere, with the power made: expected",
}

_MIX_UPS = {
    MixUpKind.NEXT_BOX: "the next box on the shelf",
    MixUpKind.SIGN: "the same power with the other sign",
    MixUpKind.DIGITS: "its digits in each other's place",
    MixUpKind.OTHER_EYE: "the power signed for the other eye",
    MixUpKind.OTHER_MODEL: "another model in the same power",
    MixUpKind.ANY_BOX: "nothing but the fit suggests it",
}

_ROOMS = {
    Room.INSIDE: " That is within the room of the natural lens.",
    Room.BEFORE_IRIS: " That is in front of where the natural lens began: no bag and no sulcus is there.",
    Room.BEHIND_CAPSULE: " That is behind where the natural lens ended: not in a bag that is whole.",
    Room.NOT_MEASURED: " Whether there is room for it is not known: depth or thickness was not measured.",
}

_CLUES = {
    ClueKind.NOT_SETTLED: "The eye was refracted {days} days after the operation; before four weeks it may "
    "still settle.",
    ClueKind.CAPSULAR_BLOCK: "The error is short-sighted, as if the lens lay {length} further forward. A "
    "distended capsule does that, mostly in the first weeks, with a shallow chamber and fluid behind the "
    "optic. Look for it first: it is treated without another lens.",
    ClueKind.LENS_NOT_IN_BAG: "The lens is not in the bag, and the prediction was for the bag. In the sulcus "
    "it lies about half a millimetre further forward, which makes an eye short-sighted.",
    ClueKind.LASER_NOT_RECORDED: "The error is long-sighted and the cornea reads {power}. Laser for short "
    "sight that nobody recorded does just that: ask again, and look at the topography.",
    ClueKind.FELLOW_ALIKE: "The other eye missed the same way, by {error}. Think of what both share: device, "
    "constant, lane, examiner.",
}
"""Common practice, no source."""

_IF_CAUSES = {
    CauseKind.LENS_POSITION: "the lens lies elsewhere than predicted",
    CauseKind.CORNEA: "the corneal power was wrong",
    CauseKind.LENGTH: "the length was wrong",
    CauseKind.WRONG_LENS: "another lens than recorded is in the eye",
}


def surprise_sentence(surprise: Surprise) -> str:
    """What was found against what was predicted."""
    side = "long-sighted" if surprise.error_dpt > 0 else "short-sighted"
    return (
        f"The eye ended {size_text(surprise.error_dpt)} more {side} than predicted: "
        f"{refraction_text(surprise.achieved_dpt)} with {power_text(surprise.lens_power_dpt)}, where "
        f"{refraction_text(surprise.predicted_dpt)} was expected. That is "
        f"{plain_text(abs(surprise.error_dpt) / surprise.sd_dpt, 1)} times what such eyes scatter "
        f"({size_text(surprise.sd_dpt)})."
    )


def needed_sentence(cause: Cause, surprise: Surprise) -> str:
    """What the quantity would have to be, if it alone was wrong."""
    match cause.kind:
        case CauseKind.WRONG_LENS:
            return _wrong_lens(cause, surprise)
        case CauseKind.LENS_POSITION:
            return _position(cause, surprise)
        case CauseKind.CONSTANT:
            return _constant(cause, surprise)
        case CauseKind.REFRACTION:
            true = refraction_text(cause.from_value + cause.needed)
            return (
                f"The true refraction would have to be {true}, {size_text(cause.needed)} from what was found."
            )
        case CauseKind.CORNEA:
            return _measured(cause, "mean K", 2, "D")
        case CauseKind.LENGTH:
            return _measured(cause, "length", 2, "mm")


def weight_sentence(cause: Cause) -> str:
    """How unusual that would be, and against what."""
    times = plain_text(cause.deviations, 1)
    if cause.kind is CauseKind.WRONG_LENS:
        return (
            f"Counted as {times} deviations: a mix-up has no scatter, so it is charged 2 where its way of "
            "happening is known and 3 where not (our choice), and what it leaves unexplained is added."
        )
    if cause.unexplained_dpt is not None:
        return f"What is left is {times} times what such eyes scatter: {how_unusual(cause.deviations)}."
    sd = f"{plain_text(cause.usual_sd, 2)} {cause.unit}"
    return f"{times} times the usual scatter of {sd}: {how_unusual(cause.deviations)}."


def how_unusual(deviations: float) -> str:
    """A number of deviations in words.

    Examples
    --------
    >>> how_unusual(1.5), how_unusual(2.5), how_unusual(6.0)
    ('nothing unusual', 'unusual', 'far outside')
    """
    if deviations <= WITHIN_USUAL:
        return "nothing unusual"
    return "unusual" if deviations <= UNUSUAL else "far outside"


def clue_sentence(clue: Clue) -> str:
    """What is known of the case, and what it points at."""
    return _CLUES[clue.kind].format(
        days=plain_text(clue.value, 0),
        length=mm_text(abs(clue.value)),
        power=size_text(clue.value),
        error=refraction_text(clue.value),
    )


def amount_sentence(remedy: Remedy, surprise: Surprise) -> str:
    """What the remedy comes to."""
    match remedy.kind:
        case RemedyKind.GLASSES:
            written = sphero_cylinder_text(surprise.refraction)
            at = mm_text(surprise.refraction.vertex_mm, 0)
            return f"{written} at {at}, as refracted. The eye itself stays as it is."
        case RemedyKind.LASER:
            return _laser(remedy)
        case RemedyKind.ADD_ON:
            return _add_on(remedy)
        case RemedyKind.EXCHANGE:
            return _exchange(remedy)


def outlook_sentence(remedy: Remedy) -> str:
    """What is expected of it, at best, and how it would stand beside the other eye."""
    outlook = remedy.outlook
    whose = "that" if remedy.kind is RemedyKind.GLASSES else "the aim"
    said = (
        f"{_OUTLOOKS[remedy.kind]} {refraction_text(outlook.refraction_dpt)}, and within half a dioptre of "
        f"{whose} in at most {chance_text(outlook.within_0_50)}."
    )
    if outlook.beside_fellow_dpt is None:
        return said
    now = "The eye itself stays" if remedy.kind is RemedyKind.GLASSES else "It would stand"
    return f"{said} {now} {size_text(outlook.beside_fellow_dpt)} from the other eye."


def exchange_reading(exchange: Exchange) -> str:
    """Under which reading of the cause an exchange power holds."""
    return _IF_CAUSES[exchange.if_cause]


def mix_up_words(mix_up: MixUp) -> str:
    """How it may have happened."""
    return _MIX_UPS[mix_up.kind]


def _wrong_lens(cause: Cause, surprise: Surprise) -> str:
    weaker = "weaker" if cause.needed < 0 else "stronger"
    said = (
        f"A lens of {plain_text(surprise.explaining_power_dpt, 1)} D would have given this refraction, "
        f"{plain_text(abs(cause.needed), 1)} D {weaker} than the {power_text(surprise.lens_power_dpt)} "
        f"recorded; a right label may be off by {plain_text(surprise.label_tolerance_dpt, 1)} D."
    )
    found = cause.mix_up
    if found is None:
        return said
    left = refraction_text(found.unexplained_dpt)
    return (
        f"{said} Best fit: {found.lens_model} {power_text(found.lens_power_dpt)} ({mix_up_words(found)}), "
        f"which leaves {left}."
    )


def _position(cause: Cause, surprise: Surprise) -> str:
    way = "further back" if cause.needed > 0 else "further forward"
    place = mm_text(cause.from_value + cause.needed)
    return (
        f"It would have to lie {mm_text(abs(cause.needed))} {way} than predicted, {place} behind the "
        f"cornea.{_ROOMS[surprise.room]}"
    )


def _constant(cause: Cause, surprise: Surprise) -> str:
    said = f"All your eyes with this lens would have to end {refraction_text(cause.needed)} from prediction."
    if not surprise.lesson_eyes:
        return f"{said} No lesson about this lens is on record; a surgeon's usual bias is our choice."
    expected = refraction_text(cause.from_value)
    return f"{said} What {surprise.lesson_eyes} of them taught is {expected}."


def _measured(cause: Cause, words: str, decimals: int, unit: str) -> str:
    true, was = (plain_text(one, decimals) for one in (cause.from_value + cause.needed, cause.from_value))
    less = "less" if cause.needed < 0 else "more"
    size = plain_text(abs(cause.needed), decimals)
    said = f"The {words} would have to be {true} {unit}, {size} {unit} {less} than the {was} {unit} used."
    if cause.again is None:
        return said
    again = f"{said} Measured again: {plain_text(cause.again, decimals)} {unit}"
    if cause.unexplained_dpt is None:
        return f"{again}, which explains less than half of it, or is the same within its scatter."
    return f"{again}. With that, {size_text(cause.unexplained_dpt)} of the error would be left."


def _exchange(remedy: Remedy) -> str:
    if remedy.range_dpt is None:
        return f"{plain_text(remedy.amount_dpt, 2)} D."
    low, high = (plain_text(one, 2) for one in remedy.range_dpt)
    return f"{low} to {high} D, depending on what was wrong. Find that out first."


def _laser(remedy: Remedy) -> str:
    way = "flatter" if remedy.amount_dpt < 0 else "steeper"
    said = f"The cornea would have to become {size_text(remedy.amount_dpt)} {way}"
    if remedy.mean_k_after_dpt is None:
        return f"{said}."
    return f"{said}, to a mean K of about {size_text(remedy.mean_k_after_dpt)}."


def _add_on(remedy: Remedy) -> str:
    said = f"{refraction_text(remedy.amount_dpt)} by refractive vergence"
    if remedy.place_mm is not None and remedy.range_dpt is not None:
        low, high = (refraction_text(one) for one in remedy.range_dpt)
        said += (
            f", lying {mm_text(remedy.place_mm)} behind the cornea ({low} to {high} over the places where it "
            "may come to lie)"
        )
    rough = "" if remedy.rough_dpt is None else f" The short rule gives {refraction_text(remedy.rough_dpt)}."
    return f"{said}.{rough}"
