"""Laws of ray matrices, and the vergence chain held against them."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from properties.optical_rows import EYES
from zonule.science.optics.four_surface import (
    Cornea,
    ThickLens,
    equivalent_corneal_power_dpt,
    surface_power_dpt,
    thick_lens_refraction_dpt,
    thin_lens_refraction_dpt,
)
from zonule.science.optics.matrices import (
    RayMatrix,
    at_surface,
    cardinal_points,
    entrance_pupil,
    exit_pupil,
    mean_power_dpt,
    over_distance,
    system_matrix,
    then,
)
from zonule.science.optics.pseudophakic_eye import PseudophakicEye
from zonule.science.optics.surfaces import Surface, mirrored
from zonule.science.optics.vergence import refraction_at_spectacles_dpt

POWERS = st.floats(-30.0, 60.0)


def number(value: object) -> float:
    return float(np.asarray(value))


def determinant(matrix: RayMatrix) -> float:
    return number(matrix.a * matrix.d - matrix.b_mm * matrix.c_per_mm)


def cornea_of(eye: PseudophakicEye) -> Cornea:
    return Cornea(eye.cornea_front.radius_mm, eye.cornea_back.radius_mm, eye.cornea_back.vertex_mm)


def refraction_by_matrices_dpt(matrix: RayMatrix, behind_mm: float, index: float) -> float:
    """The glasses at the cornea with which parallel light has no height at the retina."""
    to_retina = then(matrix, over_distance(behind_mm, index))
    return number(1000.0 * to_retina.a / to_retina.b_mm)


@given(eye=EYES)
def test_every_matrix_of_an_eye_has_determinant_one(eye: PseudophakicEye) -> None:
    assert determinant(system_matrix(eye.surfaces, 1.0)) == pytest.approx(1.0, abs=1e-12)


@given(eye=EYES)
def test_the_thick_chain_of_four_surfaces_is_the_matrix_chain(eye: PseudophakicEye) -> None:
    lens = ThickLens(
        surface_power_dpt(eye.lens_front.radius_mm, 1.336, eye.lens_front.index_after),
        surface_power_dpt(eye.lens_back.radius_mm, eye.lens_front.index_after, 1.336),
        eye.lens_back.vertex_mm - eye.lens_front.vertex_mm,
        eye.lens_front.index_after,
    )
    by_chain = thick_lens_refraction_dpt(
        cornea_of(eye), eye.axial_length_mm, eye.lens_front.vertex_mm, lens, vertex_mm=0.0
    )
    behind_mm = number(eye.axial_length_mm - eye.lens_back.vertex_mm)
    by_matrix = refraction_by_matrices_dpt(system_matrix(eye.surfaces, 1.0), behind_mm, 1.336)
    assert number(by_chain) == pytest.approx(by_matrix, abs=1e-9)


@given(eye=EYES, power=POWERS)
def test_the_thin_chain_of_four_surfaces_is_the_matrix_chain(eye: PseudophakicEye, power: float) -> None:
    cornea, position_mm = cornea_of(eye), eye.lens_front.vertex_mm
    chamber = over_distance(position_mm - eye.cornea_back.vertex_mm, 1.336)
    whole = then(then(system_matrix(eye.surfaces[:2], 1.0), chamber), at_surface(power))
    by_matrix = refraction_by_matrices_dpt(whole, number(eye.axial_length_mm - position_mm), 1.336)
    by_chain = thin_lens_refraction_dpt(cornea, eye.axial_length_mm, position_mm, power)
    assert number(by_chain) == pytest.approx(number(refraction_at_spectacles_dpt(by_matrix)), abs=1e-8)


@given(eye=EYES)
def test_the_cornea_has_one_power_by_formula_and_by_matrix(eye: PseudophakicEye) -> None:
    matrix = system_matrix(eye.surfaces[:2], 1.0)
    by_formula = number(equivalent_corneal_power_dpt(cornea_of(eye)))
    assert by_formula == pytest.approx(-1000.0 * number(matrix.c_per_mm), abs=1e-9)


@given(eye=EYES)
def test_an_eye_seen_from_behind_has_the_same_power_and_its_points_mirrored(eye: PseudophakicEye) -> None:
    last_mm = number(eye.lens_back.vertex_mm)
    there = cardinal_points(system_matrix(eye.surfaces, 1.0), 0.0, last_mm, 1.0, 1.336)
    turned, index = mirrored(eye.surfaces, 1.0, last_mm)
    back = cardinal_points(system_matrix(turned, index), 0.0, last_mm, 1.336, 1.0)
    assert number(back.power_dpt) == pytest.approx(number(there.power_dpt), abs=1e-9)
    assert number(back.front_principal_mm) == pytest.approx(
        last_mm - number(there.back_principal_mm), abs=1e-9
    )
    assert number(back.front_nodal_mm) == pytest.approx(last_mm - number(there.back_nodal_mm), abs=1e-9)


@given(eye=EYES)
def test_nodal_and_principal_points_are_as_far_apart_as_the_foci_say(eye: PseudophakicEye) -> None:
    points = cardinal_points(system_matrix(eye.surfaces, 1.0), 0.0, eye.lens_back.vertex_mm, 1.0, 1.336)
    front, back = (number(value) for value in (points.front_nodal_mm, points.back_nodal_mm))
    apart = number(points.back_principal_mm) - number(points.front_principal_mm)
    assert back - front == pytest.approx(apart, abs=1e-9)
    assert front - number(points.front_principal_mm) == pytest.approx(
        336.0 / number(points.power_dpt), abs=1e-9
    )


@given(eye=EYES)
def test_a_cornea_makes_the_pupil_look_larger_and_nearer(eye: PseudophakicEye) -> None:
    iris_mm = eye.lens_front.vertex_mm
    chamber = over_distance(iris_mm - eye.cornea_back.vertex_mm, 1.336)
    image = entrance_pupil(then(system_matrix(eye.surfaces[:2], 1.0), chamber), 0.0, 1.0)
    assert 1.05 < number(image.magnification) < 1.40
    assert number(image.position_mm) < number(iris_mm)


def test_an_iris_behind_nothing_is_its_own_exit_pupil() -> None:
    assert exit_pupil(over_distance(0.0, 1.336), 4.5, 1.336) == (4.5, 1.0)


def test_the_mean_power_of_a_torus_is_that_of_its_two_meridians() -> None:
    torus = Surface(0.0, 7.5, 1.3375, other_radius_mm=8.0)
    assert mean_power_dpt(torus, 1.0) == pytest.approx(0.5 * (45.0 + 42.1875))
