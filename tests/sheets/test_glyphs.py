from __future__ import annotations

import hashlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from zonule.drawings import numbers
from zonule.sheets.glyphs import FONTS, printable


def test_the_fonts_are_the_ones_whose_hashes_are_kept() -> None:
    lines = (FONTS / "SHA256SUMS").read_text().splitlines()
    kept = {name: digest for digest, name in (line.split() for line in lines)}
    found = {file.name: hashlib.sha256(file.read_bytes()).hexdigest() for file in FONTS.glob("*.t[tx][ft]")}
    assert kept == found
    assert {"OFL.txt"} < set(kept)


@pytest.mark.parametrize("name", ["Ada Winterbourne", "Łucja Đurić-O'Neill", "Åsa Ñandú", "Жанна", "Ελένη"])
def test_names_in_latin_greek_and_cyrillic_stay_as_they_are(name: str) -> None:
    assert printable(name) == name


def test_signs_that_no_font_has_become_question_marks() -> None:
    assert printable("王小明 a") == "??? a"


def test_marks_that_turn_the_direction_of_text_are_not_let_through() -> None:
    assert printable("a\u202eb\u2066c\x07d") == "a?b?c?d"


def test_line_breaks_become_spaces() -> None:
    assert printable("  a\n\n b\t") == "a b"


def test_every_sign_of_our_own_numbers_can_be_printed() -> None:
    signs = numbers.MINUS + numbers.PLUS_MINUS + numbers.DEGREE + numbers.TIMES + "\u2026\u03bc"
    assert printable(signs) == signs


@given(st.text())
def test_printing_twice_changes_nothing_more(text: str) -> None:
    once = printable(text)
    assert printable(once) == once
