"""What repeating a measurement buys, in one sentence."""

from __future__ import annotations

from zonule.case.quantity import QUANTITIES
from zonule.case.worth import Worth
from zonule.drawings.numbers import in_100_text
from zonule.drawings.words import count_word

_SPREAD_LIMITS_FROM_DPT = 0.25
"""From this measurement spread on it is not the formula alone that limits the eye."""


def quantities_text(quantities: tuple[str, ...]) -> str:
    """What is measured, in words.

    Examples
    --------
    >>> quantities_text(("anterior_chamber_depth_mm", "lens_thickness_mm"))
    'chamber depth and lens thickness'
    """
    return " and ".join(QUANTITIES[name].words for name in quantities)


def worth_sentence(worth: Worth) -> str:
    """Which measurement to repeat and what it buys, or that none is worth it."""
    most = worth.most
    if most is None:
        return _nothing_sentence(worth)
    before = in_100_text(worth.within_0_50)
    shown = (one for one in most.repeated if in_100_text(one.within_0_50) != before)
    told = next(shown, most.repeated[-1])
    return (
        f"Measuring {quantities_text(most.quantities)} {count_word(told.more_readings)} more times and "
        "choosing the power from the mean of all readings would raise the chance of landing within half a "
        f"dioptre from {before} to {in_100_text(told.within_0_50)} in 100."
    )


def _nothing_sentence(worth: Worth) -> str:
    limits = "the formula, not the biometer, limits this eye"
    if worth.measurement_sd_dpt > _SPREAD_LIMITS_FROM_DPT:
        limits = "no single one of them limits this eye"
    return f"No measurement is worth repeating for its scatter: {limits}."
