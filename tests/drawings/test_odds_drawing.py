from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drawings.drawn import (
    BEST_DPT,
    area,
    number,
    part,
    parts,
    plan,
    points,
    prediction,
    root,
    said,
    text_of,
    texts,
)
from zonule.drawings.odds import odds_drawing
from zonule.errors import InconsistentRecordError

WIDE, PHONE = 960, 340
WIDTHS = [pytest.param(WIDE, id="wide"), pytest.param(PHONE, id="phone")]


@pytest.mark.parametrize("width", WIDTHS)
def test_the_dark_share_of_the_chosen_distribution_is_its_chance(width: int) -> None:
    drawing = odds_drawing(plan(), chosen_power_dpt=BEST_DPT, width=width)
    dark, whole = area(part(drawing, "chosen-within")), area(part(drawing, "chosen"))
    chance = int(next(one.text or "" for one in parts(drawing, "chance") if one.get("font-weight")))
    # The last 2 in 100 lie in tails too thin to draw.
    assert 100 * dark / whole == pytest.approx(chance, abs=2.5)


@pytest.mark.parametrize("width", WIDTHS)
def test_the_chosen_power_is_told_by_a_word_and_a_shape(width: int) -> None:
    drawing = odds_drawing(plan(), chosen_power_dpt=20.5, width=width)
    assert len(parts(drawing, "mark")) == 1
    assert [one.text for one in parts(drawing, "word")] == ["chosen", "best odds"]


@pytest.mark.parametrize("width", WIDTHS)
def test_without_a_choice_only_the_best_odds_are_named(width: int) -> None:
    drawing = odds_drawing(plan(), chosen_power_dpt=None, width=width)
    assert parts(drawing, "mark") == []
    assert [one.text for one in parts(drawing, "word")] == ["best odds"]


def test_on_a_wide_page_eleven_powers_run_to_the_right() -> None:
    powers = parts(odds_drawing(plan(), chosen_power_dpt=None, width=WIDE), "power")
    assert [one.text for one in powers] == [f"{18.5 + 0.5 * step:.1f}" for step in range(11)]
    places = [number(one, "x") for one in powers]
    assert places == sorted(places)


def test_on_a_phone_nine_powers_run_down() -> None:
    powers = parts(odds_drawing(plan(), chosen_power_dpt=None, width=PHONE), "power")
    assert [one.text for one in powers] == [f"{19.0 + 0.5 * step:.1f}" for step in range(9)]
    places = [number(one, "y") for one in powers]
    assert places == sorted(places)


def test_a_stronger_lens_is_drawn_lower_on_a_wide_page() -> None:
    middles = parts(odds_drawing(plan(), chosen_power_dpt=None, width=WIDE), "middle")
    heights = [number(one, "y1") for one in middles]
    assert heights == sorted(heights)


def test_the_best_power_of_this_plan_lies_on_the_line_of_the_aim() -> None:
    drawing = odds_drawing(plan(), chosen_power_dpt=BEST_DPT, width=WIDE)
    middle = parts(drawing, "middle")[5]
    assert number(middle, "y1") == pytest.approx(number(part(drawing, "aim"), "y1"), abs=0.01)


def test_the_band_is_half_a_dioptre_either_way() -> None:
    drawing = odds_drawing(plan(), chosen_power_dpt=None, width=WIDE)
    rows = sorted({y for _, y in points(part(drawing, "band"))})
    zero, half = (number(text_of(drawing, tick), "y") for tick in ("0.0", "+0.5"))
    assert rows[1] - rows[0] == pytest.approx(2 * (zero - half))


@pytest.mark.parametrize("width", [320, 340, 560, 700, 960, 1200])
def test_no_text_is_smaller_than_11_px_or_leaves_the_page(width: int) -> None:
    drawing = odds_drawing(plan(), chosen_power_dpt=20.5, width=width)
    _, _, wide, high = (float(edge) for edge in (root(drawing).get("viewBox") or "").split())
    assert wide == width
    for one in texts(drawing):
        assert number(one, "font-size") >= 11
        assert 0 <= number(one, "x") <= wide
        assert 0 < number(one, "y") <= high


@given(st.integers(1, 21), st.sampled_from([WIDE, PHONE]))
@settings(max_examples=42, deadline=None)
def test_a_lens_made_in_few_powers_can_be_drawn(count: int, width: int) -> None:
    powers = tuple(20.0 + 0.5 * step for step in range(count))
    drawing = odds_drawing(plan(powers_dpt=powers), chosen_power_dpt=powers[-1], width=width)
    assert "chosen" in said(drawing)


def test_a_power_chosen_far_from_the_best_is_still_shown() -> None:
    drawing = odds_drawing(plan(), chosen_power_dpt=26.0)
    assert "26.0" in [one.text for one in parts(drawing, "power")]


def test_the_description_holds_every_number_shown() -> None:
    drawing = odds_drawing(plan(), chosen_power_dpt=BEST_DPT)
    spread = prediction(BEST_DPT).spread
    assert spread is not None
    chance = round(100 * spread.within_0_50)
    assert (
        f"21.0 D: expected \u22120.25 D, within half a dioptre in {chance} in 100, chosen."
        in drawing.description
    )
    assert drawing.description.count("expected") == 11


def test_without_odds_there_are_dots_for_each_method_no_distribution_and_the_reason() -> None:
    without = replace(plan(), odds=None, no_odds_because="Keratoconus: nobody knows the spread.")
    drawing = odds_drawing(without, chosen_power_dpt=None)
    assert parts(drawing, "body") == parts(drawing, "chosen") == parts(drawing, "chance") == []
    for shape in ("mark-disc", "mark-square", "mark-triangle"):
        assert len(parts(drawing, shape)) == 11 + 1
    assert "Keratoconus: nobody knows the spread." in said(drawing)
    assert "in 100" not in said(drawing)


def test_without_odds_the_powers_shown_lie_about_what_the_fit_methods_need() -> None:
    made = plan()
    stray = replace(made.methods[0], fit=False, power_for_target_dpt=100.0)
    without = replace(made, odds=None, methods=(*made.methods[1:2], stray, stray))
    powers = [one.text for one in parts(odds_drawing(without, chosen_power_dpt=None, width=WIDE), "power")]
    assert powers[len(powers) // 2] == f"{BEST_DPT:.1f}"


def test_without_methods_only_the_reason_is_written() -> None:
    nothing = replace(plan(), odds=None, methods=(), no_odds_because="A finding must be resolved first.")
    drawing = odds_drawing(nothing, chosen_power_dpt=None)
    assert said(drawing) == "No odds. A finding must be resolved first."


def test_a_prediction_without_spread_is_a_line_and_claims_no_chance() -> None:
    made = plan()
    assert made.odds is not None
    bare = tuple(replace(one, spread=None) for one in made.odds.predictions)
    drawing = odds_drawing(replace(made, odds=replace(made.odds, predictions=bare)), chosen_power_dpt=21.0)
    assert parts(drawing, "body") == []
    assert len(parts(drawing, "middle")) == 11
    assert "within half a dioptre in" not in drawing.description


def test_a_plan_without_an_aim_is_not_drawn_as_if_it_were_plano() -> None:
    made = plan()
    aimless = replace(made, request=replace(made.request, target_refraction_dpt=None))
    with pytest.raises(InconsistentRecordError, match="No target refraction"):
        odds_drawing(aimless, chosen_power_dpt=None, width=960)
