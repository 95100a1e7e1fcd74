"""What the second eye learns from the first, and what a pair of targets offers, in plain sentences."""

from __future__ import annotations

from math import isinf

from zonule.case.pair import EyeOutlook, PairOutlook, Strategy, StrategyOutlook
from zonule.case.second_eye import SecondEye
from zonule.drawings.numbers import chance_text, plain_text, power_text, refraction_text, size_text

_NAMES = {
    Strategy.DISTANCE: "both eyes for far",
    Strategy.BLENDED: "one eye for far, one for arm's length",
    Strategy.NEAR: "both eyes for reading",
}
_FAR_FROM_M, _METRES_FROM_M = 4.0, 1.0
_CM_PER_M = 100.0
_NOTHING_DPT = 0.005


def strategy_name(strategy: Strategy) -> str:
    """A way of aiming both eyes, in plain words.

    Examples
    --------
    >>> strategy_name(Strategy.NEAR)
    'both eyes for reading'
    """
    return _NAMES[strategy]


def clear_distance_text(distance_m: float) -> str:
    """A distance in focus, as exactly as it deserves.

    Examples
    --------
    >>> [clear_distance_text(one) for one in (0.375, 0.706, 2.4, 6.0, float("inf"))]
    ['38 cm', '71 cm', '2.4 m', 'far', 'nowhere']
    """
    if isinf(distance_m):
        return "nowhere"  # an artificial lens makes no effort: from +1/6 D on no distance is in focus
    if distance_m >= _FAR_FROM_M:
        return "far"
    if distance_m >= _METRES_FROM_M:
        return f"{plain_text(distance_m, 1)} m"
    return f"{plain_text(_CM_PER_M * distance_m, 0)} cm"


def strategy_sentence(one: StrategyOutlook, tolerated_dpt: float | None) -> str:
    """What one way of aiming both eyes offers, in one sentence for each thing that counts."""
    said = [f"{strategy_name(one.strategy).capitalize()}: {_eye(one.right)}; {_eye(one.left)}."]
    open_eyes = [eye for eye in one.eyes if eye.target_dpt is not None]
    if len(open_eyes) > 1:
        said.append(f"Both end within half a dioptre of their aims in {chance_text(one.both_within_half)}.")
    elif open_eyes:
        said.append(
            f"The {open_eyes[0].side} eye ends within half a dioptre of its aim in "
            f"{chance_text(one.both_within_half)}."
        )
    said.append(f"They are expected {size_text(one.difference_dpt)} apart.")
    if one.beyond_tolerated is not None and tolerated_dpt is not None:
        said.append(
            f"They end more than {size_text(tolerated_dpt)} apart, which this patient does not want, in "
            f"{chance_text(one.beyond_tolerated)}."
        )
    return " ".join(said)


def _eye(eye: EyeOutlook) -> str:
    sees = _sees(eye.clear_distance_m)
    if eye.lens_power_dpt is None:
        return f"the {eye.side} eye has {refraction_text(eye.refraction_dpt)} and {sees}"
    return (
        f"the {eye.side} eye with {power_text(eye.lens_power_dpt)} is expected at "
        f"{refraction_text(eye.refraction_dpt)} and {sees}"
    )


def _sees(distance_m: float) -> str:
    told = clear_distance_text(distance_m)
    if isinf(distance_m):
        return "sees best far, but no distance sharply without glasses"
    return f"sees {told}" if told == "far" else f"sees best at {told}"


def not_shown_sentence(strategy: Strategy, why: str) -> str:
    """That one way of aiming both eyes could not be worked out, and why.

    Examples
    --------
    >>> not_shown_sentence(Strategy.BLENDED, "Which eye leads is not recorded.")
    "One eye for far, one for arm's length: not worked out. Which eye leads is not recorded."
    """
    return f"{strategy_name(strategy).capitalize()}: not worked out. {why}"


def pair_sentence(pair: PairOutlook) -> str:
    """How the two eyes were taken to miss."""
    if not pair.strategies:
        return "Both eyes are not planned together."
    if pair.correlation:
        return (
            "The eyes are taken to miss alike, as eyes of one patient do: what the formulas leave open "
            f"correlates at {plain_text(pair.correlation, 1)} (aristodemou-2011)."
        )
    return (
        "One eye has been operated: it keeps the refraction that was measured, give or take the noise of a "
        "refraction (norrby-2008)."
    )


def second_eye_sentence(second: SecondEye) -> str:
    """Whether the first eye moved this plan, and by how much."""
    if not second.used or second.error_dpt is None:
        return "The first eye's result does not move this plan. " + " ".join(second.reasons)
    weight = f"{plain_text(100.0 * second.weight, 0)} % of it"
    if second.capped:
        weight = f"As much as one dioptre of lens power makes, less than the {weight} that"
    if second.pairs:
        whose = f"published half and {second.pairs} own pairs of eyes together"
    else:
        whose = "published for 2,129 patients, aristodemou-2011"
    said = (
        f"The first eye ended {_side(second.error_dpt)}, after the lessons already in use. {weight} "
        f"is to be expected again ({whose}): each method is moved by its own share, "
        f"{refraction_text(second.shift_dpt)} in the middle."
    )
    return f"{said} {_moved(second)}".rstrip()


def _side(error_dpt: float) -> str:
    if abs(error_dpt) < _NOTHING_DPT:
        return "as predicted"
    side = "long-sighted" if error_dpt > 0 else "short-sighted"
    return f"{size_text(error_dpt)} more {side} than predicted"


def _moved(second: SecondEye) -> str:
    before, after = second.best_before_dpt, second.best_after_dpt
    if before is None or after is None:
        return ""
    if before == after:
        return f"The power with the best odds stays {power_text(after)}."
    return f"The power with the best odds went from {power_text(before)} to {power_text(after)}."
