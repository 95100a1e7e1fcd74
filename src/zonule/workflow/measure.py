"""Measure: take in what devices measured, ask what they cannot know, and say what can be trusted."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import TypeVar

from zonule.case.biometry import Biometry
from zonule.case.canonical import canonical_text
from zonule.case.case import Case, case_key
from zonule.case.cornea_agreement import SAME_CORNEA_DAYS
from zonule.case.eye import CornealSurgery, Eye, History, Readiness
from zonule.case.eye_checks import eye_findings
from zonule.case.finding import Finding, Severity, blocking, gravest_first, note, warning
from zonule.case.intake import IncomingEye, Intake
from zonule.case.limits import refuse_impossible
from zonule.case.measured import Measured
from zonule.case.merging import cornea_readings, is_older, is_same_device, merged
from zonule.case.pair_checks import pair_findings
from zonule.case.patient import Patient
from zonule.case.plan import Intent
from zonule.case.readiness_checks import readiness_findings
from zonule.case.refraction import refuse_impossible_glasses
from zonule.workflow.ports import Act, Record

__all__ = ["IntakeReport", "answer", "merged", "take_in", "trust"]

_T = TypeVar("_T")


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
    people, accepted, doubts = _known_people(record, intake.eyes)
    arrivals = _arrivals(record, accepted)
    open_cases = {listing.case_key for listing in record.listings()}
    changed: dict[bool, list[str]] = {True: [], False: []}
    with record.act(who=who, verb="import", subject=intake.file, at=now, detail=intake.digest) as act:
        for person in people.values():
            act.put_patient(person)
        for key, arrival in arrivals.items():
            changed[act.put_eye(arrival.patient_key, arrival.eye)].append(key)
            _put_case(record, act, key, arrival, is_open=key in open_cases)
        act.add_source(intake.digest, intake.file)
    doubts += [doubt for arrival in arrivals.values() for doubt in _doubts(record, arrival, now.date())]
    named = [replace(doubt, where=f"{intake.file}, {doubt.where}") for doubt in doubts]
    return IntakeReport(intake.file, tuple(changed[True]), tuple(changed[False]), (*intake.findings, *named))


def trust(case: Case, today: date) -> tuple[Finding, ...]:
    """Every doubt about the measurements of this case, gravest first."""
    found = [
        *eye_findings(case.eye, today),
        *pair_findings(case.eye, case.fellow),
        *readiness_findings(case.eye.readiness),
    ]
    return gravest_first(found)


def list_for(record: Record, key: str, day: date | None, *, revision: int, who: str, now: datetime) -> int:
    """Put a case on the list of a day, move it, or take it off; the new revision."""
    case = record.case(key)
    detail = canonical_text({"before": case.listed_on, "after": day})
    with record.act(who=who, verb="list for a day", subject=key, at=now, detail=detail) as act:
        new_revision = act.touch(key, revision)
        act.put_case(key, case.patient.key, case.side, day)
    return new_revision


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
    if history.glasses is not None:
        refuse_impossible_glasses(history.glasses)
    refuse_impossible(readiness, "contact_lens_out_days", "pressure_mmhg", "dilated_pupil_mm")
    case = record.case(key)
    changed = replace(case.eye, history=history, readiness=replace(readiness, answered_on=now.date()))
    detail = canonical_text({"history": history, "readiness": readiness})
    with record.act(who=who, verb="answer questions", subject=key, at=now, detail=detail) as act:
        new_revision = act.touch(key, revision)
        act.put_eye(case.patient.key, changed)
    return new_revision


def _known_people(
    record: Record, eyes: Iterable[IncomingEye]
) -> tuple[dict[str, Patient], list[IncomingEye], list[Finding]]:
    """People as they will stand on record, the eyes of those who are who it says, doubts about the rest."""
    people: dict[str, Patient] = {}
    accepted: list[IncomingEye] = []
    findings: list[Finding] = []
    for incoming in eyes:
        key = incoming.patient.key
        known = people.get(key) or record.patient(key)
        clash = None if known is None else _clash(known, incoming.patient)
        if clash is not None:
            findings.append(
                blocking(
                    "another-person",
                    f"{key} is already known with another {clash}. The eye was not taken in: find out whose "
                    "measurement this is.",
                    incoming.where,
                    "zonule-ranges",
                )
            )
            continue
        people[key] = _merged_patient(known, incoming.patient)
        accepted.append(incoming)
    return people, accepted, findings


def _clash(known: Patient, new: Patient) -> str | None:
    if known.name and new.name and _name_words(known.name) != _name_words(new.name):
        return "name"
    if known.born_on and new.born_on and known.born_on != new.born_on:
        return "date of birth"
    return None


def _name_words(name: str) -> list[str]:
    """The words of a name in any order and spelling of case: `Winterbourne, Ada` is `Ada Winterbourne`."""
    return sorted(re.findall(r"[\w'-]+", name.casefold()))


def _merged_patient(known: Patient | None, new: Patient) -> Patient:
    if known is None:
        return new
    return Patient(new.key, new.name or known.name, new.born_on or known.born_on, new.sex or known.sex)


@dataclass(slots=True)
class _Arrival:
    """One eye that a file brings, its rows put together with what the record holds."""

    patient_key: str
    eye: Eye
    rows: list[IncomingEye]
    before: Eye | None


def _arrivals(record: Record, accepted: Iterable[IncomingEye]) -> dict[str, _Arrival]:
    """Each eye once, by the key of its case, however many rows tell of it."""
    found: dict[str, _Arrival] = {}
    for incoming in accepted:
        patient_key, side = incoming.patient.key, incoming.eye.side
        key = case_key(patient_key, side)
        if key in found:
            found[key].eye = merged(found[key].eye, incoming.eye)
            found[key].rows.append(incoming)
        else:
            before = record.eye(patient_key, side)
            found[key] = _Arrival(patient_key, merged(before, incoming.eye), [incoming], before)
    return found


def _put_case(record: Record, act: Act, key: str, arrival: _Arrival, *, is_open: bool) -> None:
    """Open the case or move it to the day the file names, and fill a draft nobody has begun."""
    listed_on = _last(row.listed_on for row in arrival.rows)
    if not is_open or listed_on is not None:
        act.put_case(key, arrival.patient_key, arrival.eye.side, listed_on)
    lens_model = _last(row.lens_model for row in arrival.rows)
    wanted = Intent(
        lens_model=lens_model if lens_model and record.lens(lens_model) else None,
        target_refraction_dpt=_last(row.target_refraction_dpt for row in arrival.rows),
    )
    if wanted == Intent():
        return
    if not is_open:
        act.put_intent(key, wanted, 0)
        return
    case = record.case(key)
    if case.intent == Intent():
        act.put_intent(key, wanted, case.revision)


def _last(values: Iterable[_T | None]) -> _T | None:
    given = [value for value in values if value is not None]
    return given[-1] if given else None


def _doubts(record: Record, arrival: _Arrival, today: date) -> Iterator[Finding]:
    """What is odd about an eye taken in, each naming its row; notes are left for the screen."""
    fellow = record.eye(arrival.patient_key, arrival.eye.side.other)
    found = eye_findings(arrival.eye, today)
    found += pair_findings(arrival.eye, fellow) if fellow else []
    rows = " and ".join(row.where for row in arrival.rows)
    for finding in found:
        if finding.severity is not Severity.NOTE:
            yield replace(finding, where=f"{rows}, {finding.where}")
    before = arrival.before
    for row in arrival.rows:
        yield from _row_doubts(record, row, before)
        before = row.eye if before is None else merged(before, row.eye)


def _row_doubts(record: Record, row: IncomingEye, before: Eye | None) -> Iterator[Finding]:
    if row.lens_model and record.lens(row.lens_model) is None:
        yield warning(
            "lens-unknown",
            f"The lens {row.lens_model} is not in the catalogue, so no lens was chosen. Add it, or choose "
            "another.",
            f"{row.where}, lens_model",
            "zonule-ranges",
        )
    if before is None:
        return
    if is_older(row.eye.biometry, before.biometry):
        yield warning(
            "older-than-record",
            f"These measurements of {row.eye.biometry.measured_on:%d %B %Y} are older than those on record. "
            "Only what was missing was taken from them.",
            f"{row.where}, biometry.measured_on",
            "zonule-ranges",
        )
    yield from _told_twice(row, before)
    yield from _corneas_left_out(row, before)
    told, known = row.eye.history.corneal_surgery, before.history.corneal_surgery
    if CornealSurgery.UNKNOWN not in {told, known} and told is not known:
        yield warning(
            "corneal-surgery-differs",
            f"The file says of this cornea: {_words(told)}; the record says: {_words(known)}. The record was "
            "kept. Ask the patient and look at the topography.",
            f"{row.where}, history.corneal_surgery",
            "zonule-ranges",
        )


def _words(surgery: CornealSurgery) -> str:
    return "no surgery" if surgery is CornealSurgery.NONE else surgery.replace("_", " ")


def _told_twice(row: IncomingEye, before: Eye) -> Iterator[Finding]:
    """A length or a cornea that was already known from the same day, with other numbers."""
    new, known = row.eye.biometry, before.biometry
    if new.measured_on != known.measured_on:
        return
    lengths = (_value(new.axial_length_mm), _value(known.axial_length_mm))
    corneas = (new.keratometry.powers_dpt, known.keratometry.powers_dpt)
    differing = ["axial length"] if all(lengths) and lengths[0] != lengths[1] else []
    if all(corneas) and corneas[0] != corneas[1] and not _is_of_another_device(new, known):
        differing.append("corneal powers")
    if differing:
        yield warning(
            "told-twice-differently",
            f"Of the {' and the '.join(differing)} of this eye other numbers were already known, and not "
            "from another day. Those of this row were taken: find out which are right.",
            f"{row.where}, biometry",
            "zonule-ranges",
        )


def _is_of_another_device(new: Biometry, known: Biometry) -> bool:
    """Whether the new keratometry will stand beside the known one, and not in its place."""
    devices = (new.cornea_device, known.cornea_device)
    return all(devices) and not is_same_device(*devices)


def _corneas_left_out(row: IncomingEye, before: Eye) -> Iterator[Finding]:
    """Another device's reading of this cornea that is too old, or too new, to be compared."""
    known, new = before.biometry, row.eye.biometry
    kept = {one.device for one in cornea_readings(merged(before, row.eye).biometry)}
    for one in dict.fromkeys((*cornea_readings(known), *cornea_readings(new))):
        if one.device and one.measured_on and not any(is_same_device(one.device, name) for name in kept):
            yield warning(
                "cornea-not-compared",
                f"The cornea as {one.device} read it on {one.measured_on:%d %B %Y} is not compared with the "
                f"one used: more than {SAME_CORNEA_DAYS} days lie between them.",
                f"{row.where}, biometry.other_corneas",
                "zonule-ranges",
            )


def _value(measured: Measured | None) -> float | None:
    return None if measured is None else measured.value
