"""What reviewed eyes say together: outcome summaries, and the lessons they propose."""

from __future__ import annotations

from dataclasses import dataclass

from zonule.case.lesson import Lesson
from zonule.science.statistics.fellow_eye import LearnedWeight
from zonule.science.statistics.outcomes import OutcomeSummary


@dataclass(frozen=True, slots=True)
class Excluded:
    """Eyes left out of a summary, with the reason."""

    reason: str
    eyes: int


@dataclass(frozen=True, slots=True)
class Group:
    """One method with one lens and its constants, in the hands of one surgeon."""

    surgeon: str
    method: str
    lens_model: str
    constants: tuple[float, ...]
    summary: OutcomeSummary
    proposed: Lesson | None
    """What these eyes would teach the next plan."""
    current: Lesson | None
    """What the plans use now."""

    @property
    def has_news(self) -> bool:
        """Whether accepting the proposal would change what the plans use."""
        if self.proposed is None:
            return False
        return self.current is None or (self.current.eyes, self.current.offset_dpt) != (
            self.proposed.eyes,
            self.proposed.offset_dpt,
        )


@dataclass(frozen=True, slots=True)
class Learned:
    """Everything the record's reviewed eyes say."""

    eyes: int
    excluded: tuple[Excluded, ...]
    achieved: OutcomeSummary | None
    """Errors against what was signed, all lenses and surgeons together."""
    errors_dpt: tuple[float, ...]
    groups: tuple[Group, ...]
    fellow_weight: LearnedWeight | None = None
    """How far the second eyes missed as the first did; absent with too few pairs of eyes."""


@dataclass(frozen=True, slots=True)
class MethodOutcome:
    """How one method would have predicted a set of operated eyes."""

    method: str
    summary: OutcomeSummary
    constant_for_zero_mean: float | None
    """Absent where the eyes do not share one lens and its constants."""


@dataclass(frozen=True, slots=True)
class Audit:
    """Outcomes of a set of operated eyes, by method, and by lens where there are several."""

    eyes: int
    patients: int
    excluded: tuple[Excluded, ...]
    methods: tuple[MethodOutcome, ...]
    by_lens: dict[str, tuple[MethodOutcome, ...]]
