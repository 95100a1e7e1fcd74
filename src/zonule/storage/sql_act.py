"""The writes of one transaction."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import Column, Connection, Table, insert, select, update

from zonule.case.axis_visit import AxisVisit
from zonule.case.eye import Eye
from zonule.case.incision import IncisionLesson
from zonule.case.lens import LensModel
from zonule.case.lesson import Lesson
from zonule.case.operation import Operation
from zonule.case.patient import Patient, Side
from zonule.case.plan import Intent, SignedPlan
from zonule.case.review import Review
from zonule.errors import ChangedMeanwhileError, InconsistentRecordError, NotInRecordError
from zonule.storage.documents import as_document, from_document, many_as_document
from zonule.storage.schema import (
    axis_visits,
    cases,
    eyes,
    incision_lessons,
    lenses,
    lessons,
    operations,
    patients,
    reviews,
    signed_plans,
    sources,
)


class SqlAct:
    """Writes on a connection whose transaction somebody else opens and ends.

    One act is one change: it makes the revision of each case it changes grow by one, however many of
    its writes touch the case.
    """

    def __init__(self, connection: Connection, at: datetime) -> None:
        self._connection = connection
        self._at = at
        self._revision_before: dict[str, int] = {}

    def put_patient(self, patient: Patient) -> None:
        """Add a patient, or replace the one with the same key."""
        if self._put_document(patients, patients.c.key, patient.key, patient):
            self._grow_cases_of(patient.key)

    def put_eye(self, patient_key: str, eye: Eye) -> bool:
        """Add a new version of an eye; False, and nothing written, when it equals the current one."""
        self._require_patient(patient_key)
        current = self._current_eye(patient_key, eye.side)
        if current is not None and from_document(Eye, current) == eye:
            return False
        self._add(
            eyes,
            patient_key=patient_key,
            side=eye.side.value,
            document=as_document(eye),
            recorded_at=self._at.isoformat(),
        )
        self._grow_cases_of(patient_key)
        return True

    def put_case(self, key: str, patient_key: str, side: Side, listed_on: date | None) -> None:
        """Open a case, or move it to another day."""
        self._require_patient(patient_key)
        found = self._connection.execute(select(cases).where(cases.c.key == key)).one_or_none()
        if found is None:
            self._open_case(key, patient_key, side, listed_on)
            return
        if (found.patient_key, found.side) != (patient_key, side.value):
            raise InconsistentRecordError(
                f"The case {key} is the {found.side} eye of {found.patient_key}, "
                f"not the {side} eye of {patient_key}. Give this one another key."
            )
        if found.listed_on != listed_on:
            self._grow(key)
            self._connection.execute(update(cases).where(cases.c.key == key).values(listed_on=listed_on))

    def put_intent(self, case_key: str, intent: Intent, revision: int) -> int:
        """Save a draft; the new revision. `ChangedMeanwhileError` when `revision` is not the current one."""
        grown = self.touch(case_key, revision)
        self._connection.execute(
            update(cases).where(cases.c.key == case_key).values(intent=as_document(intent))
        )
        return grown

    def touch(self, case_key: str, revision: int) -> int:
        """Claim a case for a change, as `put_intent` does, without a draft; the new revision."""
        current = self._revision(case_key)
        before = self._revision_before.get(case_key, current)
        if revision not in {before, current}:
            raise ChangedMeanwhileError(
                f"{case_key} was changed after you opened it. "
                "Reload it, look at what changed, and save again."
            )
        return self._grow(case_key)

    def add_signed_plan(self, case_key: str, plan: SignedPlan) -> None:
        """Add a signed plan; the latest one counts."""
        self._grow(case_key)
        self._add(
            signed_plans,
            case_key=case_key,
            digest=plan.digest,
            lens_model=plan.intent.lens_model,
            lens_power_dpt=plan.intent.lens_power_dpt,
            document=as_document(plan),
        )

    def add_operation(self, case_key: str, operation: Operation) -> None:
        """Add an operation record; the latest one counts, the earlier ones stay."""
        self._grow(case_key)
        self._add(
            operations,
            case_key=case_key,
            operated_on=operation.operated_on,
            lens_cylinder_dpt=operation.lens_cylinder_dpt,
            document=as_document(operation),
        )

    def put_axis_visits(self, case_key: str, visits: tuple[AxisVisit, ...]) -> None:
        """Put every look at the axis of a case, earliest first; earlier versions stay."""
        self._grow(case_key)
        self._add(axis_visits, case_key=case_key, document=many_as_document(AxisVisit, visits))

    def add_review(self, case_key: str, review: Review) -> None:
        """Add a review; the latest one counts, the earlier ones stay."""
        self._grow(case_key)
        self._add(reviews, case_key=case_key, document=as_document(review))

    def put_lens(self, lens: LensModel) -> None:
        """Add a lens to the catalogue, or replace the one with the same name."""
        self._put_document(lenses, lenses.c.name, lens.name, lens)

    def add_lesson(self, lesson: Lesson) -> None:
        """Add a lesson; it takes the place of the one with the same surgeon, method and lens."""
        self._add(
            lessons,
            surgeon=lesson.surgeon,
            method=lesson.method,
            lens_model=lesson.lens_model,
            document=as_document(lesson),
        )

    def add_incision_lesson(self, lesson: IncisionLesson) -> None:
        """Add what incisions teach; it takes the place of the same surgeon's for the same place and width."""
        self._add(
            incision_lessons,
            surgeon=lesson.surgeon,
            place=lesson.place.value,
            width_mm=lesson.width_mm,
            document=as_document(lesson),
        )

    def add_source(self, digest: str, file: str) -> None:
        """Remember that a file has been imported."""
        if self._first(select(sources.c.digest).where(sources.c.digest == digest)) is None:
            self._add(sources, digest=digest, file=file)

    def _add(self, table: Table, **values: object) -> None:
        self._connection.execute(insert(table).values(**values))

    def _first(self, statement: Any) -> Any:
        return self._connection.execute(statement).scalar()

    def _put_document(self, table: Table, key: Column[str], value: str, record: object) -> bool:
        """Whether it changed anything."""
        document = as_document(record)
        current: str | None = self._first(select(table.c.document).where(key == value))
        if current is None:
            self._add(table, **{key.name: value, "document": document})
        elif current != document:
            self._connection.execute(update(table).where(key == value).values(document=document))
        return current != document

    def _current_eye(self, patient_key: str, side: Side) -> str | None:
        versions = select(eyes.c.document).where(eyes.c.patient_key == patient_key, eyes.c.side == side.value)
        document: str | None = self._first(versions.order_by(eyes.c.number.desc()).limit(1))
        return document

    def _require_patient(self, key: str) -> None:
        if self._first(select(patients.c.key).where(patients.c.key == key)) is None:
            raise NotInRecordError(f"There is no patient {key} in the record. Add the patient first.")

    def _open_case(self, key: str, patient_key: str, side: Side, listed_on: date | None) -> None:
        if self._current_eye(patient_key, side) is None:
            raise NotInRecordError(
                f"There are no measurements of the {side} eye of {patient_key}. Add them before the case."
            )
        self._add(
            cases,
            key=key,
            patient_key=patient_key,
            side=side.value,
            listed_on=listed_on,
            revision=0,
            intent=as_document(Intent()),
        )

    def _grow_cases_of(self, patient_key: str) -> None:
        of_patient = select(cases.c.key).where(cases.c.patient_key == patient_key)
        for key in self._connection.scalars(of_patient).all():
            self._grow(key)

    def _grow(self, case_key: str) -> int:
        """The revision after this act."""
        if case_key not in self._revision_before:
            before = self._revision_before[case_key] = self._revision(case_key)
            self._connection.execute(update(cases).where(cases.c.key == case_key).values(revision=before + 1))
        return self._revision_before[case_key] + 1

    def _revision(self, case_key: str) -> int:
        revision: int | None = self._first(select(cases.c.revision).where(cases.c.key == case_key))
        if revision is None:
            raise NotInRecordError(f"There is no case {case_key} in the record.")
        return revision
