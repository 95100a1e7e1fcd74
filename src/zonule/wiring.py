"""The only place where real parts are put together: files, the record on disk, printed pages, the clock."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from zonule.case.case import Case
from zonule.case.intake import Intake
from zonule.case.learned import Audit
from zonule.case.patient import Patient
from zonule.case.plan import Plan, PlanRequest
from zonule.errors import ExchangeError, ZonuleError

if TYPE_CHECKING:
    from fastapi import FastAPI

    from zonule.case.finding import Finding
    from zonule.case.lens import LensModel
    from zonule.case.patient import Side
    from zonule.case.rotation import RotationReview, ToricOutcome
    from zonule.checks.report import VerificationReport
    from zonule.storage.sql_record import SqlRecord
    from zonule.workflow.catalogue import CatalogueReport
    from zonule.workflow.measure import IntakeReport

LARGEST_FILE_BYTES = 64 * 1024 * 1024


def default_record_path() -> Path:
    """Where a clinic's record lives unless told otherwise: one folder that the user owns."""
    return Path.home() / "zonule" / "record.sqlite3"


def now() -> datetime:
    """The moment, with the clinic's own offset, so that its day is the day on the clinic's wall."""
    return datetime.now().astimezone()


def today() -> date:
    """The day by the local calendar, as the clinic's wall shows it."""
    return now().date()


def read_bytes(path: str) -> tuple[bytes, str]:
    """The bytes of a file and its name; `-` is standard input."""
    if path == "-":
        return sys.stdin.buffer.read(LARGEST_FILE_BYTES + 1), "standard input"
    name = Path(path).name
    try:
        if Path(path).stat().st_size > LARGEST_FILE_BYTES:
            raise ExchangeError(f"{name} is larger than 64 MB, too large for measurements.", where=name)
        return Path(path).read_bytes(), name
    except OSError as error:
        reason = os.strerror(error.errno) if error.errno else "it cannot be opened"
        raise ExchangeError(f"{path} cannot be read: {reason}.", where=name) from error


def file_stem(case_key: str) -> str:
    """A case's key as part of a file name."""
    return "".join(letter if letter.isalnum() or letter in "-_" else "-" for letter in case_key)


@contextmanager
def open_record(path: Path | None = None) -> Iterator[SqlRecord]:
    """The clinic's record on disk, made and brought up to date if need be; closed afterwards."""
    from zonule.storage.sql_record import open_record as open_sql_record

    opened = open_sql_record(path or default_record_path())
    try:
        yield opened
    finally:
        opened.close()


def write_bytes(path: Path, content: bytes) -> None:
    """Write a file whole: a half-written one never takes the place of a whole one."""
    part = path.with_name(f".{path.name}.part")
    try:
        part.write_bytes(content)
        part.replace(path)
    except OSError as error:
        reason = os.strerror(error.errno) if error.errno else "it cannot be opened"
        raise ExchangeError(f"{path} cannot be written: {reason}.", where=path.name) from error


def read_eye_request(
    path: str, lenses: Mapping[str, LensModel] | None = None
) -> tuple[Patient, PlanRequest, tuple[Finding, ...]]:
    """The question that an eye file asks."""
    from zonule.exchange.eye_file import read_eye_request as read

    data, name = read_bytes(path)
    return read(data, file=name, lenses=lenses or {})


def read_review_file(path: str) -> tuple[Side, ToricOutcome, tuple[Finding, ...]]:
    """What became of a toric lens, as a review file states it."""
    from zonule.exchange.review_file import read_review_file as read

    data, name = read_bytes(path)
    return read(data, file=name)


def rotation_as_dict(eye: Side, review: RotationReview, findings: tuple[Finding, ...]) -> dict[str, Any]:
    """What turning a lens would bring, by the contract, ready for JSON."""
    from zonule.exchange.rotation_json import rotation_as_dict as as_dict

    return as_dict(eye, review, findings)


def read_biometry(data: bytes, file: str) -> Intake:
    """The eyes in a file of measurements."""
    from zonule.exchange.biometry_file import read_biometry as read

    return read(data, file=file, today=today())


def is_lens_catalogue(data: bytes) -> bool:
    """Whether a file means to be a catalogue of lenses."""
    from zonule.exchange.lens_catalogue import is_lens_catalogue as is_one

    return is_one(data)


def read_lens_catalogue(data: bytes, file: str) -> tuple[tuple[LensModel, ...], tuple[Finding, ...]]:
    """The lenses of a catalogue file, and what is odd about them."""
    from zonule.exchange.lens_catalogue import read_lens_catalogue as read

    return read(data, file=file)


def lens_catalogue(lenses: Iterable[LensModel]) -> bytes:
    """The catalogue file of these lenses."""
    from zonule.exchange.lens_catalogue import lens_catalogue_text

    return lens_catalogue_text(lenses).encode()


def audit(file: str, record: Path | None) -> tuple[Audit, tuple[Finding, ...]]:
    """The outcome summary of a table, or of the record when no table is named."""
    from zonule.exchange.outcome_csv import read_outcome_csv
    from zonule.workflow.audit import audit_record, audit_table

    if not file:
        with open_record(record) as opened:
            return audit_record(opened), ()
    data, name = read_bytes(file)
    rows, refused = read_outcome_csv(data, file=name)
    answer, findings = audit_table(rows)
    return answer, (*refused, *findings)


def plan_as_dict(plan: Plan) -> dict[str, Any]:
    """A plan by the contract, ready for JSON."""
    from zonule.exchange.plan_json import plan_as_dict as as_dict

    return as_dict(plan)


def error_as_dict(error: ZonuleError) -> dict[str, Any]:
    """A refusal by the contract, ready for JSON."""
    from zonule.exchange.plan_json import error_as_dict as as_dict

    return as_dict(error)


def audit_as_dict(answer: Audit, findings: tuple[Finding, ...]) -> dict[str, Any]:
    """An audit by the contract, ready for JSON."""
    from zonule.exchange.audit_json import audit_as_dict as as_dict

    return as_dict(answer, findings)


def intake_as_dict(report: IntakeReport) -> dict[str, Any]:
    """What an import did, ready for JSON."""
    from zonule.exchange.audit_json import intake_as_dict as as_dict

    return as_dict(report.added, report.unchanged, report.findings)


def catalogue_as_dict(report: CatalogueReport, findings: tuple[Finding, ...]) -> dict[str, Any]:
    """What bringing in a catalogue did, ready for JSON."""
    from zonule.exchange.audit_json import catalogue_as_dict as as_dict

    return as_dict(report.added, report.changed, report.unchanged, findings)


def verify() -> VerificationReport:
    """Every check against the outside, run on this installation now."""
    from zonule.checks.report import verify as run

    return run(now())


def verification_as_dict(report: VerificationReport) -> dict[str, Any]:
    """A verification report by the contract, ready for JSON."""
    from zonule.exchange.verification_json import verification_as_dict as as_dict

    return as_dict(report)


def verification_sheet(report: VerificationReport) -> bytes:
    """A verification report on paper, PDF."""
    from zonule.sheets.verification import verification_sheet as sheet

    return sheet(report)


def theatre_sheet(case: Case, plan: Plan, lens: LensModel | None) -> bytes:
    """The one-page theatre sheet, PDF."""
    from zonule.sheets.theatre import theatre_sheet as sheet

    return sheet(case, plan, printed_at=now(), catalogue_lens=lens)


def sheet_of(record: SqlRecord, key: str) -> bytes:
    """The theatre sheet of a case on record: of its signed plan, or of its draft, which says so."""
    from zonule.workflow.plan import plan_to_print

    case = record.case(key)
    plan = plan_to_print(case, record, today())
    return theatre_sheet(case, plan, plan.request.lens)


def fill_demo_clinic(record: SqlRecord, progress: Callable[[int, int], None]) -> str:
    """Put the invented clinic into an empty record; the key of the eye to look at first."""
    from zonule.demo.fill import fill

    return fill(record, today=today(), progress=progress)


def web_app(record: SqlRecord, port: int) -> FastAPI:
    """The browser app over this record, for this port of the loopback address."""
    from zonule.web.app import create_app
    from zonule.web.pages import Parts

    readers = (read_biometry, is_lens_catalogue, read_lens_catalogue)
    return create_app(Parts(record, now, today, theatre_sheet, *readers, lens_catalogue), port=port)
