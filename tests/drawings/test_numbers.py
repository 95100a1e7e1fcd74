from __future__ import annotations

import re
from datetime import UTC, date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from zonule.case.measured import Measured
from zonule.drawings import numbers

REFRACTIONS = st.floats(-30, 30)


@given(REFRACTIONS)
def test_a_refraction_always_shows_its_sign_and_zero_has_none(refraction_dpt: float) -> None:
    said = numbers.refraction_text(refraction_dpt)
    assert re.fullmatch(r"(?:[+\u2212]\d+\.\d\d|0\.00) D", said)
    assert said not in {"+0.00 D", "\u22120.00 D"}


@given(REFRACTIONS)
def test_a_refraction_says_what_it_was_to_half_a_hundredth(refraction_dpt: float) -> None:
    said = numbers.refraction_text(refraction_dpt).removesuffix(" D").replace("\u2212", "-")
    assert abs(float(said) - refraction_dpt) <= 0.005 + 1e-9


@given(st.floats(-1000, 1000), st.integers(0, 4))
def test_no_number_carries_a_hyphen_for_a_minus(value: float, decimals: int) -> None:
    assert "-" not in numbers.plain_text(value, decimals)


@given(st.floats(0, 1))
def test_a_chance_never_says_none_or_all(fraction: float) -> None:
    said = numbers.chance_text(fraction)
    assert not said.startswith(("0 ", "100 "))
    assert said.endswith(" in 100")


@given(st.floats(0, 360))
def test_an_axis_lies_above_0_and_up_to_180(axis_deg: float) -> None:
    assert 0 < int(numbers.axis_text(axis_deg).removesuffix("\u00b0")) <= 180


@pytest.mark.parametrize(("value", "said"), [(0.125, "0.13"), (-0.125, "\u22120.13"), (2.675, "2.68")])
def test_halves_are_rounded_away_from_zero_as_people_do(value: float, said: str) -> None:
    assert numbers.plain_text(value, 2) == said


@pytest.mark.parametrize(("power", "said"), [(20.5, "20.5 D"), (20.25, "20.25 D"), (-2.0, "\u22122.0 D")])
def test_a_power_is_written_as_its_label_is(power: float, said: str) -> None:
    assert numbers.power_text(power) == said


def test_a_measurement_without_repeats_claims_no_spread() -> None:
    assert numbers.measured_text(Measured(23.5), 2, "mm") == "23.50 mm"
    assert numbers.measured_text(Measured(23.5, sd=0.02), 2, "mm") == "23.50 \u00b1 0.02 mm"


def test_a_month_is_a_word() -> None:
    assert numbers.day_text(date(2026, 3, 12)) == "12 March 2026"


def test_a_time_names_its_zone() -> None:
    assert numbers.time_text(datetime(2026, 3, 12, 7, 5, tzinfo=UTC)) == "12 March 2026, 07:05 UTC"
