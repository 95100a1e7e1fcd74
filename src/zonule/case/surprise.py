"""A refraction that surprised: what could explain it, and what each remedy comes to."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from zonule.case.finding import Finding
from zonule.case.refraction import Refraction

LARGE_ERROR_DPT = 0.75
LARGE_IN_DEVIATIONS = 2.0
"""An error beyond either is looked into: our rule.

The second counts where own results made the spread small."""


def is_large(error_dpt: float, sd_dpt: float) -> bool:
    """Whether an error deserves to be looked into: beyond 0.75 D, or beyond twice what such eyes scatter."""
    return abs(error_dpt) > LARGE_ERROR_DPT or abs(error_dpt) > LARGE_IN_DEVIATIONS * sd_dpt


class CauseKind(StrEnum):
    """What may have been other than planned."""

    WRONG_LENS = "wrong_lens"
    LENS_POSITION = "lens_position"
    CONSTANT = "constant"
    REFRACTION = "refraction"
    CORNEA = "cornea"
    LENGTH = "length"


class MixUpKind(StrEnum):
    """How another lens than the planned one may have got into the eye."""

    NEXT_BOX = "next_box"
    SIGN = "sign"
    DIGITS = "digits"
    OTHER_EYE = "other_eye"
    OTHER_MODEL = "other_model"
    ANY_BOX = "any_box"


@dataclass(frozen=True, slots=True)
class MixUp:
    """A lens that may be in the eye instead of the recorded one."""

    kind: MixUpKind
    lens_model: str
    lens_power_dpt: float
    unexplained_dpt: float
    """What would be left of the error if this lens were in the eye."""
    deviations: float


@dataclass(frozen=True, slots=True)
class Cause:
    """What one quantity would have to be off by to explain the refraction alone."""

    kind: CauseKind
    needed: float
    """True value minus the one the plan was made with, in `unit`."""
    unit: str
    usual_sd: float
    """Published or learned scatter of that quantity, same unit."""
    deviations: float
    """How many of its own standard deviations that is; causes are ranked by it, smallest first."""
    source: str
    from_value: float
    """What the plan was made with; of the refraction, what was found; of the constant, the bias expected."""
    again: float | None = None
    """The same measured again after the operation."""
    unexplained_dpt: float | None = None
    """What the new measurement leaves of the error, where it differs from the old by more than both scatter
    and explains at least half; the deviations are then of this, in scatters of eyes like this one."""
    mix_up: MixUp | None = None
    """The likeliest other lens, for a wrong lens."""


class ClueKind(StrEnum):
    """What is known of this case and fits a cause for which no scatter is published."""

    NOT_SETTLED = "not_settled"
    CAPSULAR_BLOCK = "capsular_block"
    LENS_NOT_IN_BAG = "lens_not_in_bag"
    LASER_NOT_RECORDED = "laser_not_recorded"
    FELLOW_ALIKE = "fellow_alike"


@dataclass(frozen=True, slots=True)
class Clue:
    """One of them, with the number it rests on."""

    kind: ClueKind
    value: float
    """Days for `NOT_SETTLED`; millimetres forward for `CAPSULAR_BLOCK`; dioptres for the others."""


@dataclass(frozen=True, slots=True)
class BackSolved:
    """Where one method says the lens lies, given the refraction the eye got."""

    method: str
    predicted_mm: float
    position_mm: float
    constant: float
    constant_needed: float
    """The first constant of the method that would have placed it there."""


class Room(StrEnum):
    """Where a back-solved lens would lie in the eye as it was measured."""

    INSIDE = "inside"
    BEFORE_IRIS = "before_iris"
    BEHIND_CAPSULE = "behind_capsule"
    NOT_MEASURED = "not_measured"


class RemedyKind(StrEnum):
    """What can be done."""

    GLASSES = "glasses"
    EXCHANGE = "exchange"
    ADD_ON = "add_on"
    LASER = "laser"


@dataclass(frozen=True, slots=True)
class Exchange:
    """The lens to exchange for, under one reading of what went wrong."""

    if_cause: CauseKind
    power_dpt: float
    power_made_dpt: float
    refraction_dpt: float
    """Expected with the power made, under this reading."""


@dataclass(frozen=True, slots=True)
class Outlook:
    """What a remedy is expected to leave."""

    refraction_dpt: float
    sd_dpt: float
    """From published scatter of measurement alone: at least so much."""
    within_0_50: float
    """Of the aim; at most so many."""
    beside_fellow_dpt: float | None = None
    """Refraction expected minus that of the other eye, where it is known."""


@dataclass(frozen=True, slots=True)
class Remedy:
    """The arithmetic of one remedy."""

    kind: RemedyKind
    outlook: Outlook
    amount_dpt: float
    """Glasses: spherical equivalent. Exchange, add-on: lens power. Laser: change at the cornea."""
    range_dpt: tuple[float, float] | None = None
    """Of the amount: over readings of the cause for an exchange, over its place for an add-on lens."""
    exchanges: tuple[Exchange, ...] = ()
    place_mm: float | None = None
    """Where the add-on lens is taken to lie."""
    rough_dpt: float | None = None
    """The add-on lens by the short rule."""
    mean_k_after_dpt: float | None = None
    """What laser would leave of the corneal power, on the 1.3375 scale."""


@dataclass(frozen=True, slots=True)
class MeasuredAgain:
    """What has been measured again after the operation."""

    mean_k_dpt: float | None = None
    axial_length_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Surprise:
    """Everything that can be said about one refraction that was not the predicted one."""

    refraction: Refraction
    """As it was written down."""
    achieved_dpt: float
    predicted_dpt: float
    error_dpt: float
    sd_dpt: float
    """How far eyes like this scatter about their prediction; routine practice where the plan gave no odds."""
    is_large: bool
    target_dpt: float
    days_after: int
    lens_model: str
    lens_power_dpt: float
    explaining_power_dpt: float
    """The lens power that would have given this refraction if all else was as planned."""
    label_tolerance_dpt: float
    """By how much a right label may be off."""
    causes: tuple[Cause, ...]
    """Smallest number of deviations first."""
    clues: tuple[Clue, ...]
    mix_ups: tuple[MixUp, ...]
    positions: tuple[BackSolved, ...]
    room: Room
    remedies: tuple[Remedy, ...]
    findings: tuple[Finding, ...]
    fellow_refraction_dpt: float | None = None
    fellow_by_glasses: bool = False
    """Whether that is the glasses on record, and not a refraction after its own operation."""
    lesson_eyes: int = 0
    """Own eyes behind the lesson that the constant is judged by; 0 without one."""
