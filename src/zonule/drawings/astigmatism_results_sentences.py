"""What reviewed eyes say of astigmatism, in plain sentences."""

from __future__ import annotations

from collections.abc import Iterator

from zonule.case.astigmatism_results import (
    AstigmatismResults,
    IncisionGroup,
    IncisionResults,
    ModelMisses,
    ModelsCompared,
    TurnFrom,
    Turns,
    VectorGroup,
)
from zonule.case.toric import CorneaModelName
from zonule.drawings.numbers import chance_text, plain_text, signed_text, size_text
from zonule.drawings.toric_sentences import vector_text
from zonule.science.astigmatism.rotation_results import LimitInEyes

FEW_EYES = 50
"""Under so many, which model missed least is mostly luck (our choice)."""
FEW_LENSES = 30
"""Under so many, a limit met or missed says little of a lens (our choice)."""
CHANCE = 0.05
_LEAST_P = 0.001
_INCISION_MATTERS_DPT = 0.1
"""By so much an incision is worth a word before models are judged (our choice)."""

_VECTOR_WORDS = {
    "cornea": "Cornea before, as read",
    "residual": "Left after refraction",
    "target": "Meant to be changed",
    "induced": "Changed",
    "difference": "Meant less changed",
}
_VECTORS_MEAN = {
    "cornea": "Front readings before the operation, of every eye that counts.",
    "residual": "The refraction after the operation, moved to the cornea.",
    "target": "Toric lenses: residual as planned minus the whole cornea before, by the model planned on.",
    "induced": "Toric lenses: refraction at the cornea minus the whole cornea before, by the same model.",
    "difference": "Toric lenses: what was meant to be changed minus what was. It is still to be done.",
}


def vector_words(key: str, models: tuple[ModelMisses, ...]) -> str:
    """What the choice is called."""
    return _VECTOR_WORDS.get(key) or f"Missed by {_words_of(key, models)}"


def vectors_sentence(key: str, models: tuple[ModelMisses, ...]) -> str:
    """What the vectors are that are shown."""
    return _VECTORS_MEAN.get(key) or (
        f"Achieved minus predicted, if {_words_of(key, models)} is believed: with the lens implanted, where "
        "it lies, and the incision that was made."
    )


def headline_sentence(results: AstigmatismResults) -> str:
    """How much is left, in one sentence."""
    group = results.residual
    if group is None:
        return "No reviewed eye counts yet."
    found = group.found
    return (
        f"In {_eyes(found.eyes)} the refraction left {size_text(found.mean_magnitude_dpt)} of cylinder on "
        f"average at the cornea; {chance_text(found.within['0.50'])} have half a dioptre or less. Their mean "
        f"vector is {vector_text(found.centroid)}."
    )


def group_sentence(group: VectorGroup) -> str:
    """Whether a group tends anywhere, and what its p leaves out."""
    found = group.found
    spread = "" if found.total_sd_dpt is None else f", total SD {size_text(found.total_sd_dpt)}"
    said = f"Mean vector {vector_text(found.centroid)}{spread}."
    if group.test is None:
        return f"{said} {_eyes(found.eyes)} of this kind allow no test."
    verdict = (
        "That is more than chance usually makes" if group.test.p_value < CHANCE else "Chance can do that"
    )
    return f"{said} {verdict} ({p_text(group.test.p_value)}). {doubt_of_p(group)}".strip()


def doubt_of_p(group: VectorGroup) -> str:
    """Why p is too small; empty where no two eyes are of one patient."""
    second = group.second_eyes
    if not second:
        return ""
    are = "is the second eye" if second == 1 else "are second eyes"
    return f"{second} of these {are} of a patient. Two eyes of one are not independent, so p is too small."


def p_text(p_value: float) -> str:
    """A probability as papers print it.

    Examples
    --------
    >>> p_text(0.0312), p_text(0.00001)
    ('p 0.031', 'p under 0.001')
    """
    return f"p under {_LEAST_P:g}" if p_value < _LEAST_P else f"p {plain_text(p_value, 3)}"


def model_sentences(results: AstigmatismResults) -> Iterator[str]:
    """Which model missed least, and how little that may mean."""
    if not results.models:
        return
    best = results.models[0]
    found = best.misses.found
    yield (
        f"{best.words} missed least: {size_text(found.mean_magnitude_dpt)} on average, "
        f"{chance_text(found.within['0.50'])} eyes within half a dioptre of its prediction."
    )
    for one in results.compared:
        yield _compared_sentence(one, results.models)
    if len(results.models) > 1:
        yield (
            f"It was picked as the best of {len(results.models)} after looking, which favours the lucky one. "
            f"{_few_sentence(found.eyes)}"
        ).strip()


def incision_first_sentence(incisions: IncisionResults) -> str:
    """Why to look at incisions before models; empty where plans already take them as own eyes show them."""
    apart_dpt = [
        abs(group.proposed.flattening_dpt - _in_use_dpt(group))
        for group in incisions.groups
        if group.proposed is not None
    ]
    if max(apart_dpt, default=0.0) < _INCISION_MATTERS_DPT:
        return ""
    return (
        "Look at your incisions first, below: they do otherwise than plans take them to do, and an incision "
        "taken wrong looks like a cornea model that is wrong."
    )


def _in_use_dpt(group: IncisionGroup) -> float:
    return group.published_flattening_dpt if group.current is None else group.current.flattening_dpt


def _compared_sentence(one: ModelsCompared, models: tuple[ModelMisses, ...]) -> str:
    other = _words_of(one.other, models)
    differ = one.only_better + one.only_other
    if not differ:
        return f"{other} came within half a dioptre in the same eyes."
    is_sure = one.p_value < CHANCE and one.only_better > one.only_other
    verdict = "More than chance usually makes" if is_sure else "Chance can do that"
    return (
        f"Against {other}, over the {_eyes(one.eyes)} of which both speak: only the first came within half "
        f"a dioptre in {one.only_better}, only the other in {one.only_other}. {verdict} "
        f"({p_text(one.p_value)})."
    )


def _few_sentence(eyes: int) -> str:
    if eyes >= FEW_EYES:
        return ""
    return f"{_eyes(eyes)} are few: do not change the model you plan on for them."


def turns_heading(turns: Turns) -> str:
    """Between which looks."""
    return turns.between[:1].upper() + turns.between[1:]


def turns_sentence(turns: Turns) -> str:
    """How far lenses turned, and which way."""
    found = turns.results
    if found is None:
        return _NOBODY_LOOKED[turns.between]
    lenses = "1 lens" if found.eyes == 1 else f"{found.eyes} lenses"
    way = "counter-clockwise" if found.mean_deg > 0 else "clockwise"
    few = " So few say little of a lens." if found.eyes < FEW_LENSES else ""
    return (
        f"{lenses}: {plain_text(found.mean_absolute_deg, 1)}\u00b0 either way on average, the farthest "
        f"{plain_text(found.largest_deg, 0)}\u00b0. Taken together they lie "
        f"{plain_text(abs(found.mean_deg), 1)}\u00b0 {way}.{few}"
    )


_NOBODY_LOOKED = {
    TurnFrom.PLAN_TO_END: "No lens has both a planned meridian and the one it was left at.",
    TurnFrom.PLAN_TO_VISIT: "No lens was looked at again. Record a look at its marks on the review page.",
    TurnFrom.PLAN_TO_REVIEW: "No meridian was recorded with a refraction.",
    TurnFrom.VISIT_TO_VISIT: "No lens was looked at twice about 3 months apart.",
}


def limit_text(limit: LimitInEyes, lenses: int) -> str:
    """A standard's limit beside these lenses.

    Examples
    --------
    >>> import numpy as np
    >>> from zonule.science.astigmatism.rotation_results import Since, rotation_results
    >>> limit_text(rotation_results(np.array([2.0, -12.0]), Since.INTENDED).limits[0], 2)
    'Within 10\u00b0: 1 of 2. The standard asks for 90 in 100: not met.'
    """
    count = round(lenses * limit.found_percent / 100.0)
    return (
        f"Within {limit.limit.at_most_deg:g}\u00b0: {count} of {lenses}. The standard asks for "
        f"{limit.limit.of_eyes_percent:g} in 100: {'met' if limit.met else 'not met'}."
    )


def incision_heading(group: IncisionGroup) -> str:
    """Which incisions these are."""
    whose = f", {group.surgeon}" if group.surgeon else ""
    return f"{group.place.capitalize()}, {plain_text(group.width_mm, 1)} mm{whose}"


def incision_sentence(group: IncisionGroup) -> str:
    """What own corneas say of an incision, and how much of it is believed."""
    found = group.changes.found
    own = float(found.centroid.x_dpt)
    published = size_text(group.published_flattening_dpt)
    said = (
        f"{_eyes(found.eyes)} measured again: the incision flattened its meridian by "
        f"{signed_text(own)} D in the mean of vectors. Published: {published}."
    )
    if group.proposed is None:
        return f"{said} One eye has no spread; nothing is proposed yet."
    lesson = group.proposed
    return (
        f"{said} Your eyes count for {plain_text(100 * lesson.weight, 0)} %, so plans would take "
        f"{signed_text(lesson.flattening_dpt)} D. The mean of sizes, {size_text(found.mean_magnitude_dpt)}, "
        "has no direction and is never used."
    )


def _words_of(key: str, models: tuple[ModelMisses, ...]) -> str:
    return next((one.words for one in models if one.key == key), CorneaModelName(key).replace("_", " "))


def _eyes(count: int) -> str:
    return "1 eye" if count == 1 else f"{count} eyes"
