"""What reviewed eyes say of astigmatism together: what was left, how models missed."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from zonule.case.incision import IncisionLesson, Place
from zonule.case.learned import Excluded
from zonule.case.toric import CorneaModelName
from zonule.science.astigmatism.aggregate import Aggregate, Ellipse, HotellingTest
from zonule.science.astigmatism.rotation_results import RotationResults
from zonule.science.astigmatism.vectors import Astigmatism


@dataclass(frozen=True, slots=True, eq=False)
class VectorGroup:
    """The vectors of many eyes, and the usual figures of them."""

    vectors: Astigmatism
    """One entry an eye."""
    patients: int
    found: Aggregate
    median_dpt: float
    """Median of the magnitudes."""
    of_data: Ellipse | None
    """Absent, as the next two, with fewer than three eyes or where they lie on one line."""
    of_centroid: Ellipse | None
    test: HotellingTest | None
    """Against no astigmatism on average; it takes the eyes for independent."""

    @property
    def second_eyes(self) -> int:
        """Eyes whose fellow is among them: they are not independent of it."""
        return self.found.eyes - self.patients


@dataclass(frozen=True, slots=True)
class Indices:
    """Medians of the figures by which one operation's vectors are compared; each alone can mislead."""

    eyes: int
    """Those for which a change was wanted."""
    magnitude_error_dpt: float
    angle_error_deg: float
    correction_index: float
    index_of_success: float
    flattening_index: float


@dataclass(frozen=True, slots=True)
class Change:
    """What operations with toric lenses were meant to do, what they did, and what is missing."""

    target: VectorGroup
    induced: VectorGroup
    difference: VectorGroup
    indices: Indices | None
    """Absent where no change was wanted of any eye."""


@dataclass(frozen=True, slots=True)
class ModelMisses:
    """How far from its prediction each eye ended, if one model of the cornea is believed."""

    key: CorneaModelName
    words: str
    source: str
    status: str
    misses: VectorGroup
    """Achieved minus predicted residual, at the cornea."""


@dataclass(frozen=True, slots=True)
class ModelsCompared:
    """Two models on the eyes of which both speak."""

    better: CorneaModelName
    """The one with the smaller mean miss over its own eyes."""
    other: CorneaModelName
    eyes: int
    only_better: int
    """Eyes in which only this one came within half a dioptre."""
    only_other: int
    p_value: float


class TurnFrom(StrEnum):
    """Between which two looks a lens is said to have turned."""

    PLAN_TO_END = "from the meridian intended to the end of the operation"
    PLAN_TO_VISIT = "from the meridian intended to the latest look at the marks"
    PLAN_TO_REVIEW = "from the meridian intended to the refraction"
    VISIT_TO_VISIT = "between two looks about 3 months apart"


@dataclass(frozen=True, slots=True)
class Turns:
    """How far lenses turned between two looks."""

    between: TurnFrom
    turns_deg: tuple[float, ...]
    """Plus is counter-clockwise as the examiner sees the eye."""
    results: RotationResults | None
    """Absent without eyes."""


@dataclass(frozen=True, slots=True)
class AstigmatismResults:
    """Everything that reviewed eyes say of astigmatism together."""

    eyes: int
    toric_eyes: int
    meridian_not_seen: int
    """Toric eyes whose lens is taken to lie as planned or as left, for nobody looked later."""
    excluded: tuple[Excluded, ...]
    cornea: VectorGroup | None
    """Front readings before the operation; absent, as the next ones, without eyes."""
    residual: VectorGroup | None
    """Refraction moved to the cornea."""
    change: Change | None
    """Of toric eyes with a meridian planned."""
    models: tuple[ModelMisses, ...]
    """The one with the smallest mean miss first; models that speak of few of the eyes last."""
    compared: tuple[ModelsCompared, ...]
    """The first model against the next, and against the front reading as it is."""
    turns: tuple[Turns, ...]


@dataclass(frozen=True, slots=True)
class IncisionGroup:
    """One surgeon's incisions of one kind: what the corneas say, and what plans may use of it."""

    surgeon: str
    place: Place
    width_mm: float
    changes: VectorGroup
    """After minus before, seen from the incision: x is what it flattens, y how it turns. Left eyes are
    mirrored."""
    published_flattening_dpt: float
    proposed: IncisionLesson | None
    """What these eyes would teach the next plan."""
    current: IncisionLesson | None
    """What the plans use now."""

    @property
    def has_news(self) -> bool:
        """Whether accepting the proposal would change what the plans use."""
        if self.proposed is None:
            return False
        return self.current is None or _figures(self.current) != _figures(self.proposed)


@dataclass(frozen=True, slots=True)
class IncisionResults:
    """What incisions did to corneas that were measured again."""

    groups: tuple[IncisionGroup, ...]
    excluded: tuple[Excluded, ...]


def _figures(lesson: IncisionLesson) -> tuple[int, float, float]:
    return lesson.eyes, lesson.flattening_dpt, lesson.torque_dpt
