"""A toric lens after surgery: what is left and why, what turning it would bring, and whether to."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from zonule.case.finding import Finding
from zonule.case.refraction import Refraction
from zonule.science.astigmatism.vectors import Astigmatism


class Advice(StrEnum):
    """What the numbers speak for; the surgeon decides."""

    ROTATE = "rotate"
    DO_NOT_ROTATE = "do_not_rotate"
    WAIT = "wait"


class Because(StrEnum):
    """Why turning the lens is not advised."""

    SMALL_GAIN = "small_gain"
    SPHERE = "sphere"
    TOO_EARLY = "too_early"
    LENS_MOVED = "lens_moved"
    """The lens has turned since the eye was refracted."""


class ResidualCause(StrEnum):
    """What adds to the cylinder that is left."""

    PLANNED = "planned"
    TURNED = "turned"
    INCISION = "incision"
    REST = "rest"
    PLACE = "place"
    """Without a plan: the lens does not lie where it would leave least."""
    STRENGTH = "strength"
    """Without a plan: it is weaker or stronger than what it has to meet."""


@dataclass(frozen=True, slots=True)
class PlannedToric:
    """What the plan promised of cylinder and axis."""

    corneal: Astigmatism
    """Whole cornea after the incision, as planned on."""
    lens_meridian_deg: float
    induced: Astigmatism | None = None
    """What the incision was expected to do to the cornea."""


@dataclass(frozen=True, slots=True)
class ToricOutcome:
    """A toric lens in an eye that was refracted."""

    refraction: Refraction
    lens_at_cornea_dpt: float
    lens_meridian_deg: float
    """Where its marks lie now, measured."""
    refracted_on: date | None = None
    operated_on: date | None = None
    target_refraction_dpt: float | None = None
    planned: PlannedToric | None = None
    corneal_change: Astigmatism | None = None
    """Front readings after minus before the operation; absent without both."""


@dataclass(frozen=True, slots=True)
class CausePart:
    """One part of the cylinder that is left; the parts add up as vectors."""

    kind: ResidualCause
    part: Astigmatism


@dataclass(frozen=True, slots=True)
class TurnChances:
    """How sure the gain is, over what refraction, meridian and a new turn leave open."""

    within: tuple[float, float, float, float]
    """That at most 0.25, 0.50, 0.75, 1.00 D of cylinder are left."""
    within_now: tuple[float, float, float, float]
    """The same as the lens lies now."""
    gains_half: float
    worse: float
    standard_error: float
    draws: int


@dataclass(frozen=True, slots=True)
class RotationReview:
    """What turning the lens would bring."""

    outcome: ToricOutcome
    seen: Astigmatism
    """Cylinder of the refraction, at the cornea."""
    equivalent_at_cornea_dpt: float
    equivalent_off_dpt: float
    """Spherical equivalent at 12 mm in a 6 m lane, less the aim; without an aim, less 0."""
    to_correct: Astigmatism
    """All astigmatism of this eye but that of its lens."""
    best_meridian_deg: float
    rotate_by_deg: float
    """Counter-clockwise plus, as the examiner sees the eye."""
    after: Astigmatism
    """What would be left with the lens there."""
    gain_dpt: float
    after_at_cornea: Refraction
    after_at_spectacles: Refraction
    chances: TurnChances
    sweep: tuple[tuple[float, float], ...]
    """Lens meridian and the cylinder that it would leave."""
    causes: tuple[CausePart, ...]
    """In parts; without a plan only what a turn can and cannot take away."""
    advice: Advice
    because: tuple[Because, ...]
    days_after: int | None
    findings: tuple[Finding, ...]

    @property
    def too_weak_by_dpt(self) -> float:
        """What the lens has to meet, less its own cylinder: minus for a lens that is too strong."""
        return float(self.to_correct.magnitude_dpt) - self.outcome.lens_at_cornea_dpt
