from __future__ import annotations

from dataclasses import replace
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drawings.drawn import method, plan, root
from fakes.examples import ordinary_case, ordinary_eye, ordinary_review
from zonule.case.plan import Seat
from zonule.drawings.errors import errors_drawing
from zonule.drawings.eye_face import eye_face
from zonule.drawings.eye_section import eye_section
from zonule.drawings.methods import methods_drawing
from zonule.drawings.odds import odds_drawing
from zonule.drawings.result import result_drawing
from zonule.drawings.svg import Drawing, picture, text

HOSTILE = "\"><script>alert('&')</script>\x00\x07]]>"


def _every_drawing() -> dict[str, Drawing]:
    without = replace(plan(), odds=None, no_odds_because=HOSTILE)
    hostile = replace(plan(), methods=(method(HOSTILE), method("haigis", counts=False)))
    return {
        "face": eye_face(ordinary_case()),
        "face from a seat, dark": eye_face(ordinary_case(), seat=Seat.TEMPORAL, dark=True),
        "section": eye_section(ordinary_case(eye=ordinary_eye(lens_thickness_mm=None))),
        "odds": odds_drawing(plan(), chosen_power_dpt=21.0),
        "odds on a phone": odds_drawing(plan(), chosen_power_dpt=21.0, width=340),
        "no odds": odds_drawing(without, chosen_power_dpt=None),
        "no odds, no methods": odds_drawing(replace(without, methods=()), chosen_power_dpt=None, width=340),
        "methods": methods_drawing(hostile, 21.0),
        "methods on a phone": methods_drawing(hostile, 21.0, width=340),
        "errors": errors_drawing([0.1, -0.6, 0.2]),
        "no errors": errors_drawing([]),
        "result": result_drawing(-0.12, ordinary_review()),
    }


DRAWINGS = [pytest.param(drawing, id=name) for name, drawing in _every_drawing().items()]


@pytest.mark.parametrize("drawing", DRAWINGS)
def test_a_drawing_is_xml_with_a_name_and_a_description(drawing: Drawing) -> None:
    svg = root(drawing)
    assert svg.get("role") == "img"
    title, description = svg[0], svg[1]
    assert title.tag.endswith("title")
    assert description.tag.endswith("desc")
    assert (title.text or "").strip()
    assert (description.text or "").strip()


@pytest.mark.parametrize("drawing", DRAWINGS)
def test_a_drawing_needs_no_script_no_style_and_no_ids(drawing: Drawing) -> None:
    for one in root(drawing).iter():
        assert one.tag.rsplit("}")[-1] not in {"script", "style", "foreignObject", "image", "a", "use"}
        assert not {"style", "id", "href"} & set(one.keys())
        assert not [name for name in one.keys() if name.startswith("on")]  # noqa: SIM118 - an XML element


def test_the_same_record_gives_the_same_bytes() -> None:
    assert _every_drawing() == _every_drawing()


@given(st.text())
def test_any_text_at_all_stays_text(content: str) -> None:
    drawing = picture(
        "test", (0, 0, 1, 1), [text((0, 0), content, size=1, fill="#000")], title=content, description="d"
    )
    written = ET.fromstring(drawing.svg)  # noqa: S314 - our own drawing
    assert [one.tag.rsplit("}")[-1] for one in written] == ["title", "desc", "text"]


def test_hostile_words_are_written_as_they_are() -> None:
    drawing = _every_drawing()["methods"]
    assert "<script>" not in drawing.svg
    assert any("<script>alert('&')</script>" in (one.text or "") for one in root(drawing).iter())
