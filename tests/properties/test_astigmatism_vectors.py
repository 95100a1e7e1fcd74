"""Laws of the vector that carries every cylinder."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from zonule.errors import InconsistentRecordError
from zonule.science.astigmatism.vectors import (
    Astigmatism,
    Plane,
    SpheroCylinder,
    at_cornea,
    at_spectacles,
    sphero_cylinder,
    steep,
)
from zonule.science.optics.vergence import refraction_at_cornea_dpt, refraction_at_spectacles_dpt

CLOSE = 1e-9
SIZES = st.floats(0.0, 8.0)
CLEAR_SIZES = st.floats(0.01, 8.0)
MERIDIANS = st.floats(-720.0, 720.0)
SPHERES = st.floats(-15.0, 12.0)
CYLINDERS = st.floats(-6.0, 6.0)
VERTICES_MM = st.floats(8.0, 16.0)
PLANES = st.sampled_from(Plane)
VECTORS = st.builds(steep, SIZES, MERIDIANS, st.just(Plane.CORNEA))


def alike(one: Astigmatism, other: Astigmatism) -> bool:
    """Whether two vectors of one plane are the same but for rounding."""
    return bool(one.minus(other).magnitude_dpt < CLOSE)


def meridians_apart_deg(one_deg: float, other_deg: float) -> float:
    """The smaller angle between two meridians, without vectors."""
    apart = (one_deg - other_deg) % 180.0
    return min(apart, 180.0 - apart)


@given(sphere=SPHERES, cylinder=CYLINDERS, axis=MERIDIANS, quarter=st.sampled_from([-90.0, 90.0]))
def test_plus_and_minus_form_are_the_same_vector(
    sphere: float, cylinder: float, axis: float, quarter: float
) -> None:
    one = sphero_cylinder(sphere, cylinder, axis, Plane.SPECTACLES)
    other = sphero_cylinder(sphere + cylinder, -cylinder, axis + quarter, Plane.SPECTACLES)
    assert one.equivalent_dpt == pytest.approx(other.equivalent_dpt, abs=CLOSE)
    assert alike(one.correcting, other.correcting)


@given(sphere=SPHERES, cylinder=st.floats(0.01, 6.0), axis=MERIDIANS)
def test_the_axis_of_the_plus_cylinder_is_the_steep_meridian(
    sphere: float, cylinder: float, axis: float
) -> None:
    plus = sphero_cylinder(sphere, cylinder, axis, Plane.SPECTACLES).correcting
    minus = sphero_cylinder(sphere, -cylinder, axis, Plane.SPECTACLES).correcting
    assert meridians_apart_deg(float(plus.steep_meridian_deg), axis) < 1e-6
    assert meridians_apart_deg(float(minus.steep_meridian_deg), axis + 90.0) < 1e-6


@given(size=SIZES, meridian=MERIDIANS, halves=st.integers(-3, 3), plane=PLANES)
def test_meridians_half_a_turn_apart_are_one(size: float, meridian: float, halves: int, plane: Plane) -> None:
    assert alike(steep(size, meridian, plane), steep(size, meridian + 180.0 * halves, plane))


def test_nought_one_hundred_and_eighty_and_a_whole_turn_are_one_meridian() -> None:
    for meridian in (0.0, 180.0, 360.0, -180.0):
        found = steep(1.5, meridian, Plane.CORNEA)
        assert alike(found, steep(1.5, 0.0, Plane.CORNEA))
        assert meridians_apart_deg(float(found.steep_meridian_deg), 0.0) < CLOSE


def test_a_meridian_of_exactly_nought_is_written_180() -> None:
    assert steep(1.5, 0.0, Plane.CORNEA).steep_meridian_deg == 180.0
    assert Astigmatism(1.5, -0.0, Plane.CORNEA).steep_meridian_deg == 180.0


@given(size=CLEAR_SIZES, meridian=MERIDIANS)
def test_size_and_meridian_come_back_and_the_meridian_lies_above_0_and_up_to_180(
    size: float, meridian: float
) -> None:
    found = steep(size, meridian, Plane.LENS)
    assert found.magnitude_dpt == pytest.approx(size, abs=CLOSE)
    assert 0.0 < float(found.steep_meridian_deg) <= 180.0
    assert meridians_apart_deg(float(found.steep_meridian_deg), meridian) < 1e-6


@given(x=st.floats(-9.0, 9.0), y=st.floats(-9.0, 9.0), factor=st.floats(-3.0, 3.0))
def test_a_magnitude_is_never_minus(x: float, y: float, factor: float) -> None:
    vector = Astigmatism(x, y, Plane.CORNEA)
    assert vector.magnitude_dpt >= 0.0
    assert vector.times(factor).magnitude_dpt == pytest.approx(abs(factor) * vector.magnitude_dpt, abs=CLOSE)


@given(size=CLEAR_SIZES, meridian=MERIDIANS)
def test_the_opposite_vector_is_steep_across(size: float, meridian: float) -> None:
    assert alike(steep(size, meridian, Plane.CORNEA).times(-1.0), steep(size, meridian + 90.0, Plane.CORNEA))


@given(one=VECTORS, other=VECTORS, third=VECTORS)
def test_vectors_add_in_any_order_and_what_was_added_can_be_taken_away(
    one: Astigmatism, other: Astigmatism, third: Astigmatism
) -> None:
    assert alike(one.plus(other), other.plus(one))
    assert alike(one.plus(other).plus(third), one.plus(other.plus(third)))
    assert alike(one.plus(other).minus(other), one)


@given(vector=VECTORS, halves=st.integers(-3, 3))
def test_half_a_turn_changes_nothing(vector: Astigmatism, halves: int) -> None:
    assert alike(vector.turned(180.0 * halves), vector)


@given(vector=VECTORS, first=MERIDIANS, then=MERIDIANS)
def test_turns_add_up(vector: Astigmatism, first: float, then: float) -> None:
    assert alike(vector.turned(first).turned(then), vector.turned(first + then))


@given(size=SIZES, meridian=MERIDIANS, angle=MERIDIANS)
def test_a_turn_moves_the_meridian_by_its_angle_counter_clockwise(
    size: float, meridian: float, angle: float
) -> None:
    turned = steep(size, meridian, Plane.LENS).turned(angle)
    assert alike(turned, steep(size, meridian + angle, Plane.LENS))
    assert turned.magnitude_dpt == pytest.approx(size, abs=CLOSE)


@given(size=SIZES, angle=st.floats(-90.0, 90.0), meridian=MERIDIANS)
def test_a_lens_turned_off_its_meridian_leaves_twice_the_sine(
    size: float, angle: float, meridian: float
) -> None:
    lens = steep(size, meridian, Plane.CORNEA)
    left = lens.minus(lens.turned(angle)).magnitude_dpt
    assert left == pytest.approx(2.0 * size * abs(np.sin(np.deg2rad(angle))), abs=CLOSE)


@given(vector=VECTORS)
def test_the_mirror_image_of_the_mirror_image_is_the_same(vector: Astigmatism) -> None:
    assert alike(vector.mirrored().mirrored(), vector)


@given(size=SIZES, meridian=MERIDIANS)
def test_in_the_mirror_a_meridian_is_180_minus_it(size: float, meridian: float) -> None:
    mirrored = steep(size, meridian, Plane.CORNEA).mirrored()
    assert alike(mirrored, steep(size, 180.0 - meridian, Plane.CORNEA))


@given(one=VECTORS, other=VECTORS, angle=MERIDIANS)
def test_turning_and_mirroring_a_sum_is_the_sum_of_the_turned_and_of_the_mirrored(
    one: Astigmatism, other: Astigmatism, angle: float
) -> None:
    together = one.plus(other)
    assert alike(together.turned(angle), one.turned(angle).plus(other.turned(angle)))
    assert alike(together.mirrored(), one.mirrored().plus(other.mirrored()))
    assert alike(together.turned(angle).mirrored(), together.mirrored().turned(-angle))


@given(sphere=SPHERES, cylinder=CYLINDERS, axis=MERIDIANS, vertex=VERTICES_MM)
def test_a_refraction_moved_to_the_cornea_and_back_is_the_same(
    sphere: float, cylinder: float, axis: float, vertex: float
) -> None:
    there = sphero_cylinder(sphere, cylinder, axis, Plane.SPECTACLES)
    back = at_spectacles(at_cornea(there, vertex), vertex)
    assert back.equivalent_dpt == pytest.approx(there.equivalent_dpt, abs=CLOSE)
    assert alike(back.correcting, there.correcting)


@given(sphere=SPHERES, cylinder=CYLINDERS, axis=MERIDIANS, vertex=VERTICES_MM)
def test_each_principal_meridian_moves_as_a_sphere_of_its_power(
    sphere: float, cylinder: float, axis: float, vertex: float
) -> None:
    there = sphero_cylinder(sphere, cylinder, axis, Plane.SPECTACLES)
    moved = at_cornea(there, vertex)
    least, most = sorted((sphere, sphere + cylinder))
    half = moved.correcting.magnitude_dpt / 2.0
    assert moved.equivalent_dpt + half == pytest.approx(refraction_at_cornea_dpt(most, vertex), abs=CLOSE)
    assert moved.equivalent_dpt - half == pytest.approx(refraction_at_cornea_dpt(least, vertex), abs=CLOSE)
    assert moved.correcting.plane is Plane.CORNEA
    if abs(cylinder) > 0.01:
        apart = meridians_apart_deg(
            float(moved.correcting.steep_meridian_deg), float(there.correcting.steep_meridian_deg)
        )
        assert apart < 1e-6


@given(sphere=SPHERES, cylinder=CYLINDERS, axis=MERIDIANS, vertex=VERTICES_MM)
def test_each_principal_meridian_moves_to_the_glasses_as_a_sphere_of_its_power(
    sphere: float, cylinder: float, axis: float, vertex: float
) -> None:
    moved = at_spectacles(sphero_cylinder(sphere, cylinder, axis, Plane.CORNEA), vertex)
    least, most = sorted((sphere, sphere + cylinder))
    half = moved.correcting.magnitude_dpt / 2.0
    assert moved.equivalent_dpt + half == pytest.approx(refraction_at_spectacles_dpt(most, vertex), abs=CLOSE)
    assert moved.equivalent_dpt - half == pytest.approx(
        refraction_at_spectacles_dpt(least, vertex), abs=CLOSE
    )
    assert moved.correcting.plane is Plane.SPECTACLES


@given(equivalent=st.floats(-12.0, -2.0), size=st.floats(0.25, 4.0), axis=MERIDIANS)
def test_a_short_sighted_eye_has_less_cylinder_at_the_cornea_and_a_long_sighted_one_more(
    equivalent: float, size: float, axis: float
) -> None:
    cylinder = steep(size, axis, Plane.SPECTACLES)
    short = at_cornea(SpheroCylinder(equivalent, cylinder)).correcting
    long = at_cornea(SpheroCylinder(-equivalent, cylinder)).correcting
    assert short.magnitude_dpt < size < long.magnitude_dpt


@given(one=PLANES, other=PLANES)
def test_cylinders_of_different_planes_cannot_be_added(one: Plane, other: Plane) -> None:
    first, second = steep(1.0, 90.0, one), steep(1.0, 90.0, other)
    if one is other:
        assert first.plus(second).plane is one
        assert first.minus(second).plane is one
        return
    for together in (first.plus, first.minus):
        with pytest.raises(InconsistentRecordError, match=f"{one} and one at the {other}"):
            together(second)


@given(
    sphere=st.lists(SPHERES, min_size=2, max_size=6),
    cylinder=CYLINDERS,
    axis=MERIDIANS,
    vertex=VERTICES_MM,
)
def test_many_eyes_at_once_are_each_eye_alone(
    sphere: list[float], cylinder: float, axis: float, vertex: float
) -> None:
    together = at_cornea(sphero_cylinder(np.array(sphere), cylinder, axis, Plane.SPECTACLES), vertex)
    for place, each in enumerate(sphere):
        alone = at_cornea(sphero_cylinder(each, cylinder, axis, Plane.SPECTACLES), vertex)
        x_dpt, y_dpt = (np.asarray(field)[place] for field in together.correcting[:2])
        assert alike(Astigmatism(x_dpt, y_dpt, Plane.CORNEA), alone.correcting)
        assert np.asarray(together.equivalent_dpt)[place] == pytest.approx(alone.equivalent_dpt, abs=CLOSE)


@given(meridian=MERIDIANS)
def test_no_cylinder_has_the_meridian_180(meridian: float) -> None:
    assert float(steep(0.0, meridian, Plane.CORNEA).steep_meridian_deg) == 180.0
