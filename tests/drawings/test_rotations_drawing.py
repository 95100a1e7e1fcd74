"""Turns of toric lenses are drawn in bins between the standards' limits, and told in words."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drawings.drawn import number, parts, said
from zonule.drawings.rotations import BIN_DEG, rotations_drawing
from zonule.drawings.svg import Drawing
from zonule.science.astigmatism.rotation_results import Since, rotation_results


def drawing_of(turns: list[float], since: Since = Since.INTENDED, width: int = 720) -> Drawing:
    return rotations_drawing(turns, rotation_results(np.array(turns), since), width=width)


def lenses_between(drawing: Drawing, low: float, high: float) -> int:
    """How many lenses the bars between two places show, by their heights."""
    bars = parts(drawing, "bar")
    inside = [one for one in bars if number(one, "x") > low - 0.01 and number(one, "x") < high]
    heights = [number(one, "height") for one in inside]
    each = min((number(one, "height") for one in bars), default=1.0)
    return round(sum(heights) / each)


@settings(deadline=None, max_examples=40)
@given(turns=st.lists(st.sampled_from(np.arange(-24.0, 24.5, 0.5).tolist()), min_size=1, max_size=30))
def test_the_bars_between_two_limits_hold_exactly_the_lenses_that_turned_no_farther(
    turns: list[float],
) -> None:
    alone = [*turns, 24.9]  # one bar of height one, by which the others are measured
    drawing = drawing_of(alone)
    left, right = sorted(number(one, "x1") for one in parts(drawing, "limit"))[1:3]
    assert lenses_between(drawing, left, right) == sum(abs(turn) <= 10.0 for turn in alone)


def test_clockwise_is_on_the_left_and_counter_clockwise_on_the_right() -> None:
    drawing = drawing_of([-7.0, 7.0])
    first, second = sorted(parts(drawing, "bar"), key=lambda one: number(one, "x"))
    assert number(first, "x") + number(first, "width") < 360.0 < number(second, "x")
    assert "clockwise" in said(drawing)
    assert "counter-clockwise" in said(drawing)


@pytest.mark.parametrize(("since", "lines"), [(Since.INTENDED, 4), (Since.EARLIER_VISIT, 2)])
def test_each_comparison_shows_the_limits_of_its_standard(since: Since, lines: int) -> None:
    assert len(parts(drawing_of([1.0, 2.0], since), "limit")) == lines


def test_counts_stand_beside_what_a_standard_asks() -> None:
    drawing = drawing_of([1.0] * 8 + [12.0, 40.0])
    for words in (
        "Within 10\u00b0: 8 of 10. The standard asks for 90 in 100: not met.",
        "Within 20\u00b0: 9 of 10. The standard asks for 95 in 100: not met.",
        "1 turned farther than 25\u00b0 and is not drawn.",
    ):
        assert words in drawing.description
        assert words in said(drawing).replace("\n", " ")


@pytest.mark.parametrize("width", [340, 720])
def test_nothing_is_drawn_outside_the_paper(width: int) -> None:
    drawing = drawing_of([-24.0, 0.0, 2.5, 24.0], width=width)
    assert len(parts(drawing, "bar")) == 3
    for bar in parts(drawing, "bar"):
        assert number(bar, "x") >= 0.0
        assert number(bar, "x") + number(bar, "width") <= width
        assert number(bar, "width") == pytest.approx((width / 2 - 14.0) * BIN_DEG / 25.0 - 2.0, abs=0.02)
