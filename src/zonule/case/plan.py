"""A plan: what was asked, what each method says, the odds, and what the surgeon signed."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum
from statistics import median

from zonule.case.agreement import Agreement
from zonule.case.backup import Backup
from zonule.case.eye import Eye
from zonule.case.finding import Finding
from zonule.case.incision import Incision, IncisionLesson
from zonule.case.lens import LensModel
from zonule.case.lesson import Lesson, LessonUse
from zonule.case.pair import PairOutlook, PairWishes
from zonule.case.second_eye import FellowOutcome, SecondEye
from zonule.case.toric import CorneaModelName, MarkingName, ToricPlan, ToricWishes
from zonule.case.worth import Worth
from zonule.errors import InconsistentRecordError
from zonule.science.uncertainty.spread import ErrorLaw, law_of_sds

_SAME_POWER_DPT = 1e-6
"""Two labels are never so close; binary fractions may be."""


class FearedSide(StrEnum):
    """On which side of the aim a miss is worse for this patient."""

    HYPEROPIC = "hyperopic"
    MYOPIC = "myopic"


FEARED_BEYOND_DPT = 0.5


@dataclass(frozen=True, slots=True)
class PlanRequest:
    """Everything a plan is computed from; nothing else may move its numbers."""

    eye: Eye
    lens: LensModel | None = None
    target_refraction_dpt: float | None = None
    fellow: Eye | None = None
    feared_side: FearedSide = FearedSide.HYPEROPIC
    surgeon: str = ""
    """Whose lessons may be used."""
    lessons: tuple[Lesson, ...] = ()
    fellow_outcome: FellowOutcome | None = None
    """What the fellow eye got, when it was operated first."""
    backups: tuple[LensModel, ...] = ()
    """Lenses of the catalogue that could take the planned one's place outside the bag."""
    pair: PairWishes | None = None
    """What the patient wants of both eyes together."""
    incision: Incision | None = None
    incision_lesson: IncisionLesson | None = None
    """What the surgeon's own eyes say of such an incision."""
    toric: ToricWishes | None = None


@dataclass(frozen=True, slots=True)
class Spread:
    """How sure a predicted refraction is."""

    sd_dpt: float
    within_0_25: float
    within_0_50: float
    within_0_75: float
    within_1_00: float
    beyond_feared: float
    """Fraction ending more than half a dioptre past the aim on the feared side."""
    measurement_sd_dpt: float
    """The part of `sd_dpt` that this eye's own measurement error makes, a normal law."""
    residual_degrees_of_freedom: float
    """Of the t law that makes the rest."""

    @property
    def law(self) -> ErrorLaw:
        """The law whose figures these are."""
        return law_of_sds(self.sd_dpt, self.measurement_sd_dpt, self.residual_degrees_of_freedom)


@dataclass(frozen=True, slots=True)
class Prediction:
    """The refraction to expect with one lens power."""

    lens_power_dpt: float
    refraction_dpt: float
    spread: Spread | None = None
    """Absent where no honest spread can be given."""


def is_same_power(power_dpt: float, other_dpt: float | None) -> bool:
    """Whether two powers are one label; binary fractions must not tell them apart."""
    return other_dpt is not None and abs(power_dpt - other_dpt) < _SAME_POWER_DPT


def prediction_of(predictions: tuple[Prediction, ...], power_dpt: float) -> Prediction | None:
    """The prediction for a power, when there is one."""
    return next((one for one in predictions if is_same_power(one.lens_power_dpt, power_dpt)), None)


@dataclass(frozen=True, slots=True)
class MethodResult:
    """What one formula says about this eye."""

    method: str
    constants: tuple[float, ...]
    first_guess: bool
    """Whether the constants were converted from an A-constant."""
    counts: bool
    """Whether it enters the odds."""
    fit: bool
    """Whether it may stand for this eye in a median or an audit; it counts if odds may be given at all."""
    offset_dpt: float
    """Personal offset included in its predictions."""
    power_for_target_dpt: float
    predictions: tuple[Prediction, ...]
    findings: tuple[Finding, ...] = ()
    second_eye_dpt: float = 0.0
    """What the first eye's own error added to its predictions."""


@dataclass(frozen=True, slots=True)
class CorneaEstimate:
    """What one published correction makes of the power of an operated cornea."""

    name: str
    power_dpt: float
    """On the 1.3375 scale."""
    needs: str
    """What it used beside the reading, in words; empty when nothing."""
    source: str
    status: str


@dataclass(frozen=True, slots=True)
class Refused:
    """A method that must not be used for this eye, and why; never with numbers."""

    method: str
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Odds:
    """The methods that count, taken together."""

    methods: tuple[str, ...]
    predictions: tuple[Prediction, ...]
    best_power_dpt: float
    """The power made that lands within half a dioptre of the aim most often."""
    draws: int
    standard_error: float
    """Of the fraction within half a dioptre at the best power, from the simulation."""
    measurement_sd_dpt: float
    """What this eye's own measurement error contributes at the best power."""
    lane_m: float = 6.0


@dataclass(frozen=True, slots=True)
class Plan:
    """The answer to a request."""

    request: PlanRequest
    methods: tuple[MethodResult, ...]
    refused: tuple[Refused, ...]
    findings: tuple[Finding, ...]
    seed: int
    """Of the draws; what is asked about incision and cylinder moves neither it nor the odds of power."""
    asked: int
    """Stands for everything that the numbers of this plan follow from."""
    software_version: str
    computed_on: date
    odds: Odds | None = None
    no_odds_because: str = ""
    lessons: tuple[LessonUse, ...] = ()
    aim_difference_dpt: float | None = None
    """Anisometropia that the target would leave: this eye's aim minus the fellow eye's refraction."""
    corneas: tuple[CorneaEstimate, ...] = ()
    """Corrections of an operated cornea, side by side."""
    second_eye: SecondEye | None = None
    worth: Worth | None = None
    """Which measurement is worth repeating, at the best power."""
    agreement: Agreement | None = None
    backup: Backup | None = None
    pair: PairOutlook | None = None
    toric: ToricPlan | None = None
    """Absent where the cornea's steep meridian was not measured."""

    def in_the_odds(self, power_dpt: float) -> Prediction | None:
        """What the methods that count expect, together, of a power; None without odds."""
        return None if self.odds is None else prediction_of(self.odds.predictions, power_dpt)

    @property
    def aim_dpt(self) -> float:
        """The refraction aimed at; a plan that predicts anything has one."""
        aim_dpt = self.request.target_refraction_dpt
        if aim_dpt is None:
            raise InconsistentRecordError("No target refraction was chosen; nothing can be drawn against it.")
        return aim_dpt

    def expected_of(self, power_dpt: float) -> Prediction | None:
        """What to expect of a power: from the odds or, where they are withheld, the middle of fit methods."""
        if self.odds is not None:
            return self.in_the_odds(power_dpt)
        fit = [prediction_of(one.predictions, power_dpt) for one in self.methods if one.fit]
        found = [one.refraction_dpt for one in fit if one is not None]
        return Prediction(power_dpt, median(found)) if found else None


class Seat(StrEnum):
    """Where the surgeon sits, seen from the patient's head."""

    SUPERIOR = "superior"
    TEMPORAL = "temporal"


@dataclass(frozen=True, slots=True)
class Intent:
    """What the surgeon means to do; a draft until signed."""

    lens_model: str | None = None
    target_refraction_dpt: float | None = None
    feared_side: FearedSide = FearedSide.HYPEROPIC
    surgeon: str = ""
    """Who will operate, as typed."""
    lens_power_dpt: float | None = None
    incision_meridian_deg: float | None = None
    capsulorhexis_mm: float | None = None
    seat: Seat | None = None
    pair: PairWishes | None = None
    """What the patient wants of both eyes; absent when nobody asked."""
    incision_width_mm: float | None = None
    incision_flattening_dpt: float | None = None
    """What the incision takes off its own meridian in the surgeon's own account."""
    cornea_model: CorneaModelName | None = None
    marking: MarkingName | None = None
    lens_cylinder_dpt: float | None = None
    """At the lens; 0 when a lens without cylinder was chosen."""
    lens_meridian_deg: float | None = None
    """Where the marks of the lens are meant to lie."""


@dataclass(frozen=True, slots=True)
class SignedPlan:
    """A plan frozen at the moment of signing."""

    request: PlanRequest
    intent: Intent
    predicted_refraction_dpt: float
    """Of the chosen power: the middle of the methods that were fit for this eye."""
    method_predictions_dpt: dict[str, float]
    """What each of them predicted for the chosen power, before any personal offset."""
    displayed: dict[str, str]
    """The decimals the surgeon saw; these are hashed, recomputed floats are not."""
    reasons: str
    """What the surgeon wrote about warnings that were left standing."""
    signed_by: str
    signed_at: datetime
    software_version: str
    seed: int
    digest: str
    replaces: str = ""
    """Digest of the plan this one took the place of."""
    warnings: tuple[Finding, ...] = field(default=())
    case_key: str = ""
    """The case it was signed for."""
    predicted_residual_dpt: float | None = None
    """Cylinder at the cornea if all goes as planned; absent where nothing was said of it."""

    @property
    def signed_on(self) -> date:
        """The day of signing, where it was signed."""
        return self.signed_at.date()
