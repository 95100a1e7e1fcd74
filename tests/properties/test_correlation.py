"""Laws of measurement errors that go together."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from zonule.science.lens_power.formulas import EyeNumbers
from zonule.science.uncertainty.correlation import (
    MEASURED,
    SHARED_BOUNDARY_CORRELATION,
    correlated_unit_errors,
    error_correlations,
    error_covariance,
)
from zonule.science.uncertainty.propagation import drawn_eyes
from zonule.science.uncertainty.quasi_random import shifted_normal_draws

EYE = EyeNumbers(23.5, 43.5, 3.1, 4.5, 0.54, 6.4, 43.5, -2.0)
SDS = EyeNumbers(0.0177, 0.18, 0.0247, 0.0355, 0.0036, 0.05, 0.0, 0.0)
positive = st.floats(0.001, 1.0)
some_sds = st.builds(EyeNumbers, *[positive] * MEASURED)


def flat(eyes: EyeNumbers) -> NDArray[np.float64]:
    return np.array([np.ravel(column) for column in eyes[:MEASURED]])


def scale_of(sds: EyeNumbers) -> NDArray[np.float64]:
    deviations = flat(sds).ravel()
    return np.outer(deviations, deviations)


def test_one_boundary_moves_chamber_and_lens_in_opposite_directions() -> None:
    # Langenbucher 2025: repeatability 24.7 um of the depth and 35.5 um of the thickness.
    assert pytest.approx(-24.7 / 35.5) == SHARED_BOUNDARY_CORRELATION


def test_a_boundary_drawn_by_itself_gives_the_same_covariance() -> None:
    # Another way to the same number: the two boundaries of the lens drawn as such.
    rng = np.random.default_rng(3)
    front = rng.normal(0.0, 0.0247, 400_000)
    back = rng.normal(0.0, np.sqrt(0.0355**2 - 0.0247**2), 400_000)
    seen = np.cov(front, back - front)
    np.testing.assert_allclose(seen, error_covariance(SDS)[2:4, 2:4], rtol=0.01)


@given(sds=some_sds)
def test_a_covariance_is_symmetric_positive_and_has_the_stated_deviations(sds: EyeNumbers) -> None:
    covariance = error_covariance(sds)
    np.testing.assert_array_equal(covariance, covariance.T)
    assert float(np.linalg.eigvalsh(covariance / scale_of(sds)).min()) > 0.0
    np.testing.assert_allclose(np.diag(covariance), np.diag(scale_of(sds)), rtol=1e-12)


@given(seed=st.integers(0, 2**48), sds=some_sds)
@settings(max_examples=30)
def test_drawn_eyes_have_the_covariance_that_was_asked_for(seed: int, sds: EyeNumbers) -> None:
    seen = np.cov(flat(drawn_eyes(EYE, sds, seed, 4096)))
    scale = scale_of(sds)
    # Five standard errors of as many random draws.
    np.testing.assert_allclose(seen / scale, error_covariance(sds) / scale, atol=0.08)


@given(seed=st.integers(0, 2**48))
@settings(max_examples=20)
def test_the_same_seed_draws_the_same_eyes_and_another_draws_others(seed: int) -> None:
    once, again, other = (flat(drawn_eyes(EYE, SDS, each, 1024)) for each in (seed, seed, seed + 1))
    np.testing.assert_array_equal(once, again)
    assert (once != other).all()


@given(seed=st.integers(0, 2**48), held=st.integers(0, MEASURED - 1))
@settings(max_examples=40)
def test_a_value_known_exactly_stays_where_it_is_and_moves_no_other(seed: int, held: int) -> None:
    fixed = EyeNumbers(*(0.0 if place == held else sd for place, sd in enumerate(SDS)))
    drawn, free = (flat(drawn_eyes(EYE, sds, seed, 1024)) for sds in (fixed, SDS))
    assert (drawn[held] == float(EYE[held])).all()
    rest = [place for place in range(MEASURED) if place != held]
    np.testing.assert_array_equal(drawn[rest], free[rest])


def test_what_was_not_measured_stays_unmeasured() -> None:
    drawn = flat(drawn_eyes(EYE._replace(lens_thickness_mm=np.nan), SDS, 1, 1024))
    assert np.isnan(drawn[3]).all()
    assert np.isfinite(np.delete(drawn, 3, axis=0)).all()


def test_length_cornea_and_depth_are_drawn_as_before_correlations_came() -> None:
    np.testing.assert_array_equal(correlated_unit_errors(4096, 9)[:3], shifted_normal_draws(4096, 3, 9))


def test_nobody_can_change_the_correlations_in_passing() -> None:
    with pytest.raises(ValueError, match="read-only"):
        error_correlations()[0, 1] = 0.5


def test_history_is_taken_as_told() -> None:
    drawn = drawn_eyes(EYE, SDS._replace(mean_k_before_dpt=1.0, treated_at_cornea_dpt=1.0), 1, 1024)
    assert (drawn.mean_k_before_dpt, drawn.treated_at_cornea_dpt) == (43.5, -2.0)
