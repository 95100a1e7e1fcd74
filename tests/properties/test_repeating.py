"""Laws of what more readings buy."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from zonule.science.uncertainty.repeating import (
    fraction_within_if_confirmed,
    fraction_within_when_chosen_anew,
    variance_gone_dpt2,
)
from zonule.science.uncertainty.spread import ROUTINE_SCALE_DPT, ErrorLaw, error_law, fraction_within

AVERAGE_DPT2 = 0.0185
STEP_DPT = 0.35
"""Of refraction, from one power made to the next."""
POWERS = 9
measured_sds = st.floats(0.02, 0.8)
offsets = st.floats(-STEP_DPT / 2.0, STEP_DPT / 2.0)
shares = st.floats(0.0, 1.0)
readings = st.integers(1, 30)


def law_of(measured_sd: float) -> ErrorLaw:
    return error_law(ROUTINE_SCALE_DPT, AVERAGE_DPT2, np.full(POWERS, measured_sd**2))


def centres_about(offset: float) -> NDArray[np.float64]:
    steps = np.arange(-(POWERS // 2), POWERS // 2 + 1, dtype=np.float64)
    return np.asarray(offset - STEP_DPT * steps)


def chosen_now(centres: NDArray[np.float64], law: ErrorLaw) -> tuple[int, float]:
    chances = fraction_within(0.5, 0.0, centres, law)
    return int(chances.argmax()), float(chances.max())


def anew(measured_sd: float, offset: float, gone: float) -> float:
    law, centres = law_of(measured_sd), centres_about(offset)
    return fraction_within_when_chosen_anew(0.0, centres, chosen_now(centres, law)[0], law, gone)


@given(st.floats(0.0, 1.0), readings)
def test_n_more_readings_divide_the_variance_by_n_and_one(variance: float, more: int) -> None:
    left = variance - float(variance_gone_dpt2(variance, more))
    assert left == pytest.approx(variance / (more + 1), abs=1e-12)


def test_the_mean_of_drawn_readings_has_the_variance_that_is_left() -> None:
    drawn = np.random.default_rng(2).normal(0.0, 0.3, (4, 200_000)).mean(axis=0)
    assert drawn.var() == pytest.approx(0.09 - float(variance_gone_dpt2(0.09, 3)), rel=0.02)


@given(measured_sds, offsets, shares, readings)
@settings(max_examples=60)
def test_reading_again_never_lowers_the_chance_to_expect(
    measured_sd: float, offset: float, share: float, more: int
) -> None:
    gone = float(variance_gone_dpt2(share * measured_sd**2, more))
    now = chosen_now(centres_about(offset), law_of(measured_sd))[1]
    assert now <= anew(measured_sd, offset, gone) <= 1.0


@given(measured_sds, offsets, shares)
@settings(max_examples=60)
def test_more_readings_never_buy_less(measured_sd: float, offset: float, share: float) -> None:
    bought = [
        anew(measured_sd, offset, float(variance_gone_dpt2(share * measured_sd**2, more)))
        for more in (1, 3, 5, 20)
    ]
    # Quadrature over a maximum has corners; it is good to a thousandth.
    assert all(later > earlier - 1e-3 for earlier, later in pairwise(bought))


@given(measured_sds, offsets)
def test_readings_that_take_nothing_away_buy_nothing(measured_sd: float, offset: float) -> None:
    assert anew(measured_sd, offset, 0.0) == pytest.approx(
        chosen_now(centres_about(offset), law_of(measured_sd))[1], abs=1e-12
    )


@given(measured_sds, offsets, shares)
def test_confirmed_readings_give_the_law_with_less_measurement_error(
    measured_sd: float, offset: float, share: float
) -> None:
    gone = share * measured_sd**2
    narrower = error_law(ROUTINE_SCALE_DPT, AVERAGE_DPT2, measured_sd**2 - gone)
    law = error_law(ROUTINE_SCALE_DPT, AVERAGE_DPT2, measured_sd**2)
    found = float(fraction_within_if_confirmed(0.0, offset, law, gone))
    assert found == pytest.approx(float(fraction_within(0.5, 0.0, offset, narrower)), abs=1e-9)
    assert found >= float(fraction_within(0.5, 0.0, offset, law)) - 1e-9


def test_one_power_alone_gains_nothing_on_average_however_often_it_is_read() -> None:
    # The law of total probability: its chance already counts the errors that the readings would show.
    law = error_law(ROUTINE_SCALE_DPT, AVERAGE_DPT2, np.array([0.19]))
    now = float(fraction_within(0.5, 0.0, 0.1, law)[0])
    assert fraction_within_when_chosen_anew(0.0, np.array([0.1]), 0, law, 0.15) == pytest.approx(
        now, abs=1e-12
    )


@pytest.mark.parametrize("offset", [0.0, 0.1, 0.17])
@pytest.mark.parametrize("measured_sd", [0.136, 0.25, 0.434])
def test_a_simulated_second_look_gains_what_is_promised(measured_sd: float, offset: float) -> None:
    # Another way to the same number: eyes are drawn, read once, read three times more, and the power that is
    # predicted nearest the aim is taken each time.
    rng = np.random.default_rng(7)
    eyes = 400_000
    law = law_of(measured_sd)
    gone = float(variance_gone_dpt2(measured_sd**2, 3))
    shown = rng.normal(0.0, np.sqrt(gone), eyes)
    hidden = rng.normal(0.0, np.sqrt(measured_sd**2 - gone), eyes)
    freedom = law.residual_degrees_of_freedom
    residual = rng.standard_t(freedom, eyes) * np.sqrt(law.residual_variance_dpt2 * (freedom - 2.0) / freedom)
    centre = offset + shown
    nearest = centre - STEP_DPT * np.round(centre / STEP_DPT)
    landed = np.abs(nearest + hidden + residual) <= 0.5
    assert anew(measured_sd, offset, gone) == pytest.approx(landed.mean(), abs=0.005)
