"""Both eyes as one plan: what the patient wants to see without glasses, and what each way offers."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from zonule.case.finding import Finding
from zonule.case.patient import Side
from zonule.errors import OutOfRangeError
from zonule.science.uncertainty.spread import ErrorLaw, law_of_sds


class Distance(StrEnum):
    """How far away a task is."""

    FAR = "far"
    ARMS_LENGTH = "arms_length"
    NEAR = "near"


class Importance(StrEnum):
    """How much it matters to the patient to do a task without glasses."""

    MOST = "most"
    SOME = "some"
    LITTLE = "little"


class Tried(StrEnum):
    """Whether blended sight was tried with contact lenses or glasses."""

    YES = "yes"
    NO = "no"
    UNKNOWN = "unknown"


class Strategy(StrEnum):
    """Three ways to aim a pair of eyes."""

    DISTANCE = "distance"
    """Both eyes for far."""
    BLENDED = "blended"
    """The dominant eye for far, the other for arm's length."""
    NEAR = "near"
    """Both eyes for reading."""


@dataclass(frozen=True, slots=True)
class Task:
    """Something the patient wants to do without glasses."""

    distance: Distance
    importance: Importance
    words: str = ""


@dataclass(frozen=True, slots=True)
class Targets:
    """What a strategy aims at; in the two ways that treat both eyes alike, one number twice."""

    strategy: Strategy
    dominant_dpt: float
    other_dpt: float


STARTING_TARGETS = (
    Targets(Strategy.DISTANCE, 0.0, 0.0),
    Targets(Strategy.BLENDED, 0.0, -1.25),
    Targets(Strategy.NEAR, -2.5, -2.5),
)
"""Where the talk begins (common practice, no source); each number can be changed for each patient."""


@dataclass(frozen=True, slots=True)
class PairWishes:
    """What was asked of the patient about both eyes. Nothing is assumed for what was not asked."""

    dominant_eye: Side | None = None
    tasks: tuple[Task, ...] = ()
    tolerated_anisometropia_dpt: float | None = None
    """The most that the two eyes may differ, as agreed with the patient."""
    tried_blended: Tried = Tried.UNKNOWN
    targets: tuple[Targets, ...] = STARTING_TARGETS


AIM_RANGE_DPT = (-6.0, 2.0)
TOLERATED_RANGE_DPT = (0.0, 10.0)
"""Aims, and differences between the eyes, that somebody could agree with a patient (ranges of this
project)."""


def refuse_impossible_wishes(wishes: PairWishes) -> None:
    """Raise `OutOfRangeError` for a difference or an aim that nobody can have agreed."""
    low, high = TOLERATED_RANGE_DPT
    tolerated_dpt = wishes.tolerated_anisometropia_dpt
    if tolerated_dpt is not None and not low <= tolerated_dpt <= high:
        raise OutOfRangeError(
            f"The eyes may differ by {low:g} to {high:g} D, written without a sign. Correct the difference "
            "the patient tolerates."
        )
    low, high = AIM_RANGE_DPT
    if not all(low <= aim <= high for one in wishes.targets for aim in (one.dominant_dpt, one.other_dpt)):
        raise OutOfRangeError(
            f"An aim lies between {low:g} and +{high:g} D. Correct the aims to compare; check their signs."
        )


@dataclass(frozen=True, slots=True)
class EyeOutlook:
    """Where one eye of the pair is expected to end."""

    side: Side
    refraction_dpt: float
    """Expected, or already achieved."""
    sd_dpt: float
    measurement_sd_dpt: float
    residual_degrees_of_freedom: float
    clear_distance_m: float
    """Distance in focus without glasses at the expected refraction; infinite for a long-sighted eye."""
    target_dpt: float | None = None
    """Absent for an eye that has been operated."""
    lens_power_dpt: float | None = None
    """The power most often within half a dioptre of the target; absent for an eye that has been operated."""
    within_half: float | None = None
    """Chance of ending within half a dioptre of the target; absent for an eye that has been operated."""

    @property
    def law(self) -> ErrorLaw:
        """How this eye scatters about the expected refraction."""
        return law_of_sds(self.sd_dpt, self.measurement_sd_dpt, self.residual_degrees_of_freedom)


@dataclass(frozen=True, slots=True)
class StrategyOutlook:
    """What one way of aiming both eyes offers this patient."""

    strategy: Strategy
    right: EyeOutlook
    left: EyeOutlook
    difference_dpt: float
    """Expected refraction, right minus left."""
    difference_sd_dpt: float
    both_within_half: float
    """Chance that every eye still to be operated ends within half a dioptre of its target."""
    beyond_tolerated: float | None
    """Chance that the eyes end farther apart than the patient tolerates; absent when that was not asked."""

    @property
    def eyes(self) -> tuple[EyeOutlook, EyeOutlook]:
        """Right, then left."""
        return self.right, self.left


@dataclass(frozen=True, slots=True)
class PairOutlook:
    """Both eyes together, by strategy."""

    wishes: PairWishes
    strategies: tuple[StrategyOutlook, ...]
    correlation: float
    """Of what the formulas leave open in both eyes; 0 when one of them is already known."""
    findings: tuple[Finding, ...] = ()
    not_shown: tuple[tuple[Strategy, str], ...] = ()
    """Strategies that could not be worked out, and why."""
