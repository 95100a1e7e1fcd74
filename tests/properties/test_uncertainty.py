"""Laws of draws, of what measurement error does, and of the spread promised."""

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import stats

from zonule.science.lens_power.formulas import FORMULAS, EyeNumbers, Formula, thin_lens_eye
from zonule.science.lens_power.thin_lens import lens_power_dpt, refraction_dpt
from zonule.science.uncertainty.propagation import (
    AVERAGE_EYE,
    DRAWS,
    PUBLISHED_SDS,
    SimulatedVariance,
    average_eye_variance_dpt2,
    drawn_eyes,
    measurement_variance,
)
from zonule.science.uncertainty.quasi_random import shifted_normal_draws
from zonule.science.uncertainty.spread import (
    DEGREES_OF_FREEDOM,
    ROUTINE_SCALE_DPT,
    chances_of_target,
    eye_sd_dpt,
    fraction_below,
    fraction_within,
    scale_from_sd_dpt,
    sd_dpt,
)

USUAL_EYES = st.builds(EyeNumbers, st.floats(21.0, 28.0), st.floats(40.0, 46.5), st.floats(2.2, 4.2))
every_formula = pytest.mark.parametrize("formula", FORMULAS.values(), ids=FORMULAS)


def number(value: object) -> float:
    return float(np.asarray(value))


def constants_of(formula: Formula) -> tuple[float, ...]:
    return formula.first_guess(118.4)


def plano_power(formula: Formula, eye: EyeNumbers) -> float:
    return number(lens_power_dpt(thin_lens_eye(formula, eye, constants_of(formula)), 0.0))


def simulated(formula: Formula, eye: EyeNumbers, seed: int) -> SimulatedVariance:
    drawn = drawn_eyes(eye, PUBLISHED_SDS, seed)
    powers = np.array([plano_power(formula, eye)])
    return measurement_variance(formula, constants_of(formula), drawn, powers)


def first_order_variance(formula: Formula, eye: EyeNumbers) -> float:
    """Squares of numeric partial derivatives times squares of standard deviations."""
    power = plano_power(formula, eye)

    def refraction(numbers: EyeNumbers) -> float:
        return number(refraction_dpt(thin_lens_eye(formula, numbers, constants_of(formula)), power))

    total = 0.0
    for place, sd in enumerate(PUBLISHED_SDS):
        step = 1e-4
        ahead, behind = (
            refraction(EyeNumbers(*(float(v) + half * (i == place) for i, v in enumerate(eye))))
            for half in (step, -step)
        )
        total += ((ahead - behind) / (2.0 * step) * float(sd)) ** 2
    return total


@every_formula
@settings(max_examples=40)
@given(eye=USUAL_EYES, seed=st.integers(0, 2**40))
def test_the_simulation_agrees_with_first_order_propagation(
    formula: Formula, eye: EyeNumbers, seed: int
) -> None:
    # Two formulas have a kink or a step of a micrometre there, which no partial derivative describes.
    assume(all(abs(float(eye.axial_length_mm) - branch) > 0.1 for branch in (23.0, 24.2)))
    found = simulated(formula, eye, seed).variance_dpt2[0]
    assert found == pytest.approx(first_order_variance(formula, eye), rel=0.03)


@every_formula
def test_the_standard_error_of_the_simulation_is_honest(formula: Formula) -> None:
    runs = [simulated(formula, AVERAGE_EYE, seed) for seed in range(60)]
    seen = np.std([run.variance_dpt2[0] for run in runs], ddof=1)
    claimed = np.mean([run.standard_error_dpt2[0] for run in runs])
    # 60 runs know their own spread to about 9 %; a claim may be up to twice too careful, never half.
    assert 0.7 * seen < claimed < 2.0 * seen


@every_formula
def test_variances_of_many_powers_are_those_of_each_power_alone(formula: Formula) -> None:
    drawn = drawn_eyes(AVERAGE_EYE, PUBLISHED_SDS, seed=3)
    powers = np.arange(15.0, 25.5, 0.5)
    together = measurement_variance(formula, constants_of(formula), drawn, powers)
    for place, power in enumerate(powers):
        refractions = np.asarray(
            refraction_dpt(thin_lens_eye(formula, drawn, constants_of(formula)), float(power))
        )
        alone = refractions.var()
        by_shift = refractions.var(axis=1).std(ddof=1) / math.sqrt(16)
        assert together.variance_dpt2[place] == pytest.approx(alone, rel=1e-12)
        assert together.standard_error_dpt2[place] == pytest.approx(by_shift, rel=1e-9)


def test_nothing_measured_badly_means_no_variance() -> None:
    drawn = drawn_eyes(AVERAGE_EYE, EyeNumbers(0.0, 0.0, 0.0), seed=1)
    found = measurement_variance(FORMULAS["srk_t"], [118.4], drawn, np.array([20.0]))
    assert found.variance_dpt2[0] == pytest.approx(0.0, abs=1e-24)


@given(seed=st.integers(0, 2**48), dimensions=st.integers(1, 8))
@settings(max_examples=30)
def test_draws_are_standard_normal_and_uncorrelated(seed: int, dimensions: int) -> None:
    draws = shifted_normal_draws(DRAWS, dimensions, seed).reshape(dimensions, -1)
    assert np.isfinite(draws).all()
    np.testing.assert_allclose(draws.mean(axis=1), 0.0, atol=0.02)
    np.testing.assert_allclose(draws.std(axis=1), 1.0, atol=0.02)
    correlations = np.atleast_2d(np.corrcoef(draws)) - np.eye(dimensions)
    assert np.abs(correlations).max() < 0.06


def test_the_same_seed_gives_the_same_draws_and_another_gives_others() -> None:
    once, again, other = (shifted_normal_draws(DRAWS, 3, seed) for seed in (5, 5, 6))
    np.testing.assert_array_equal(once, again)
    assert (once != other).all()


@every_formula
def test_the_average_eye_gets_exactly_the_published_law(formula: Formula) -> None:
    average = average_eye_variance_dpt2(formula.key, constants_of(formula))
    spread = eye_sd_dpt(ROUTINE_SCALE_DPT, average, average)
    assert number(spread) == pytest.approx(number(sd_dpt(ROUTINE_SCALE_DPT)), abs=1e-12)
    assert fraction_within(0.5, 0.0, 0.0, spread) == pytest.approx(0.727, abs=5e-4)
    assert fraction_within(1.0, 0.0, 0.0, spread) == pytest.approx(0.930, abs=5e-4)


@given(average=st.floats(0.0, 0.2), mine=st.floats(0.0, 1.0), worse=st.floats(0.001, 1.0))
def test_a_worse_measured_eye_has_a_wider_spread(average: float, mine: float, worse: float) -> None:
    narrow, wide = (number(eye_sd_dpt(ROUTINE_SCALE_DPT, average, each)) for each in (mine, mine + worse))
    assert narrow < wide


@given(scale=st.floats(0.05, 3.0))
def test_scale_and_standard_deviation_are_two_names_of_one_law(scale: float) -> None:
    assert number(scale_from_sd_dpt(sd_dpt(scale))) == pytest.approx(scale, rel=1e-12)
    law = stats.t(DEGREES_OF_FREEDOM, scale=scale)
    assert number(sd_dpt(scale)) == pytest.approx(float(law.std()), rel=1e-9)


@given(limit=st.floats(-4.0, 4.0), centre=st.floats(-3.0, 3.0), scale=st.floats(0.1, 2.0))
def test_fractions_are_those_of_students_t(limit: float, centre: float, scale: float) -> None:
    law = stats.t(DEGREES_OF_FREEDOM, loc=centre, scale=scale)
    assert number(fraction_below(limit, centre, sd_dpt(scale))) == pytest.approx(
        float(law.cdf(limit)), abs=1e-9
    )


@given(
    narrow=st.floats(0.01, 2.0),
    wider=st.floats(0.01, 2.0),
    target=st.floats(-3.0, 1.0),
    centre=st.floats(-4.0, 3.0),
    deviation=st.floats(0.2, 2.0),
)
def test_a_wider_band_holds_more(
    narrow: float, wider: float, target: float, centre: float, deviation: float
) -> None:
    small, large = (
        number(fraction_within(limit, target, centre, deviation)) for limit in (narrow, narrow + wider)
    )
    assert 0.0 <= small < large <= 1.0


@given(off=st.floats(0.0, 3.0), further=st.floats(0.01, 2.0), deviation=st.floats(0.2, 2.0))
def test_a_prediction_further_from_the_target_hits_it_less_often(
    off: float, further: float, deviation: float
) -> None:
    near, far = (number(fraction_within(0.5, 0.0, centre, deviation)) for centre in (off, off + further))
    assert far < near


@given(centre=st.floats(-3.0, 3.0), deviation=st.floats(0.2, 2.0))
def test_chances_do_not_know_myopia_from_hyperopia(centre: float, deviation: float) -> None:
    here, mirrored = (chances_of_target(0.0, each, deviation) for each in (centre, -centre))
    assert number(here.within_0_50) == pytest.approx(number(mirrored.within_0_50), abs=1e-12)
    assert number(here.within_0_25) < number(here.within_0_50) < number(here.within_1_00)


def test_chances_of_many_powers_are_those_of_each() -> None:
    centres, deviations = np.array([-1.0, 0.0, 0.4]), np.array([0.5, 0.6, 0.7])
    together = chances_of_target(-0.25, centres, deviations)
    for place in range(3):
        alone = chances_of_target(-0.25, float(centres[place]), float(deviations[place]))
        assert together.within_0_50[place] == number(alone.within_0_50)
