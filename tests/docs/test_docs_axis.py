"""The page about the axis says what the words of the axis say, beside the picture that is drawn."""

from __future__ import annotations

from importlib.util import module_from_spec, spec_from_file_location
from types import ModuleType

from docs.manual import ROOT, table_rows, text_of
from zonule.drawings.axis_words import axis_words

PAGE = "docs/how-to/put-a-toric-lens-on-its-axis.md"


def _tool() -> ModuleType:
    spec = spec_from_file_location("draw_axis", ROOT / "tools" / "draw_axis.py")
    assert spec is not None
    assert spec.loader is not None
    tool = module_from_spec(spec)
    spec.loader.exec_module(tool)
    return tool


def test_the_picture_of_the_page_is_the_one_that_is_drawn() -> None:
    assert "](../pictures/axis-from-the-seat.svg)" in text_of(PAGE)
    drawn = (ROOT / "docs" / "pictures" / "axis-from-the-seat.svg").read_text(encoding="utf-8")
    assert drawn == _tool().drawing()


def test_the_sentences_of_the_page_are_those_of_the_eye_in_its_picture() -> None:
    tool = _tool()
    said = [axis_words(tool.MERIDIAN_DEG, tool.SIDE, seat).split(". ", 2)[1:] for seat in tool.SEATS]
    from_here, from_everywhere = zip(*said, strict=True)
    told = [cells[1] for cells in table_rows(PAGE)]
    assert told[:3] == [f"{words}." for words in from_here]
    assert {told[3]} == set(from_everywhere)


def test_the_page_about_the_left_eye_is_right() -> None:
    tool = _tool()
    left = axis_words(tool.MERIDIAN_DEG, tool.SIDE.other, None)
    assert "14\u00b0 from superior toward nasal" in left
    assert "14\u00b0 from superior toward *nasal*" in " ".join(text_of(PAGE).split())
