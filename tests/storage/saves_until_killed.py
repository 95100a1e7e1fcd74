"""A program that saves patients one after the other and says so after each, until somebody kills it."""

from __future__ import annotations

import sys
from itertools import count
from pathlib import Path

from fakes.acts import ordinary_act
from fakes.examples import (
    LISTED_ON,
    ordinary_eye,
    ordinary_intent,
    ordinary_patient,
    ordinary_signed_plan,
)
from zonule.case.case import case_key
from zonule.case.patient import Side
from zonule.storage.sql_record import open_record
from zonule.workflow.ports import Act


def save_patient(act: Act, patient_key: str) -> None:
    """Many writes that belong together."""
    act.put_patient(ordinary_patient(patient_key))
    act.add_source(patient_key, "eyes.csv")
    for side in Side:
        key = case_key(patient_key, side)
        act.put_eye(patient_key, ordinary_eye(side))
        act.put_case(key, patient_key, side, LISTED_ON)
        act.put_intent(key, ordinary_intent(), revision=0)
        act.add_signed_plan(key, ordinary_signed_plan(side, digest=patient_key))


def save_for_ever(file: Path, name: str) -> None:
    """Save `name-0`, `name-1` and so on."""
    record = open_record(file)
    for number in count():
        patient_key = f"{name}-{number}"
        with ordinary_act(record, patient_key) as act:
            save_patient(act, patient_key)
        sys.stdout.write(f"{patient_key}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    save_for_ever(Path(sys.argv[1]), sys.argv[2])
