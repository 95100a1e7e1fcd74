"""The bars of a surprise, and its sentences."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from drawings.drawn import number, parts, said
from workflow.clinic import KEY, operate, review, signed_clinic
from zonule.case.refraction import Refraction
from zonule.case.surprise import CauseKind, Clue, ClueKind, MixUpKind, RemedyKind, Room, Surprise
from zonule.drawings.surprise import MOST_DEVIATIONS, causes_drawing
from zonule.drawings.surprise_sentences import (
    CAUSE_TITLES,
    LOOK_NEXT,
    REMEDY_TITLES,
    amount_sentence,
    clue_sentence,
    exchange_reading,
    mix_up_words,
    needed_sentence,
    outlook_sentence,
    surprise_sentence,
    weight_sentence,
)
from zonule.workflow.surprise import look_into_surprise


@cache
def surprise(refraction_dpt: float = 1.5) -> Surprise:
    record = signed_clinic()
    operate(record)
    review(record, Refraction(refraction_dpt, lane_m=6.0))
    found = look_into_surprise(record.case(KEY))
    assert found is not None
    return found


@pytest.mark.parametrize("width", [340, 720])
def test_a_bar_is_as_long_as_the_deviations_it_stands_for(width: int) -> None:
    bars = parts(causes_drawing(surprise(), width=width), "cause")
    lengths = [number(bar, "width") for bar in bars]
    shown = [min(one.deviations, MOST_DEVIATIONS) for one in surprise().causes]
    assert lengths == sorted(lengths)
    assert [length / lengths[0] for length in lengths] == pytest.approx(
        [one / shown[0] for one in shown], rel=1e-3
    )
    assert all(number(bar, "x") + number(bar, "width") < width - 40 for bar in bars)


def test_what_lies_beyond_the_scale_keeps_its_number() -> None:
    drawing = causes_drawing(surprise())
    longest = max(one.deviations for one in surprise().causes)
    assert longest > MOST_DEVIATIONS
    assert f"{longest:.1f} \u2192" in said(drawing)


def test_the_drawing_says_all_of_it_in_words() -> None:
    described = causes_drawing(surprise()).description
    for one in surprise().causes:
        assert f"{CAUSE_TITLES[one.kind]} {one.deviations:.1f}" in described


def test_every_kind_has_its_words() -> None:
    assert set(CAUSE_TITLES) == set(LOOK_NEXT) == set(CauseKind)
    assert set(REMEDY_TITLES) == set(RemedyKind)
    for kind in ClueKind:
        assert clue_sentence(Clue(kind, 0.9)).endswith(".")
    (mix_up,) = surprise(3.0).mix_ups[:1]
    assert {mix_up_words(replace(mix_up, kind=kind)) for kind in MixUpKind}
    for one in surprise().remedies:
        assert amount_sentence(one, surprise()).endswith(".")
        assert "at most" in outlook_sentence(one)


def test_sides_and_ways_follow_the_sign() -> None:
    assert "more long-sighted than predicted: +1.50 D" in surprise_sentence(surprise(1.5))
    assert "more short-sighted than predicted: \u22121.50 D" in surprise_sentence(surprise(-1.5))
    position = {
        sign: next(one for one in surprise(sign).causes if one.kind is CauseKind.LENS_POSITION)
        for sign in (1.5, -1.5)
    }
    assert "further back" in needed_sentence(position[1.5], surprise(1.5))
    assert "further forward" in needed_sentence(position[-1.5], surprise(-1.5))
    laser = {
        sign: next(one for one in surprise(sign).remedies if one.kind is RemedyKind.LASER)
        for sign in (1.5, -1.5)
    }
    assert "steeper" in amount_sentence(laser[1.5], surprise(1.5))
    assert "flatter" in amount_sentence(laser[-1.5], surprise(-1.5))


def test_the_sign_of_an_add_on_lens_is_always_written() -> None:
    for sign, written in ((1.5, "+2."), (-1.5, "\u22122.")):
        found = surprise(sign)
        add_on = next(one for one in found.remedies if one.kind is RemedyKind.ADD_ON)
        assert amount_sentence(add_on, found).startswith(written)


def test_an_impossible_place_is_called_one() -> None:
    found = surprise()
    position = next(one for one in found.causes if one.kind is CauseKind.LENS_POSITION)
    for room, words in ((Room.BEFORE_IRIS, "in front of where"), (Room.BEHIND_CAPSULE, "behind where")):
        assert words in needed_sentence(position, replace(found, room=room))


def test_a_mix_up_says_that_its_charge_is_our_choice() -> None:
    wrong = next(one for one in surprise(3.0).causes if one.kind is CauseKind.WRONG_LENS)
    assert "our choice" in weight_sentence(wrong)


def test_an_exchange_names_the_reading_it_holds_under() -> None:
    exchange = next(one for one in surprise().remedies if one.kind is RemedyKind.EXCHANGE)
    assert len({exchange_reading(one) for one in exchange.exchanges}) == 4
