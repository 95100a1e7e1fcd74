"""Laws of vergence, keratometry and the surface-by-surface eye."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from zonule.science.optics.four_surface import (
    Cornea,
    ThickLens,
    equivalent_corneal_power_dpt,
    equivalent_lens_power_dpt,
    symmetric_thick_lens,
    thick_lens_refraction_dpt,
    thin_lens_power_dpt,
    thin_lens_refraction_dpt,
    vergence_further_on_dpt,
)
from zonule.science.optics.keratometry import (
    corneal_power_dpt,
    corneal_radius_mm,
    implied_keratometric_index,
)
from zonule.science.optics.vergence import (
    refraction_at_cornea_dpt,
    refraction_at_spectacles_dpt,
    refraction_in_reported_lane_dpt,
)

REFRACTIONS_DPT = st.floats(-25.0, 20.0)
VERTICES_MM = st.floats(0.0, 20.0)
CORNEAS = st.builds(Cornea, st.floats(6.5, 9.5), st.floats(5.3, 8.0), st.floats(0.35, 0.75))


def number(value: object) -> float:
    return float(np.asarray(value))


@given(refraction=REFRACTIONS_DPT, vertex=VERTICES_MM)
def test_to_the_cornea_and_back_to_the_glasses_is_no_change(refraction: float, vertex: float) -> None:
    back = refraction_at_spectacles_dpt(refraction_at_cornea_dpt(refraction, vertex), vertex)
    assert back == pytest.approx(refraction, abs=1e-9)


@given(refraction=REFRACTIONS_DPT)
def test_at_the_cornea_every_refraction_is_more_hyperopic_than_in_glasses(refraction: float) -> None:
    assert refraction_at_cornea_dpt(refraction) >= refraction


@given(refraction=REFRACTIONS_DPT)
def test_glasses_on_the_cornea_need_no_transfer(refraction: float) -> None:
    assert refraction_at_cornea_dpt(refraction, 0.0) == refraction


@given(refraction=REFRACTIONS_DPT, lane=st.floats(2.0, 10.0))
def test_lane_and_back_is_no_change(refraction: float, lane: float) -> None:
    reported = number(refraction_in_reported_lane_dpt(refraction, lane))
    assert reported + 1.0 / lane - 1.0 / 6.0 == pytest.approx(refraction, abs=1e-9)


@given(refraction=REFRACTIONS_DPT, shorter=st.floats(2.0, 5.99))
def test_a_shorter_lane_hides_myopia(refraction: float, shorter: float) -> None:
    assert number(refraction_in_reported_lane_dpt(refraction, shorter)) < refraction
    assert number(refraction_in_reported_lane_dpt(refraction, 6.0)) == pytest.approx(refraction, abs=1e-12)


@given(radius=st.floats(5.5, 11.5), index=st.floats(1.32, 1.34))
def test_radius_to_power_and_back_on_one_index_is_no_change(radius: float, index: float) -> None:
    power = number(corneal_power_dpt(radius, index))
    assert corneal_radius_mm(power, index) == pytest.approx(radius, abs=1e-9)
    assert implied_keratometric_index(radius, power) == pytest.approx(index, abs=1e-12)


@given(vergence=st.floats(-60.0, 60.0), first=st.floats(-5.0, 5.0), second=st.floats(-5.0, 5.0))
def test_two_steps_of_light_are_one_long_step(vergence: float, first: float, second: float) -> None:
    two = vergence_further_on_dpt(vergence_further_on_dpt(vergence, first, 1.336), second, 1.336)
    assert two == pytest.approx(vergence_further_on_dpt(vergence, first + second, 1.336), rel=1e-9, abs=1e-9)


@given(
    cornea=CORNEAS,
    length=st.floats(20.0, 32.0),
    position=st.floats(3.5, 7.0),
    refraction=st.floats(-6.0, 4.0),
)
def test_the_four_surface_chain_closes(
    cornea: Cornea, length: float, position: float, refraction: float
) -> None:
    power = thin_lens_power_dpt(cornea, length, position, refraction)
    back = number(thin_lens_refraction_dpt(cornea, length, position, power))
    assert back == pytest.approx(refraction, abs=1e-9)


@given(cornea=CORNEAS, length=st.floats(20.0, 30.0), power=st.floats(1.0, 35.0))
def test_a_lens_of_no_thickness_is_a_thin_lens(cornea: Cornea, length: float, power: float) -> None:
    flat = ThickLens(power / 2.0, power / 2.0, 0.0, 1.47)
    thick = number(thick_lens_refraction_dpt(cornea, length, 5.0, flat))
    assert thick == pytest.approx(number(thin_lens_refraction_dpt(cornea, length, 5.0, power)), abs=1e-9)


@given(power=st.floats(-10.0, 40.0), thickness=st.floats(0.3, 1.5), index=st.floats(1.43, 1.55))
def test_a_symmetric_lens_has_the_power_on_its_label(power: float, thickness: float, index: float) -> None:
    lens = symmetric_thick_lens(power, thickness, index)
    assert number(equivalent_lens_power_dpt(lens)) == pytest.approx(power, abs=1e-9)
    assert lens.front_power_dpt == lens.back_power_dpt


@given(cornea=CORNEAS)
def test_a_cornea_agrees_with_the_product_of_its_ray_matrices(cornea: Cornea) -> None:
    front = 376.0 / number(cornea.anterior_radius_mm)
    back = -40.0 / number(cornea.posterior_radius_mm)
    refract = [np.array([[1.0, 0.0], [-power / 1000.0, 1.0]]) for power in (front, back)]
    travel = np.array([[1.0, number(cornea.thickness_mm) / 1.376], [0.0, 1.0]])
    system = refract[1] @ travel @ refract[0]
    assert number(equivalent_corneal_power_dpt(cornea)) == pytest.approx(-1000.0 * system[1, 0], abs=1e-9)


@given(cornea=CORNEAS, length=st.floats(20.0, 30.0), power=st.floats(5.0, 30.0), back=st.floats(0.05, 0.5))
def test_a_plus_lens_further_back_leaves_hyperopia(
    cornea: Cornea, length: float, power: float, back: float
) -> None:
    lens = symmetric_thick_lens(power, 0.8, 1.47)
    here, there = (
        number(thick_lens_refraction_dpt(cornea, length, 4.5 + shift, lens)) for shift in (0.0, back)
    )
    assert there > here


def test_arrays_and_scalars_go_through_the_thick_eye_alike() -> None:
    corneas = Cornea(np.array([7.5, 7.8]), np.array([6.3, 6.5]), np.array([0.52, 0.55]))
    lens = symmetric_thick_lens(np.array([[18.0], [22.0], [26.0]]), 0.8, 1.47)
    table = np.asarray(thick_lens_refraction_dpt(corneas, np.array([23.0, 24.0]), 4.6, lens))
    alone = thick_lens_refraction_dpt(
        Cornea(7.8, 6.5, 0.55), 24.0, 4.6, symmetric_thick_lens(22.0, 0.8, 1.47)
    )
    assert table.shape == (3, 2)
    assert table[1, 1] == number(alone)
    assert not math.isnan(table.sum())
