"""Both eyes on one scale, and what is said of them."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drawings.drawn import area, number, part, parts, points, root, said, text_of
from fakes.pairs import blended_outlook, operated_outlook, ordinary_pair, ordinary_second_eye, outlook_of
from zonule.case.pair import StrategyOutlook
from zonule.case.patient import Side
from zonule.drawings.pair import pair_drawing
from zonule.drawings.pair_sentences import (
    clear_distance_text,
    pair_sentence,
    second_eye_sentence,
    strategy_sentence,
)
from zonule.drawings.svg import Drawing
from zonule.science.uncertainty.spread import fraction_within

REFRACTION = st.floats(-6.0, 2.0)


def per_dioptre(drawing: Drawing) -> float:
    """Pixels for a dioptre, from two figures on the scale."""
    return number(text_of(drawing, "0"), "x") - number(text_of(drawing, "\u22121"), "x")


def test_the_right_eye_stands_above_the_left() -> None:
    right, left = parts(pair_drawing(blended_outlook()), "side")
    assert (right.text, left.text) == ("right", "left")
    assert number(right, "y") < number(left, "y")


def test_both_eyes_and_their_difference_lie_on_one_scale() -> None:
    drawing = pair_drawing(blended_outlook())
    right, left = (number(one, "x1") for one in parts(drawing, "middle"))
    zero = number(text_of(drawing, "0"), "x")
    assert (right - zero) / per_dioptre(drawing) == pytest.approx(0.05, abs=0.001)
    assert (left - zero) / per_dioptre(drawing) == pytest.approx(-1.37, abs=0.001)
    bracket = part(drawing, "difference")
    long = abs(number(bracket, "x1") - number(bracket, "x2"))
    assert long / per_dioptre(drawing) == pytest.approx(1.42, abs=0.001)


def test_the_shaded_part_of_a_body_is_the_chance_of_half_a_dioptre() -> None:
    drawing = pair_drawing(blended_outlook())
    for eye, body, within in zip(
        blended_outlook().eyes, parts(drawing, "body"), parts(drawing, "within"), strict=True
    ):
        wanted = float(fraction_within(0.5, eye.target_dpt or 0.0, eye.refraction_dpt, eye.law))
        assert area(within) / area(body) == pytest.approx(wanted, abs=0.03)


def test_an_operated_eye_has_no_aim_and_says_what_it_has() -> None:
    drawing = pair_drawing(blended_outlook(left=operated_outlook()))
    assert len(parts(drawing, "aim")) == 1
    assert "achieved" in said(drawing)
    assert "Left eye: has \u22120.50 D, in focus 1.5 m." in drawing.description


def test_the_aim_is_dashed_because_it_is_planned() -> None:
    assert all(one.get("stroke-dasharray") for one in parts(pair_drawing(blended_outlook()), "aim"))


@settings(max_examples=40, deadline=None)
@given(right=REFRACTION, left=REFRACTION, width=st.integers(320, 1200))
def test_nothing_leaves_the_picture(right: float, left: float, width: int) -> None:
    strategy = blended_outlook(
        right=outlook_of(Side.RIGHT, right), left=outlook_of(Side.LEFT, left), difference_dpt=right - left
    )
    drawing = pair_drawing(strategy, width=width)
    _, _, across, down = (float(side) for side in (root(drawing).get("viewBox") or "").split())
    assert across == width
    for body in parts(drawing, "body"):
        assert all(0 <= x <= across and 0 <= y <= down for x, y in points(body))
    assert all(0 <= number(one, "x1") <= across for one in parts(drawing, "middle"))


def test_the_description_says_everything_the_picture_says() -> None:
    description = pair_drawing(blended_outlook()).description
    for words in ("aim \u22121.25 D", "22.5 D", "\u22121.37 D", "65 cm", "70 in 100", "aim 0.00 D"):
        assert words in description


@given(distance=st.floats(0.05, 10.0))
def test_a_distance_is_told_in_centimetres_near_and_metres_farther_off(distance: float) -> None:
    told = clear_distance_text(distance)
    if distance < 1.0:
        assert told.endswith(" cm")
    elif distance < 4.0:
        assert told.endswith(" m")
    else:
        assert told == "far"
    assert clear_distance_text(math.inf) == "nowhere"


def test_a_long_sighted_eye_with_an_artificial_lens_is_not_told_to_see_by_effort() -> None:
    outlook = blended_outlook()
    right = replace(outlook.right, refraction_dpt=0.75, clear_distance_m=math.inf)
    told = strategy_sentence(replace(outlook, right=right), 1.5)
    assert "is expected at +0.75 D and sees best far, but no distance sharply without glasses" in told
    assert "effort" not in told


def test_a_strategy_says_aims_distances_and_the_odds_of_too_much() -> None:
    told = strategy_sentence(blended_outlook(), 1.5)
    assert "the left eye with 22.5 D is expected at \u22121.37 D and sees best at 65 cm" in told
    assert "Both end within half a dioptre of their aims in 55 in 100." in told
    assert "They are expected 1.42 D apart." in told
    assert "more than 1.50 D apart, which this patient does not want, in 44 in 100" in told


def test_nothing_is_said_of_a_tolerance_that_nobody_asked() -> None:
    assert "does not want" not in strategy_sentence(blended_outlook(beyond_tolerated=None), None)


def test_an_operated_eye_is_not_promised_anything() -> None:
    one: StrategyOutlook = blended_outlook(left=operated_outlook(), both_within_half=0.72)
    told = strategy_sentence(one, 1.5)
    assert "the left eye has \u22120.50 D and sees best at 1.5 m" in told
    assert "The right eye ends within half a dioptre of its aim in 72 in 100." in told
    assert "Both end" not in told


def test_how_the_eyes_were_taken_to_miss_is_said() -> None:
    assert "correlates at 0.5 (aristodemou-2011)" in pair_sentence(ordinary_pair())
    assert "keeps the refraction that was measured" in pair_sentence(ordinary_pair(correlation=0.0))
    assert pair_sentence(ordinary_pair(strategies=())) == "Both eyes are not planned together."


def test_the_first_eye_says_how_it_moved_the_plan() -> None:
    told = second_eye_sentence(ordinary_second_eye())
    assert "ended 0.55 D more long-sighted than predicted, after the lessons already in use" in told
    assert "50 % of it is to be expected again" in told
    assert "+0.28 D in the middle" in told
    assert told.endswith("The power with the best odds went from 20.5 D to 21.0 D.")


def test_a_first_eye_that_moves_nothing_says_so() -> None:
    same = ordinary_second_eye(best_after_dpt=20.5)
    assert second_eye_sentence(same).endswith("The power with the best odds stays 20.5 D.")
    exact = ordinary_second_eye(error_dpt=0.0, shift_dpt=0.0, best_before_dpt=None)
    assert "The first eye ended as predicted" in second_eye_sentence(exact)


def test_a_first_eye_that_is_not_used_says_every_reason() -> None:
    reasons = (
        "First eye: its lens sits in the sulcus, not in the bag.",
        "First eye: refracted 14 days after.",
    )
    told = second_eye_sentence(
        ordinary_second_eye(used=False, error_dpt=None, errors_dpt=(), shifts_dpt=(), reasons=reasons)
    )
    assert told.startswith("The first eye's result does not move this plan.")
    assert all(reason in told for reason in reasons)


def test_own_pairs_in_the_weight_are_counted_aloud() -> None:
    assert "80 own pairs of eyes" in second_eye_sentence(ordinary_second_eye(weight=0.44, pairs=80))
