"""Laws of lens shapes: the label comes out again, the rim fits, a bent lens stays its kind."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from zonule.science.optics.lens_design import (
    GENERIC_DESIGN,
    LensShape,
    labelled_power_dpt,
    rescaled,
    shape_for_power,
)
from zonule.science.optics.matrices import system_matrix
from zonule.science.optics.surfaces import Surface

POWERS = st.floats(-20.0, 45.0)
KNOWN = LensShape(12.0, -11.0, 0.9, 1.46, -0.5, -2.0)


def sag_mm(radius: float, at_mm: float) -> float:
    if math.isinf(radius):
        return 0.0
    return radius - math.copysign(math.sqrt(radius**2 - at_mm**2), radius)


@given(power=st.floats(-20.0, 35.0), factor=st.floats(-0.5, 0.5), index=st.floats(1.43, 1.55))
def test_the_shape_for_a_power_has_that_power_on_its_label(power: float, factor: float, index: float) -> None:
    design = GENERIC_DESIGN._replace(shape_factor=factor, refractive_index=index)
    assert float(labelled_power_dpt(shape_for_power(power, design))) == pytest.approx(power, abs=1e-9)


@given(power=POWERS)
def test_the_label_is_the_power_that_ray_matrices_give(power: float) -> None:
    lens = shape_for_power(power)
    surfaces = [
        Surface(0.0, lens.front_radius_mm, lens.refractive_index),
        Surface(lens.thickness_mm, lens.back_radius_mm, 1.336),
    ]
    assert -1000.0 * float(system_matrix(surfaces, 1.336).c_per_mm) == pytest.approx(power, abs=1e-9)


@given(power=st.floats(0.1, 45.0))
def test_a_plus_lens_has_the_stated_edge(power: float) -> None:
    lens = shape_for_power(power)
    rim = 0.5 * GENERIC_DESIGN.optic_mm
    sags = sag_mm(float(lens.front_radius_mm), rim) - sag_mm(float(lens.back_radius_mm), rim)
    assert float(lens.thickness_mm) - sags == pytest.approx(GENERIC_DESIGN.edge_mm, abs=1e-9)


@given(power=st.floats(-20.0, -0.1))
def test_a_minus_lens_is_thinnest_in_the_middle(power: float) -> None:
    lens = shape_for_power(power)
    assert float(lens.thickness_mm) == GENERIC_DESIGN.edge_mm
    assert float(lens.front_radius_mm) < 0.0 < float(lens.back_radius_mm)


@given(power=st.floats(0.1, 44.0))
def test_a_stronger_lens_is_thicker_and_more_curved(power: float) -> None:
    weak, strong = shape_for_power(power), shape_for_power(power + 1.0)
    assert float(strong.thickness_mm) > float(weak.thickness_mm)
    assert float(strong.front_radius_mm) < float(weak.front_radius_mm)


def test_a_lens_of_no_power_is_a_plane_plate() -> None:
    lens = shape_for_power(0.0)
    assert (float(lens.front_radius_mm), float(lens.thickness_mm)) == (math.inf, GENERIC_DESIGN.edge_mm)


@given(power=POWERS)
def test_a_rescaled_lens_has_the_label_and_keeps_its_kind(power: float) -> None:
    lens = rescaled(KNOWN, power)
    assert float(labelled_power_dpt(lens)) == pytest.approx(power, abs=1e-9)
    assert lens[2:] == KNOWN[2:]
    if abs(power) > 1e-3:
        ratio = float(lens.front_radius_mm) / float(lens.back_radius_mm)
        assert ratio == pytest.approx(KNOWN.front_radius_mm / KNOWN.back_radius_mm)


def test_rescaling_to_its_own_power_changes_nothing() -> None:
    same = rescaled(KNOWN, labelled_power_dpt(KNOWN))
    assert float(same.front_radius_mm) == pytest.approx(12.0, abs=1e-12)


def test_a_lens_rounder_than_its_optic_is_wide_does_not_exist() -> None:
    assert math.isnan(float(shape_for_power(90.0).front_radius_mm))


def test_many_powers_at_once_are_each_as_alone() -> None:
    powers = np.linspace(-10.0, 40.0, 11)
    together = shape_for_power(powers).front_radius_mm
    alone = [float(shape_for_power(float(power)).front_radius_mm) for power in powers]
    np.testing.assert_array_equal(np.asarray(together), alone)
