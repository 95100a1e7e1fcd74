"""Laws of the adjusted lengths of long eyes, and of lengths summed over segments."""

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from properties.paper_algebra import LONG_EYE_LINES, long_eye_power_dpt
from zonule.science.lens_power.flags import FormulaFlag
from zonule.science.lens_power.formulas import FORMULAS, EyeNumbers, Family, seen_eye
from zonule.science.lens_power.length_convention import segmental_length
from zonule.science.lens_power.long_eyes import ADJUSTMENTS, NEAR_STEP_MM, both_lengths
from zonule.science.lens_power.thin_lens import ThinLensEye, lens_power_dpt, refraction_dpt

KEYS = [key for key, row in FORMULAS.items() if row.family is Family.LONG_EYE]
every_key = pytest.mark.parametrize("key", KEYS)
LONG_EYES = st.builds(EyeNumbers, st.floats(25.0, 36.0), st.floats(38.0, 46.0), st.floats(2.5, 4.5))
A_CONSTANT = 118.4


def number(value: object) -> float:
    return float(np.asarray(value))


def seen_by(key: str, eye: EyeNumbers) -> ThinLensEye:
    seen: ThinLensEye = seen_eye(FORMULAS[key], eye, FORMULAS[key].first_guess(A_CONSTANT))
    return seen


def test_every_published_line_has_its_row() -> None:
    assert set(KEYS) == set(ADJUSTMENTS) == set(LONG_EYE_LINES)
    for key in KEYS:
        row = FORMULAS[key]
        assert row.lengths_from_mm == ADJUSTMENTS[key].lengths_from_mm
        assert (row.length_convention, row.corneas) == ("composite", ("none",))
        assert row.constant_names == FORMULAS[key.partition("_long_eye")[0]].constant_names


@every_key
@given(eye=LONG_EYES, target=st.floats(-4.0, 3.0))
def test_an_adjusted_formula_gives_the_power_of_the_papers_own_algebra(
    key: str, eye: EyeNumbers, target: float
) -> None:
    length, k, depth = (number(value) for value in eye[:3])
    paper = long_eye_power_dpt(key, length, k, depth, FORMULAS[key].first_guess(A_CONSTANT), target)
    assert number(lens_power_dpt(seen_by(key, eye), target)) == pytest.approx(paper, abs=1e-9)


@every_key
@given(eye=LONG_EYES, target=st.floats(-4.0, 3.0))
def test_power_and_back_gives_the_refraction_asked_for(key: str, eye: EyeNumbers, target: float) -> None:
    seen = seen_by(key, eye)
    assert number(refraction_dpt(seen, lens_power_dpt(seen, target))) == pytest.approx(target, abs=1e-9)


@every_key
@given(eye=LONG_EYES)
def test_the_adjusted_length_stands_everywhere_in_the_formula(key: str, eye: EyeNumbers) -> None:
    adjusted = both_lengths(ADJUSTMENTS[key], eye.axial_length_mm).adjusted_mm
    plain = seen_by(key.partition("_long_eye")[0], eye._replace(axial_length_mm=adjusted))
    assert [number(value) for value in seen_by(key, eye)[:3]] == [number(value) for value in plain[:3]]


@every_key
@given(length=st.floats(25.0, 36.0), longer=st.floats(0.05, 1.0), k=st.floats(38.0, 44.0))
def test_a_longer_eye_needs_a_weaker_lens_and_a_steeper_cornea_too(
    key: str, length: float, longer: float, k: float
) -> None:
    eye = EyeNumbers(length, k, 3.4)
    others = (eye._replace(axial_length_mm=length + longer), eye._replace(mean_k_dpt=k + longer))
    seen = seen_by(key, eye)
    for other in others:
        after = seen_by(key, other)
        assume(not (int(np.asarray(after.flags)) & FormulaFlag.NEAR_IMAGINARY_ROOT))
        assert number(lens_power_dpt(after, 0.0)) < number(lens_power_dpt(seen, 0.0))


@every_key
def test_the_adjustment_asks_for_more_power_beyond_its_threshold(key: str) -> None:
    # The classical formulas leave long eyes hyperopic, which a shorter length repairs.
    threshold = ADJUSTMENTS[key].lengths_from_mm
    for length in np.arange(threshold + 0.6, 34.0, 0.5):
        eye = EyeNumbers(float(length), 43.0, 3.4)
        plain = seen_by(key.partition("_long_eye")[0], eye)
        assert number(lens_power_dpt(seen_by(key, eye), 0.0)) > number(lens_power_dpt(plain, 0.0))


@every_key
@given(past=st.floats(-2.0, 4.0))
def test_a_length_short_of_the_step_or_near_it_is_flagged(key: str, past: float) -> None:
    length = ADJUSTMENTS[key].lengths_from_mm + past
    assume(abs(past - NEAR_STEP_MM) > 1e-6)
    flags = int(np.asarray(seen_by(key, EyeNumbers(length, 42.0, 3.4)).flags))
    assert bool(flags & FormulaFlag.LONG_EYE_STEP) is (past < NEAR_STEP_MM)
    assert bool(both_lengths(ADJUSTMENTS[key], length).near_step) is (past < NEAR_STEP_MM)


def test_lengths_near_the_step_are_told_one_by_one() -> None:
    both = both_lengths(ADJUSTMENTS["haigis_long_eye_2011"], np.array([25.1, 25.6]))
    assert np.asarray(both.near_step).tolist() == [True, False]


@given(length=st.floats(18.0, 34.0), thickness=st.floats(3.5, 5.5))
def test_segments_sum_to_more_in_short_eyes_and_less_in_long_ones(length: float, thickness: float) -> None:
    equal_at = (1.23853 - 0.05467 * thickness) / (1.0 - 0.95855)
    assume(abs(length - equal_at) > 1e-6)
    assert (number(segmental_length(length, thickness).length_mm) < length) is (length > equal_at)


def test_both_conventions_agree_near_23_8_mm() -> None:
    assert number(segmental_length(23.81, 4.6).length_mm) == pytest.approx(23.81, abs=2e-3)


@pytest.mark.parametrize("key", [*KEYS, "srk_t", "haigis"])
@pytest.mark.parametrize("length", [26.0, np.array([26.0, 28.0])])
def test_a_segmental_length_is_never_adjusted_by_mistake(key: str, length: Any) -> None:
    segmental: Any = segmental_length(length, 4.5)
    with pytest.raises(TypeError):
        lens_power_dpt(seen_by(key, EyeNumbers(segmental, 43.0, 3.4)), 0.0)
    if key in ADJUSTMENTS:
        with pytest.raises(TypeError):
            both_lengths(ADJUSTMENTS[key], segmental)


def test_a_missing_length_has_no_answer_and_a_flag() -> None:
    seen = seen_by("srk_t_long_eye_2018", EyeNumbers(math.nan, 43.0, 3.4))
    assert int(np.asarray(seen.flags)) & FormulaFlag.LENS_OUTSIDE_EYE
