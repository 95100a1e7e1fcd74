"""Which way round a lens would turn, and what it would leave: drawn as computed, and said in words."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import pairwise
from math import atan2, degrees

import pytest

from drawings.drawn import number, part, parts, points, said
from zonule.case.patient import Side
from zonule.case.refraction import Refraction
from zonule.case.rotation import PlannedToric, ResidualCause, RotationReview, ToricOutcome
from zonule.drawings.rotation import sweep_drawing
from zonule.drawings.rotation_sentences import (
    CAUSE_WORDS,
    advice_sentence,
    best_sentence,
    scatter_sentence,
    turn_text,
)
from zonule.drawings.turn_dial import turn_dial
from zonule.science.astigmatism.vectors import Plane, steep
from zonule.workflow.rotation import rotation_review

CENTRE = (170.0, 150.0)
OUTCOME = ToricOutcome(Refraction(0.25, -1.5, 30.0, 0.0, 6.0), 2.0, 80.0)
PLAN = PlannedToric(steep(2.2, 70.0, Plane.CORNEA), 70.0)


@cache
def turned(lies_deg: float = 80.0, axis_deg: float = 30.0) -> RotationReview:
    refraction = Refraction(0.25, -1.5, axis_deg, 0.0, 6.0)
    return rotation_review(replace(OUTCOME, refraction=refraction, lens_meridian_deg=lies_deg, planned=PLAN))


def direction_deg(at: tuple[float, float]) -> float:
    """Where a point lies from the middle of the dial, counter-clockwise from the viewer's right."""
    return degrees(atan2(CENTRE[1] - at[1], at[0] - CENTRE[0])) % 360.0


def meridian_deg(name: str, review: RotationReview) -> float:
    drawn = part(turn_dial(review, Side.RIGHT), name)
    return direction_deg((number(drawn, "x1"), number(drawn, "y1"))) % 180.0


def test_the_dial_shows_the_marks_where_the_examiner_sees_them() -> None:
    review = turned()
    assert meridian_deg("now", review) == pytest.approx(80.0, abs=0.01)
    assert meridian_deg("best", review) == pytest.approx(96.58, abs=0.01)
    assert meridian_deg("planned", review) == pytest.approx(70.0, abs=0.01)


@pytest.mark.parametrize(("lies", "axis"), [(80.0, 30.0), (80.0, 130.0), (175.0, 120.0), (5.0, 60.0)])
def test_the_arrow_leads_from_the_marks_the_way_that_the_words_say(lies: float, axis: float) -> None:
    """Upwards on a picture is minus: a slip of sign would turn every arrow round."""
    review = turned(lies, axis)
    turn = review.rotate_by_deg
    assert abs(turn) > 2.0
    drawing = turn_dial(review, Side.LEFT)
    for way, head in zip(parts(drawing, "way"), parts(drawing, "head"), strict=True):
        arc = [direction_deg(at) for at in points(way)]
        steps = [(after - before + 180.0) % 360.0 - 180.0 for before, after in pairwise(arc)]
        assert sum(steps) == pytest.approx(turn, abs=0.05)
        assert arc[0] % 180.0 == pytest.approx(lies % 180.0, abs=0.01)
        assert direction_deg(points(head)[0]) == pytest.approx(arc[-1], abs=0.01)
    assert ("counter-clockwise" in said(drawing)) is (turn > 0.0)


def test_a_turn_too_small_to_draw_has_words_and_no_arrow() -> None:
    first = turned()
    there = replace(OUTCOME, refraction=first.after_at_cornea, lens_meridian_deg=first.best_meridian_deg)
    drawing = turn_dial(rotation_review(there), Side.RIGHT)
    assert parts(drawing, "way") == []
    assert "best turn: not at all" in said(drawing)


def test_nose_and_temple_change_places_with_the_eye() -> None:
    places: dict[Side, list[str]] = {}
    for side in Side:
        for line in said(turn_dial(turned(), side)).splitlines():
            if line in {"nose", "temple"}:
                places.setdefault(side, []).append(line)
    assert places == {Side.RIGHT: ["temple", "nose"], Side.LEFT: ["nose", "temple"]}


def test_the_dial_says_all_of_it_in_words() -> None:
    told = turn_dial(turned(), Side.RIGHT).description
    assert "The marks lie at 80\u00b0 and would leave least at 97\u00b0" in told
    assert "turn 17\u00b0 counter-clockwise as the examiner sees the eye" in told
    assert "They were planned at 70\u00b0" in told


@pytest.mark.parametrize("width", [340, 720])
def test_the_sweep_passes_through_what_was_seen_and_its_lowest_point_is_the_best(width: int) -> None:
    drawing, review = sweep_drawing(turned(), width=width), turned()
    curve = points(part(drawing, "sweep"))
    lowest = max(curve, key=lambda at: at[1])
    now, best = (parts(drawing, name)[1] for name in ("now", "best"))
    assert lowest == pytest.approx((number(best, "cx"), number(best, "cy")), abs=0.002)
    assert any(at == pytest.approx((number(now, "cx"), number(now, "cy")), abs=0.002) for at in curve)
    assert [at[0] for at in curve] == sorted(at[0] for at in curve)
    assert all(0.0 <= at[0] <= width for at in curve)
    half = number(part(drawing, "half"), "y1")
    assert (lowest[1] > half) is (float(review.after.magnitude_dpt) < 0.5)


def test_every_cause_has_its_words_and_every_turn_its_direction() -> None:
    assert set(CAUSE_WORDS) == set(ResidualCause)
    assert turn_text(-90.0) == turn_text(90.0)
    assert "clockwise" not in turn_text(0.4)
    assert "(our choice)" in scatter_sentence()


def test_the_sphere_is_told_against_the_aim_or_against_0_when_there_is_none() -> None:
    long = replace(OUTCOME, refraction=Refraction(2.0, -1.5, 30.0, 0.0, 6.0))
    assert "from 0, as no aim is known" in advice_sentence(rotation_review(long))
    aimed = replace(long, target_refraction_dpt=-0.25)
    assert "from the aim of \u22120.25 D" in advice_sentence(rotation_review(aimed))


def test_the_sentence_of_the_best_turn_holds_the_chance_now_and_after() -> None:
    told = best_sentence(turned())
    assert "17\u00b0 counter-clockwise as the examiner sees the eye, to 97\u00b0" in told
    assert "Half a dioptre or less is there now in" in told
