from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from zonule.drawings.law import density_per_dpt, middle_half_dpt
from zonule.science.uncertainty.spread import fraction_within


@given(st.floats(-2, 2), st.floats(0.2, 1.5), st.floats(0.1, 2.0))
def test_the_area_drawn_in_a_band_is_the_chance_stated(centre: float, sd: float, limit: float) -> None:
    refractions = np.linspace(-limit, limit, 20001)
    area = np.trapezoid(density_per_dpt(refractions, centre, sd), refractions)
    assert area == pytest.approx(float(fraction_within(limit, 0.0, centre, sd)), abs=1e-5)


@given(st.floats(-2, 2), st.floats(0.2, 1.5))
def test_the_middle_half_holds_half_of_the_eyes(centre: float, sd: float) -> None:
    low, high = middle_half_dpt(centre, sd)
    assert float(fraction_within((high - low) / 2, centre, centre, sd)) == pytest.approx(0.5, abs=1e-9)
