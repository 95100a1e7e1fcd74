"""Laws of shares of variance, against closed forms and against SciPy's own estimator."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy import stats
from scipy.special import ndtr

from zonule.science.lens_power import haigis
from zonule.science.lens_power.formulas import UNTOUCHED, EyeNumbers, Formula, seen_eye
from zonule.science.uncertainty.correlation import SHARED_BOUNDARY
from zonule.science.uncertainty.propagation import drawn_eyes
from zonule.science.uncertainty.quasi_random import shifted_normal_draws
from zonule.science.uncertainty.sensitivity import Model, SobolIndices, refraction_shares, sobol_indices

EYE = EyeNumbers(23.5, 43.5, 3.1, 4.5, 0.54, 6.4, 43.5, -2.0)
SDS = EyeNumbers(0.0177, 0.18, 0.0247, 0.0355, 0.0036, 0.05, 0.18, 0.25)
POWER = 20.5
every_formula = pytest.mark.parametrize("formula", UNTOUCHED.values(), ids=UNTOUCHED)


def constants_of(formula: Formula) -> tuple[float, ...]:
    return formula.first_guess(118.4)


def indices(model: Model, inputs: int, groups: list[list[int]], draws: int = 16_384) -> SobolIndices:
    normal = shifted_normal_draws(draws, 2 * inputs, seed=4).reshape(2, inputs, -1)
    return sobol_indices(model, normal[0], normal[1], groups)


def ishigami(uniform: NDArray[np.float64]) -> NDArray[np.float64]:
    """The usual test function of this trade, a = 7, b = 0.1, inputs uniform within pi of zero."""
    one, two, three = uniform
    found: NDArray[np.float64] = np.sin(one) + 7.0 * np.sin(two) ** 2 + 0.1 * three**4 * np.sin(one)
    return found


@given(weights=st.lists(st.floats(0.2, 5.0), min_size=2, max_size=5))
@settings(max_examples=30, deadline=None)
def test_shares_of_a_sum_are_the_squares_of_its_weights(weights: list[float]) -> None:
    each = [[place] for place in range(len(weights))]
    found = indices(lambda inputs: np.tensordot(weights, inputs, axes=1), len(weights), each)
    expected = np.square(weights) / np.square(weights).sum()
    np.testing.assert_allclose(found.first_order, expected, atol=0.03)
    np.testing.assert_allclose(found.total, expected, atol=0.03)


def test_a_product_of_two_inputs_is_all_interaction() -> None:
    found = indices(lambda inputs: inputs[0] * inputs[1], 2, [[0], [1]])
    np.testing.assert_allclose(found.first_order, 0.0, atol=0.03)
    np.testing.assert_allclose(found.total, 1.0, atol=0.05)


def test_the_ishigami_function_has_its_analytic_shares() -> None:
    # Closed form of Ishigami and Homma 1990, as any text on sensitivity prints it.
    a, b = 7.0, 0.1
    alone = np.array([(1.0 + b * math.pi**4 / 5.0) ** 2 / 2.0, a**2 / 8.0, 0.0])
    together = b**2 * math.pi**8 * 8.0 / 225.0
    whole = alone.sum() + together
    found = indices(lambda normal: ishigami(math.pi * (2.0 * ndtr(normal) - 1.0)), 3, [[0], [1], [2]], 65_536)
    np.testing.assert_allclose(found.first_order, alone / whole, atol=0.02)
    np.testing.assert_allclose(found.total, (alone + np.array([together, 0.0, together])) / whole, atol=0.02)
    assert found.variance == pytest.approx(whole, rel=0.02)


def test_shares_are_those_of_scipy_for_the_ishigami_function() -> None:
    # scipy.stats.sobol_indices: an independent implementation.
    theirs = stats.sobol_indices(
        func=ishigami,
        n=16_384,
        dists=[stats.uniform(-math.pi, 2.0 * math.pi)] * 3,  # type: ignore[list-item] # the stubs miss frozen laws
        rng=np.random.default_rng(1),
    )
    ours = indices(lambda normal: ishigami(math.pi * (2.0 * ndtr(normal) - 1.0)), 3, [[0], [1], [2]], 65_536)
    np.testing.assert_allclose(ours.first_order, theirs.first_order, atol=0.02)
    np.testing.assert_allclose(ours.total, theirs.total_order, atol=0.02)


@every_formula
def test_shares_of_a_refraction_are_those_of_scipy(formula: Formula) -> None:
    def refraction(inputs: NDArray[np.float64]) -> NDArray[np.float64]:
        eye = EYE._replace(**dict(zip(formula.reads, inputs, strict=True)))
        seen = seen_eye(formula, eye, constants_of(formula))
        return np.asarray(formula.optics.refraction_dpt(seen, POWER), dtype=np.float64)

    dists = [stats.norm(getattr(EYE, name), getattr(SDS, name)) for name in formula.reads]
    theirs = stats.sobol_indices(func=refraction, n=4096, dists=dists, rng=np.random.default_rng(1))
    ours = refraction_shares(formula, constants_of(formula), EYE, SDS, POWER, seed=2, draws=4096)
    assert ours.groups == tuple((name,) for name in formula.reads)
    np.testing.assert_allclose(ours.first_order, theirs.first_order, atol=0.03)
    np.testing.assert_allclose(ours.total, theirs.total_order, atol=0.03)


@every_formula
@given(length=st.floats(20.5, 28.0), cornea=st.floats(40.0, 45.0), seed=st.integers(0, 2**40))
@settings(max_examples=20, deadline=None)
def test_small_errors_add_up_without_interaction(
    formula: Formula, length: float, cornea: float, seed: int
) -> None:
    # A kink or a step of a micrometre lies there; beyond 45 D SRK/T bends in long eyes.
    assume(all(abs(length - branch) > 0.1 for branch in (23.0, 24.2)))
    eye = EYE._replace(axial_length_mm=length, mean_k_dpt=cornea)
    shares = refraction_shares(formula, constants_of(formula), eye, SDS, POWER, seed, draws=4096)
    assert shares.first_order.sum() == pytest.approx(1.0, abs=0.01)
    np.testing.assert_allclose(shares.total, shares.first_order, atol=0.01)


@every_formula
def test_few_draws_are_off_by_thousandths_because_formulas_are_nearly_straight(formula: Formula) -> None:
    runs = [refraction_shares(formula, constants_of(formula), EYE, SDS, POWER, seed) for seed in range(30)]
    assert np.std([run.first_order for run in runs], axis=0).max() < 0.005
    assert np.std([run.total for run in runs], axis=0).max() < 0.005


def test_what_is_known_exactly_has_no_share() -> None:
    formula = UNTOUCHED["haigis"]
    sds = SDS._replace(axial_length_mm=0.0)
    shares = refraction_shares(formula, constants_of(formula), EYE, sds, POWER, seed=2)
    place = shares.groups.index(("axial_length_mm",))
    assert shares.first_order[place] == shares.total[place] == 0.0


def test_where_nothing_varies_there_is_nothing_to_share() -> None:
    formula = UNTOUCHED["srk_t"]
    shares = refraction_shares(formula, constants_of(formula), EYE, EyeNumbers(*[0.0] * 8), POWER, seed=2)
    assert np.isnan(shares.first_order).all()
    assert shares.variance_dpt2 == 0.0


def test_inputs_that_bend_together_show_interaction() -> None:
    # SRK/T in a long eye with a steep cornea, both measured badly: its corneal height turns a corner.
    eye = EYE._replace(axial_length_mm=27.0, mean_k_dpt=47.0)
    sds = SDS._replace(axial_length_mm=0.3, mean_k_dpt=0.5)
    shares = refraction_shares(UNTOUCHED["srk_t"], (118.4,), eye, sds, 20.5, seed=1, draws=4096)
    assert (shares.total > shares.first_order + 0.03).all()


def place_of_lens(length: float, cornea: float, depth: float, thickness: float) -> object:
    """A made-up formula that places the lens by depth and thickness."""
    return haigis.thin_lens_eye(length, cornea, depth + 0.39 * thickness - 1.7, 1.3, 0.4, 0.1)


def test_a_correlated_pair_is_one_group_with_the_variance_of_both() -> None:
    reads = (*UNTOUCHED["haigis"].reads, "lens_thickness_mm")
    formula = replace(UNTOUCHED["haigis"], reads=reads, kernel=place_of_lens, constant_names=())
    sds = EyeNumbers(0.0, 0.0, 0.2, 0.3, 0.0, 0.0, 0.0, 0.0)
    shares = refraction_shares(formula, (), EYE, sds, POWER, seed=2, draws=4096)
    assert shares.groups[-1] == SHARED_BOUNDARY
    assert shares.first_order[-1] == pytest.approx(1.0, abs=0.05)
    drawn = seen_eye(formula, drawn_eyes(EYE, sds, 3, 4096), ())
    whole = np.asarray(formula.optics.refraction_dpt(drawn, POWER)).var()
    assert shares.variance_dpt2 == pytest.approx(whole, rel=0.1)
    assert shares.variance_dpt2 < 0.7 * variance_if_independent(formula, sds)


def variance_if_independent(formula: Formula, sds: EyeNumbers) -> float:
    rng = np.random.default_rng(1)
    drawn = EyeNumbers(
        *(float(v) + float(sd) * rng.standard_normal(40_000) for v, sd in zip(EYE, sds, strict=True))
    )
    return float(np.asarray(formula.optics.refraction_dpt(seen_eye(formula, drawn, ()), POWER)).var())
