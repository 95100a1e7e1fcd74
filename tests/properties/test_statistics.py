"""Laws of outcome summaries and of how much own results may move the next plan."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from numpy.typing import NDArray
from scipy import stats

from zonule.errors import MissingMeasurementError, OutOfRangeError
from zonule.science.statistics.outcomes import outcome_summary
from zonule.science.statistics.paired import mcnemar_p_value
from zonule.science.statistics.shrinkage import (
    SURGEON_BIAS_SD_DPT,
    blended_scale_dpt,
    effective_eyes,
    shrunk_offset,
)
from zonule.science.uncertainty.spread import DEGREES_OF_FREEDOM, ROUTINE_SCALE_DPT, sd_dpt

ERRORS_DPT = arrays(np.float64, st.integers(2, 60), elements=st.floats(-4.0, 4.0))


@given(errors=ERRORS_DPT)
def test_the_summary_is_what_scipy_and_numpy_say(errors: NDArray[np.float64]) -> None:
    assume(np.ptp(errors) > 1e-6)  # SciPy warns of equal errors
    summary = outcome_summary(errors)
    described = stats.describe(errors)
    assert summary.eyes == described.nobs
    assert summary.mean_error_dpt == pytest.approx(described.mean, abs=1e-12)
    assert summary.sd_dpt == pytest.approx(math.sqrt(described.variance), abs=1e-9)
    assert summary.mae_dpt == pytest.approx(np.mean(np.abs(errors)), abs=1e-12)
    assert summary.median_ae_dpt == pytest.approx(stats.scoreatpercentile(np.abs(errors), 50), abs=1e-12)


@given(errors=ERRORS_DPT, seed=st.integers(0, 1000))
def test_the_order_of_eyes_does_not_matter(errors: NDArray[np.float64], seed: int) -> None:
    shuffled = np.random.default_rng(seed).permutation(errors)
    one, other = outcome_summary(errors), outcome_summary(shuffled)
    assert one.within == other.within
    assert one.median_ae_dpt == other.median_ae_dpt
    assert one.mean_error_dpt == pytest.approx(other.mean_error_dpt, abs=1e-12)
    assert one.sd_dpt == pytest.approx(other.sd_dpt, abs=1e-12)


@given(quarters=st.lists(st.integers(-16, 16), min_size=1, max_size=40))
def test_an_error_on_the_limit_counts_as_within(quarters: list[int]) -> None:
    errors = np.array(quarters) * 0.25
    summary = outcome_summary(errors)
    for name, steps in (("0.25", 1), ("0.50", 2), ("0.75", 3), ("1.00", 4)):
        assert summary.within[name] == sum(abs(each) <= steps for each in quarters) / len(quarters)


def test_binary_fractions_do_not_push_an_eye_over_the_limit() -> None:
    assert outcome_summary(np.array([0.8 - 0.3])).within["0.50"] == 1.0
    assert outcome_summary(np.array([-0.1 - 0.2 - 0.2])).within["0.50"] == 1.0


@given(errors=ERRORS_DPT)
def test_a_wider_limit_never_holds_fewer_eyes(errors: NDArray[np.float64]) -> None:
    fractions = list(outcome_summary(errors).within.values())
    assert fractions == sorted(fractions)


def test_one_eye_has_no_standard_deviation() -> None:
    assert outcome_summary(np.array([0.3])).sd_dpt is None


def test_no_eye_and_no_number_are_refused() -> None:
    with pytest.raises(MissingMeasurementError):
        outcome_summary(np.array([]))
    with pytest.raises(OutOfRangeError):
        outcome_summary(np.array([0.1, np.nan]))


@given(errors=ERRORS_DPT, eyes=st.floats(0.5, 1000.0))
def test_an_offset_lies_between_nothing_and_the_mean(errors: NDArray[np.float64], eyes: float) -> None:
    offset = shrunk_offset(errors, eyes)
    assert 0.0 < offset.weight < 1.0
    assert abs(offset.offset_dpt) <= abs(offset.mean_error_dpt)
    assert offset.offset_dpt * offset.mean_error_dpt >= 0.0


@given(errors=ERRORS_DPT, eyes=st.floats(0.5, 500.0), more=st.floats(0.5, 500.0))
def test_more_eyes_weigh_more_and_leave_less_doubt(
    errors: NDArray[np.float64], eyes: float, more: float
) -> None:
    few, many = shrunk_offset(errors, eyes), shrunk_offset(errors, eyes + more)
    assert many.weight > few.weight
    assert many.offset_sd_dpt < few.offset_sd_dpt < SURGEON_BIAS_SD_DPT
    assert many.standard_error_dpt < few.standard_error_dpt


@given(errors=ERRORS_DPT, eyes=st.floats(0.5, 500.0))
def test_the_offset_is_the_posterior_of_two_normal_laws(errors: NDArray[np.float64], eyes: float) -> None:
    variance = float(sd_dpt(ROUTINE_SCALE_DPT)) ** 2
    precision = eyes / variance + 1.0 / SURGEON_BIAS_SD_DPT**2
    offset = shrunk_offset(errors, eyes)
    assert offset.offset_dpt == pytest.approx(eyes / variance * errors.mean() / precision, abs=1e-9)
    assert offset.offset_sd_dpt == pytest.approx(1.0 / math.sqrt(precision), rel=1e-9)


@given(singles=st.integers(0, 50), pairs=st.integers(0, 50))
def test_two_eyes_of_one_patient_are_worth_more_than_one_and_less_than_two(singles: int, pairs: int) -> None:
    worth = effective_eyes(np.array([1] * singles + [2] * pairs, dtype=np.int64))
    assert singles + pairs <= worth <= singles + 2 * pairs
    assert worth == pytest.approx(singles + 2 * pairs / 1.5, rel=1e-12)


@given(errors=ERRORS_DPT, eyes=st.floats(0.5, 1000.0))
def test_the_blended_scale_lies_between_the_published_and_the_own(
    errors: NDArray[np.float64], eyes: float
) -> None:
    centred = errors - errors.mean()
    own = float(np.median(np.abs(centred)) / stats.t(DEGREES_OF_FREEDOM).ppf(0.75))
    blended = blended_scale_dpt(centred, eyes)
    low, high = sorted((own, ROUTINE_SCALE_DPT))
    assert low - 1e-9 <= blended <= high + 1e-9


def test_many_own_eyes_make_the_scale_their_own() -> None:
    law = stats.t(DEGREES_OF_FREEDOM, scale=0.30)
    errors = np.asarray(law.ppf((np.arange(20000) + 0.5) / 20000))
    assert blended_scale_dpt(errors, 20000.0) == pytest.approx(0.30, abs=0.002)
    assert blended_scale_dpt(errors, 1.0) == pytest.approx(ROUTINE_SCALE_DPT, abs=0.002)


@given(first=st.integers(0, 400), second=st.integers(0, 400))
def test_mcnemars_exact_test_is_scipys_fair_coin(first: int, second: int) -> None:
    expected = stats.binomtest(first, first + second, 0.5).pvalue if first + second else 1.0
    assert mcnemar_p_value(first, second) == pytest.approx(expected, rel=1e-9)
    assert mcnemar_p_value(first, second) == mcnemar_p_value(second, first)
