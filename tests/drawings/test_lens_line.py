from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from math import atan2, cos, degrees, hypot, radians, sin
from typing import Any

import pytest

from drawings.drawn import number, parts, plan, root, said
from fakes.examples import (
    ordinary_axis_visit,
    ordinary_case,
    ordinary_eye,
    ordinary_intent,
    ordinary_lens,
    ordinary_operation,
    ordinary_readiness,
    ordinary_review,
    ordinary_signed_plan,
)
from fakes.toric import toric_plan
from zonule.case.case import Case
from zonule.case.operation import Fixation
from zonule.case.patient import Side
from zonule.case.plan import Seat
from zonule.case.toric import MarkingName
from zonule.drawings.eye_face import eye_face
from zonule.drawings.ink import PAPER
from zonule.drawings.seen_eye import as_signed, with_meridian
from zonule.drawings.svg import Drawing

LENS = ordinary_lens(optic_mm=6.0)


def _case(
    side: Side = Side.RIGHT,
    meridian_deg: float | None = 104.0,
    cylinder_dpt: float | None = 2.25,
    **changes: Any,
) -> Case:
    eye = ordinary_eye(side, readiness=ordinary_readiness(dilated_pupil_mm=7.0))
    intent = ordinary_intent(lens_cylinder_dpt=cylinder_dpt, lens_meridian_deg=meridian_deg)
    return replace(ordinary_case(side, eye=eye, intent=intent), **changes)


def _marks(drawing: Drawing) -> list[tuple[float, float]]:
    """Where the marks of the lens lie, y upward."""
    return [(number(one, "cx"), -number(one, "cy")) for one in parts(drawing, "lens-mark")]


def _directions_deg(drawing: Drawing) -> set[int]:
    return {round(degrees(atan2(y, x)) % 360) for x, y in _marks(drawing)}


def _by_hand(meridian_deg: float, side: Side, seat: Seat | None) -> Iterator[int]:
    """Both ends of a meridian, turned to the seat by coordinates written out, counter-clockwise degrees."""
    for sign in (1, -1):
        x, y = sign * cos(radians(meridian_deg)), sign * sin(radians(meridian_deg))
        if seat is Seat.SUPERIOR:
            x, y = -x, -y
        elif seat is Seat.TEMPORAL:
            # The temple of the right eye lies at the left of one who faces it, and comes to lie below.
            x, y = (-y, x) if side is Side.RIGHT else (y, -x)
        yield round(degrees(atan2(y, x)) % 360) % 360


@pytest.mark.parametrize("side", list(Side))
@pytest.mark.parametrize("seat", [None, *Seat])
@pytest.mark.parametrize("meridian_deg", [1.0, 37.0, 90.0, 104.0, 180.0])
def test_the_marks_lie_on_the_meridian_turned_to_the_seat(
    side: Side, seat: Seat | None, meridian_deg: float
) -> None:
    drawing = eye_face(_case(side, meridian_deg), seat=seat, lens=LENS)
    assert {one % 360 for one in _directions_deg(drawing)} == set(_by_hand(meridian_deg, side, seat))


def test_three_marks_lie_at_each_end_just_inside_the_optic() -> None:
    radii = sorted(round(hypot(*one), 2) for one in _marks(eye_face(_case(), lens=LENS)))
    assert radii == [1.7, 1.7, 2.2, 2.2, 2.7, 2.7]
    small = replace(LENS, optic_mm=5.5)
    assert max(hypot(*one) for one in _marks(eye_face(_case(), lens=small))) == pytest.approx(2.45, abs=0.01)


def test_an_optic_that_is_not_on_record_is_said_beside_marks_drawn_for_one_of_6_mm() -> None:
    drawing = eye_face(_case())
    assert max(hypot(*one) for one in _marks(drawing)) == pytest.approx(2.7, abs=0.01)
    assert "optic not on record, marks drawn 6.0 mm apart" in said(drawing)


def test_a_planned_line_is_dashed_with_open_marks_and_said() -> None:
    drawing = eye_face(_case(), lens=LENS)
    assert all(one.get("stroke-dasharray") for one in parts(drawing, "lens-line"))
    assert {one.get("fill") for one in parts(drawing, "lens-mark")} == {PAPER.pupil}
    assert "lens marks 104\u00b0, planned" in said(drawing)
    assert "lens marks 104\u00b0, planned" in drawing.description


def test_a_placed_line_is_solid_with_filled_marks() -> None:
    placed = ordinary_operation(lens_cylinder_dpt=2.25, lens_meridian_deg=104.0)
    drawing = eye_face(_case(operation=placed), lens=LENS)
    assert not any(one.get("stroke-dasharray") for one in parts(drawing, "lens-line"))
    assert {one.get("fill") for one in parts(drawing, "lens-mark")} == {PAPER.on_pupil}
    assert "lens marks 104\u00b0, placed" in said(drawing)


def test_a_lens_seen_elsewhere_than_planned_shows_both_lines() -> None:
    case = _case(
        operation=ordinary_operation(lens_cylinder_dpt=2.25, lens_meridian_deg=105.0),
        axis_visits=(ordinary_axis_visit(lens_meridian_deg=116.0),),
    )
    drawing = eye_face(case, lens=LENS)
    assert _directions_deg(drawing) == {104, 284, 116, 296}
    assert "lens marks 104\u00b0, planned" in said(drawing)
    assert "lens marks 116\u00b0, seen 17 November 2026" in said(drawing)
    assert "105" not in said(drawing)


def test_the_latest_look_counts_be_it_a_visit_or_the_refraction() -> None:
    visit = ordinary_axis_visit(seen_on=date(2027, 1, 4), lens_meridian_deg=111.0)
    review = ordinary_review(lens_meridian_deg=109.0)
    later = eye_face(_case(review=review, axis_visits=(visit,)), lens=LENS)
    earlier = replace(visit, seen_on=date(2026, 12, 1))
    assert "lens marks 111\u00b0, seen 4 January 2027" in said(later)
    assert "lens marks 109\u00b0, seen 21 December 2026" in said(
        eye_face(_case(review=review, axis_visits=(earlier,)), lens=LENS)
    )


@pytest.mark.parametrize("cylinder_dpt", [None, 0.0])
def test_a_lens_without_cylinder_has_no_line(cylinder_dpt: float | None) -> None:
    drawing = eye_face(_case(cylinder_dpt=cylinder_dpt), lens=LENS)
    assert parts(drawing, "lens-line") == parts(drawing, "level-ink") == []
    assert "lens marks" not in drawing.description


@pytest.mark.parametrize(
    "done", [{"lens_cylinder_dpt": 0.0}, {"fixation": Fixation.NO_LENS, "lens_model": None}]
)
def test_a_line_that_was_planned_is_gone_when_another_lens_or_none_went_in(done: dict[str, Any]) -> None:
    assert parts(eye_face(_case(operation=ordinary_operation(**done)), lens=LENS), "lens-line") == []


@pytest.mark.parametrize(
    ("marking", "ticks"),
    [
        (MarkingName.UPRIGHT_INK, 2),
        (MarkingName.UPRIGHT_PENDULUM, 2),
        (MarkingName.UPRIGHT_BUBBLE, 2),
        (MarkingName.SLIT_BEAM, 0),
        (MarkingName.REGISTRATION, 0),
        (MarkingName.LYING, 0),
        (None, 0),
    ],
)
def test_level_ink_is_drawn_for_the_ways_of_marking_that_make_it(
    marking: MarkingName | None, ticks: int
) -> None:
    case = _case()
    case = replace(case, intent=replace(case.intent, marking=marking))
    drawing = eye_face(case, lens=LENS)
    assert len(parts(drawing, "level-ink")) == ticks
    assert ("level ink at 0\u00b0 and 180\u00b0, planned" in said(drawing)) is bool(ticks)


def test_level_ink_turns_with_the_eye_and_lies_inside_the_limbus() -> None:
    case = _case(Side.LEFT)
    case = replace(case, intent=replace(case.intent, marking=MarkingName.UPRIGHT_INK))
    ticks = parts(eye_face(case, seat=Seat.TEMPORAL, lens=LENS), "level-ink")
    ends = [(number(one, f"x{end}"), number(one, f"y{end}")) for one in ticks for end in (1, 2)]
    assert all(abs(x) < 0.01 for x, _ in ends)
    assert sorted(round(abs(y), 2) for _, y in ends) == [5.0, 5.0, 5.85, 5.85]


def test_a_line_changes_colour_where_it_leaves_the_pupil() -> None:
    colours = {one.get("stroke") for one in parts(eye_face(_case(), lens=LENS), "lens-line")}
    assert colours == {PAPER.ink, PAPER.on_pupil}
    lines = parts(eye_face(_case(), lens=LENS), "lens-line")
    across = [one for one in lines if number(one, "stroke-width") > 0.1]
    assert {one.get("stroke") for one in across} == {PAPER.on_pupil}


def test_a_draft_takes_the_meridian_of_its_plan_in_whole_degrees() -> None:
    draft, made = _case(meridian_deg=None), plan(toric=toric_plan(meridian_deg=103.6))
    assert with_meridian(draft, made).intent.lens_meridian_deg == 104.0
    assert with_meridian(draft, plan(toric=toric_plan(meridian_deg=0.3))).intent.lens_meridian_deg == 180.0


def test_a_meridian_that_was_written_down_is_not_replaced_and_without_cylinder_there_is_none() -> None:
    made = plan(toric=toric_plan(meridian_deg=103.6))
    assert with_meridian(_case(meridian_deg=14.0), made).intent.lens_meridian_deg == 14.0
    plain = _case(meridian_deg=None, cylinder_dpt=0.0)
    assert with_meridian(plain, made) is plain
    assert with_meridian(_case(meridian_deg=None), None).intent.lens_meridian_deg is None


def test_an_eye_drawn_as_signed_forgets_the_later_draft() -> None:
    signed = ordinary_signed_plan(intent=_case(meridian_deg=104.0).intent)
    assert as_signed(_case(meridian_deg=14.0, signed=signed)).intent.lens_meridian_deg == 104.0


def test_the_picture_tells_a_script_how_it_is_turned_and_which_incision_may_be_moved() -> None:
    told = root(eye_face(_case(Side.LEFT), seat=Seat.TEMPORAL, lens=LENS))
    assert (told.get("data-side"), told.get("data-turn-deg"), told.get("data-incision-deg")) == (
        "left",
        "270",
        "180",
    )
    done = ordinary_operation(incision_meridian_deg=178.0)
    assert root(eye_face(_case(operation=done))).get("data-incision-deg") is None
