"""What repeating a measurement buys, in one sentence."""

from __future__ import annotations

from zonule.case.worth import Worth
from zonule.drawings.numbers import in_100_text
from zonule.drawings.words import count_word

_MEASURING = {
    "axial_length_mm": "axial length",
    "mean_k_dpt": "the cornea",
    "anterior_chamber_depth_mm": "chamber depth",
    "lens_thickness_mm": "lens thickness",
    "corneal_thickness_mm": "corneal thickness",
    "posterior_radius_mm": "the back of the cornea",
}
_SPREAD_LIMITS_FROM_DPT = 0.25
"""From this measurement spread on it is not the formula alone that limits the eye."""


def quantities_text(quantities: tuple[str, ...]) -> str:
    """What is measured, as it stands after *measuring*.

    Examples
    --------
    >>> quantities_text(("anterior_chamber_depth_mm", "lens_thickness_mm"))
    'chamber depth and lens thickness'
    """
    return " and ".join(_MEASURING.get(name, name) for name in quantities)


def worth_sentence(worth: Worth) -> str:
    """Which measurement to repeat and what it buys, or that none is worth it."""
    most = worth.most
    if most is None:
        return _nothing_sentence(worth)
    first = most.repeated[0]
    before, after = in_100_text(worth.within_0_50), in_100_text(first.within_0_50)
    measuring = f"Measuring {quantities_text(most.quantities)} {count_word(first.more_readings)} more times"
    if before == after:
        last = most.repeated[-1]
        measuring = (
            f"Measuring {quantities_text(most.quantities)} {count_word(last.more_readings)} more times"
        )
        after = in_100_text(last.within_0_50)
    return (
        f"{measuring} and choosing the power from the mean of all readings would raise the chance of landing "
        f"within half a dioptre from {before} to {after} in 100."
    )


def _nothing_sentence(worth: Worth) -> str:
    limits = "the formula, not the biometer, limits this eye"
    if worth.measurement_sd_dpt > _SPREAD_LIMITS_FROM_DPT:
        limits = "no single one of them limits this eye"
    return f"No measurement is worth repeating for its scatter: {limits}."
