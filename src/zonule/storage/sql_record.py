"""The clinic's record in a database."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, func, insert, select

from zonule.case.case import Case
from zonule.case.eye import Eye
from zonule.case.incision import IncisionLesson
from zonule.case.lens import LensModel
from zonule.case.lesson import Lesson
from zonule.case.patient import Patient, Side
from zonule.errors import NotInRecordError
from zonule.storage.documents import from_document, from_document_if_any
from zonule.storage.reading import (
    AnyRow,
    case_from,
    day_list_order,
    every_listing,
    listing_from,
    listings_of_a_day,
    one_case,
    reviewed_cases,
    toric_cases,
    undated_listings,
)
from zonule.storage.schema import (
    cases,
    eyes,
    incision_lessons,
    lenses,
    lessons,
    patients,
    sources,
    trail,
)
from zonule.storage.sql_act import SqlAct
from zonule.storage.sqlite_file import (
    WRITES,
    keep_a_write_ahead_log,
    make_file,
    plain_errors,
    sqlite_engine,
)
from zonule.storage.trail import broken, in_utc, new_entry
from zonule.storage.upgrading import HEAD, migrate, version_of
from zonule.workflow.ports import Act, Listing, TrailEntry


def open_record(path: Path) -> SqlRecord:
    """Open the record in a file, made and brought up to date where that is needed."""
    make_file(path)
    engine = sqlite_engine(path)
    try:
        with plain_errors(path):
            _bring_up_to_date(engine, path)
    except BaseException:
        engine.dispose()
        raise
    return SqlRecord(engine, path)


class SqlRecord:
    """The port `Record` over SQL; threads may share one."""

    def __init__(self, engine: Engine, path: Path) -> None:
        self._engine = engine
        self._path = path

    def close(self) -> None:
        """Let go of the file."""
        self._engine.dispose()

    @contextmanager
    def act(self, *, who: str, verb: str, subject: str, at: datetime, detail: str = "") -> Iterator[Act]:
        """One transaction: its writes and its line in the trail are committed together, or not at all."""
        with plain_errors(self._path), _writing(self._engine) as connection:
            last = connection.execute(select(trail).order_by(trail.c.number.desc()).limit(1)).one_or_none()
            entry = new_entry(
                None if last is None else _entry_from(last),
                who=who,
                verb=verb,
                subject=subject,
                at=at,
                detail=detail,
            )
            yield SqlAct(connection, in_utc(at))
            connection.execute(insert(trail).values(_row_from(entry)))

    def case(self, key: str) -> Case:
        """A case with everything on record; the latest plan, operation and review count, each on its own."""
        rows = self._rows(one_case(), key=key)
        if not rows:
            raise NotInRecordError(f"There is no case {key} in the record.")
        return case_from(rows[0])

    def patient(self, key: str) -> Patient | None:
        """A patient by key."""
        return from_document_if_any(
            Patient, self._first(select(patients.c.document).where(patients.c.key == key))
        )

    def eye(self, patient_key: str, side: Side) -> Eye | None:
        """The current version of an eye."""
        versions = select(eyes.c.document).where(eyes.c.patient_key == patient_key, eyes.c.side == side.value)
        return from_document_if_any(Eye, self._first(versions.order_by(eyes.c.number.desc()).limit(1)))

    def listings(self, on: date | None = None) -> tuple[Listing, ...]:
        """The cases of a day, or all of them, in order of day, patient name and side."""
        rows = self._rows(every_listing()) if on is None else self._rows(listings_of_a_day(), on=on)
        return tuple(sorted(map(listing_from, rows), key=day_list_order))

    def undated(self) -> tuple[Listing, ...]:
        """The cases that have no day yet, in the same order."""
        return tuple(sorted(map(listing_from, self._rows(undated_listings())), key=day_list_order))

    def days(self) -> tuple[tuple[date, int], ...]:
        """Days that have cases, with how many, earliest first."""
        day = cases.c.listed_on
        counted = select(day, func.count()).where(day.is_not(None)).group_by(day).order_by(day)
        return tuple((row[0], row[1]) for row in self._rows(counted))

    def reviewed_cases(self) -> tuple[Case, ...]:
        """Every case with a review, in order of operation day."""
        found = map(case_from, self._rows(reviewed_cases()))
        return tuple(sorted(found, key=_operation_order))

    def toric_cases(self, since: date) -> tuple[Case, ...]:
        """Every case operated since a day with a lens that has cylinder, in order of operation day."""
        found = map(case_from, self._rows(toric_cases(), since=since))
        return tuple(sorted(found, key=_operation_order))

    def lenses(self) -> tuple[LensModel, ...]:
        """The catalogue, by name."""
        found = (from_document(LensModel, row.document) for row in self._rows(select(lenses.c.document)))
        return tuple(sorted(found, key=lambda lens: lens.name))

    def lens(self, name: str) -> LensModel | None:
        """One lens of the catalogue."""
        return from_document_if_any(
            LensModel, self._first(select(lenses.c.document).where(lenses.c.name == name))
        )

    def lessons(self) -> tuple[Lesson, ...]:
        """The current lessons, one for each surgeon, method and lens, in that order."""
        subject = (lessons.c.surgeon, lessons.c.method, lessons.c.lens_model)
        latest = select(func.max(lessons.c.number)).group_by(*subject).scalar_subquery()
        rows = self._rows(select(lessons.c.document).where(lessons.c.number.in_(latest)))
        found = (from_document(Lesson, row.document) for row in rows)
        return tuple(sorted(found, key=lambda lesson: (lesson.surgeon, lesson.method, lesson.lens_model)))

    def incision_lessons(self) -> tuple[IncisionLesson, ...]:
        """What incisions teach now, one for each surgeon, place and width, in that order."""
        table = incision_lessons
        subject = (table.c.surgeon, table.c.place, table.c.width_mm)
        latest = select(func.max(table.c.number)).group_by(*subject).scalar_subquery()
        rows = self._rows(select(table.c.document).where(table.c.number.in_(latest)).order_by(*subject))
        return tuple(from_document(IncisionLesson, row.document) for row in rows)

    def has_source(self, digest: str) -> bool:
        """Whether a file of this digest has been imported."""
        return self._first(select(sources.c.digest).where(sources.c.digest == digest)) is not None

    def trail(self, subject: str | None = None, limit: int = 100) -> tuple[TrailEntry, ...]:
        """The latest entries, newest first; of one subject, or of all."""
        statement = select(trail).order_by(trail.c.number.desc()).limit(max(limit, 0))
        if subject is not None:
            statement = statement.where(trail.c.subject == subject)
        return tuple(map(_entry_from, self._rows(statement)))

    def broken_trail_entries(self) -> tuple[int, ...]:
        """Numbers of entries whose hash does not follow from the one before; empty when whole."""
        with self._reading() as connection:
            return broken(map(_entry_from, connection.execute(select(trail).order_by(trail.c.number))))

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        with plain_errors(self._path), self._engine.connect() as connection:
            yield connection

    def _rows(self, statement: Any, **values: object) -> list[AnyRow]:
        with self._reading() as connection:
            return list(connection.execute(statement, values))

    def _first(self, statement: Any) -> Any:
        with self._reading() as connection:
            return connection.execute(statement).scalar()


def _bring_up_to_date(engine: Engine, path: Path) -> None:
    with engine.connect() as connection:
        version = version_of(connection)
    keep_a_write_ahead_log(path)
    if version == HEAD:
        return
    with _writing(engine) as connection:
        migrate(connection)


@contextmanager
def _writing(engine: Engine) -> Iterator[Connection]:
    with engine.connect().execution_options(**{WRITES: True}) as connection, connection.begin():
        yield connection


def _operation_order(case: Case) -> tuple[date, str]:
    return (case.operation.operated_on if case.operation else date.max, case.key)


def _entry_from(row: AnyRow) -> TrailEntry:
    return TrailEntry(
        number=row.number,
        at=datetime.fromisoformat(row.at),
        who=row.who,
        verb=row.verb,
        subject=row.subject,
        detail=row.detail,
        digest=row.digest,
    )


def _row_from(entry: TrailEntry) -> dict[str, object]:
    return {
        "number": entry.number,
        "at": entry.at.isoformat(),
        "who": entry.who,
        "verb": entry.verb,
        "subject": entry.subject,
        "detail": entry.detail,
        "digest": entry.digest,
    }
