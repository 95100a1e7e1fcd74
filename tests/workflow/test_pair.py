"""Both eyes as one plan."""

import math
from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from fakes.examples import ordinary_eye, ordinary_request
from zonule.case.biometry import Method
from zonule.case.pair import STARTING_TARGETS, PairWishes, Strategy, StrategyOutlook, Targets, Tried
from zonule.case.patient import Side
from zonule.case.plan import Prediction
from zonule.workflow.forecast import plan_eye
from zonule.workflow.pair import EyeOfPair, pair_outlook

TODAY = date(2026, 11, 9)


def predictions(side: Side) -> tuple[Prediction, ...]:
    odds = plan_eye(ordinary_request(side), TODAY).odds
    assert odds is not None
    return odds.predictions


RIGHT = EyeOfPair(Side.RIGHT, predictions(Side.RIGHT))
LEFT = EyeOfPair(Side.LEFT, predictions(Side.LEFT))
ASKED = PairWishes(dominant_eye=Side.RIGHT, tolerated_anisometropia_dpt=1.5, tried_blended=Tried.YES)


def strategy(which: Strategy, wishes: PairWishes = ASKED, fellow: EyeOfPair = LEFT) -> StrategyOutlook:
    (found,) = [one for one in pair_outlook(wishes, RIGHT, fellow).strategies if one.strategy is which]
    return found


def test_three_ways_are_shown_with_the_starting_aims() -> None:
    shown = pair_outlook(ASKED, RIGHT, LEFT)
    assert [one.strategy for one in shown.strategies] == list(Strategy)
    assert shown.findings == ()
    assert [(one.right.target_dpt, one.left.target_dpt) for one in shown.strategies] == [
        (0.0, 0.0),
        (0.0, -1.25),
        (-2.5, -2.5),
    ]


def test_the_dominant_eye_gets_the_far_distance() -> None:
    blended = strategy(Strategy.BLENDED, replace(ASKED, dominant_eye=Side.LEFT))
    assert (blended.right.target_dpt, blended.left.target_dpt) == (-1.25, 0.0)
    assert blended.right.clear_distance_m < 1.0 < blended.left.clear_distance_m


def test_each_eye_gets_the_power_that_lands_nearest_its_aim_most_often() -> None:
    near = strategy(Strategy.NEAR)
    assert near.right.lens_power_dpt is not None
    assert near.right.refraction_dpt == pytest.approx(-2.5, abs=0.25)
    far = strategy(Strategy.DISTANCE)
    assert far.right.lens_power_dpt is not None
    assert near.right.lens_power_dpt > far.right.lens_power_dpt + 2.0
    plan = plan_eye(ordinary_request(target_refraction_dpt=-2.5), TODAY)
    assert plan.odds is not None
    assert near.right.lens_power_dpt == plan.odds.best_power_dpt
    best = next(one for one in plan.odds.predictions if one.lens_power_dpt == plan.odds.best_power_dpt)
    assert best.spread is not None
    assert near.right.within_half == pytest.approx(best.spread.within_0_50, abs=1e-3)  # other draws


def test_blended_sight_pays_with_anisometropia() -> None:
    far, blended = strategy(Strategy.DISTANCE), strategy(Strategy.BLENDED)
    assert abs(far.difference_dpt) < 0.05
    assert blended.difference_dpt == pytest.approx(1.25, abs=0.4)
    assert far.beyond_tolerated is not None
    assert blended.beyond_tolerated is not None
    assert blended.beyond_tolerated > 5.0 * far.beyond_tolerated


@settings(max_examples=20, deadline=None)
@given(other=st.floats(-3.0, 0.0), tolerated=st.floats(0.0, 3.0))
def test_no_chance_leaves_its_bounds(other: float, tolerated: float) -> None:
    wishes = replace(
        ASKED,
        tolerated_anisometropia_dpt=tolerated,
        targets=(Targets(Strategy.BLENDED, 0.0, other),),
    )
    one = strategy(Strategy.BLENDED, wishes)
    assert one.right.within_half is not None
    assert one.left.within_half is not None
    assert 0.0 <= one.both_within_half <= min(one.right.within_half, one.left.within_half) + 1e-9
    assert one.beyond_tolerated is not None
    assert 0.0 <= one.beyond_tolerated <= 1.0


def test_both_eyes_land_together_more_often_than_eyes_that_know_nothing_of_each_other() -> None:
    far = strategy(Strategy.DISTANCE)
    assert far.right.within_half is not None
    assert far.left.within_half is not None
    assert far.both_within_half > far.right.within_half * far.left.within_half + 0.02


def test_an_operated_eye_keeps_what_it_achieved_whatever_the_aim() -> None:
    done = EyeOfPair(Side.LEFT, achieved_dpt=-0.5)
    shown = pair_outlook(ASKED, RIGHT, done)
    assert shown.correlation == 0.0
    for one in shown.strategies:
        assert one.left.refraction_dpt == -0.5
        assert one.left.target_dpt is None
        assert one.left.lens_power_dpt is None
        assert one.both_within_half == one.right.within_half


def test_the_chance_of_too_much_beside_an_operated_eye_is_that_of_two_independent_laws() -> None:
    """Against draws of SciPy's t and normal laws."""
    one = strategy(Strategy.NEAR, fellow=EyeOfPair(Side.LEFT, achieved_dpt=-0.5))
    random = np.random.default_rng(4)
    law = one.right.law
    freedom = law.residual_degrees_of_freedom
    scale = math.sqrt(law.residual_variance_dpt2 * (freedom - 2.0) / freedom)
    noise = np.hypot(one.left.sd_dpt, one.right.measurement_sd_dpt)
    ends = stats.t(freedom, scale=scale).rvs(400_000, random_state=random) + noise * random.normal(
        size=400_000
    )
    wanted = np.mean(np.abs(one.difference_dpt + ends) > 1.5)
    assert one.beyond_tolerated == pytest.approx(float(wanted), abs=0.003)
    assert one.difference_sd_dpt == pytest.approx(math.hypot(one.right.sd_dpt, one.left.sd_dpt), rel=1e-6)


def test_refraction_noise_is_27_percent_of_the_variance_of_routine_practice() -> None:
    one = strategy(Strategy.DISTANCE, fellow=EyeOfPair(Side.LEFT, achieved_dpt=0.0))
    assert one.left.sd_dpt == pytest.approx(0.31, abs=0.005)


def test_without_the_dominant_eye_blended_is_not_worked_out_and_the_rest_is() -> None:
    shown = pair_outlook(replace(ASKED, dominant_eye=None), RIGHT, LEFT)
    assert [one.strategy for one in shown.strategies] == [Strategy.DISTANCE, Strategy.NEAR]
    assert [one for one, _ in shown.not_shown] == [Strategy.BLENDED]
    assert "dominant-eye-unknown" in [one.code for one in shown.findings]


def test_what_was_not_asked_is_said_and_never_assumed() -> None:
    shown = pair_outlook(PairWishes(), RIGHT, LEFT)
    assert [one.code for one in shown.findings] == [
        "dominant-eye-unknown",
        "tolerance-unknown",
        "blended-not-tried",
    ]
    assert all(one.beyond_tolerated is None for one in shown.strategies)
    assert PairWishes().targets == STARTING_TARGETS


@pytest.mark.parametrize("tried", [Tried.NO, Tried.UNKNOWN])
def test_blended_sight_that_was_never_tried_is_told(tried: Tried) -> None:
    shown = pair_outlook(replace(ASKED, tried_blended=tried), RIGHT, LEFT)
    assert [one.code for one in shown.findings] == ["blended-not-tried"]


def test_an_eye_of_which_nothing_is_known_stops_the_pair() -> None:
    unknown = EyeOfPair(Side.LEFT, why_not="Its cornea was not measured.")
    shown = pair_outlook(ASKED, RIGHT, unknown)
    assert shown.strategies == ()
    assert [one.code for one in shown.findings] == ["pair-incomplete"]
    assert "Its cornea was not measured." in shown.findings[0].sentence
    assert [one.code for one in pair_outlook(ASKED, RIGHT, RIGHT).findings] == ["pair-incomplete"]


def test_predictions_without_a_spread_promise_nothing() -> None:
    bare = EyeOfPair(
        Side.LEFT, tuple(Prediction(one.lens_power_dpt, one.refraction_dpt) for one in LEFT.predictions)
    )
    assert pair_outlook(ASKED, RIGHT, bare).strategies == ()


def test_a_badly_measured_eye_lowers_the_chance_of_both() -> None:
    worse = plan_eye(ordinary_request(eye=ordinary_eye(Side.LEFT, method=Method.CONTACT)), TODAY).odds
    assert worse is not None
    shown = pair_outlook(ASKED, RIGHT, EyeOfPair(Side.LEFT, worse.predictions))
    assert shown.strategies[0].both_within_half < strategy(Strategy.DISTANCE).both_within_half - 0.02
