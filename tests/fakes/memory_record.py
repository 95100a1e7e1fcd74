"""The clinic's record in memory: the same promises as the one on disk, and no database."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from copy import copy
from dataclasses import dataclass, field, fields, replace
from datetime import date, datetime
from threading import Lock
from typing import Any, TypeVar

from zonule.case.axis_visit import AxisVisit
from zonule.case.canonical import canonical_text
from zonule.case.case import Case
from zonule.case.eye import Eye
from zonule.case.incision import IncisionLesson, Place
from zonule.case.lens import LensModel
from zonule.case.lesson import Lesson
from zonule.case.operation import Operation
from zonule.case.patient import Patient, Side
from zonule.case.plan import Intent, SignedPlan
from zonule.case.review import Review
from zonule.errors import (
    ChangedMeanwhileError,
    InconsistentRecordError,
    NotInRecordError,
    StorageError,
)
from zonule.storage.trail import broken, new_entry
from zonule.workflow.ports import Act, Listing, TrailEntry

_R = TypeVar("_R")


@dataclass
class _State:
    patients: dict[str, Patient] = field(default_factory=dict)
    eyes: dict[tuple[str, Side], Eye] = field(default_factory=dict)
    cases: dict[str, Case] = field(default_factory=dict)
    lenses: dict[str, LensModel] = field(default_factory=dict)
    lessons: dict[tuple[str, str, str], Lesson] = field(default_factory=dict)
    incision_lessons: dict[tuple[str, Place, float], IncisionLesson] = field(default_factory=dict)
    sources: dict[str, str] = field(default_factory=dict)
    trail: list[TrailEntry] = field(default_factory=list)

    def copied(self) -> _State:
        return _State(**{one.name: copy(getattr(self, one.name)) for one in fields(self)})

    def case(self, key: str) -> Case:
        if key not in self.cases:
            raise NotInRecordError(f"There is no case {key} in the record.")
        kept = self.cases[key]
        return replace(
            kept,
            patient=self.patients[kept.patient.key],
            eye=self.eyes[kept.patient.key, kept.side],
            fellow=self.eyes.get((kept.patient.key, kept.side.other)),
        )


class MemoryAct:
    """Writes on a copy that takes the place of the original when the act is done."""

    def __init__(self, state: _State) -> None:
        self._state = state
        self._revision_before: dict[str, int] = {}

    def put_patient(self, patient: Patient) -> None:
        if self._state.patients.get(patient.key) != patient:
            self._state.patients[patient.key] = patient
            self._grow_cases_of(patient.key)

    def put_eye(self, patient_key: str, eye: Eye) -> bool:
        self._require_patient(patient_key)
        if self._state.eyes.get((patient_key, eye.side)) == eye:
            return False
        self._state.eyes[patient_key, eye.side] = _storable(eye)
        self._grow_cases_of(patient_key)
        return True

    def put_case(self, key: str, patient_key: str, side: Side, listed_on: date | None) -> None:
        self._require_patient(patient_key)
        kept = self._state.cases.get(key)
        if kept is None:
            if (patient_key, side) not in self._state.eyes:
                raise NotInRecordError(f"There are no measurements of the {side} eye of {patient_key}.")
            patient, eye = self._state.patients[patient_key], self._state.eyes[patient_key, side]
            self._state.cases[key] = Case(key, patient, side, eye, listed_on=listed_on)
        elif (kept.patient.key, kept.side) != (patient_key, side):
            raise InconsistentRecordError(f"The case {key} is another eye.")
        elif kept.listed_on != listed_on:
            self._change(key, listed_on=listed_on)

    def put_intent(self, case_key: str, intent: Intent, revision: int) -> int:
        grown = self.touch(case_key, revision)
        self._change(case_key, intent=_storable(intent))
        return grown

    def touch(self, case_key: str, revision: int) -> int:
        current = self._state.case(case_key).revision
        if revision not in {current, self._revision_before.get(case_key, current)}:
            raise ChangedMeanwhileError(
                f"{case_key} was changed after you opened it. "
                "Reload it, look at what changed, and save again."
            )
        self._change(case_key)
        return self._revision_before[case_key] + 1

    def add_signed_plan(self, case_key: str, plan: SignedPlan) -> None:
        self._change(case_key, signed=_storable(plan))

    def add_operation(self, case_key: str, operation: Operation) -> None:
        self._change(case_key, operation=_storable(operation))

    def put_axis_visits(self, case_key: str, visits: tuple[AxisVisit, ...]) -> None:
        self._change(case_key, axis_visits=_storable(visits))

    def add_review(self, case_key: str, review: Review) -> None:
        self._change(case_key, review=_storable(review))

    def put_lens(self, lens: LensModel) -> None:
        self._state.lenses[lens.name] = _storable(lens)

    def add_lesson(self, lesson: Lesson) -> None:
        self._state.lessons[lesson.surgeon, lesson.method, lesson.lens_model] = _storable(lesson)

    def add_incision_lesson(self, lesson: IncisionLesson) -> None:
        self._state.incision_lessons[lesson.surgeon, lesson.place, lesson.width_mm] = _storable(lesson)

    def add_source(self, digest: str, file: str) -> None:
        self._state.sources[digest] = file

    def _require_patient(self, key: str) -> None:
        if key not in self._state.patients:
            raise NotInRecordError(f"There is no patient {key} in the record. Add the patient first.")

    def _grow_cases_of(self, patient_key: str) -> None:
        for key, case in self._state.cases.items():
            if case.patient.key == patient_key:
                self._change(key)

    def _change(self, case_key: str, **changes: Any) -> None:
        """One act is one change, however many of its writes touch the case."""
        kept = self._state.case(case_key)
        before = self._revision_before.setdefault(case_key, kept.revision)
        self._state.cases[case_key] = replace(kept, revision=before + 1, **changes)


class MemoryRecord:
    """The port `Record` over plain dictionaries."""

    def __init__(self) -> None:
        self._state = _State()
        self._writing = Lock()

    def close(self) -> None:
        """Nothing to let go of."""

    @contextmanager
    def act(self, *, who: str, verb: str, subject: str, at: datetime, detail: str = "") -> Iterator[Act]:
        if not self._writing.acquire(timeout=1):
            raise StorageError("The record is in use. Nothing was saved; try again in a moment.")
        try:
            state = self._state.copied()
            last = state.trail[-1] if state.trail else None
            state.trail.append(new_entry(last, who=who, verb=verb, subject=subject, at=at, detail=detail))
            yield MemoryAct(state)
            self._state = state
        finally:
            self._writing.release()

    def case(self, key: str) -> Case:
        return self._state.case(key)

    def patient(self, key: str) -> Patient | None:
        return self._state.patients.get(key)

    def eye(self, patient_key: str, side: Side) -> Eye | None:
        return self._state.eyes.get((patient_key, side))

    def listings(self, on: date | None = None) -> tuple[Listing, ...]:
        state = self._state
        found = (_listing(state.case(key)) for key in state.cases)
        wanted = (one for one in found if on in {None, one.listed_on})
        return tuple(sorted(wanted, key=_day_list_order))

    def undated(self) -> tuple[Listing, ...]:
        return tuple(one for one in self.listings() if one.listed_on is None)

    def days(self) -> tuple[tuple[date, int], ...]:
        days = Counter(case.listed_on for case in self._state.cases.values() if case.listed_on)
        return tuple(sorted(days.items()))

    def reviewed_cases(self) -> tuple[Case, ...]:
        state = self._state
        found = (state.case(key) for key, case in state.cases.items() if case.review)
        return tuple(sorted(found, key=_operation_order))

    def toric_cases(self, since: date) -> tuple[Case, ...]:
        state = self._state
        toric = (key for key, case in state.cases.items() if _is_toric_since(case, since))
        return tuple(sorted(map(state.case, toric), key=_operation_order))

    def lenses(self) -> tuple[LensModel, ...]:
        return tuple(lens for _, lens in sorted(self._state.lenses.items()))

    def lens(self, name: str) -> LensModel | None:
        return self._state.lenses.get(name)

    def lessons(self) -> tuple[Lesson, ...]:
        return tuple(lesson for _, lesson in sorted(self._state.lessons.items()))

    def incision_lessons(self) -> tuple[IncisionLesson, ...]:
        return tuple(lesson for _, lesson in sorted(self._state.incision_lessons.items()))

    def has_source(self, digest: str) -> bool:
        return digest in self._state.sources

    def trail(self, subject: str | None = None, limit: int = 100) -> tuple[TrailEntry, ...]:
        found = [entry for entry in reversed(self._state.trail) if subject in {None, entry.subject}]
        return tuple(found[: max(limit, 0)])

    def broken_trail_entries(self) -> tuple[int, ...]:
        return broken(self._state.trail)


def _operation_order(case: Case) -> tuple[date, str]:
    return (case.operation.operated_on if case.operation else date.max, case.key)


def _is_toric_since(case: Case, since: date) -> bool:
    done = case.operation
    return done is not None and done.operated_on >= since and (done.lens_cylinder_dpt or 0.0) > 0.0


def _storable(record: _R) -> _R:
    canonical_text(record)  # refuses numbers that are none
    return record


def _listing(case: Case) -> Listing:
    chosen = case.signed.intent if case.signed else Intent()
    return Listing(
        case.key,
        case.patient,
        case.side,
        case.listed_on,
        case.stage,
        chosen.lens_model,
        chosen.lens_power_dpt,
    )


def _day_list_order(line: Listing) -> tuple[date, str, str, bool]:
    day = line.listed_on or date.max
    return (day, line.patient.name.casefold(), line.patient.key, line.side is Side.LEFT)
