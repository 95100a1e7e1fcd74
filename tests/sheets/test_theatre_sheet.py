"""The sheet as a printer and a reader see it: read back with poppler's tools."""

from __future__ import annotations

import math
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from drawings.drawn import plan
from fakes.backups import chamber_lens, numbers_of, single_piece, three_piece
from fakes.examples import (
    ordinary_axis_visit,
    ordinary_case,
    ordinary_eye,
    ordinary_intent,
    ordinary_lens,
    ordinary_operation,
    ordinary_patient,
    ordinary_readiness,
    ordinary_signed_plan,
)
from fakes.toric import toric_plan
from zonule.case.backup import Backup
from zonule.case.biometry import Keratometry, Meridian
from zonule.case.case import Case
from zonule.case.caution import CAUTION
from zonule.case.finding import Finding, blocking, note, warning
from zonule.case.lens import LensModel
from zonule.case.measured import Measured
from zonule.case.patient import Side
from zonule.case.plan import Plan, PlanRequest, Seat
from zonule.case.toric import MarkingName
from zonule.drawings.axis_words import axis_words
from zonule.errors import InconsistentRecordError
from zonule.sheets.theatre import theatre_sheet
from zonule.workflow.backup import backup_lenses

PRINTED_AT = datetime(2026, 11, 16, 7, 2, tzinfo=UTC)
LENS = ordinary_lens(optic_mm=6.0)
LONG = "Wolframine-Wilhelmina Waxworth-Moxham "

pytestmark = pytest.mark.skipif(
    shutil.which("pdftotext") is None and not os.environ.get("CI"),
    reason="poppler-utils, which reads the sheet back, is not installed",
)


def _request(side: Side = Side.RIGHT, **changes: Any) -> PlanRequest:
    eye = ordinary_eye(side, readiness=ordinary_readiness())
    return replace(plan().request, eye=eye, lens=LENS, **changes)


def _plan(side: Side = Side.RIGHT, **changes: Any) -> Plan:
    return replace(plan(), request=_request(side), **changes)


def _draft(side: Side = Side.RIGHT, **changes: Any) -> Case:
    case = ordinary_case(side, eye=_request(side).eye, intent=ordinary_intent(seat=Seat.TEMPORAL))
    return replace(case, **changes)


def _signed(
    side: Side = Side.RIGHT, *, warnings: tuple[Finding, ...] = (), reasons: str = "", **changes: Any
) -> Case:
    case = _draft(side)
    signed = ordinary_signed_plan(
        digest="3f9a11c07d22" + "b" * 52,
        request=_request(side),
        intent=case.intent,
        warnings=warnings,
        reasons=reasons,
    )
    return replace(replace(case, signed=signed), **changes)


def _backup(*lenses: LensModel, planned: str = "Meadow One", depth_mm: float = 3.1) -> Backup:
    return backup_lenses(single_piece(planned), 21.0, -0.25, numbers_of(depth_mm=depth_mm), lenses)


def _pdf(case: Case, made: Plan | None = None, printed_at: datetime = PRINTED_AT) -> bytes:
    return theatre_sheet(case, made or _plan(case.side), printed_at=printed_at, catalogue_lens=LENS)


@pytest.fixture
def read(tmp_path: Path) -> Callable[..., str]:
    """What one of poppler's tools says of a sheet."""

    def ask(pdf: bytes, tool: str, *options: str) -> str:
        file = tmp_path / "sheet.pdf"
        file.write_bytes(pdf)
        output = ["-"] if tool == "pdftotext" else []
        command = [tool, *options, str(file), *output]
        return subprocess.run(command, check=True, capture_output=True, text=True).stdout  # noqa: S603 - own words

    return ask


def _words(text: str) -> str:
    """Words with single spaces, put together where a line ended at a hyphen."""
    return " ".join(text.split()).replace("counter- clockwise", "counter-clockwise")


def _pages(said: str) -> int:
    return int(next(line.split()[1] for line in said.splitlines() if line.startswith("Pages:")))


def test_the_sheet_is_one_page_of_a4_named_for_its_eye(read: Callable[..., str]) -> None:
    said = read(_pdf(_signed()), "pdfinfo")
    assert _pages(said) == 1
    assert "(A4)" in said
    assert "Theatre sheet, right eye, demo-0042" in said
    assert "CreationDate:    D:20261116070200Z" in read(_pdf(_signed()), "pdfinfo", "-rawdates")


def test_the_sheet_holds_everything_the_theatre_needs(read: Callable[..., str]) -> None:
    stands = warning("x", "Measure this cornea again.", "biometry")
    said = _words(read(_pdf(_signed(warnings=(stands,), reasons="Measured twice.")), "pdftotext", "-layout"))
    for words in (
        "RIGHT EYE",
        "Ada Winterbourne",
        "demo-0042",
        "born 2 March 1951, 75 years",
        "16 November 2026",
        "Meadow One",
        "21.0 D",
        "\u22120.25 D",
        "\u22120.12 D \u00b1 0.60 D",
        "Worse for this patient: a miss on the long-sighted side.",
        "Look again. Measure this cornea again.",
        "The surgeon wrote: Measured twice.",
        "R. Calder (name typed, not verified)",
        "9 November 2026, 08:30 UTC",
        "Plan 3f9a11c07d22",
        "temporal, where the surgeon sits",
        "23.50 mm",
        "540 \u03bcm",
    ):
        assert words in said, words


def test_the_sheet_bears_the_odds_and_the_caution(read: Callable[..., str]) -> None:
    said = _words(read(_pdf(_signed()), "pdftotext"))
    assert CAUTION in said
    assert "21.0 D lands within half a dioptre of" in said


@pytest.mark.parametrize("what", ["Name", "Eye", "Lens", "Allergies"])
def test_the_safety_pause_asks_for_each_thing(read: Callable[..., str], what: str) -> None:
    pause = _words(read(_pdf(_signed()), "pdftotext", "-layout")).split("Safety pause: tick by hand")[1]
    assert what in pause


def test_an_unsigned_plan_is_marked_in_large_letters(read: Callable[..., str]) -> None:
    assert "DRAFT, NOT SIGNED" in read(_pdf(_draft()), "pdftotext")
    assert "DRAFT" not in read(_pdf(_signed()), "pdftotext")


@pytest.mark.parametrize(("side", "other"), [(Side.RIGHT, "LEFT"), (Side.LEFT, "RIGHT")])
def test_the_eye_is_told_by_its_word_alone(read: Callable[..., str], side: Side, other: str) -> None:
    said = read(_pdf(_signed(side)), "pdftotext")
    assert f"{side.upper()} EYE" in said
    assert other not in said


@pytest.mark.parametrize("side", list(Side))
def test_the_band_lies_where_the_eye_is_for_one_who_faces_the_patient(tmp_path: Path, side: Side) -> None:
    file, picture = tmp_path / "sheet.pdf", tmp_path / "sheet"
    file.write_bytes(_pdf(_signed(side)))
    command = ["pdftoppm", "-r", "20", "-gray", "-singlefile", str(file), str(picture)]
    subprocess.run(command, check=True)  # noqa: S603 - own words
    header, size, _, pixels = picture.with_suffix(".pgm").read_bytes().split(b"\n", 3)
    assert header == b"P5"
    wide, high = (int(number) for number in size.split())
    middle_row = pixels[wide * (high // 2) : wide * (high // 2 + 1)]
    left_is_dark, right_is_dark = middle_row[2] < 80, middle_row[-3] < 80
    assert (left_is_dark, right_is_dark) == (side is Side.RIGHT, side is Side.LEFT)


def test_a_hostile_name_is_printed_as_it_is(read: Callable[..., str]) -> None:
    name = '#set text(red) $x$ *b* <b>&"\\ `c` @d [e]'
    said = _words(read(_pdf(_signed(patient=ordinary_patient(name=name))), "pdftotext"))
    assert name in said


def test_a_name_with_signs_that_cannot_be_printed_says_so(read: Callable[..., str]) -> None:
    said = read(_pdf(_signed(patient=ordinary_patient(name="王小明"))), "pdftotext")
    assert "???" in said
    assert "? stands for a letter this sheet cannot print." in said
    assert "stands for a letter" not in read(
        _pdf(_signed(patient=ordinary_patient(name="Ada?"))), "pdftotext"
    )


def _worst(case: Case) -> Case:
    """Everything that can make a sheet longer, at once."""
    return replace(
        case,
        patient=ordinary_patient(name=LONG * 9, key="W" * 90),
        operation=ordinary_operation(),
        fellow=replace(ordinary_eye(case.side.other)),
    )


def test_twelve_findings_and_long_names_still_fit_one_page(read: Callable[..., str]) -> None:
    many = tuple(warning(f"x-{index}", f"Finding {index}. " + LONG * 8, "biometry") for index in range(12))
    case = _worst(_signed(warnings=many, reasons=LONG * 40))
    assert case.signed is not None
    changed = replace(case.intent, lens_power_dpt=20.0)
    signed = replace(case.signed, signed_by="W" * 200, replaces="c" * 64)
    longer = ordinary_eye(case.side, axial_length_mm=24.0)
    pdf = _pdf(replace(case, signed=signed, intent=changed, eye=longer))
    said = _words(read(pdf, "pdftotext"))
    assert _pages(read(pdf, "pdfinfo")) == 1
    shown = sum(f"Finding {index}." in said for index in range(12))
    assert f"and {12 - shown} more, see screen" in said
    assert "Safety pause" in said
    assert CAUTION in said


def test_a_draft_with_everything_missing_and_many_findings_fits_one_page(read: Callable[..., str]) -> None:
    many = tuple(note(f"x-{index}", f"Finding {index}. " + LONG * 8, "biometry") for index in range(12))
    case = replace(
        _worst(_draft()), intent=ordinary_intent(lens_power_dpt=None, lens_model=None), listed_on=None
    )
    pdf = _pdf(case, _plan(findings=many, odds=None, no_odds_because=LONG * 3, methods=()))
    said = read(pdf, "pdftotext")
    assert _pages(read(pdf, "pdfinfo")) == 1
    assert "NO POWER YET" in said
    assert "DRAFT, NOT SIGNED" in said


def test_few_findings_are_all_shown_and_none_are_said_to_be_left(read: Callable[..., str]) -> None:
    few = tuple(warning(f"x-{index}", f"Finding {index}.", "biometry") for index in range(4))
    said = read(_pdf(_signed(warnings=few)), "pdftotext")
    assert all(f"Finding {index}." in said for index in range(4))
    assert "more, see screen" not in said


def test_a_record_that_changed_after_signing_is_pointed_out(read: Callable[..., str]) -> None:
    case = _signed(eye=ordinary_eye(axial_length_mm=24.1))
    said = read(_pdf(case), "pdftotext")
    assert "The eye's record changed after signing" in said
    assert "24.10" not in said
    assert "changed after signing" not in read(_pdf(_signed()), "pdftotext")


def test_a_later_draft_does_not_reach_the_sheet_of_a_signed_plan(read: Callable[..., str]) -> None:
    case = _signed()
    said = read(_pdf(replace(case, intent=replace(case.intent, lens_power_dpt=19.5))), "pdftotext")
    assert "A later draft differs from the signed plan" in said
    assert "19.5 D" not in said


def test_no_sheet_is_printed_from_a_plan_that_is_not_the_signed_one() -> None:
    other = replace(_plan(), request=_request(target_refraction_dpt=-1.0))
    with pytest.raises(InconsistentRecordError, match="not the one that was signed"):
        _pdf(_signed(), other)


def test_no_sheet_is_printed_from_a_plan_of_the_other_eye() -> None:
    with pytest.raises(InconsistentRecordError, match="other eye"):
        _pdf(_draft(Side.LEFT), _plan(Side.RIGHT))


def test_an_eye_already_operated_on_is_pointed_out(read: Callable[..., str]) -> None:
    said = read(_pdf(_signed(operation=ordinary_operation())), "pdftotext")
    assert "This eye was operated on 16 November 2026." in said


def test_only_the_shipped_fonts_are_used_and_all_are_embedded(read: Callable[..., str]) -> None:
    rows = read(_pdf(_signed()), "pdffonts").splitlines()[2:]
    assert {row.split()[0].split("+")[1].split("-")[0] for row in rows} == {"AtkinsonHyperlegibleNext"}
    assert all(row.split()[-5:-2] == ["yes", "yes", "yes"] for row in rows)


def test_the_sheet_declares_itself_an_archive_page_that_can_be_read_aloud() -> None:
    pdf = _pdf(_signed())
    assert b"pdfaid:part" in pdf
    assert b"pdfuaid:part" in pdf


def test_the_same_input_gives_the_same_bytes_in_another_process() -> None:
    script = (
        "import sys, test_theatre_sheet as t, hashlib;print(hashlib.sha256(t._pdf(t._signed())).hexdigest())"
    )
    here = Path(__file__).parent
    path = os.pathsep.join([str(here), str(here.parent)])
    runs = [
        subprocess.run(  # noqa: S603 - own words
            [sys.executable, "-c", script],
            check=True,
            capture_output=True,
            text=True,
            env={**os.environ, "PYTHONPATH": path, "PYTHONHASHSEED": seed},
        ).stdout
        for seed in ("1", "2")
    ]
    assert runs[0] == runs[1]
    assert len(runs[0].strip()) == 64


def test_another_moment_of_printing_gives_another_sheet() -> None:
    assert _pdf(_signed()) != _pdf(_signed(), printed_at=PRINTED_AT.replace(minute=3))


def test_a_sheet_with_every_measurement_has_room_for_five_findings_of_ordinary_length(
    read: Callable[..., str],
) -> None:
    """Doubts left standing must not be pushed off the sheet by the table of measurements."""
    sentence = (
        "In 125 eyes longer than 25 mm these formulas ended hyperopic on average, by up to 0.74 D each. "
    )
    five = tuple(warning(f"x-{index}", f"Finding {index}. {sentence}", "biometry") for index in range(5))
    cornea = Keratometry(
        Meridian(Measured(7.90, 0.03, 5), Measured(42.72, 0.18, 5)),
        Meridian(Measured(7.73, 0.03, 5), Measured(43.66, 0.18, 5)),
        steep_meridian_deg=107.0,
        keratometric_index=1.3375,
    )
    eye = ordinary_eye(readiness=ordinary_readiness(), axial_length_mm=Measured(26.12, 0.02, 5))
    eye = replace(eye, biometry=replace(eye.biometry, keratometry=cornea))
    request = replace(_request(), eye=eye)
    case = _signed(warnings=five, reasons="Seen.", fellow=ordinary_eye(Side.LEFT))
    assert case.signed is not None
    case = replace(case, eye=request.eye, signed=replace(case.signed, request=request))
    said = read(_pdf(case, replace(_plan(), request=request)), "pdftotext")
    assert all(f"Finding {index}." in said for index in range(5))
    assert "more, see screen" not in said


def test_the_lenses_for_a_torn_capsule_stand_beside_the_planned_one(read: Callable[..., str]) -> None:
    backup = _backup(three_piece(), three_piece("Zinnia"), chamber_lens())
    said = _words(read(_pdf(_signed(), _plan(backup=backup)), "pdftotext", "-layout"))
    block = said.split("If the capsule tears")[1].split("Findings left standing")[0]
    for words in (
        "Sulcus three-piece Meadow Three 20.0 D \u22120.26 D 19.1 to 20.4 D 20.0 D",
        "Sulcus, optic captured three-piece Meadow Three 20.5 D",
        "Anterior chamber Meadow Gate 17.5 D",
        "Meadow One is made in one piece and must not lie in the sulcus",
        "1 more lens on the screen.",
        "Distances and step rule are from memory",
    ):
        assert words in block, words


def test_a_lens_for_a_torn_capsule_is_never_printed_as_large_as_the_planned_one(tmp_path: Path) -> None:
    file = tmp_path / "sheet.pdf"
    file.write_bytes(_pdf(_signed(), _plan(backup=_backup(three_piece(), chamber_lens()))))
    command = ["pdftotext", "-bbox", str(file), "-"]
    said = subprocess.run(command, check=True, capture_output=True, text=True).stdout  # noqa: S603 - own words
    words = re.findall(r'yMin="([\d.]+)" xMax="[\d.]+" yMax="([\d.]+)">([^<]+)<', said)
    heights = {text: float(low) - float(high) for high, low, text in reversed(words)}
    assert heights["21.0"] > 4.0 * max(heights["20.5"], heights["17.5"])


def test_without_a_lens_in_the_catalogue_the_sheet_names_a_power_and_no_lens(
    read: Callable[..., str],
) -> None:
    made = _plan(backup=_backup(depth_mm=math.nan))
    said = _words(read(_pdf(_signed(), made), "pdftotext", "-layout"))
    assert "Sulcus no lens in the catalogue about 20.0 D" in said
    assert "Anterior chamber not computed" in said


def test_a_plan_without_a_backup_has_no_such_block(read: Callable[..., str]) -> None:
    assert "If the capsule tears" not in read(_pdf(_signed()), "pdftotext")
    nothing = backup_lenses(single_piece(), None, 0.0, {}, ())
    assert "If the capsule tears" not in read(_pdf(_signed(), _plan(backup=nothing)), "pdftotext")


def test_long_names_in_every_place_still_leave_one_page(read: Callable[..., str]) -> None:
    many = tuple(warning(f"x-{index}", f"Finding {index}. " + LONG * 8, "biometry") for index in range(12))
    backup = _backup(three_piece(LONG * 3), chamber_lens("W" * 90), planned=LONG * 3)
    signed = _worst(_signed(warnings=many, reasons=LONG * 40))
    assert signed.signed is not None
    signed = replace(signed, intent=replace(signed.intent, lens_power_dpt=20.0))
    assert _pages(read(_pdf(signed, _plan(backup=backup)), "pdfinfo")) == 1
    draft = _worst(_draft())
    pdf = _pdf(draft, _plan(findings=many, odds=None, no_odds_because=LONG * 3, backup=backup))
    said = _words(read(pdf, "pdftotext"))
    assert _pages(read(pdf, "pdfinfo")) == 1
    assert "more, see screen" in said
    assert CAUTION in said


def _toric(
    case: Case, meridian_deg: float | None = 104.0, seat: Seat = Seat.SUPERIOR, **changes: Any
) -> Case:
    """The same case with a toric lens, in the draft and in the signature."""
    wishes = {
        "lens_cylinder_dpt": 2.25,
        "lens_meridian_deg": meridian_deg,
        "marking": MarkingName.UPRIGHT_INK,
        "seat": seat,
        **changes,
    }
    intent = replace(case.intent, **wishes)
    signed = None if case.signed is None else replace(case.signed, intent=intent)
    return replace(case, intent=intent, signed=signed)


def _toric_plan(side: Side = Side.RIGHT, **changes: Any) -> Plan:
    return _plan(side, toric=toric_plan(), **changes)


def test_a_toric_lens_tells_cylinder_meridian_seat_marking_model_and_what_slips_would_leave(
    read: Callable[..., str],
) -> None:
    said = _words(read(_pdf(_toric(_signed()), _toric_plan()), "pdftotext", "-raw"))
    for words in (
        "2.25 D",
        "marks at",
        "104\u00b0",
        axis_words(104.0, Side.RIGHT, Seat.SUPERIOR),
        "Marking: ink, patient upright, then a ring.",
        "Cornea by Abulafia and Koch 2016.",
        "Set 90\u00b0 off, at 14\u00b0, it would leave 3.24 D; mirrored, at 76\u00b0, 1.42 D.",
        "lens marks 104\u00b0, planned",
        "axis marked at 104\u00b0",
        "Meadow One, 21.0 D, cylinder 2.25 D",
    ):
        assert words in said, words


@pytest.mark.parametrize("side", list(Side))
@pytest.mark.parametrize("seat", list(Seat))
def test_the_axis_is_said_from_the_seat_that_was_chosen(
    read: Callable[..., str], side: Side, seat: Seat
) -> None:
    said = _words(read(_pdf(_toric(_signed(side), seat=seat), _toric_plan(side)), "pdftotext", "-raw"))
    assert axis_words(104.0, side, seat) in said


def test_cylinder_and_meridian_stand_in_type_that_is_large_for_a_wall(read: Callable[..., str]) -> None:
    pdf = _pdf(_toric(_signed()), _toric_plan())
    tall = [
        (float(bottom) - float(top), word)
        for top, bottom, word in re.findall(
            r'<word [^>]*yMin="([\d.]+)"[^>]*yMax="([\d.]+)">([^<]+)</word>', read(pdf, "pdftotext", "-bbox")
        )
    ]
    for word in ("2.25", "104\u00b0", "21.0"):
        assert max(height for height, one in tall if one == word) > 20.0, word


def test_the_sheet_prints_the_meridian_that_was_signed_and_stops_at_what_blocks_it(
    read: Callable[..., str],
) -> None:
    slip = blocking("lens-axis-mirrored", "That is 180 minus it.", "toric.lens_meridian_deg")
    pdf = _pdf(_toric(_signed(), 76.0), _toric_plan(findings=(slip, slip)))
    said = _words(read(pdf, "pdftotext", "-raw"))
    assert "Lens marks at 76\u00b0." in said
    assert "STOP. That is 180 minus it. (1 more on the screen)" in said
    assert "STOP" not in read(_pdf(_toric(_signed()), _toric_plan()), "pdftotext")


def test_a_later_draft_of_the_axis_does_not_reach_the_sheet(read: Callable[..., str]) -> None:
    case = _toric(_signed())
    later = replace(case, intent=replace(case.intent, lens_meridian_deg=14.0, lens_cylinder_dpt=4.75))
    said = read(_pdf(later, _toric_plan()), "pdftotext")
    assert "4.75 D" not in said
    assert "Lens marks at 104\u00b0." in _words(said)
    seen = replace(case, axis_visits=(ordinary_axis_visit(lens_meridian_deg=44.0),))
    assert "seen 17" not in read(_pdf(seen, _toric_plan()), "pdftotext")


def test_the_sheet_of_a_draft_takes_the_meridian_of_its_plan(read: Callable[..., str]) -> None:
    said = _words(read(_pdf(_toric(_draft(), None), _toric_plan()), "pdftotext"))
    assert "Lens marks at 104\u00b0." in said
    assert "DRAFT, NOT SIGNED" in said


def test_a_toric_model_chosen_without_cylinder_says_so_and_another_lens_says_nothing(
    read: Callable[..., str],
) -> None:
    steps = replace(LENS, cylinders_dpt=(1.5, 2.25))
    case = _toric(_draft(), None, lens_cylinder_dpt=0.0)
    made = _plan()
    made = replace(made, request=replace(made.request, lens=steps))
    assert "Cylinder: none" in _words(read(_pdf(case, made), "pdftotext"))
    plain = read(_pdf(_signed()), "pdftotext")
    assert "ylinder" not in plain
    assert "marks at" not in plain


def test_a_toric_sheet_still_has_room_for_five_findings_of_ordinary_length(
    read: Callable[..., str],
) -> None:
    sentence = "In 125 eyes longer than 25 mm these formulas ended hyperopic on average, by up to 0.74 D. "
    five = tuple(warning(f"x-{index}", f"Finding {index}. {sentence}", "biometry") for index in range(5))
    spare = _backup(single_piece(), three_piece(), chamber_lens())
    pdf = _pdf(_toric(_signed(warnings=five, reasons="Seen.")), _toric_plan(backup=spare))
    said = read(pdf, "pdftotext")
    assert all(f"Finding {index}." in said for index in range(5))
    assert "Axial length" in said
    assert _pages(read(pdf, "pdfinfo")) == 1


@pytest.mark.parametrize("backup", [None, _backup(single_piece(), three_piece(), chamber_lens())])
def test_nothing_on_the_fullest_toric_sheet_lies_on_anything_else(
    read: Callable[..., str], backup: Backup | None
) -> None:
    many = tuple(warning(f"x-{index}", f"Finding {index}. " + LONG * 8, "biometry") for index in range(12))
    case = _worst(_toric(_signed(warnings=many, reasons=LONG * 40)))
    assert case.signed is not None
    signed = replace(case.signed, signed_by="W" * 200, replaces="c" * 64)
    case = replace(case, signed=signed, intent=replace(case.intent, lens_power_dpt=20.0))
    case = replace(case, eye=ordinary_eye(axial_length_mm=24.0))
    slip = blocking("lens-axis-mirrored", LONG * 8, "toric.lens_meridian_deg")
    pdf = _pdf(case, _toric_plan(backup=backup, findings=(slip, slip)))
    lines = _line_tops(read(pdf, "pdftotext", "-bbox-layout"))
    assert _pages(read(pdf, "pdfinfo")) == 1
    start = next(top for top, words in lines if words.startswith("The surgeon wrote"))
    wrote = max(top for top, words in lines if "Waxworth" in words and top >= start)
    pause = next(top for top, words in lines if words.startswith("Safety pause"))
    last = max(top for top, _ in lines)
    assert wrote + 10 < pause < last < 842 - 20
    has_room = "Axial length" in read(pdf, "pdftotext")
    assert has_room is not ("No room for the measurements" in read(pdf, "pdftotext"))


def _line_tops(page: str) -> list[tuple[float, str]]:
    """Every line of the page: how far down it starts, and its words."""
    found = re.findall(r'<line [^>]*yMin="([\d.]+)"[^>]*>(.*?)</line>', page, re.DOTALL)
    return [(float(top), " ".join(re.findall(r">([^<]+)</word>", words))) for top, words in found]
