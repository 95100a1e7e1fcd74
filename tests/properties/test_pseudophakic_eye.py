"""Laws of the ray-traced eye: its paraxial limit, its pupil, its cylinder, and what moving the lens does."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from properties.optical_rows import EYES, without_conics
from zonule.science.lens_power import four_surface_lens, ray_traced
from zonule.science.lens_power.flags import LENS_OUTSIDE_EYE
from zonule.science.optics.best_glasses import (
    NO_END,
    Moments,
    Pupil,
    fall_off,
    fitted,
    full_circle,
    pupil_grid,
    slope_weight,
)
from zonule.science.optics.four_surface import (
    Cornea,
    ThickLens,
    surface_power_dpt,
    thick_lens_refraction_dpt,
)
from zonule.science.optics.lens_design import LensShape, labelled_power_dpt, shape_for_power
from zonule.science.optics.matrices import entrance_pupil, over_distance, system_matrix, then
from zonule.science.optics.pseudophakic_eye import (
    PseudophakicEye,
    is_round,
    launch_slope,
    moments,
    pseudophakic_eye,
    refraction,
)
from zonule.science.optics.ray_trace import Rays, trace
from zonule.science.optics.surfaces import Surface, lens_tilted, mirrored

AVERAGE = pseudophakic_eye(7.7, 6.4, 0.54, shape_for_power(21.0), 5.0, 23.5)
TINY = Pupil(0.02)
MEASURED = (23.5, 43.5, 3.1, 4.5, 0.54, 6.4)
C_CONSTANT = 0.39


def sphere(eye: PseudophakicEye, pupil: Pupil = Pupil(3.0)) -> float:  # noqa: B008 - a constant
    return float(np.asarray(refraction(eye, pupil).spherical_equivalent_dpt))


def paraxial_dpt(eye: PseudophakicEye) -> float:
    """The thick-lens vergence chain, in the meridian that the radii of the surfaces belong to."""
    lens = ThickLens(
        surface_power_dpt(eye.lens_front.radius_mm, 1.336, eye.lens_front.index_after),
        surface_power_dpt(eye.lens_back.radius_mm, eye.lens_front.index_after, 1.336),
        eye.lens_back.vertex_mm - eye.lens_front.vertex_mm,
        eye.lens_front.index_after,
    )
    cornea = Cornea(eye.cornea_front.radius_mm, eye.cornea_back.radius_mm, eye.cornea_back.vertex_mm)
    chain = thick_lens_refraction_dpt(cornea, eye.axial_length_mm, eye.lens_front.vertex_mm, lens)
    return float(np.asarray(chain))


@given(eye=EYES)
def test_through_a_pinhole_the_refraction_is_that_of_the_vergence_chain(eye: PseudophakicEye) -> None:
    assert sphere(eye, TINY) == pytest.approx(paraxial_dpt(eye), abs=1e-3)


@given(eye=EYES, other=st.floats(7.0, 8.6), meridian=st.floats(0.0, 180.0))
def test_through_a_pinhole_a_toric_cornea_has_the_cylinder_of_its_two_meridians(
    eye: PseudophakicEye, other: float, meridian: float
) -> None:
    front = eye.cornea_front._replace(other_radius_mm=other, meridian_deg=meridian)
    seen = refraction(eye._replace(cornea_front=front), TINY)
    along = paraxial_dpt(eye)
    across = paraxial_dpt(eye._replace(cornea_front=eye.cornea_front._replace(radius_mm=other)))
    twice = math.radians(2.0 * meridian)
    half = 0.5 * (along - across)
    assert float(seen.spherical_equivalent_dpt) == pytest.approx(0.5 * (along + across), abs=2e-3)
    assert float(seen.j0_dpt) == pytest.approx(half * math.cos(twice), abs=2e-3)
    assert float(seen.j45_dpt) == pytest.approx(half * math.sin(twice), abs=2e-3)


@given(eye=EYES, pupil=st.floats(1.0, 5.0))
def test_the_glasses_are_those_of_the_flattest_wavefront(eye: PseudophakicEye, pupil: float) -> None:
    """The fit to slopes against a fit to optical paths, which shares only the rays with it."""
    assume(abs(paraxial_dpt(eye)) < 6.0)
    by_paths = wavefront_refraction_dpt(eye, pupil)
    spread = abs(by_paths - paraxial_dpt(eye))
    assert sphere(eye, Pupil(pupil)) == pytest.approx(by_paths, abs=0.002 + 0.05 * spread)


def wavefront_refraction_dpt(eye: PseudophakicEye, pupil_mm: float) -> float:
    grid = pupil_grid(16, 1)
    slope = np.asarray(launch_slope(eye, Pupil(pupil_mm))) * grid.x_share
    along = 1.0 / np.sqrt(1.0 + slope * slope)
    way_out, index = mirrored(eye.surfaces, 1.0, eye.axial_length_mm)
    glasses = Surface(eye.axial_length_mm + 12.0, math.inf, 1.0)
    end = trace(Rays(0.0, 0.0, 0.0, slope * along, 0.0, along), [*way_out, glasses], index)
    squares = np.asarray(end.x_mm) ** 2
    root = np.sqrt(grid.weight)
    columns = np.stack([root, root * squares], axis=1)
    solution = np.linalg.lstsq(columns, root * np.asarray(end.path_mm), rcond=None)[0]
    return float(2000.0 * solution[1])


@given(eye=EYES, width=st.floats(0.01, 0.05))
def test_the_outermost_ray_leaves_through_the_rim_of_the_entrance_pupil(
    eye: PseudophakicEye, width: float
) -> None:
    slope = float(np.asarray(launch_slope(eye, Pupil(width))))
    along = 1.0 / math.sqrt(1.0 + slope * slope)
    way_out, index = mirrored(eye.surfaces, 1.0, eye.axial_length_mm)
    end = trace(Rays(0.0, 0.0, 0.0, slope * along, 0.0, along), way_out, index)
    chamber = over_distance(eye.lens_front.vertex_mm - eye.cornea_back.vertex_mm, 1.336)
    image = entrance_pupil(then(system_matrix(eye.surfaces[:2], 1.0), chamber), 0.0, 1.0)
    to_pupil_mm = eye.axial_length_mm - image.position_mm - end.z_mm
    height_mm = float(np.asarray(end.x_mm + to_pupil_mm * end.cosine_x / end.cosine_z))
    assert height_mm == pytest.approx(0.5 * width, rel=1e-4)


@given(eye=EYES)
def test_a_wider_pupil_of_spherical_surfaces_is_more_short_sighted(eye: PseudophakicEye) -> None:
    spherical = without_conics(eye)
    widths = [sphere(spherical, Pupil(width)) for width in (0.5, 2.0, 3.0, 4.0, 5.0)]
    assert widths == sorted(widths, reverse=True)


def test_light_that_counts_less_at_the_rim_moves_the_focus_towards_that_of_a_narrower_pupil() -> None:
    wide, narrow = sphere(AVERAGE, Pupil(6.0)), sphere(AVERAGE, Pupil(3.0))
    weighed = sphere(AVERAGE, Pupil(6.0, 0.05))
    assert wide < weighed < narrow
    assert sphere(AVERAGE, Pupil(3.0, 0.05)) - narrow < 0.01


@given(fall=st.floats(1e-4, 5.0), share2=st.floats(0.01, 1.0))
def test_the_weight_of_a_slope_is_the_integral_it_stands_for(fall: float, share2: float) -> None:
    """``r^2 g = -int_0^r A (s^2 - m) s ds`` by quadrature, in units in which even light gives 1 - r^2."""
    nodes, weights = np.polynomial.legendre.leggauss(60)

    def integral(upper: float, centre: float) -> float:
        squares = 0.5 * upper * (1.0 + nodes)
        return float(np.sum(0.5 * upper * weights * np.exp(-fall * squares) * (squares - centre)))

    whole = 0.5 * np.sum(weights * np.exp(-fall * 0.5 * (1.0 + nodes)))
    mean = (integral(1.0, 0.0)) / float(whole)
    expected = -2.0 * integral(share2, mean) / share2
    assert float(slope_weight(share2, fall)) == pytest.approx(expected, abs=2e-6)


def test_one_spoke_of_a_round_eye_stands_for_the_whole_pupil() -> None:
    pupil = Pupil(4.0, 0.05)
    spoke = fitted(full_circle(moments(AVERAGE, pupil, pupil_grid(4, 1))))
    whole = fitted(moments(AVERAGE, pupil, pupil_grid(4, 16)))
    assert float(spoke.spherical_equivalent_dpt) == pytest.approx(
        float(whole.spherical_equivalent_dpt), abs=1e-10
    )
    assert abs(float(whole.j0_dpt)) + abs(float(whole.j45_dpt)) < 1e-9


def test_four_rings_of_rays_are_enough() -> None:
    for width in (3.0, 6.0):
        few, many = (
            fitted(full_circle(moments(AVERAGE, Pupil(width), pupil_grid(rings, 1)))) for rings in (4, 12)
        )
        assert float(few.spherical_equivalent_dpt - many.spherical_equivalent_dpt) == pytest.approx(
            0.0, abs=1e-6
        )


@given(eye=EYES, forward=st.floats(0.05, 0.5))
def test_a_lens_moved_forward_makes_the_eye_more_short_sighted(eye: PseudophakicEye, forward: float) -> None:
    moved = eye._replace(
        lens_front=eye.lens_front._replace(vertex_mm=eye.lens_front.vertex_mm - forward),
        lens_back=eye.lens_back._replace(vertex_mm=eye.lens_back.vertex_mm - forward),
    )
    assert sphere(moved) < sphere(eye)


def test_a_tilted_lens_makes_cylinder_with_the_square_of_the_tilt() -> None:
    def cylinder(tilt: float) -> float:
        front, back = lens_tilted(AVERAGE.lens_front, AVERAGE.lens_back, tilt, 0.0)
        seen = refraction(AVERAGE._replace(lens_front=front, lens_back=back))
        return 2.0 * math.hypot(float(seen.j0_dpt), float(seen.j45_dpt))

    assert cylinder(0.0) < 1e-9
    assert cylinder(10.0) / cylinder(5.0) == pytest.approx(4.0, rel=0.05)
    assert 0.4 < cylinder(10.0) < 1.5


@given(tilt=st.floats(-10.0, 10.0), off=st.floats(-0.8, 0.8))
def test_tilt_and_decentration_to_either_side_leave_the_same_glasses(tilt: float, off: float) -> None:
    def seen(sign: float) -> np.ndarray:
        front, back = lens_tilted(
            AVERAGE.lens_front._replace(decentre_x_mm=sign * off),
            AVERAGE.lens_back._replace(decentre_x_mm=sign * off),
            sign * tilt,
            0.0,
        )
        return np.array([float(x) for x in refraction(AVERAGE._replace(lens_front=front, lens_back=back))])

    np.testing.assert_allclose(seen(1.0), seen(-1.0), atol=1e-9)


def test_an_eye_is_round_until_one_surface_is_not() -> None:
    leaning = AVERAGE._replace(lens_back=AVERAGE.lens_back._replace(tilt_y_deg=1.0))
    toric = AVERAGE._replace(cornea_back=AVERAGE.cornea_back._replace(other_radius_mm=6.2))
    assert [is_round(eye) for eye in (AVERAGE, leaning, toric)] == [True, False, False]


def test_a_ray_that_cannot_leave_undefines_the_eye_and_says_so() -> None:
    tiny_cornea = AVERAGE._replace(
        cornea_front=AVERAGE.cornea_front._replace(radius_mm=np.array([7.7, 1.0]), conic=0.0)
    )
    seen = refraction(tiny_cornea, Pupil(6.0))
    assert np.asarray(seen.flags).tolist() == [0, NO_END]
    assert np.isnan(np.asarray(seen.spherical_equivalent_dpt)).tolist() == [False, True]


def test_fields_of_the_eye_and_the_pupil_broadcast() -> None:
    lengths, widths = np.array([[23.0], [24.0]]), np.array([2.0, 3.0, 4.0])
    seen = np.asarray(
        refraction(AVERAGE._replace(axial_length_mm=lengths), Pupil(widths)).spherical_equivalent_dpt
    )
    assert seen.shape == (2, 3)
    assert seen[1, 2] == pytest.approx(sphere(AVERAGE._replace(axial_length_mm=24.0), Pupil(4.0)), abs=1e-12)
    assert float(np.asarray(fall_off(Pupil(4.0, 0.05)))) > 0.0


def test_glasses_that_make_slopes_vanish_are_found_exactly() -> None:
    sums = Moments(2.0, 0.2, 0.0, 0.0004, 0.0, 1.02, 0.0, 1.0, 0.00204, 0.0, 0.0, 0.003)
    seen = fitted(sums)
    assert float(seen.spherical_equivalent_dpt) == pytest.approx(2.5)
    assert float(seen.j0_dpt) == pytest.approx(-0.5)


# Lens power by exact rays, and by the thin lens in its place.


@given(
    length=st.floats(20.0, 30.0),
    k=st.floats(38.0, 50.0),
    depth=st.floats(2.3, 4.2),
    target=st.floats(-4.0, 2.0),
)
def test_the_power_for_a_refraction_leaves_that_refraction(
    length: float, k: float, depth: float, target: float
) -> None:
    eye = ray_traced.inside_the_eye(ray_traced.ray_traced_eye(length, k, depth, 4.5, 0.54, 6.4, C_CONSTANT))
    power = ray_traced.lens_power_dpt(eye, target)
    assert float(ray_traced.refraction_dpt(eye, power)) == pytest.approx(target, abs=1e-8)


@given(length=st.floats(20.0, 30.0), k=st.floats(38.0, 50.0))
def test_a_longer_or_steeper_eye_needs_a_weaker_lens_by_rays_and_by_vergence(length: float, k: float) -> None:
    for method, kernel in (
        (ray_traced, ray_traced.ray_traced_eye),
        (four_surface_lens, four_surface_lens.four_surface_eye),
    ):
        here, longer, steeper = (
            float(np.asarray(method.lens_power_dpt(kernel(*eye, 3.1, 4.5, 0.54, 6.4, C_CONSTANT), 0.0)))
            for eye in ((length, k), (length + 0.1, k), (length, k + 0.1))
        )
        assert longer < here
        assert steeper < here


@given(nearer=st.floats(0.05, 0.6))
def test_a_lens_in_front_of_its_place_needs_less_power(nearer: float) -> None:
    eye = ray_traced.ray_traced_eye(*MEASURED, C_CONSTANT)
    forward = eye._replace(lens_centre_mm=eye.lens_centre_mm - nearer)
    assert float(ray_traced.lens_power_dpt(forward, 0.0)) < float(ray_traced.lens_power_dpt(eye, 0.0))


def test_rays_and_the_thin_lens_differ_by_what_thickness_and_pupil_explain() -> None:
    ray = ray_traced.ray_traced_eye(*MEASURED, C_CONSTANT)
    pinhole = ray._replace(pupil=TINY)
    thin = float(
        four_surface_lens.lens_power_dpt(four_surface_lens.four_surface_eye(*MEASURED, C_CONSTANT), 0.0)
    )
    narrow, usual = (float(ray_traced.lens_power_dpt(eye, 0.0)) for eye in (pinhole, ray))
    assert 0.0 < narrow - thin < 0.4
    assert 0.2 < narrow - usual < 0.6


def test_every_eye_inside_the_range_has_an_answer_and_every_other_one_its_flag() -> None:
    rng = np.random.default_rng(3)
    low, high = (15.0, 30.0, 1.5, 3.0, 0.3, 5.0), (38.0, 60.0, 5.5, 6.0, 0.8, 8.5)
    length, k, depth, thickness, cornea, back = rng.uniform(low, high, (600, 6)).T
    eye = ray_traced.inside_the_eye(
        ray_traced.ray_traced_eye(length, k, depth, thickness, cornea, back, C_CONSTANT)
    )
    flagged = np.asarray(eye.flags) == LENS_OUTSIDE_EYE
    assert 0 < np.count_nonzero(flagged) < 200
    for target in (-6.0, 0.0, 4.0):
        power = ray_traced.lens_power_dpt(eye, target)
        np.testing.assert_array_equal(np.isnan(power), flagged)
    for power_dpt in (-10.0, 0.0, 20.0, 40.0):
        np.testing.assert_array_equal(np.isnan(ray_traced.refraction_dpt(eye, power_dpt)), flagged)


@pytest.mark.parametrize("missing", range(6))
def test_a_number_that_is_not_known_undefines_the_eye_and_is_flagged(missing: int) -> None:
    length, k, depth, thickness, cornea, back = (
        math.nan if number == missing else value for number, value in enumerate(MEASURED)
    )
    for method, kernel in (
        (ray_traced, ray_traced.ray_traced_eye),
        (four_surface_lens, four_surface_lens.four_surface_eye),
    ):
        eye = method.inside_the_eye(kernel(length, k, depth, thickness, cornea, back, C_CONSTANT))
        assert int(np.asarray(eye.flags)) == LENS_OUTSIDE_EYE
        assert math.isnan(float(np.asarray(method.lens_power_dpt(eye, 0.0))))


def test_the_lens_lies_at_its_share_of_the_old_lens() -> None:
    for c_constant in (0.0, 0.39, 1.0):
        place_mm = 3.1 + c_constant * 4.5
        thin = four_surface_lens.four_surface_eye(*MEASURED, c_constant)
        thick = ray_traced.with_lens(ray_traced.ray_traced_eye(*MEASURED, c_constant), 21.0)
        assert thin.lens_position_mm == pytest.approx(place_mm)
        middle_mm = 0.5 * (thick.lens_front.vertex_mm + thick.lens_back.vertex_mm)
        assert float(middle_mm) == pytest.approx(place_mm)


def test_what_is_assumed_of_an_eye_stands_in_its_record_and_can_be_replaced() -> None:
    eye = ray_traced.ray_traced_eye(*MEASURED, C_CONSTANT)
    assert (eye.anterior_conic, eye.posterior_conic, eye.pupil, eye.known_lens) == (
        -0.18,
        -0.6,
        Pupil(3.0),
        None,
    )
    rounder = float(ray_traced.refraction_dpt(eye._replace(anterior_conic=0.0), 21.0))
    assert rounder < float(ray_traced.refraction_dpt(eye, 21.0))


def test_a_lens_from_the_catalogue_takes_the_place_of_the_generic_one() -> None:
    known = LensShape(9.0, -20.0, 0.9, 1.50, 0.0, 0.0)
    generic = ray_traced.ray_traced_eye(*MEASURED, C_CONSTANT)
    eye = generic._replace(known_lens=known)
    whole = ray_traced.with_lens(eye, 21.0)
    shape = LensShape(whole.lens_front.radius_mm, whole.lens_back.radius_mm, 0.9, 1.50)
    assert float(labelled_power_dpt(shape)) == pytest.approx(21.0)
    moved = float(ray_traced.refraction_dpt(eye, 21.0)) - float(ray_traced.refraction_dpt(generic, 21.0))
    assert 0.02 < abs(moved) < 0.6


@given(power=st.floats(-10.0, 40.0), target=st.floats(-10.0, 5.0))
def test_the_thin_lens_goes_both_ways(power: float, target: float) -> None:
    eye = four_surface_lens.inside_the_eye(four_surface_lens.four_surface_eye(*MEASURED, C_CONSTANT))
    wanted = four_surface_lens.lens_power_dpt(eye, target)
    assert float(four_surface_lens.refraction_dpt(eye, wanted)) == pytest.approx(target, abs=1e-9)
    left = four_surface_lens.refraction_dpt(eye, power)
    assert float(four_surface_lens.lens_power_dpt(eye, left)) == pytest.approx(power, abs=1e-8)
