"""What the workflow asks of the world: a record to keep things in."""

from __future__ import annotations

from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import date, datetime
from typing import Protocol

from zonule.case.axis_visit import AxisVisit
from zonule.case.case import Case, Stage
from zonule.case.eye import Eye
from zonule.case.incision import IncisionLesson
from zonule.case.lens import LensModel
from zonule.case.lesson import Lesson
from zonule.case.operation import Operation
from zonule.case.patient import Patient, Side
from zonule.case.plan import Intent, SignedPlan
from zonule.case.review import Review


@dataclass(frozen=True, slots=True)
class Listing:
    """One line of the day list."""

    case_key: str
    patient: Patient
    side: Side
    listed_on: date | None
    stage: Stage
    lens_model: str | None
    lens_power_dpt: float | None
    """Of the signed plan."""


@dataclass(frozen=True, slots=True)
class TrailEntry:
    """Who did what, when; the name is typed and unverified."""

    number: int
    at: datetime
    who: str
    verb: str
    subject: str
    detail: str
    digest: str
    """Hash of this entry and of the one before it."""


class Act(Protocol):
    """The writes of one transaction; they all happen, or none does."""

    def put_patient(self, patient: Patient) -> None:
        """Add a patient, or replace the one with the same key."""

    def put_eye(self, patient_key: str, eye: Eye) -> bool:
        """Add a new version of an eye; False, and nothing written, when it equals the current one."""

    def put_case(self, key: str, patient_key: str, side: Side, listed_on: date | None) -> None:
        """Open a case, or move it to another day."""

    def put_intent(self, case_key: str, intent: Intent, revision: int) -> int:
        """Save a draft; the new revision. `ChangedMeanwhileError` when `revision` is not the current one."""

    def touch(self, case_key: str, revision: int) -> int:
        """Claim a case for a change, as `put_intent` does, without a draft; the new revision."""

    def add_signed_plan(self, case_key: str, plan: SignedPlan) -> None:
        """Add a signed plan; the latest one counts."""

    def add_operation(self, case_key: str, operation: Operation) -> None:
        """Add an operation record; the latest one counts, the earlier ones stay."""

    def put_axis_visits(self, case_key: str, visits: tuple[AxisVisit, ...]) -> None:
        """Put every look at the axis of a case, earliest first; earlier versions stay."""

    def add_review(self, case_key: str, review: Review) -> None:
        """Add a review; the latest one counts, the earlier ones stay."""

    def put_lens(self, lens: LensModel) -> None:
        """Add a lens to the catalogue, or replace the one with the same name."""

    def add_lesson(self, lesson: Lesson) -> None:
        """Add a lesson; it takes the place of the one with the same surgeon, method and lens."""

    def add_incision_lesson(self, lesson: IncisionLesson) -> None:
        """Add what incisions teach; it takes the place of the same surgeon's for the same place and width."""

    def add_source(self, digest: str, file: str) -> None:
        """Remember that a file has been imported."""


class Record(Protocol):
    """The clinic's record."""

    def act(
        self, *, who: str, verb: str, subject: str, at: datetime, detail: str = ""
    ) -> AbstractContextManager[Act]:
        """One transaction: its writes and its line in the trail are committed together, or not at all."""

    def case(self, key: str) -> Case:
        """A case with everything on record; `NotInRecordError` when there is none."""

    def patient(self, key: str) -> Patient | None:
        """A patient by key."""

    def eye(self, patient_key: str, side: Side) -> Eye | None:
        """The current version of an eye."""

    def listings(self, on: date | None = None) -> tuple[Listing, ...]:
        """The cases of a day, or all of them, in order of day, patient name and side."""

    def undated(self) -> tuple[Listing, ...]:
        """The cases that have no day yet, in the same order."""

    def days(self) -> tuple[tuple[date, int], ...]:
        """Days that have cases, with how many, earliest first."""

    def reviewed_cases(self) -> tuple[Case, ...]:
        """Every case with a review, in order of operation day."""

    def toric_cases(self, since: date) -> tuple[Case, ...]:
        """Every case operated since a day with a lens that has cylinder, in order of operation day."""

    def lenses(self) -> tuple[LensModel, ...]:
        """The catalogue, by name."""

    def lens(self, name: str) -> LensModel | None:
        """One lens of the catalogue."""

    def lessons(self) -> tuple[Lesson, ...]:
        """The current lessons, one for each surgeon, method and lens."""

    def incision_lessons(self) -> tuple[IncisionLesson, ...]:
        """What incisions teach now, one for each surgeon, place and width, in that order."""

    def has_source(self, digest: str) -> bool:
        """Whether a file of this digest has been imported."""

    def trail(self, subject: str | None = None, limit: int = 100) -> tuple[TrailEntry, ...]:
        """The latest entries, newest first; of one subject, or of all."""

    def broken_trail_entries(self) -> tuple[int, ...]:
        """Numbers of entries whose hash does not follow from the one before; empty when whole."""
