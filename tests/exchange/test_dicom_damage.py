"""Damaged DICOM files: always a refusal or findings, never another exception."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from exchange.dicom_objects import AXIAL, KERATOMETRY
from exchange.documents import TODAY, UNTIMED
from zonule.case.intake import Intake
from zonule.errors import ExchangeError
from zonule.exchange.dicom_biometry import read_dicom_biometry

COPIES = 400
OBJECTS = pytest.mark.parametrize("path", [KERATOMETRY, AXIAL], ids=lambda path: path.stem)


def numbers_of(intake: Intake) -> list[str]:
    """Everything measured, without where the chamber starts: that stands behind the eyes and may be lost."""
    return [repr(replace(one.eye.biometry, chamber_from=None)) for one in intake.eyes]


def read_or_refuse(data: bytes) -> Intake | None:
    try:
        return read_dicom_biometry(data, file="damaged.dcm", today=TODAY)
    except ExchangeError as error:
        assert str(error)  # noqa: PT017 - being readable is what is asked of the refusal
        return None


@OBJECTS
def test_a_damaged_copy_never_raises_another_error(path: Path) -> None:
    whole = np.frombuffer(path.read_bytes(), np.uint8)
    random = np.random.default_rng(20261109)
    outcomes = Counter[bool]()
    for _ in range(COPIES):
        damaged = whole.copy()
        at = random.integers(132, len(whole), size=random.integers(1, 12))
        damaged[at] = random.integers(0, 256, size=len(at))
        outcomes[read_or_refuse(damaged.tobytes()) is None] += 1
    assert outcomes[True] > 0
    assert outcomes[False] > 0


@OBJECTS
def test_half_an_object_never_gives_half_of_its_eyes(path: Path) -> None:
    whole = path.read_bytes()
    answers = (read_or_refuse(whole[:length]) for length in range(len(whole)))
    taken = [intake for intake in answers if intake is not None and intake.eyes]
    for intake in taken:
        assert numbers_of(intake) == numbers_of(read_dicom_biometry(whole, file="damaged.dcm", today=TODAY))
    assert len(taken) < len(whole) // 100


@UNTIMED
@given(st.binary(max_size=300))
def test_any_bytes_behind_the_mark_are_read_or_refused(data: bytes) -> None:
    read_or_refuse(b"\x00" * 128 + b"DICM" + data)
