"""Acts that fill a record, for tests of what reads it."""

from __future__ import annotations

from contextlib import AbstractContextManager
from datetime import date

from fakes.examples import LISTED_ON, SIGNED_AT, SURGEON, ordinary_eye, ordinary_patient
from zonule.case.case import case_key
from zonule.case.patient import Patient, Side
from zonule.workflow.ports import Act, Record


def ordinary_act(record: Record, subject: str = "demo-0042-right") -> AbstractContextManager[Act]:
    """An act by the ordinary surgeon."""
    return record.act(who=SURGEON, verb="changes", subject=subject, at=SIGNED_AT)


def open_case(
    record: Record,
    patient: Patient | None = None,
    side: Side = Side.RIGHT,
    listed_on: date | None = LISTED_ON,
) -> str:
    """Put a patient, an ordinary eye and its case into a record; the key of the case."""
    person = ordinary_patient() if patient is None else patient
    key = case_key(person.key, side)
    with ordinary_act(record, key) as act:
        act.put_patient(person)
        act.put_eye(person.key, ordinary_eye(side))
        act.put_case(key, person.key, side, listed_on)
    return key
