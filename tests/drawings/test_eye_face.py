from __future__ import annotations

from dataclasses import replace
from datetime import date
from math import atan2, degrees

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drawings.drawn import number, part, parts, points, root, said, text_of, texts
from fakes.examples import (
    ordinary_axis_visit,
    ordinary_case,
    ordinary_eye,
    ordinary_intent,
    ordinary_lens,
    ordinary_operation,
    ordinary_readiness,
    ordinary_signed_plan,
)
from zonule.case.axis_visit import AxisVisit
from zonule.case.case import Case
from zonule.case.operation import Fixation
from zonule.case.patient import Side
from zonule.case.plan import Seat
from zonule.case.toric import MarkingName
from zonule.drawings.eye_face import eye_face
from zonule.drawings.labels import text_width
from zonule.drawings.svg import Drawing

LENS = ordinary_lens(optic_mm=6.0)
SEATS = [None, Seat.SUPERIOR, Seat.TEMPORAL]


def _case(
    side: Side = Side.RIGHT,
    *,
    pupil_mm: float | None = 7.0,
    incision_deg: float | None = 180.0,
    **eye: object,
) -> Case:
    readiness = ordinary_readiness(dilated_pupil_mm=pupil_mm)
    return ordinary_case(
        side,
        eye=ordinary_eye(side, readiness=readiness, **eye),
        intent=ordinary_intent(incision_meridian_deg=incision_deg),
    )


def _steep_ends_deg(drawing: Drawing) -> list[float]:
    """Directions of the marks of the steep meridian, counter-clockwise from the right."""
    marks = parts(drawing, "steep")[:2]
    return sorted(degrees(atan2(-number(one, "y2"), number(one, "x2"))) % 360 for one in marks)


def test_a_pupil_of_6_mm_is_drawn_half_as_wide_as_a_limbus_of_12_mm() -> None:
    drawing = eye_face(_case(pupil_mm=6.0, white_to_white_mm=12.0))
    assert number(part(drawing, "limbus"), "r") == 2 * number(part(drawing, "pupil"), "r") == 6.0


def test_the_scale_bar_is_5_mm_in_the_units_of_the_picture() -> None:
    drawing = eye_face(_case())
    label = number(text_of(drawing, "5 mm"), "y")
    bars = [
        one
        for one in root(drawing).iter()
        if one.tag.endswith("line") and number(one, "y1") == number(one, "y2")
    ]
    near = [one for one in bars if abs(number(one, "y1") - label) < 0.5]
    assert [number(one, "x2") - number(one, "x1") for one in near] == [5.0]


@pytest.mark.parametrize(("side", "sign"), [(Side.RIGHT, 1), (Side.LEFT, -1)])
def test_facing_the_patient_the_nose_is_right_of_a_right_eye_and_left_of_a_left_eye(
    side: Side, sign: int
) -> None:
    drawing = eye_face(_case(side))
    assert sign * number(text_of(drawing, "nasal"), "x") > 5
    assert sign * number(text_of(drawing, "temporal"), "x") < -5


@pytest.mark.parametrize("seat", SEATS)
def test_nasal_and_temporal_of_the_two_eyes_mirror_each_other(seat: Seat | None) -> None:
    both = [eye_face(_case(side, incision_deg=None), seat=seat) for side in Side]
    for word in ("superior", "inferior", "nasal", "temporal"):
        right, left = (
            next(one for one in texts(drawing) if (one.text or "").startswith(word)) for drawing in both
        )
        assert number(right, "x") == pytest.approx(-number(left, "x"), abs=0.01)


@pytest.mark.parametrize("side", list(Side))
def test_meridians_run_counter_clockwise_from_the_right_in_both_eyes_alike(side: Side) -> None:
    drawing = eye_face(_case(side, incision_deg=None, steep_meridian_deg=60.0))
    assert number(text_of(drawing, "0"), "x") > 5
    assert number(text_of(drawing, "270"), "y") > 5
    assert _steep_ends_deg(drawing) == pytest.approx([60, 240], abs=0.1)


def test_a_meridian_of_0_is_drawn_as_one_of_180() -> None:
    assert eye_face(_case(steep_meridian_deg=0.0)) == eye_face(_case(steep_meridian_deg=180.0))


def test_from_the_head_everything_is_turned_by_half_a_circle_and_letters_stay_upright() -> None:
    case = _case(steep_meridian_deg=60.0, incision_deg=None)
    drawing = eye_face(case, seat=Seat.SUPERIOR)
    assert number(text_of(drawing, "0"), "x") < -5
    assert number(text_of(drawing, "nasal"), "x") < -5
    assert number(text_of(drawing, "superior, where the surgeon sits"), "y") > 5
    assert "transform" not in drawing.svg
    assert _steep_ends_deg(
        eye_face(replace(case, eye=ordinary_eye(steep_meridian_deg=90.0)), seat=Seat.SUPERIOR)
    ) == [
        90,
        270,
    ]


@pytest.mark.parametrize(("side", "sign"), [(Side.RIGHT, -1), (Side.LEFT, 1)])
def test_from_the_temple_the_temple_is_below_and_the_head_on_the_side_where_it_lies(
    side: Side, sign: int
) -> None:
    drawing = eye_face(_case(side, incision_deg=None, steep_meridian_deg=30.0), seat=Seat.TEMPORAL)
    assert number(text_of(drawing, "temporal, where the surgeon sits"), "y") > 5
    assert number(text_of(drawing, "nasal"), "y") < -5
    assert sign * number(text_of(drawing, "superior"), "x") > 5
    turned = {Side.RIGHT: [120, 300], Side.LEFT: [120, 300]}
    assert _steep_ends_deg(drawing) == pytest.approx(turned[side], abs=0.1)


def test_a_temporal_incision_of_a_right_eye_lies_at_180_degrees_by_the_word_temporal() -> None:
    drawing = eye_face(_case(incision_deg=180.0))
    tip = points(parts(drawing, "incision")[0])[0]
    assert tip == pytest.approx((-5.65, 0), abs=0.01)
    assert number(text_of(drawing, "temporal"), "x") < -5


def test_the_plan_is_dashed_until_it_is_done() -> None:
    case = _case()
    planned, done = (
        eye_face(case, lens=LENS),
        eye_face(replace(case, operation=ordinary_operation()), lens=LENS),
    )
    for ring in ("optic", "capsulorhexis"):
        assert part(planned, ring).get("stroke-dasharray")
        assert part(done, ring).get("stroke-dasharray") is None
    assert number(part(done, "capsulorhexis"), "r") == 5.1 / 2
    assert "capsulorhexis 5.2 mm, planned" in planned.description
    assert "capsulorhexis 5.1 mm, done" in done.description


def test_an_optic_is_drawn_only_for_the_lens_that_is_meant_or_was_implanted() -> None:
    case = _case()
    other = replace(case, operation=ordinary_operation(lens_model="Another"))
    none = replace(case, operation=ordinary_operation(fixation=Fixation.NO_LENS))
    assert parts(eye_face(case), "optic") == []
    assert parts(eye_face(other, lens=LENS), "optic") == []
    assert parts(eye_face(none, lens=LENS), "optic") == []


def test_the_signed_lens_lends_its_optic() -> None:
    signed = ordinary_signed_plan()
    signed = replace(signed, request=replace(signed.request, lens=LENS))
    assert number(part(eye_face(replace(_case(), signed=signed)), "optic"), "r") == 3.0


def test_a_limbus_that_was_not_measured_is_dotted_and_said_in_words() -> None:
    drawing = eye_face(_case(white_to_white_mm=None))
    assert part(drawing, "limbus").get("stroke-dasharray")
    assert "limbus not measured, drawn at 11.8 mm" in said(drawing)


def test_a_measured_limbus_is_solid() -> None:
    assert part(eye_face(_case()), "limbus").get("stroke-dasharray") is None


def test_a_pupil_that_was_not_measured_is_not_drawn_and_said_in_words() -> None:
    drawing = eye_face(_case(pupil_mm=None))
    assert parts(drawing, "pupil") == []
    assert "dilated pupil not measured" in said(drawing)


def test_a_measured_pupil_is_called_an_apparent_size() -> None:
    assert "dilated pupil 7.0 mm, measured, apparent size" in said(eye_face(_case()))


def test_an_eye_without_a_steep_meridian_shows_none() -> None:
    drawing = eye_face(_case(steep_meridian_deg=None))
    assert parts(drawing, "steep") == []
    assert "steep meridian not measured" in said(drawing)


def test_the_side_stands_in_words_in_the_picture_and_in_its_name() -> None:
    drawing = eye_face(_case(Side.LEFT))
    assert "Left eye" in said(drawing)
    assert drawing.description.startswith("Left eye, seen facing the patient")


def test_dark_changes_colours_and_nothing_else() -> None:
    light, dark = root(eye_face(_case(), lens=LENS)), root(eye_face(_case(), lens=LENS, dark=True))
    assert [one.get("r") for one in light.iter()] == [one.get("r") for one in dark.iter()]
    assert [one.text for one in light.iter()] == [one.text for one in dark.iter()]
    assert eye_face(_case()).svg != eye_face(_case(), dark=True).svg


@settings(max_examples=300, deadline=None)
@given(
    side=st.sampled_from(list(Side)),
    seat=st.sampled_from(SEATS),
    white_mm=st.none() | st.floats(9.0, 14.0),
    steep=st.none() | st.integers(1, 180),
    incision=st.none() | st.integers(0, 359),
    lens=st.none() | st.integers(1, 180),
    lying=st.none() | st.integers(-12, 90),
)
def test_whatever_the_eye_no_words_leave_the_picture_or_cover_each_other(
    side: Side,
    seat: Seat | None,
    white_mm: float | None,
    steep: float | None,
    incision: float | None,
    lens: float | None,
    lying: int | None,
) -> None:
    case = _case(side, white_to_white_mm=white_mm, steep_meridian_deg=steep, incision_deg=incision)
    if lens is not None:
        case = _toric(case, lens)
        if lying is not None:
            case = replace(case, axis_visits=(_look((lens + lying) % 180 or 180),))
    drawing = eye_face(case, seat=seat, lens=LENS)
    left, top, width, height = (float(edge) for edge in (root(drawing).get("viewBox") or "").split())
    boxes = [_box(one) for one in texts(drawing)]
    for box in boxes:
        assert left <= box[0] < box[2] <= left + width
        assert top <= box[1] < box[3] <= top + height
    for index, box in enumerate(boxes):
        for other in boxes[:index]:
            apart = box[2] <= other[0] or other[2] <= box[0] or box[3] <= other[1] or other[3] <= box[1]
            assert apart, (box, other)


def _toric(case: Case, meridian_deg: float, **changes: object) -> Case:
    wishes = {"lens_cylinder_dpt": 2.25, "marking": MarkingName.UPRIGHT_INK, **changes}
    return replace(case, intent=replace(case.intent, lens_meridian_deg=meridian_deg, **wishes))  # type: ignore[arg-type]


def _look(meridian_deg: float, day: int = 17) -> AxisVisit:
    return ordinary_axis_visit(seen_on=date(2026, 11, day), lens_meridian_deg=float(meridian_deg))


def _box(element: object) -> tuple[float, float, float, float]:
    size, x, y = (number(element, name) for name in ("font-size", "x", "y"))  # type: ignore[arg-type]
    wide = text_width(element.text or "", size)  # type: ignore[attr-defined]
    start = x - {None: 0.0, "middle": 0.5, "end": 1.0}[element.get("text-anchor")] * wide  # type: ignore[attr-defined]
    return start, y - 0.75 * size, start + wide, y + 0.2 * size
