from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drawings.drawn import plan
from fakes.examples import ordinary_eye, ordinary_lens, ordinary_lesson
from zonule.case.agreement import Agreement
from zonule.case.eye import CornealSurgery
from zonule.case.finding import note
from zonule.case.learned import Learned
from zonule.case.lesson import LessonUse
from zonule.case.plan import CorneaEstimate, FearedSide, Plan, Refused, Spread
from zonule.drawings.learned_sentences import fellow_weight_sentence
from zonule.drawings.sentences import (
    agreement_sentence,
    anisometropia_sentence,
    chance_words,
    corneas_sentence,
    lesson_sentence,
    odds_sentence,
    refusals,
    spread_origin,
    what_changed_sentence,
)
from zonule.science.statistics.fellow_eye import LearnedWeight


def _with_beyond(fraction: float, feared: FearedSide = FearedSide.HYPEROPIC) -> Plan:
    made = plan(feared=feared)
    assert made.odds is not None
    spread = Spread(0.6, 0.3, 0.58, 0.77, 0.9, fraction, 0.2, 3.1)
    predictions = tuple(replace(one, spread=spread) for one in made.odds.predictions)
    return replace(made, odds=replace(made.odds, predictions=predictions))


def test_the_odds_are_one_plain_statement() -> None:
    assert odds_sentence(_with_beyond(0.09), 20.5) == (
        "20.5 D lands within half a dioptre of \u22120.25 D in 58 of 100 eyes like this. "
        "One in eleven ends more than half a dioptre on the long-sighted side."
    )


@pytest.mark.parametrize(
    ("fraction", "words"),
    [
        (0.004, "Fewer than 1 in 100 ends"),
        (0.01, "1 in 100 ends"),
        (0.03, "3 in 100 end"),
        (0.29, "29 in 100 end"),
        (1 / 3, "One in three ends"),
        (0.6, "60 in 100 end"),
        (0.999, "More than 99 in 100 end"),
    ],
)
def test_the_feared_side_agrees_with_its_verb(fraction: float, words: str) -> None:
    assert f" {words} more than half a dioptre on the short-sighted side." in odds_sentence(
        _with_beyond(fraction, FearedSide.MYOPIC), 20.5
    )


@given(st.floats(0.01, 0.99))
def test_a_chance_in_words_is_true_to_about_one_in_a_hundred(fraction: float) -> None:
    names = {
        "three": 3,
        "four": 4,
        "five": 5,
        "six": 6,
        "seven": 7,
        "eight": 8,
        "nine": 9,
        "ten": 10,
        "eleven": 11,
    }
    words = chance_words(fraction).split()
    if words[0] == "One" and words[-1] in names:
        assert abs(1 / names[words[-1]] - fraction) <= 0.015
    elif words[0].isdigit():
        assert abs(int(words[0]) / 100 - fraction) <= 0.005 + 1e-9


def test_without_odds_the_sentence_says_why() -> None:
    without = replace(plan(), odds=None, no_odds_because="A finding must be resolved first.")
    assert odds_sentence(without, 21.0) == "No odds. A finding must be resolved first."


def test_a_power_that_is_not_made_has_no_odds() -> None:
    assert odds_sentence(plan(), 99.0) == "This lens is not made in 99.0 D."


@pytest.mark.parametrize(
    ("difference", "words"),
    [
        (1.75, "The aim would leave this eye 1.75 D more long-sighted than the fellow eye, \u22122.00 D."),
        (-1.0, "The aim would leave this eye 1.00 D more short-sighted than the fellow eye, +0.75 D."),
        (0.001, "The aim matches the fellow eye, \u22120.25 D."),
        (None, ""),
    ],
)
def test_what_the_aim_leaves_between_the_eyes(difference: float | None, words: str) -> None:
    assert anisometropia_sentence(replace(plan(), aim_difference_dpt=difference)) == words


def test_a_lesson_says_its_evidence_and_what_the_plan_does_with_it() -> None:
    assert lesson_sentence(LessonUse(ordinary_lesson(), used=True, reason="")) == (
        "20 eyes of R. Calder, SRK/T with Meadow One, to 28 September 2026, ended 0.20 D more short-sighted "
        "than predicted. This plan moves its prediction by \u22120.12 D for it."
    )


def test_a_lesson_that_is_not_used_says_why() -> None:
    use = LessonUse(ordinary_lesson(eyes=1), used=False, reason="It was learned against another constant.")
    assert lesson_sentence(use).startswith("1 eye of R. Calder")
    assert lesson_sentence(use).endswith(
        "This plan does not use it. It was learned against another constant."
    )


def _moved(before: Plan, shift_dpt: float) -> Plan:
    """The same plan after a longer eye: every prediction shifted, another power best."""
    odds = before.odds
    assert odds is not None
    moved = tuple(replace(one, refraction_dpt=one.refraction_dpt + shift_dpt) for one in odds.predictions)
    request = replace(before.request, eye=ordinary_eye(axial_length_mm=23.8))
    return replace(before, request=request, odds=replace(odds, predictions=moved, best_power_dpt=20.0))


def test_what_changed_names_the_cause_and_by_how_much_it_moved_what() -> None:
    assert what_changed_sentence(plan(), _moved(plan(), -0.63)) == (
        "Axial length went from 23.50 mm to 23.80 mm: the refraction expected of 21.0 D moved by "
        "\u22120.63 D and the best power went from 21.0 D to 20.0 D."
    )


def test_nothing_moved_is_said() -> None:
    assert what_changed_sentence(plan(), plan()) == "Nothing moved."


def test_a_change_without_effect_says_so() -> None:
    after = replace(plan(), request=replace(plan().request, eye=ordinary_eye(white_to_white_mm=12.2)))
    assert what_changed_sentence(plan(), after) == (
        "White-to-white went from 11.90 mm to 12.20 mm: no prediction moved."
    )


def test_a_measurement_gained_and_one_lost_are_told() -> None:
    before = replace(plan(), request=replace(plan().request, eye=ordinary_eye(white_to_white_mm=None)))
    after = replace(plan(), request=replace(plan().request, eye=ordinary_eye(lens_thickness_mm=None)))
    assert what_changed_sentence(before, after) == (
        "Lens thickness is no longer known and white-to-white is now 11.90 mm: no prediction moved."
    )


def test_another_lens_and_lost_odds_are_told() -> None:
    after = replace(
        plan(),
        odds=None,
        request=replace(plan().request, lens=ordinary_lens("Brook Two"), target_refraction_dpt=-0.5),
    )
    assert what_changed_sentence(plan(), after) == (
        "The aim went from \u22120.25 D to \u22120.50 D and the lens is now Brook Two: there are no "
        "odds any more."
    )


def test_own_pairs_of_eyes_are_told_beside_the_published_half() -> None:
    learned = Learned(60, (), None, (), (), LearnedWeight(weight=0.56, own_weight=0.7, pairs=24))
    said = fellow_weight_sentence(learned)
    assert "24 of your patients" in said
    assert "0.70" in said
    assert "makes 0.56" in said
    assert "Plans still use 0.50." in said


def test_nothing_is_said_of_both_eyes_without_enough_pairs() -> None:
    assert not fellow_weight_sentence(Learned(60, (), None, (), ()))


def operated_plan(surgery: CornealSurgery) -> Plan:
    made = plan()
    eye = ordinary_eye(corneal_surgery=surgery)
    return replace(made, request=replace(made.request, eye=eye))


@pytest.mark.parametrize(
    ("surgery", "source"),
    [
        (CornealSurgery.NONE, "lundstrom-2018"),
        (CornealSurgery.MYOPIC_LASER, "after-laser-series"),
        (CornealSurgery.RADIAL_KERATOTOMY, "radial-keratotomy-2022"),
    ],
)
def test_the_spread_names_the_eyes_it_comes_from(surgery: CornealSurgery, source: str) -> None:
    assert source in spread_origin(operated_plan(surgery))


def test_refused_methods_with_one_reason_are_told_together() -> None:
    finding = note("cornea-not-untouched", "SRK/T needs what is missing.", "methods.srk_t")
    other = replace(finding, sentence="T2 needs what is missing.")
    made = replace(plan(), refused=(Refused("srk_t", (finding,)), Refused("t2", (other,))))
    assert refusals(made) == [("SRK/T; T2", "Needs what is missing.")]


def test_corrections_of_a_cornea_are_told_by_their_range_and_middle() -> None:
    powers = (36.5, 36.9, 35.2)
    corneas = tuple(CorneaEstimate(str(power), power, "", "shammas-2003", "") for power in powers)
    said = corneas_sentence(replace(plan(), corneas=corneas))
    assert said.startswith(
        "Three published corrections range from 35.20 D to 36.90 D; their middle is 36.50 D."
    )
    assert corneas_sentence(replace(plan(), corneas=corneas[:1])).startswith("One published correction")


@pytest.mark.parametrize(("apart_dpt", "word"), [(0.3, "within"), (1.5, "more than")])
def test_agreement_is_told_against_what_each_method_leaves_open(apart_dpt: float, word: str) -> None:
    found = Agreement(21.0, apart_dpt, "srk_t", "holladay_1", 0.6, 0.1, ())
    said = agreement_sentence(replace(plan(), agreement=found))
    assert word in said
    assert "SRK/T is the most short-sighted, Holladay 1 the most long-sighted" in said
    assert not agreement_sentence(plan())
