"""Astigmatism in a plan: what was asked, what each cornea model and cylinder would leave, and the odds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from zonule.case.finding import Finding
from zonule.science.astigmatism.vectors import Astigmatism


class CorneaModelName(StrEnum):
    """How the whole cornea is told from what was read; all but the last are rows of `ADJUSTMENTS`."""

    ANTERIOR = "anterior"
    ABULAFIA_KOCH_2016 = "abulafia_koch_2016"
    SAVINI_NAESER = "savini_naeser"
    REGRESSION_2017 = "regression_2017"
    GOGGIN_2015 = "goggin_2015"
    MEASURED_POSTERIOR = "measured_posterior"
    TOTAL = "total"
    """As the device gave it: nothing is added."""


class MarkingName(StrEnum):
    """How the meridian is found on the eye; rows of `MARKINGS`."""

    UPRIGHT_INK = "upright_ink"
    UPRIGHT_PENDULUM = "upright_pendulum"
    UPRIGHT_BUBBLE = "upright_bubble"
    SLIT_BEAM = "slit_beam"
    REGISTRATION = "registration"
    LYING = "lying"


def by_limit(shares: Sequence[float]) -> tuple[float, float, float, float]:
    """Fractions of eyes within 0.25, 0.50, 0.75 and 1.00 D, as a record keeps them."""
    first, second, third, fourth = shares
    return first, second, third, fourth


@dataclass(frozen=True, slots=True)
class ToricWishes:
    """What is asked about astigmatism; what is absent was not chosen."""

    cylinders_dpt: tuple[float, ...] = ()
    """Cylinders to choose from, at the lens; those of the lens in the catalogue where none are stated."""
    cornea_model: CorneaModelName | None = None
    marking: MarkingName | None = None
    lens_cylinder_dpt: float | None = None
    """The cylinder chosen, at the lens; 0 for a lens without."""
    lens_meridian_deg: float | None = None
    """Where the marks are meant to lie, as somebody wrote it down."""


@dataclass(frozen=True, slots=True)
class CorneaModel:
    """What one model makes of the astigmatism of this cornea."""

    key: CorneaModelName
    words: str
    before: Astigmatism
    """Of the whole cornea, before the incision."""
    after: Astigmatism
    """With the mean effect of the incision."""
    counts: bool
    """Whether the odds are taken over it too."""
    source: str
    status: str


@dataclass(frozen=True, slots=True)
class ModelNotUsed:
    """A model that cannot speak of this cornea, and why."""

    key: CorneaModelName
    words: str
    because: str


@dataclass(frozen=True, slots=True)
class IncisionEffectUsed:
    """What the incision is expected to do in this plan, and on whose word."""

    origin: str
    """In words."""
    source: str
    flattening_dpt: float
    induced: Astigmatism
    """Mean change of the cornea."""
    scatter_sd_dpt: float
    """Of each component of what it does in one eye; the mean of two."""


@dataclass(frozen=True, slots=True)
class TurnAccount:
    """Where the scatter of the lens meridian comes from, standard deviations in degrees."""

    marking_words: str
    marking_sd_deg: float
    torsion_sd_deg: float
    rotation_sd_deg: float
    source: str

    @property
    def lens_turn_sd_deg(self) -> float:
        """All of it together."""
        parts = (self.marking_sd_deg, self.torsion_sd_deg, self.rotation_sd_deg)
        return float(sum(part * part for part in parts) ** 0.5)


@dataclass(frozen=True, slots=True)
class ToricOption:
    """One cylinder, and what it would leave at the cornea."""

    lens_cylinder_dpt: float
    """At the lens; 0 for a lens without."""
    cylinder_at_cornea_dpt: float
    """What it is worth at the cornea of this eye."""
    ray_traced_dpt: float | None
    """The same by exact rays, where the eye has what they need."""
    residual: Astigmatism
    """If all goes as planned and the model planned on is right."""
    mean_residual_dpt: float
    """Mean cylinder over everything that can go otherwise."""
    within: tuple[float, float, float, float]
    """Chance that at most 0.25, 0.50, 0.75, 1.00 D are left."""
    standard_error: float
    """Of the chance of 0.50 D, from the simulation."""
    flipped_dpt: float
    """Cylinder left with the lens 90 degrees off."""
    mirrored_dpt: float
    """Cylinder left with the lens at 180 minus its meridian."""

    @property
    def within_0_50(self) -> float:
        """The chance in the headline."""
        return self.within[1]


@dataclass(frozen=True, slots=True)
class ToricPlan:
    """The astigmatism of one eye, from the cornea to the marks."""

    reading: Astigmatism
    """Of the cornea as measured, before any model."""
    models: tuple[CorneaModel, ...]
    not_used: tuple[ModelNotUsed, ...]
    planned_on: CorneaModelName
    """The model that the meridian is taken from."""
    incision: IncisionEffectUsed | None
    without: ToricOption
    """A lens without cylinder."""
    options: tuple[ToricOption, ...]
    """One for each cylinder there is, in their order."""
    best_cylinder_dpt: float
    """Most often within half a dioptre; of near equals the weaker one; 0 for a lens without."""
    power_dpt: float
    """Spherical equivalent of the lens that the cylinders were computed with."""
    keratometry_sds_dpt: tuple[float, float]
    """Of x and y of the corneal reading."""
    model_sd_dpt: float
    """What the model leaves open in each component."""
    turn: TurnAccount
    draws: int
    findings: tuple[Finding, ...] = ()

    @property
    def model(self) -> CorneaModel:
        """The one planned on."""
        return next(one for one in self.models if one.key == self.planned_on)

    @property
    def corneal(self) -> Astigmatism:
        """What the lens has to meet: the whole cornea after the incision, by the model planned on."""
        return self.model.after

    @property
    def meridian_deg(self) -> float:
        """Where the marks belong."""
        return float(self.corneal.steep_meridian_deg)

    @property
    def all_options(self) -> tuple[ToricOption, ...]:
        """No cylinder first, then each cylinder."""
        return (self.without, *(one for one in self.options if one.lens_cylinder_dpt > 0.0))

    def option(self, lens_cylinder_dpt: float) -> ToricOption | None:
        """The option of this cylinder."""
        every = (
            one for one in self.all_options if abs(one.lens_cylinder_dpt - lens_cylinder_dpt) < _SAME_DPT
        )
        return next(every, None)


_SAME_DPT = 1e-6
"""Two labels are never so close; binary fractions may be."""
