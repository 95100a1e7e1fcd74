"""Measure: take in what devices measured, ask what they cannot know, and say what can be trusted."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass, fields, replace
from datetime import date, datetime

from zonule.case.biometry import Biometry, Keratometry
from zonule.case.canonical import canonical_text
from zonule.case.case import Case, case_key
from zonule.case.eye import Eye, History, Readiness
from zonule.case.eye_checks import eye_findings
from zonule.case.finding import Finding, Severity, blocking, note
from zonule.case.intake import IncomingEye, Intake
from zonule.case.pair_checks import pair_findings
from zonule.case.patient import Patient
from zonule.case.plan import Intent
from zonule.case.readiness_checks import readiness_findings
from zonule.errors import NotInRecordError
from zonule.workflow.ports import Act, Record


@dataclass(frozen=True, slots=True)
class IntakeReport:
    """What an import did."""

    file: str
    added: tuple[str, ...]
    """Keys of cases whose eye was added or changed."""
    unchanged: tuple[str, ...]
    """Keys of cases whose eye was already on record exactly so."""
    findings: tuple[Finding, ...]
    already_imported: bool = False


def take_in(record: Record, intake: Intake, *, who: str, now: datetime) -> IntakeReport:
    """Put the eyes of a file into the record, all in one transaction; a second time adds nothing."""
    if record.has_source(intake.digest):
        seen = note(
            "already-imported",
            f"{intake.file} has been imported before; nothing was added.",
            intake.file,
            "zonule-ranges",
        )
        return IntakeReport(intake.file, (), (), (*intake.findings, seen), already_imported=True)
    accepted, strangers = _known_people(record, intake.eyes)
    added: list[str] = []
    unchanged: list[str] = []
    with record.act(who=who, verb="import", subject=intake.file, at=now, detail=intake.digest) as act:
        for incoming in accepted:
            key = case_key(incoming.patient.key, incoming.eye.side)
            (added if _put(record, act, incoming, key) else unchanged).append(key)
        act.add_source(intake.digest, intake.file)
    doubts = _doubts(record, accepted, now.date(), intake.file)
    return IntakeReport(intake.file, tuple(added), tuple(unchanged), (*intake.findings, *strangers, *doubts))


def trust(case: Case, today: date) -> tuple[Finding, ...]:
    """Every doubt about the measurements of this case, gravest first."""
    found = [
        *eye_findings(case.eye, today),
        *pair_findings(case.eye, case.fellow),
        *readiness_findings(case.eye.readiness),
    ]
    order = (Severity.BLOCKING, Severity.WARNING, Severity.NOTE)
    return tuple(sorted(dict.fromkeys(found), key=lambda finding: order.index(finding.severity)))


def answer(
    record: Record,
    key: str,
    *,
    history: History,
    readiness: Readiness,
    revision: int,
    who: str,
    now: datetime,
) -> int:
    """Record what was asked of the patient and looked at; the new revision of the case."""
    case = record.case(key)
    changed = replace(case.eye, history=history, readiness=replace(readiness, answered_on=now.date()))
    detail = canonical_text({"history": asdict(history), "readiness": asdict(readiness)})
    with record.act(who=who, verb="answer questions", subject=key, at=now, detail=detail) as act:
        new_revision = act.touch(key, revision)
        act.put_eye(case.patient.key, changed)
    return new_revision


def merged(known: Eye | None, new: Eye) -> Eye:
    """The eye after a new measurement: what the new one has replaces, what it lacks stays."""
    if known is None:
        return new
    biometry = _merged_biometry(known.biometry, new.biometry)
    history = known.history if new.history == History() else new.history
    return replace(new, biometry=biometry, history=history, readiness=known.readiness)


def _merged_biometry(known: Biometry, new: Biometry) -> Biometry:
    kept = {
        field.name: getattr(known, field.name)
        for field in fields(Biometry)
        if getattr(new, field.name) in (None, "") and field.name != "keratometry"
    }
    keratometry = new.keratometry if _has_cornea(new.keratometry) else known.keratometry
    return replace(new, keratometry=keratometry, **kept)


def _has_cornea(keratometry: Keratometry) -> bool:
    return keratometry.flat.is_measured or keratometry.steep.is_measured


def _known_people(record: Record, eyes: tuple[IncomingEye, ...]) -> tuple[list[IncomingEye], list[Finding]]:
    """Eyes of people who are who the record says they are, and findings about the others."""
    accepted: list[IncomingEye] = []
    findings: list[Finding] = []
    for incoming in eyes:
        known = record.patient(incoming.patient.key)
        clash = None if known is None else _clash(known, incoming.patient)
        if clash is None:
            accepted.append(incoming)
        else:
            findings.append(
                blocking(
                    "another-person",
                    f"The record knows {incoming.patient.key} with another {clash}. The eye was not taken "
                    "in: find out whose measurement this is.",
                    incoming.where,
                    "zonule-ranges",
                )
            )
    return accepted, findings


def _clash(known: Patient, new: Patient) -> str | None:
    if known.name and new.name and known.name.casefold() != new.name.casefold():
        return "name"
    if known.born_on and new.born_on and known.born_on != new.born_on:
        return "date of birth"
    return None


def _put(record: Record, act: Act, incoming: IncomingEye, key: str) -> bool:
    known = record.patient(incoming.patient.key)
    act.put_patient(_merged_patient(known, incoming.patient))
    eye = merged(record.eye(incoming.patient.key, incoming.eye.side), incoming.eye)
    changed = act.put_eye(incoming.patient.key, eye)
    opened = not _is_open(record, key)
    if opened or incoming.listed_on is not None:
        act.put_case(key, incoming.patient.key, incoming.eye.side, incoming.listed_on)
    if opened and (incoming.target_refraction_dpt is not None or incoming.lens_model is not None):
        wanted = Intent(lens_model=incoming.lens_model, target_refraction_dpt=incoming.target_refraction_dpt)
        act.put_intent(key, wanted, 0)
    return changed


def _is_open(record: Record, key: str) -> bool:
    """Whether the case exists; a surgeon's draft in it is not overwritten by a file."""
    try:
        record.case(key)
    except NotInRecordError:
        return False
    return True


def _merged_patient(known: Patient | None, new: Patient) -> Patient:
    if known is None:
        return new
    return Patient(new.key, new.name or known.name, new.born_on or known.born_on, new.sex or known.sex)


def _doubts(record: Record, eyes: list[IncomingEye], today: date, file: str) -> Iterator[Finding]:
    """What is odd about the eyes taken in, each naming its file and row; notes are left for the screen."""
    for incoming in eyes:
        fellow = record.eye(incoming.patient.key, incoming.eye.side.other)
        found = eye_findings(incoming.eye, today)
        found += pair_findings(incoming.eye, fellow) if fellow else []
        for finding in found:
            if finding.severity is not Severity.NOTE:
                yield replace(finding, where=f"{file}, {incoming.where}, {finding.where}")
