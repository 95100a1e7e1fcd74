"""What own results say, in plain sentences for screen and command line."""

from __future__ import annotations

from zonule.case.case import Case
from zonule.case.learned import Group, Learned
from zonule.case.plan import MethodResult
from zonule.drawings.numbers import in_100_text, plain_text, refraction_text, size_text
from zonule.drawings.words import count_word
from zonule.science.lens_power.formulas import FORMULAS

_CONSTANT_WORDS = {
    "a_constant": ("A", 2),
    "surgeon_factor": ("SF", 3),
    "c_constant": ("C", 2),
    "p_acd": ("pACD", 3),
    "a0": ("a0", 3),
    "a1": ("a1", 3),
    "a2": ("a2", 3),
}
"""The trade's words and display precision of each constant."""


def fellow_weight_sentence(learned: Learned) -> str:
    """What own pairs of eyes say about the second eye; empty with too few."""
    found = learned.fellow_weight
    if found is None:
        return ""
    return (
        f"In {found.pairs} of your patients both eyes count: the second ended as the first did by a share of "
        f"{plain_text(found.own_weight, 2)}. Together with the published 0.50 that makes "
        f"{plain_text(found.weight, 2)}. Plans still use 0.50."
    )


def constants_text(method: MethodResult) -> str:
    """The constants of a method, as the trade writes them."""
    names = FORMULAS[method.method].constant_names
    parts = (
        f"{_CONSTANT_WORDS[name][0]} {plain_text(value, _CONSTANT_WORDS[name][1])}"
        for name, value in zip(names, method.constants, strict=True)
    )
    return ", ".join(parts)


def result_sentence(case: Case) -> str:
    """What this eye got against what was promised."""
    review = case.review
    if review is None:
        return "This eye has not been refracted after its operation."
    got = refraction_text(review.refraction.reported_equivalent_dpt)
    when = f"{review.days_after} days after the operation"
    if review.error_dpt is None:
        return f"The eye ended at {got}, {when}; nothing had been predicted for its lens."
    return f"The eye ended at {got}, {when}: {_side(review.error_dpt)}."


def learned_sentence(learned: Learned) -> str:
    """How all eyes that count landed, in one sentence."""
    achieved = learned.achieved
    if achieved is None:
        return "No reviewed eye counts yet."
    eyes = "One eye counts and" if achieved.eyes == 1 else f"{_count(achieved.eyes)} eyes count and"
    return (
        f"{eyes} {in_100_text(achieved.within['0.50'])} in 100 of them landed within half a dioptre of what "
        f"was predicted, {in_100_text(achieved.within['1.00'])} in 100 within one dioptre; half of all "
        f"errors were below {size_text(achieved.median_ae_dpt)}."
    )


def group_sentence(group: Group) -> str:
    """What a group of eyes teaches, and how much of it its evidence supports."""
    summary, proposed = group.summary, group.proposed
    eyes = "1 eye" if summary.eyes == 1 else f"{summary.eyes} eyes"
    said = f"{eyes} landed {_side(summary.mean_error_dpt, on_average=True)}."
    if proposed is None:
        return f"{said} Too few to learn from."
    share = f"{in_100_text(proposed.weight)} in 100"
    now = f" The plans now use {refraction_text(group.current.offset_dpt)}." if group.current else ""
    return (
        f"{said} With so many eyes the evidence carries {share} of that: "
        f"{refraction_text(proposed.offset_dpt)}, give or take {size_text(proposed.offset_sd_dpt)}.{now}"
    )


def _count(eyes: int) -> str:
    return count_word(eyes).capitalize()


def _side(error_dpt: float, *, on_average: bool = False) -> str:
    words = " on average" if on_average else ""
    if size_text(error_dpt) == size_text(0.0):
        return f"as predicted{words}"
    side = "long-sighted" if error_dpt > 0 else "short-sighted"
    return f"{size_text(error_dpt)} more {side} than predicted{words}"
