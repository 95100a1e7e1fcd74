"""The plain sentences that screen and sheet share."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from statistics import median

from zonule.case.biometry import Biometry
from zonule.case.eye import CornealSurgery, Eye
from zonule.case.lens import LensModel
from zonule.case.lesson import LessonUse
from zonule.case.measured import Measured
from zonule.case.plan import FearedSide, Plan, PlanRequest, Prediction
from zonule.drawings.numbers import (
    axis_text,
    chance_text,
    day_text,
    in_100_text,
    mm_text,
    power_text,
    refraction_text,
    size_text,
    um_text,
)
from zonule.drawings.toric_sentences import cylinder_causes, cylinder_effects
from zonule.drawings.words import count_word, method_name

_LEAST_ODDS_IN_WORDS, _MOST_ODDS_IN_WORDS = 3, 20
_LEAST_CHANCE = 0.01
_WORDS_MAY_BE_OFF_BY = 0.015
"""A chance is put in words only where the words are true to about one in a hundred."""
_SIDES = {FearedSide.HYPEROPIC: "long-sighted", FearedSide.MYOPIC: "short-sighted"}


def feared_side_text(side: FearedSide) -> str:
    """The side on which a miss is worse, in plain words.

    Examples
    --------
    >>> feared_side_text(FearedSide.HYPEROPIC)
    'long-sighted'
    """
    return _SIDES[side]


def chance_words(fraction: float) -> str:
    """A chance as the start of a sentence.

    Examples
    --------
    >>> chance_words(0.091), chance_words(0.29), chance_words(0.003)
    ('One in eleven', '29 in 100', 'Fewer than 1 in 100')
    """
    if fraction >= _LEAST_CHANCE:
        one_in = round(1 / fraction)
        is_close = abs(1 / one_in - fraction) <= _WORDS_MAY_BE_OFF_BY
        if _LEAST_ODDS_IN_WORDS <= one_in <= _MOST_ODDS_IN_WORDS and is_close:
            return f"One in {count_word(one_in)}"
    said = chance_text(fraction)
    return said[0].upper() + said[1:]


def odds_sentence(plan: Plan, power: float) -> str:
    """What the odds say of one lens power; why there are none where there are none."""
    if plan.odds is None:
        return f"No odds. {plan.no_odds_because or 'No method counts for this eye.'}"
    prediction = plan.in_the_odds(power)
    if prediction is None:
        return f"This lens is not made in {power_text(power)}."
    aim = plan.request.target_refraction_dpt
    if prediction.spread is None or aim is None:
        return f"{power_text(power)} is expected to leave {refraction_text(prediction.refraction_dpt)}."
    count = in_100_text(prediction.spread.within_0_50).replace("<", "fewer than ").replace(">", "more than ")
    beyond = chance_words(prediction.spread.beyond_feared)
    ends = "ends" if beyond.startswith(("One ", "1 ", "Fewer ")) else "end"
    side = _SIDES[plan.request.feared_side]
    return (
        f"{power_text(power)} lands within half a dioptre of {refraction_text(aim)} in {count} of 100 eyes "
        f"like this. {beyond} {ends} more than half a dioptre on the {side} side."
    )


def anisometropia_sentence(plan: Plan) -> str:
    """What the aim would leave between the two eyes; empty when the fellow eye is not known."""
    difference, aim = plan.aim_difference_dpt, plan.request.target_refraction_dpt
    if difference is None or aim is None:
        return ""
    fellow = refraction_text(aim - difference)
    if plan.request.fellow_outcome is not None:
        fellow = f"{fellow}, which is what it achieved"
    if size_text(difference) == size_text(0.0):
        return f"The aim matches the fellow eye, {fellow}."
    side = "long-sighted" if difference > 0 else "short-sighted"
    return f"The aim would leave this eye {size_text(difference)} more {side} than the fellow eye, {fellow}."


def corneas_sentence(plan: Plan) -> str:
    """How far the corrections of an operated cornea lie apart, and their middle."""
    powers = [one.power_dpt for one in plan.corneas]
    if len(powers) == 1:
        return f"One published correction can be made for this eye: it gives {size_text(powers[0])}."
    return (
        f"{count_word(len(powers)).capitalize()} published corrections range from {size_text(min(powers))} "
        f"to {size_text(max(powers))}; their middle is {size_text(median(powers))}. A dioptre here is a "
        "dioptre of refraction."
    )


def spread_origin(plan: Plan) -> str:
    """Which published eyes the law of spread comes from."""
    return _SPREAD_ORIGINS.get(
        plan.request.eye.history.corneal_surgery,
        "as 282,811 eyes of routine practice showed (lundstrom-2018)",
    )


_SPREAD_ORIGINS = {
    CornealSurgery.MYOPIC_LASER: "as series of eyes after laser showed (after-laser-series)",
    CornealSurgery.HYPEROPIC_LASER: "as series of eyes after laser showed (after-laser-series)",
    CornealSurgery.RADIAL_KERATOTOMY: "as 19 eyes after radial keratotomy showed (radial-keratotomy-2022)",
}


def agreement_sentence(plan: Plan) -> str:
    """Whether the methods lie within what each leaves open by itself."""
    found = plan.agreement
    if found is None:
        return ""
    apart, own = size_text(found.disagreement_dpt), size_text(found.own_spread_dpt)
    names = (
        f"{method_name(found.most_myopic)} is the most short-sighted, {method_name(found.most_hyperopic)} "
        "the most long-sighted"
    )
    if found.agrees:
        return f"They lie {apart} apart, within the {own} that each leaves open by itself; {names}."
    return (
        f"They lie {apart} apart, more than the {own} that each leaves open by itself; {names}. See the "
        "doubts."
    )


def refusals(plan: Plan) -> list[tuple[str, str]]:
    """Methods that are not used, together where their reason is one, and that reason."""
    by_reason: dict[str, list[str]] = {}
    for one in plan.refused:
        name, said = method_name(one.method), one.findings[0].sentence
        reason = said.removeprefix(f"{name} ")
        by_reason.setdefault(f"{reason[:1].upper()}{reason[1:]}", []).append(name)
    return [("; ".join(names), reason) for reason, names in by_reason.items()]


def lesson_sentence(use: LessonUse) -> str:
    """What own eyes have taught about one method, and whether this plan heeds it."""
    lesson = use.lesson
    eyes = "1 eye" if lesson.eyes == 1 else f"{lesson.eyes} eyes"
    whose = f" of {lesson.surgeon}" if lesson.surgeon else ""
    side = "long-sighted" if lesson.mean_error_dpt > 0 else "short-sighted"
    ended = f"ended {size_text(lesson.mean_error_dpt)} more {side} than predicted"
    if size_text(lesson.mean_error_dpt) == size_text(0.0):
        ended = "ended as predicted on average"
    what = f"{method_name(lesson.method)} with {lesson.lens_model}"
    when = f"to {day_text(lesson.last_on)}"
    said = f"{eyes}{whose}, {what}, {when}, {ended}."
    if use.used:
        return f"{said} This plan moves its prediction by {refraction_text(lesson.offset_dpt)} for it."
    return f"{said} This plan does not use it. {use.reason}"


def what_changed_sentence(before: Plan, after: Plan) -> str:
    """What moved between two plans, and by how much, in one sentence."""
    causes = list(_causes(before.request, after.request))
    effects = list(_effects(before, after))
    if not causes and not effects:
        return "Nothing moved."
    if not effects:
        return f"{_listed(causes, capital=True)}: no prediction moved."
    if not causes:
        return f"{_listed(effects, capital=True)}."
    return f"{_listed(causes, capital=True)}: {_listed(effects)}."


def _listed(parts: list[str], *, capital: bool = False) -> str:
    said = parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"
    return said[0].upper() + said[1:] if capital else said


def _moved(
    name: str, before: float | None, after: float | None, written: Callable[[float], str]
) -> Iterator[str]:
    """One quantity that is not what it was."""
    if before == after:
        return
    if after is None:
        yield f"{name} is no longer known"
    elif before is None:
        yield f"{name} is now {written(after)}"
    else:
        yield f"{name} went from {written(before)} to {written(after)}"


def _causes(before: PlanRequest, after: PlanRequest) -> Iterator[str]:
    yield from _moved("the aim", before.target_refraction_dpt, after.target_refraction_dpt, refraction_text)
    old_lens, new_lens = before.lens, after.lens
    if old_lens != new_lens:
        yield _lens_cause(old_lens, new_lens)
    yield from _eye_causes(before.eye, after.eye)
    if before.fellow != after.fellow:
        yield "the fellow eye's record changed"
    if before.feared_side is not after.feared_side:
        yield f"the feared side is now {_SIDES[after.feared_side]}"
    if before.lessons != after.lessons or before.surgeon != after.surgeon:
        yield "the lessons in use changed"
    yield from cylinder_causes(before, after)


def _lens_cause(before: LensModel | None, after: LensModel | None) -> str:
    if after is None:
        return "no lens is chosen any more"
    is_same = before is not None and before.name == after.name
    return f"the figures of {after.name} changed" if is_same else f"the lens is now {after.name}"


def _eye_causes(before: Eye, after: Eye) -> Iterator[str]:
    if before == after:
        return
    named = list(_biometry_causes(before.biometry, after.biometry))
    if before.history.corneal_surgery is not after.history.corneal_surgery:
        named.append(f"corneal surgery is now {after.history.corneal_surgery.replace('_', ' ')}")
    yield from named or ["the eye's record changed"]


def _biometry_causes(before: Biometry, after: Biometry) -> Iterator[str]:
    lengths = {
        "axial length": (before.axial_length_mm, after.axial_length_mm),
        "chamber depth": (before.anterior_chamber_depth_mm, after.anterior_chamber_depth_mm),
        "lens thickness": (before.lens_thickness_mm, after.lens_thickness_mm),
        "white-to-white": (before.white_to_white_mm, after.white_to_white_mm),
    }
    for name, (old, new) in lengths.items():
        yield from _moved(name, _value(old), _value(new), mm_text)
    yield from _moved(
        "corneal thickness", _value(before.corneal_thickness_um), _value(after.corneal_thickness_um), um_text
    )
    old_cornea, new_cornea = before.keratometry, after.keratometry
    yield from _moved("mean K", old_cornea.mean_k_dpt, new_cornea.mean_k_dpt, size_text)
    yield from _moved(
        "steep meridian", old_cornea.steep_meridian_deg, new_cornea.steep_meridian_deg, axis_text
    )


def _value(measured: Measured | None) -> float | None:
    return None if measured is None else measured.value


def _shifts(old: Prediction, new: Prediction) -> Iterator[str]:
    """How far the prediction for one power moved, in the decimals that are shown."""
    power = power_text(old.lens_power_dpt)
    shift = refraction_text(new.refraction_dpt - old.refraction_dpt)
    if shift != refraction_text(0.0):
        yield f"the refraction expected of {power} moved by {shift}"
    if old.spread is not None and new.spread is not None:
        before, after = in_100_text(old.spread.within_0_50), in_100_text(new.spread.within_0_50)
        if before != after:
            yield f"the chance that {power} lands within half a dioptre went from {before} to {after} in 100"


def _effects(before: Plan, after: Plan) -> Iterator[str]:
    """What it did to the powers, and to the cylinder."""
    yield from _power_effects(before, after)
    yield from cylinder_effects(before, after)


def _power_effects(before: Plan, after: Plan) -> Iterator[str]:
    """What it did to the power that was best before, and to which power is best."""
    if before.odds is None or after.odds is None:
        if before.odds is not None:
            yield "there are no odds any more"
        if after.odds is not None:
            yield f"the best power is now {power_text(after.odds.best_power_dpt)}"
        return
    power = before.odds.best_power_dpt
    old, new = before.in_the_odds(power), after.in_the_odds(power)
    if new is None:
        yield f"{power_text(power)} is not made in this lens"
    elif old is not None:
        yield from _shifts(old, new)
    if after.odds.best_power_dpt != power:
        yield f"the best power went from {power_text(power)} to {power_text(after.odds.best_power_dpt)}"
