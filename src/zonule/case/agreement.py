"""How well the methods agree about one eye, and which measurement drives them apart."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Driver:
    """One measurement: how the disagreement changes when the eye had the average value of it."""

    quantity: str
    value: float
    """In this eye, in the unit of the name."""
    average: float
    disagreement_dpt: float
    """What would be left with the average value."""


@dataclass(frozen=True, slots=True)
class Agreement:
    """The predictions of the methods for one power, against what they leave open themselves."""

    lens_power_dpt: float
    """The middle of the powers that they need for the aim, unrounded."""
    disagreement_dpt: float
    """Of refraction with that power, from the most short-sighted prediction to the most long-sighted."""
    most_myopic: str
    most_hyperopic: str
    """The methods that predict them."""
    own_spread_dpt: float
    """The standard deviation that each leaves open, from measurement and from its own residual."""
    in_average_eye_dpt: float
    """What would be left if every measurement had the average value: the part that constants make."""
    drivers: tuple[Driver, ...]
    """Every measurement that the methods read, the one that explains most first."""

    @property
    def agrees(self) -> bool:
        """Whether the methods differ by no more than their own spread."""
        return self.disagreement_dpt <= self.own_spread_dpt

    @property
    def driver(self) -> Driver | None:
        """The measurement that explains at least half of the disagreement, if one does."""
        first = self.drivers[0] if self.drivers else None
        explains = first is not None and first.disagreement_dpt <= self.disagreement_dpt / 2.0
        return first if explains else None
