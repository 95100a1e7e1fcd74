"""Killing the program while it saves loses nothing that it said was saved."""

from __future__ import annotations

import os
import random
import subprocess
import sys
import time
from pathlib import Path

from fakes.examples import ordinary_eye, ordinary_intent, ordinary_patient, ordinary_signed_plan
from zonule.case.patient import Side
from zonule.storage.sql_record import SqlRecord, open_record

PROGRAM = Path(__file__).with_name("saves_until_killed.py")
KILLS = 6
LONGEST_S = 0.25


def _killed_in_the_middle(file: Path, name: str) -> list[str]:
    """What the program said it had saved before it was killed at some moment."""
    folders = os.pathsep.join([str(PROGRAM.parent.parent), os.environ.get("PYTHONPATH", "")])
    with subprocess.Popen(  # noqa: S603 - our own interpreter and program
        [sys.executable, str(PROGRAM), str(file), name],
        stdout=subprocess.PIPE,
        text=True,
        env=os.environ | {"PYTHONPATH": folders},
    ) as program:
        assert program.stdout is not None
        first = program.stdout.readline()
        time.sleep(random.uniform(0, LONGEST_S))  # noqa: S311 - any moment will do
        program.kill()
        rest = program.stdout.readlines()
    return [line.strip() for line in (first, *rest) if line.endswith("\n")]


def _check_whole(record: SqlRecord, patient_key: str) -> None:
    assert record.patient(patient_key) == ordinary_patient(patient_key)
    assert record.has_source(patient_key)
    for side in Side:
        case = record.case(f"{patient_key}-{side}")
        assert (case.eye, case.fellow) == (ordinary_eye(side), ordinary_eye(side.other))
        assert (case.intent, case.revision) == (ordinary_intent(), 1)
        assert case.signed == ordinary_signed_plan(side, digest=patient_key)


def test_a_kill_in_the_middle_of_saves_loses_nothing_and_leaves_nothing_half_done(file: Path) -> None:
    said: list[str] = []
    for kill in range(KILLS):
        said += _killed_in_the_middle(file, f"run{kill}")
    record = open_record(file)
    kept = [entry.subject for entry in record.trail(limit=100_000)]
    assert len(said) >= KILLS
    assert set(said) <= set(kept)
    assert len(kept) - len(said) <= KILLS  # saved, and killed before it could say so
    for patient_key in kept:
        _check_whole(record, patient_key)
    assert {line.patient.key for line in record.listings()} == set(kept)
    assert record.broken_trail_entries() == ()
    record.close()
