"""What own results teach: an offset and a spread, with the baseline they were learned against."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class Lesson:
    """A personal offset of one method with one lens, shrunk toward zero by its evidence."""

    key: str
    surgeon: str
    method: str
    lens_model: str
    constants: tuple[float, ...]
    """The baseline that the errors were measured against; a plan with another one ignores the lesson."""
    first_on: date
    last_on: date
    eyes: int
    mean_error_dpt: float
    weight: float
    offset_dpt: float
    """Added to the prediction: achieved minus predicted, times the weight."""
    offset_sd_dpt: float
    scale_dpt: float
    """Scale of the law of spread after own results have had their say."""
    learned_on: date


@dataclass(frozen=True, slots=True)
class LessonUse:
    """Whether a plan used a lesson, and why not."""

    lesson: Lesson
    used: bool
    reason: str
