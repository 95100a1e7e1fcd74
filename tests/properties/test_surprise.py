"""What one quantity would have to be to explain a refraction: round trips, and eyes of another model."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from zonule.science.lens_power.formulas import FORMULAS, EyeNumbers, Formula, seen_eye
from zonule.science.lens_power.surprise import (
    LENS_POSITION_SD_MM,
    REFRACTION_SD_DPT,
    axial_length_that_explains_mm,
    corneal_power_that_explains_dpt,
    length_that_explains_mm,
    mean_k_that_explains_dpt,
    position_that_explains_mm,
)
from zonule.science.lens_power.thin_lens import ThinLensEye, refraction_dpt
from zonule.science.optics.four_surface import (
    Cornea,
    equivalent_corneal_power_dpt,
    thin_lens_refraction_dpt,
)

CLASSICAL = ("srk_t", "holladay_1", "hoffer_q", "haigis")
CONSTANTS = {
    "srk_t": (118.4,),
    "holladay_1": (1.45,),
    "hoffer_q": (5.2,),
    "haigis": (-1.0, 0.25, 0.22),
}
ORDINARY = EyeNumbers(23.5, 43.5, 3.1)

corneas = st.floats(40.0, 47.0)
lengths = st.floats(21.0, 28.0)
places = st.floats(3.5, 6.5)
powers = st.floats(8.0, 30.0)
gains = st.floats(0.95, 1.05)
shifts = st.floats(-2.0, 2.0)


def eye_of(cornea: float, length: float, place: float, gain: float, shift: float) -> ThinLensEye:
    return ThinLensEye(cornea, length, place, 0, gain, shift)


@given(corneas, lengths, places, powers, gains, shifts, st.floats(-0.8, 0.8))
def test_a_lens_that_lies_elsewhere_is_found_there(
    cornea: float, length: float, place: float, power: float, gain: float, shift: float, moved: float
) -> None:
    truth = eye_of(cornea, length, place + moved, gain, shift)
    planned = eye_of(cornea, length, place, gain, shift)
    got = refraction_dpt(truth, power)
    found = position_that_explains_mm(planned, power, got)
    assert float(found) == pytest.approx(place + moved, abs=1e-6)


@given(corneas, lengths, places, powers, gains, shifts, st.floats(-3.0, 3.0))
def test_a_cornea_that_was_other_than_measured_is_found(
    cornea: float, length: float, place: float, power: float, gain: float, shift: float, off: float
) -> None:
    got = refraction_dpt(eye_of(cornea + off, length, place, gain, shift), power)
    planned = eye_of(cornea, length, place, gain, shift)
    assert corneal_power_that_explains_dpt(planned, power, got) == pytest.approx(cornea + off, abs=1e-8)


@given(corneas, lengths, places, powers, gains, shifts, st.floats(-1.5, 1.5))
def test_a_length_that_was_other_than_measured_is_found(
    cornea: float, length: float, place: float, power: float, gain: float, shift: float, off: float
) -> None:
    got = refraction_dpt(eye_of(cornea, length + off, place, gain, shift), power)
    planned = eye_of(cornea, length, place, gain, shift)
    assert length_that_explains_mm(planned, power, got) == pytest.approx(length + off, abs=1e-8)


@given(st.sampled_from(CLASSICAL), st.floats(21.5, 26.0), st.floats(41.5, 46.0), st.floats(-1.0, 1.0))
def test_a_misread_cornea_is_found_by_each_formula(
    key: str, length: float, mean_k: float, misread: float
) -> None:
    formula, constants = FORMULAS[key], CONSTANTS[key]
    truth = ORDINARY._replace(axial_length_mm=length, mean_k_dpt=mean_k)
    planned = truth._replace(mean_k_dpt=mean_k + misread)
    got = refraction_dpt(seen_eye(formula, truth, constants), 20.0)
    found = mean_k_that_explains_dpt(formula, planned, constants, 20.0, got)
    assert float(found) == pytest.approx(mean_k, abs=1e-6)


@given(st.sampled_from(CLASSICAL), st.floats(21.5, 24.0), st.floats(-0.5, 0.5))
def test_a_misread_length_is_found_by_each_formula(key: str, length: float, misread: float) -> None:
    formula, constants = FORMULAS[key], CONSTANTS[key]
    truth = ORDINARY._replace(axial_length_mm=length)
    planned = truth._replace(axial_length_mm=length + misread)
    got = refraction_dpt(seen_eye(formula, truth, constants), 20.0)
    found = axial_length_that_explains_mm(formula, planned, constants, 20.0, got)
    assert float(found) == pytest.approx(length, abs=1e-3)


def both_corneas(formula: Formula) -> tuple[float, float]:
    """The cornea that explains +1.5 D: with the lens held, and with the formula placing it anew."""
    constants = CONSTANTS[formula.key]
    seen = seen_eye(formula, ORDINARY, constants)
    held = corneal_power_that_explains_dpt(seen, 20.0, 1.5) * ORDINARY.mean_k_dpt / seen.corneal_power_dpt
    return float(held), float(mean_k_that_explains_dpt(formula, ORDINARY, constants, 20.0, 1.5))


def test_where_hoffer_q_jumps_the_length_is_still_found_to_a_micrometre() -> None:
    formula, constants = FORMULAS["hoffer_q"], CONSTANTS["hoffer_q"]
    truth = ORDINARY._replace(axial_length_mm=23.0)
    got = refraction_dpt(seen_eye(formula, truth, constants), 20.0)
    wrong = ORDINARY._replace(axial_length_mm=22.5)
    found = axial_length_that_explains_mm(formula, wrong, constants, 20.0, got)
    assert float(found) == pytest.approx(23.0, abs=1e-3)


def test_haigis_places_the_lens_without_the_cornea_so_both_answers_are_one() -> None:
    held, whole = both_corneas(FORMULAS["haigis"])
    assert whole == pytest.approx(held, abs=1e-9)


def test_srk_t_misplaces_the_lens_with_a_misread_cornea_so_more_is_needed() -> None:
    held, whole = both_corneas(FORMULAS["srk_t"])
    assert whole < held < ORDINARY.mean_k_dpt


def test_what_no_position_explains_is_undefined_and_no_number() -> None:
    eye = ThinLensEye(43.5, 23.5, 5.0, 0)
    assert math.isnan(float(position_that_explains_mm(eye, 0.0, 0.0)))
    assert math.isnan(float(position_that_explains_mm(eye, 2.0, -15.0)))


def test_many_eyes_at_once_give_what_one_after_another_gives() -> None:
    formula, constants = FORMULAS["srk_t"], CONSTANTS["srk_t"]
    lengths_mm, got = np.array([22.0, 23.5, 25.0]), np.array([-1.0, 0.5, 1.5])
    together = mean_k_that_explains_dpt(
        formula, ORDINARY._replace(axial_length_mm=lengths_mm), constants, 20.0, got
    )
    single = [
        float(
            mean_k_that_explains_dpt(formula, ORDINARY._replace(axial_length_mm=length), constants, 20.0, one)
        )
        for length, one in zip(lengths_mm.tolist(), got.tolist(), strict=True)
    ]
    assert np.asarray(together).tolist() == pytest.approx(single, abs=1e-9)


CHAIN = Cornea(7.70, 0.84 * 7.70, 0.55)


def in_chain(place: float, power: float, cornea: Cornea = CHAIN, length: float = 23.5) -> float:
    """The refraction of an independent eye of four surfaces."""
    return float(thin_lens_refraction_dpt(cornea, length, place, power))


def thin_eye_like_the_chain(place: float = 5.0) -> ThinLensEye:
    """A thin-lens eye that agrees with the chain for one lens: its cornea is the Gaussian one, and its length
    is fitted so that 21 D leaves the same refraction."""
    thin = ThinLensEye(equivalent_corneal_power_dpt(CHAIN), 23.5, place, 0)
    return thin._replace(optical_length_mm=length_that_explains_mm(thin, 21.0, in_chain(place, 21.0)))


@pytest.mark.parametrize("moved", [-1.0, -0.5, 0.5, 1.0])
def test_a_lens_moved_in_an_eye_of_four_surfaces_is_found_within_a_twentieth_of_a_millimetre(
    moved: float,
) -> None:
    eye = thin_eye_like_the_chain()
    found = float(position_that_explains_mm(eye, 21.0, in_chain(5.0 + moved, 21.0)))
    assert found - 5.0 == pytest.approx(moved, abs=0.05)


@pytest.mark.parametrize("radius_mm", [7.5, 7.6, 7.85, 8.0])
def test_a_cornea_reshaped_in_an_eye_of_four_surfaces_is_found_within_a_twentieth_of_a_dioptre(
    radius_mm: float,
) -> None:
    other = Cornea(radius_mm, 0.84 * radius_mm, 0.55)
    eye = thin_eye_like_the_chain()
    found = corneal_power_that_explains_dpt(eye, 21.0, in_chain(5.0, 21.0, other))
    assert found == pytest.approx(equivalent_corneal_power_dpt(other), abs=0.05)


@pytest.mark.parametrize("length_mm", [22.8, 23.2, 23.8, 24.2])
def test_a_length_misread_in_an_eye_of_four_surfaces_is_found_within_a_fiftieth_of_a_millimetre(
    length_mm: float,
) -> None:
    eye = thin_eye_like_the_chain()
    found = length_that_explains_mm(eye, 21.0, in_chain(5.0, 21.0, length=length_mm))
    assert found - eye.optical_length_mm == pytest.approx(length_mm - 23.5, abs=0.02)


def test_the_published_scatters_are_what_their_sources_give() -> None:
    sd = 0.6 / math.sqrt(2.0 / math.pi)  # norrby-2008: mean absolute error 0.6 D, taken as normal
    average = ThinLensEye(43.5, 23.5, 5.0, 0)
    per_mm = (
        refraction_dpt(average._replace(lens_position_mm=5.005), 20.26)
        - refraction_dpt(average._replace(lens_position_mm=4.995), 20.26)
    ) / 0.01
    assert pytest.approx(math.sqrt(0.35) * sd / per_mm, abs=0.005) == LENS_POSITION_SD_MM
    assert pytest.approx(0.70 / 2.77, abs=0.005) == REFRACTION_SD_DPT
