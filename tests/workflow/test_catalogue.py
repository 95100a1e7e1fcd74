"""Lenses come into the catalogue by hand or from a file, and nothing is overwritten in silence."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from case.doubts import the_one
from fakes.examples import LENS_NAME, SURGEON, ordinary_lens
from fakes.memory_record import MemoryRecord
from workflow.clinic import NOW
from zonule.case.lens import Haptic, LensConstants, LensModel, PowerRange
from zonule.errors import OutOfRangeError
from zonule.workflow.catalogue import CatalogueReport, take_in_lenses


def bring_in(record: MemoryRecord, *lenses: LensModel) -> CatalogueReport:
    return take_in_lenses(record, lenses, file="lenses.json", who=SURGEON, now=NOW)


def test_new_lenses_are_added_in_one_act_with_its_line_in_the_trail() -> None:
    record = MemoryRecord()
    report = bring_in(record, ordinary_lens(), ordinary_lens("Thistle Loam"))
    assert (report.added, report.changed, report.findings) == ((LENS_NAME, "Thistle Loam"), (), ())
    assert [lens.name for lens in record.lenses()] == [LENS_NAME, "Thistle Loam"]
    assert [(one.verb, one.subject) for one in record.trail()] == [("import lenses", "lenses.json")]


def test_a_lens_that_is_already_so_is_left_alone_and_leaves_no_trail() -> None:
    record = MemoryRecord()
    bring_in(record, ordinary_lens())
    report = bring_in(record, ordinary_lens())
    assert (report.added, report.changed, report.unchanged) == ((), (), (LENS_NAME,))
    assert len(record.trail()) == 1


def test_a_changed_lens_is_named_with_every_number_that_moved_and_kept_in_the_trail() -> None:
    record = MemoryRecord()
    bring_in(record, ordinary_lens())
    after = replace(
        ordinary_lens(a_constant=118.9), powers=PowerRange(6.0, 28.0, 0.5), haptic=Haptic.THREE_PIECE
    )
    report = bring_in(record, after)
    assert (report.added, report.changed) == ((), (LENS_NAME,))
    sentence = the_one(report.findings, "lens-changed").sentence
    for words in (
        "constants a_constant was 118.4, is 118.9",
        "powers to_dpt was 30, is 28",
        "haptic was not recorded, is three piece",
        "Lessons learned on the old constants are no longer used",
    ):
        assert words in sentence
    assert "from_dpt" not in sentence
    detail = json.loads(record.trail()[0].detail)
    assert detail["before"][LENS_NAME]["constants"] == {"a_constant": 118.4}
    assert record.lens(LENS_NAME) == after


def test_a_change_that_leaves_the_constants_retires_no_lesson() -> None:
    record = MemoryRecord()
    bring_in(record, ordinary_lens())
    sentence = the_one(bring_in(record, ordinary_lens(optic_mm=6.0)).findings, "lens-changed").sentence
    assert sentence == f"{LENS_NAME}: optic_mm was not recorded, is 6."


def test_a_lens_on_record_that_the_file_does_not_name_stays() -> None:
    record = MemoryRecord()
    bring_in(record, ordinary_lens())
    bring_in(record, ordinary_lens("Thistle Loam"))
    assert record.lens(LENS_NAME) == ordinary_lens()


def test_a_name_that_looks_like_one_on_record_is_asked_about() -> None:
    record = MemoryRecord()
    bring_in(record, ordinary_lens("Thistle Loam"))
    report = bring_in(record, ordinary_lens("thistle  loam"))
    assert "'Thistle Loam'" in the_one(report.findings, "lens-name-alike").sentence


def test_one_impossible_lens_keeps_all_of_them_out() -> None:
    record = MemoryRecord()
    impossible = ordinary_lens("Thistle Loam", constants=LensConstants(a_constant=1.9))
    with pytest.raises(OutOfRangeError):
        bring_in(record, ordinary_lens(), impossible)
    assert record.lenses() == ()
