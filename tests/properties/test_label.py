"""Laws of the label's error, and what the standard and measured lenses say."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from zonule.science.uncertainty.label import (
    AVERAGE_LENS_DPT,
    excess_label_variance_dpt2,
    label_limit_dpt,
    label_sd_dpt,
)

powers = st.floats(-15.0, 40.0)


@pytest.mark.parametrize(
    ("power", "limit"),
    [(0.0, 0.3), (15.0, 0.3), (15.5, 0.4), (25.0, 0.4), (25.5, 0.5), (30.0, 0.5), (30.5, 1.0), (40.0, 1.0)],
)
def test_the_limits_are_those_of_the_standard(power: float, limit: float) -> None:
    # ISO 11979-2, from memory.
    assert label_limit_dpt(power) == limit


@pytest.mark.parametrize(("power", "distance"), [(15.5, 0.12), (21.0, 0.12), (25.0, 0.12), (28.0, 0.19)])
def test_drawn_lenses_lie_as_far_from_their_label_as_measured_ones(power: float, distance: float) -> None:
    drawn = np.random.default_rng(1).normal(0.0, label_sd_dpt(power), 200_000)
    assert np.abs(drawn).mean() == pytest.approx(distance, rel=0.01)


@given(powers)
def test_lenses_as_measured_nearly_always_keep_the_limits(power: float) -> None:
    assert label_sd_dpt(power) < label_limit_dpt(power) / 2.0


@given(powers)
def test_a_minus_lens_is_as_uncertain_as_the_plus_lens_of_its_size(power: float) -> None:
    assert label_sd_dpt(power) == label_sd_dpt(-power)


@given(st.floats(0.0, 40.0), st.floats(0.0, 40.0))
def test_a_stronger_lens_is_never_surer(one: float, other: float) -> None:
    weaker, stronger = sorted((one, other))
    assert label_sd_dpt(weaker) <= label_sd_dpt(stronger)


@given(powers, st.floats(-1.0, -0.3))
def test_only_what_exceeds_the_average_lens_is_added(power: float, gain: float) -> None:
    added = float(excess_label_variance_dpt2(power, gain))
    if abs(power) <= 25.0:
        assert added == 0.0
    else:
        whole = float(label_sd_dpt(power)) ** 2
        held = float(label_sd_dpt(AVERAGE_LENS_DPT)) ** 2
        assert added == pytest.approx((whole - held) * gain**2)


def test_at_the_cornea_measured_lenses_differ_as_published() -> None:
    # The same lenses in refraction: 0.07 D from 15 to 25 D; an average eye turns 1 D into 0.70 D.
    at_glasses = float(label_sd_dpt(21.0)) * np.sqrt(2.0 / np.pi) * 0.70
    assert at_glasses == pytest.approx(0.07, abs=0.015)
