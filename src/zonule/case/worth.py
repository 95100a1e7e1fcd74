"""Which measurement of an eye is worth repeating: where the doubt comes from, and what more readings buy."""

from __future__ import annotations

from dataclasses import dataclass

WORTH_REPEATING = 0.01
"""Gain in the chance of landing within half a dioptre from which a measurement is worth taking again: one eye
in a hundred (our choice)."""


@dataclass(frozen=True, slots=True)
class Repeated:
    """What so many more readings of one measurement buy."""

    more_readings: int
    within_0_50: float
    """The chance to expect when the power is chosen anew, averaged over what the readings may say."""
    within_0_50_if_confirmed: float
    """That of the power chosen now, if the new readings say the same as the old."""


@dataclass(frozen=True, slots=True)
class InputWorth:
    """One measurement: its part in the doubt, and what repeating it buys."""

    quantities: tuple[str, ...]
    """By their names; two whose errors are correlated are read together."""
    first_order: float
    """Share of the measurement variance that goes when it is known exactly."""
    total: float
    """Share that stays when everything else is known exactly."""
    sd_dpt: float
    """What it contributes to the spread of the refraction."""
    repeated: tuple[Repeated, ...]
    """Fewest readings first."""


@dataclass(frozen=True, slots=True)
class Worth:
    """What repeating each measurement of this eye buys for the power that is chosen."""

    lens_power_dpt: float
    within_0_50: float
    """The chance now."""
    measurement_sd_dpt: float
    """What all measurements together contribute to the spread."""
    inputs: tuple[InputWorth, ...]
    """The largest contribution first."""

    @property
    def most(self) -> InputWorth | None:
        """The measurement whose repetition buys most, if it buys enough to be worth it."""
        repeatable = [one for one in self.inputs if one.repeated]
        if not repeatable:
            return None
        best = max(repeatable, key=lambda one: one.repeated[-1].within_0_50)
        return best if best.repeated[-1].within_0_50 - self.within_0_50 >= WORTH_REPEATING else None
