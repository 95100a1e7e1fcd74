"""Laws of what the first eye says about the second, and of both eyes together."""

import math
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy import stats

from zonule.errors import OutOfRangeError
from zonule.science.optics.working_distance import clear_distance_m
from zonule.science.statistics.fellow_eye import (
    PRIOR_PAIRS,
    PUBLISHED_WEIGHT,
    fellow_error_dpt,
    learned_weight,
    variance_left,
)
from zonule.science.uncertainty.pair import (
    PairLaw,
    difference_sd_dpt,
    fraction_apart,
    fraction_both_within,
)
from zonule.science.uncertainty.spread import (
    DEGREES_OF_FREEDOM,
    ROUTINE_SCALE_DPT,
    ErrorLaw,
    error_law,
    fraction_within,
    sd_dpt,
)

SHARE = st.floats(0.0, 1.0)
ERROR = st.floats(-4.0, 4.0)
LENS_GAIN = -0.701
"""Refraction for each dioptre of lens in the average eye (thin-lens vergence, n 1.336)."""


def two_t_laws(scale_dpt: float, correlation: float, freedom: float, seed: int = 3) -> Any:
    """SciPy's two-dimensional t law; its stubs allow whole degrees of freedom only."""
    shape = scale_dpt**2 * np.array([[1.0, correlation], [correlation, 1.0]])
    freedom_as_they_type_it: Any = freedom
    return stats.multivariate_t([0.0, 0.0], shape, df=freedom_as_they_type_it, seed=seed)


def drawn_pairs(
    correlation: float, pairs: int, *, normal: bool = False, seed: int = 5
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Errors of both eyes with a planted correlation, of SciPy's own two-dimensional laws."""
    shape = np.array([[1.0, correlation], [correlation, 1.0]]) * ROUTINE_SCALE_DPT**2
    law = (
        stats.multivariate_normal([0.0, 0.0], shape)
        if normal
        else two_t_laws(ROUTINE_SCALE_DPT, correlation, DEGREES_OF_FREEDOM)
    )
    first, second = law.rvs(pairs, random_state=np.random.default_rng(seed)).T
    return first, second


def test_an_error_of_one_dioptre_raises_the_lens_by_0_71() -> None:
    """Worked in the project's clinical reference: half of +1.00 D over a gain of -0.701."""
    expected = float(fellow_error_dpt(1.0))
    assert expected == 0.5
    assert -expected / LENS_GAIN == pytest.approx(0.71, abs=0.005)


@given(first=ERROR, weight=SHARE)
def test_the_second_error_is_never_expected_to_exceed_the_first(first: float, weight: float) -> None:
    assert abs(float(fellow_error_dpt(first, weight))) <= abs(first)
    assert float(fellow_error_dpt(-first, weight)) == -float(fellow_error_dpt(first, weight))


def test_many_eyes_are_answered_at_once_as_they_are_one_by_one() -> None:
    errors, weights = np.array([[-1.0], [0.3]]), np.array([0.0, 0.5, 1.0])
    together = np.asarray(fellow_error_dpt(errors, weights))
    assert together.shape == (2, 3)
    for row, error in zip(together, errors[:, 0], strict=True):
        assert row.tolist() == [float(fellow_error_dpt(float(error), float(weight))) for weight in weights]


@pytest.mark.parametrize("weight", [-0.01, 1.01, math.nan])
def test_a_weight_that_is_no_share_is_refused(weight: float) -> None:
    with pytest.raises(OutOfRangeError, match="between 0 and 1"):
        fellow_error_dpt(0.5, weight)
    with pytest.raises(OutOfRangeError, match="between 0 and 1"):
        variance_left(np.array([0.5, weight]))


def test_half_the_error_takes_13_4_percent_off_the_spread() -> None:
    """Arithmetic of the normal law; a published regression gained 11.3 % (Leffler 2011)."""
    gain = 1.0 - math.sqrt(float(variance_left(PUBLISHED_WEIGHT)))
    assert gain == pytest.approx(0.134, abs=0.0005)
    assert 0.113 < gain < 0.15


@pytest.mark.parametrize("planted", [0.3, 0.5, 0.7])
@pytest.mark.parametrize("normal", [True, False])
def test_a_planted_correlation_is_recovered_from_many_pairs(planted: float, normal: bool) -> None:
    learned = learned_weight(*drawn_pairs(planted, 20_000, normal=normal))
    assert learned.own_weight == pytest.approx(planted, abs=0.02)
    assert learned.weight == pytest.approx(planted, abs=0.02)


def test_correcting_by_a_planted_half_removes_13_4_percent_of_the_root_mean_square() -> None:
    first, second = drawn_pairs(0.5, 200_000, normal=True)
    corrected = second - fellow_error_dpt(first, 0.5)
    gain = 1.0 - np.sqrt(np.mean(corrected**2) / np.mean(second**2))
    assert gain == pytest.approx(1.0 - math.sqrt(0.75), abs=0.004)


def test_under_heavy_tails_half_the_error_is_still_expected_but_a_surprise_leaves_more_open() -> None:
    """Against SciPy's two-dimensional t law: the mean is the weight times the first error in every part."""
    first, second = drawn_pairs(0.5, 400_000)
    left_open = second - fellow_error_dpt(first, 0.5)
    spreads = []
    for low, high in pairwise((0.0, 0.3, 0.8, 3.0)):
        here = (first > low) & (first <= high)
        assert float(np.mean(left_open[here])) == pytest.approx(0.0, abs=0.02)
        spreads.append(float(np.median(np.abs(left_open[here]))))
    assert spreads == sorted(spreads)
    assert spreads[-1] > 1.5 * spreads[0]


def test_few_pairs_hardly_move_the_published_weight_and_many_do() -> None:
    first, second = drawn_pairs(0.8, 2000)
    few, many = learned_weight(first[:6], second[:6]), learned_weight(first, second)
    assert abs(few.weight - PUBLISHED_WEIGHT) <= 0.5 * 6 / (6 + PRIOR_PAIRS) + 1e-12
    assert many.weight > 0.75


def test_the_scatter_of_an_own_weight_is_that_for_which_the_prior_was_counted() -> None:
    """63 pairs at a true weight of 0.5: a standard deviation of about 0.1, as among published weights."""
    first, second = drawn_pairs(0.5, 63 * 2000, normal=True)
    own = [
        learned_weight(one, other).own_weight
        for one, other in zip(first.reshape(-1, 63), second.reshape(-1, 63), strict=True)
    ]
    assert float(np.std(own)) == pytest.approx(0.1, abs=0.01)


def test_a_bias_common_to_all_eyes_is_no_correlation() -> None:
    first, second = drawn_pairs(0.0, 5000)
    assert learned_weight(first + 2.0, second + 2.0).own_weight < 0.05


def test_eyes_that_miss_in_opposite_ways_give_no_weight_below_none() -> None:
    first, second = drawn_pairs(0.6, 200)
    learned = learned_weight(first, -second)
    assert learned.own_weight == 0.0
    assert learned.weight < PUBLISHED_WEIGHT


def test_equal_errors_give_no_weight_of_their_own() -> None:
    assert learned_weight(np.zeros(5), np.array([0.1, 0.2, 0.3, 0.4, 0.5])).own_weight == 0.0


@pytest.mark.parametrize(
    ("first", "second"),
    [([0.1, 0.2], [0.1, 0.2]), ([0.1, 0.2, 0.3], [0.1, 0.2]), ([0.1, math.nan, 0.3],) * 2],
)
def test_too_few_or_unlike_pairs_are_refused(first: list[float], second: list[float]) -> None:
    with pytest.raises(OutOfRangeError):
        learned_weight(np.array(first), np.array(second))


ROUTINE = error_law(ROUTINE_SCALE_DPT, 0.0185, 0.0185)
T_LAW = ErrorLaw(float(sd_dpt(ROUTINE_SCALE_DPT)) ** 2, DEGREES_OF_FREEDOM, 0.0)
NORMAL = ErrorLaw(0.0, DEGREES_OF_FREEDOM, 0.36)
CORRELATIONS = [-0.5, 0.0, 0.5, 0.9]


@pytest.mark.parametrize("correlation", CORRELATIONS)
@pytest.mark.parametrize("misses", [(0.0, 0.0), (0.2, -0.4), (1.0, 0.9)])
def test_without_measurement_error_both_eyes_follow_the_two_dimensional_t_law(
    correlation: float, misses: tuple[float, float]
) -> None:
    """Against `scipy.stats.multivariate_t`."""
    theirs = two_t_laws(ROUTINE_SCALE_DPT, correlation, DEGREES_OF_FREEDOM)
    ours = float(fraction_both_within(0.5, *misses, PairLaw(T_LAW, T_LAW, correlation)))
    upper, lower = np.array([0.5 - miss for miss in misses]), np.array([-0.5 - miss for miss in misses])
    wanted = float(theirs.cdf(upper, lower_limit=lower, maxpts=200_000))
    assert ours == pytest.approx(wanted, abs=2e-4)


@pytest.mark.parametrize("correlation", CORRELATIONS)
@pytest.mark.parametrize("misses", [(0.0, 0.0), (0.2, -0.4), (1.0, 0.9)])
def test_a_correlated_normal_pair_follows_the_two_dimensional_normal_law(
    correlation: float, misses: tuple[float, float]
) -> None:
    """Against `scipy.stats.multivariate_normal`; a t law of very many degrees of freedom is normal."""
    nearly_normal = ErrorLaw(0.36, 1e7, 0.0)
    shape = 0.36 * np.array([[1.0, correlation], [correlation, 1.0]])
    theirs = stats.multivariate_normal([0.0, 0.0], shape)
    upper, lower = [0.5 - miss for miss in misses], [-0.5 - miss for miss in misses]
    wanted = float(theirs.cdf(upper, lower_limit=lower))
    ours = float(fraction_both_within(0.5, *misses, PairLaw(nearly_normal, nearly_normal, correlation)))
    assert ours == pytest.approx(wanted, abs=1e-5)


@pytest.mark.parametrize("correlation", CORRELATIONS)
@pytest.mark.parametrize("centre", [0.0, 0.7, -1.25])
def test_the_difference_of_two_t_laws_is_a_t_law(correlation: float, centre: float) -> None:
    """Against `scipy.stats.t`: a difference within an elliptical law is of the same kind."""
    scale = ROUTINE_SCALE_DPT * math.sqrt(2.0 - 2.0 * correlation)
    theirs = stats.t(DEGREES_OF_FREEDOM, loc=centre, scale=scale)
    wanted = float(theirs.sf(1.0) + theirs.cdf(-1.0))
    pair = PairLaw(T_LAW, T_LAW, correlation)
    assert float(fraction_apart(1.0, centre, pair)) == pytest.approx(wanted, abs=1e-5)
    assert difference_sd_dpt(pair) == pytest.approx(float(theirs.std()), rel=1e-9)


def test_measured_eyes_match_draws_made_another_way() -> None:
    """Draws of SciPy's t law plus normal measurement errors, right and left measured unlike."""
    right, left = ErrorLaw(0.338, 3.2, 0.02), ErrorLaw(0.338, 3.2, 0.15)
    random = np.random.default_rng(11)
    law = two_t_laws(math.sqrt(0.338 * (3.2 - 2.0) / 3.2), 0.5, 3.2)
    errors = law.rvs(400_000, random_state=random)
    errors += random.normal(size=errors.shape) * np.sqrt([0.02, 0.15])
    ends = errors + np.array([0.1, -1.3])
    pair = PairLaw(right, left, 0.5)
    both = np.mean((np.abs(ends[:, 0]) <= 0.5) & (np.abs(ends[:, 1] + 1.25) <= 0.5))
    apart = np.mean(np.abs(ends[:, 0] - ends[:, 1]) > 2.0)
    assert float(fraction_both_within(0.5, 0.1, -0.05, pair)) == pytest.approx(float(both), abs=0.003)
    assert float(fraction_apart(2.0, 1.4, pair)) == pytest.approx(float(apart), abs=0.003)


MISS = st.floats(-2.0, 2.0)


@settings(max_examples=40)
@given(right=MISS, left=MISS, correlation=st.floats(-1.0, 1.0), limit=st.floats(0.05, 3.0))
def test_both_eyes_never_land_more_often_than_the_worse_of_them(
    right: float, left: float, correlation: float, limit: float
) -> None:
    pair = PairLaw(ROUTINE, ROUTINE, correlation)
    both = float(fraction_both_within(limit, right, left, pair))
    each = [float(fraction_within(limit, 0.0, miss, ROUTINE)) for miss in (right, left)]
    assert max(0.0, sum(each) - 1.0) - 1e-6 <= both <= min(each) + 1e-6


@settings(max_examples=40)
@given(right=MISS, left=MISS, correlation=st.floats(-0.99, 0.99))
def test_it_does_not_matter_which_eye_is_called_right(right: float, left: float, correlation: float) -> None:
    one, other = ErrorLaw(0.338, 3.22, 0.02), ErrorLaw(0.25, 2.9, 0.1)
    here = fraction_both_within(0.5, right, left, PairLaw(one, other, correlation))
    there = fraction_both_within(0.5, left, right, PairLaw(other, one, correlation))
    assert float(here) == pytest.approx(float(there), abs=1e-6)


@given(difference=st.floats(-3.0, 3.0), limits=st.tuples(st.floats(0.0, 3.0), st.floats(0.0, 3.0)))
def test_a_patient_who_tolerates_more_is_disappointed_less_often(
    difference: float, limits: tuple[float, float]
) -> None:
    pair = PairLaw(ROUTINE, ROUTINE, 0.5)
    strict, lax = (float(fraction_apart(limit, difference, pair)) for limit in sorted(limits))
    assert lax <= strict + 1e-12
    assert strict == pytest.approx(float(fraction_apart(min(limits), -difference, pair)), abs=1e-12)


def test_eyes_that_miss_together_end_less_far_apart() -> None:
    chances = [
        float(fraction_apart(1.0, 0.0, PairLaw(ROUTINE, ROUTINE, rho))) for rho in (0.0, 0.3, 0.6, 1.0)
    ]
    assert chances == sorted(chances, reverse=True)
    assert difference_sd_dpt(PairLaw(ROUTINE, ROUTINE, 0.5)) < difference_sd_dpt(
        PairLaw(ROUTINE, ROUTINE, 0.0)
    )


def test_many_powers_are_answered_at_once_as_they_are_one_by_one() -> None:
    pair = PairLaw(ROUTINE, ROUTINE, 0.5)
    misses = np.linspace(-1.0, 1.0, 5)
    together = fraction_both_within(0.5, misses, 0.2, pair)
    alone = [float(fraction_both_within(0.5, float(miss), 0.2, pair)) for miss in misses]
    assert together.tolist() == pytest.approx(alone, abs=1e-12)


def test_an_operated_eye_is_a_normal_partner() -> None:
    """Without residual the fellow knows nothing of this eye: chances multiply."""
    pair = PairLaw(ROUTINE, NORMAL, 0.5)
    wanted = float(fraction_within(0.5, 0.0, 0.1, ROUTINE)) * float(fraction_within(0.5, 0.0, 0.3, NORMAL))
    assert float(fraction_both_within(0.5, 0.1, 0.3, pair)) == pytest.approx(wanted, abs=1e-9)


def test_a_correlation_beyond_one_is_refused() -> None:
    with pytest.raises(OutOfRangeError):
        PairLaw(ROUTINE, ROUTINE, 1.01)


@given(refraction=st.floats(-20.0, 0.16))
def test_the_clear_distance_is_the_reciprocal_of_the_vergence(refraction: float) -> None:
    assert 1.0 / float(clear_distance_m(refraction)) == pytest.approx(1.0 / 6.0 - refraction)


def test_a_long_sighted_eye_has_no_clear_distance() -> None:
    assert float(clear_distance_m(1.0 / 6.0)) == math.inf
    assert np.isinf(np.asarray(clear_distance_m(np.array([0.5, 3.0])))).all()
