from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drawings.drawn import prediction
from zonule.drawings.law import density_per_dpt, middle_half_dpt
from zonule.science.uncertainty.spread import ErrorLaw, fraction_within

laws = st.builds(ErrorLaw, st.floats(0.04, 2.0), st.floats(2.3, 3.4), st.floats(0.0, 1.0))


@given(st.floats(-2, 2), laws, st.floats(0.1, 2.0))
def test_the_area_drawn_in_a_band_is_the_chance_stated(centre: float, law: ErrorLaw, limit: float) -> None:
    refractions = np.linspace(-limit, limit, 4001)
    area = np.trapezoid(density_per_dpt(refractions, centre, law), refractions)
    assert area == pytest.approx(float(fraction_within(limit, 0.0, centre, law)), abs=1e-5)


@given(st.floats(-2, 2), laws)
def test_the_middle_half_holds_half_of_the_eyes(centre: float, law: ErrorLaw) -> None:
    low, high = middle_half_dpt(centre, law)
    assert float(fraction_within((high - low) / 2, centre, centre, law)) == pytest.approx(0.5, abs=1e-9)


@given(st.floats(18.0, 24.0), st.floats(0.3, 1.0))
def test_the_law_drawn_is_the_one_whose_chances_are_printed(power: float, sd: float) -> None:
    made = prediction(power, aim_dpt=-0.25, sd_dpt=sd)
    assert made.spread is not None
    chance = float(fraction_within(0.5, -0.25, made.refraction_dpt, made.spread.law))
    assert chance == pytest.approx(made.spread.within_0_50, abs=1e-12)
