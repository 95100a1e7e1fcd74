"""The first eye's outcome, and what it says about the second."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from zonule.case.eye import Eye
from zonule.case.finding import Finding
from zonule.case.lesson import Lesson
from zonule.case.operation import Complication, Fixation
from zonule.case.refraction import Refraction
from zonule.science.statistics.fellow_eye import PUBLISHED_WEIGHT, LearnedWeight, variance_left


@dataclass(frozen=True, slots=True)
class FellowOutcome:
    """What the fellow eye got, when it was operated first. What nobody recorded is absent."""

    refraction: Refraction
    lens_model: str = ""
    lens_power_dpt: float | None = None
    operated_on: date | None = None
    refracted_on: date | None = None
    fixation: Fixation | None = None
    complication: Complication | None = None
    surgeon: str = ""
    """Who operated the first eye; empty when it is not known to be another than now."""
    lessons: tuple[Lesson, ...] = ()
    """Those of that surgeon, used for the first eye when another operates the second."""
    measured: Eye | None = None
    """The first eye as it was planned, for biometers measure both eyes again before the second operation;
    absent when that is the fellow eye as it is given."""
    learned: LearnedWeight | None = None
    """The weight after the clinic's own pairs have had their say; absent when none were asked."""

    @property
    def days_after(self) -> int | None:
        """Days from operation to refraction, when both are known."""
        if self.operated_on is None or self.refracted_on is None:
            return None
        return (self.refracted_on - self.operated_on).days

    @property
    def weight(self) -> float:
        """Share of the first eye's error to expect in the second: published, or learned."""
        return PUBLISHED_WEIGHT if self.learned is None else self.learned.weight


@dataclass(frozen=True, slots=True)
class SecondEye:
    """Whether the first eye's error moves this plan, by how much, and why not."""

    used: bool
    weight: float
    """Share of the first eye's error to expect again."""
    pairs: int = 0
    """Own pairs of eyes in the weight; 0 when it is the published one."""
    errors_dpt: tuple[tuple[str, float], ...] = ()
    """First eye, achieved minus predicted, by method, after lessons. Empty where it is not used."""
    error_dpt: float | None = None
    """The middle of those of the methods that are fit."""
    shifts_dpt: tuple[tuple[str, float], ...] = ()
    """Added to the predictions of each method."""
    shift_dpt: float = 0.0
    """The middle of those of the methods that are fit; for a method that the first eye has no error of."""
    capped: bool = False
    """Whether the shift was cut to what one dioptre of lens power makes."""
    reasons: tuple[str, ...] = ()
    """Why the first eye is not used."""
    findings: tuple[Finding, ...] = ()
    best_before_dpt: float | None = None
    """Power with the best odds without the first eye."""
    best_after_dpt: float | None = None

    def shift_of(self, method: str) -> float:
        """What to add to the predictions of a method, dioptres."""
        return dict(self.shifts_dpt).get(method, self.shift_dpt)

    @property
    def variance_left(self) -> float:
        """Share of what the formulas leave open that the first eye leaves open too."""
        return float(variance_left(self.weight)) if self.used else 1.0

    def with_powers(self, before_dpt: float | None, after_dpt: float | None) -> SecondEye:
        """The same, with how it moved the power of the best odds."""
        return replace(self, best_before_dpt=before_dpt, best_after_dpt=after_dpt)
