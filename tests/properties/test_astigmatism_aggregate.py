"""The astigmatism of many eyes against SciPy; laws of what an operation did and of how lenses turned."""

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy import stats
from scipy.spatial import ConvexHull, Delaunay

from zonule.errors import (
    InconsistentRecordError,
    MissingMeasurementError,
    NotDefinedError,
    OutOfRangeError,
)
from zonule.science.astigmatism.aggregate import (
    Ellipse,
    aggregate,
    centroid,
    centroid_ellipse,
    covariance_dpt2,
    data_ellipse,
    data_ellipse_of_many,
    hotelling_test,
)
from zonule.science.astigmatism.outline import polygon_of_most
from zonule.science.astigmatism.rotation_results import LIMITS, Since, rotation_results, turned_by_deg
from zonule.science.astigmatism.surgical_vectors import NO_CHANGE, NO_TARGET, surgical_vectors
from zonule.science.astigmatism.vectors import Astigmatism, Plane, steep

SEEDS = st.integers(0, 10_000)
COUNTS = st.integers(3, 200)
SIZES = st.floats(0.05, 5.0)
MERIDIANS = st.floats(0.0, 180.0)


def points_of(seed: int, count: int) -> NDArray[np.float64]:
    """Normally distributed vectors, tilted, away from zero."""
    draws = np.random.default_rng(seed).standard_normal((count, 2))
    mixed: NDArray[np.float64] = draws @ np.array([[0.5, 0.2], [0.0, 0.3]]) + [0.3, -0.1]
    return mixed


def eyes_of(points: NDArray[np.float64]) -> Astigmatism:
    return Astigmatism(points[:, 0], points[:, 1], Plane.CORNEA)


def squares(points: NDArray[np.float64], about: NDArray[np.float64]) -> NDArray[np.float64]:
    """Mahalanobis distances from the mean, squared."""
    off = about - points.mean(axis=0)
    squared: NDArray[np.float64] = np.einsum("ij,jk,ik->i", off, np.linalg.inv(np.cov(points.T)), off)
    return squared


def corners(outline: Astigmatism) -> NDArray[np.float64]:
    return np.column_stack([outline.x_dpt, outline.y_dpt])


@given(seed=SEEDS, count=COUNTS)
def test_every_point_of_an_ellipse_lies_where_scipy_puts_the_limit(seed: int, count: int) -> None:
    points = points_of(seed, count)
    f_limit = 2 * (count - 1) / (count - 2) * stats.f.ppf(0.95, 2, count - 2)
    for found, limit in (
        (centroid_ellipse(eyes_of(points)), f_limit / count),
        (data_ellipse(eyes_of(points)), f_limit * (1 + 1 / count)),
        (data_ellipse_of_many(eyes_of(points)), stats.chi2.ppf(0.95, 2)),
    ):
        assert squares(points, corners(found.outline(24))) == pytest.approx(np.full(24, limit), rel=1e-7)


@given(seed=SEEDS, count=COUNTS, shift=st.floats(-0.3, 0.3))
def test_the_hotelling_test_is_what_f_says_and_two_other_ways_to_the_same_p(
    seed: int, count: int, shift: float
) -> None:
    points = points_of(seed, count) + shift
    found = hotelling_test(eyes_of(points))
    centred = points - points.mean(axis=0)
    # Wilks' ratio of scatter about the mean and about zero says the same as T squared.
    wilks = np.linalg.det(centred.T @ centred) / np.linalg.det(points.T @ points)
    f = (1 - wilks) / wilks * (count - 2) / 2
    assert found.t_squared == pytest.approx((count - 1) * (1 / wilks - 1), rel=1e-6, abs=1e-9)
    assert found.p_value == pytest.approx(stats.f.sf(f, 2, count - 2), rel=1e-6, abs=1e-12)
    # A regression of one on both components without a constant explains exactly that part.
    left = np.linalg.lstsq(points, np.ones(count), rcond=None)[1]
    assert found.t_squared == pytest.approx((count - 1) * (count - left[0]) / left[0], rel=1e-6, abs=1e-9)


@given(seed=SEEDS, count=COUNTS, shift=st.floats(-0.3, 0.3))
def test_zero_lies_outside_the_ellipse_of_the_centroid_exactly_when_p_is_under_5_percent(
    seed: int, count: int, shift: float
) -> None:
    points = points_of(seed, count) + shift
    p_value = hotelling_test(eyes_of(points)).p_value
    assume(abs(p_value - 0.05) > 1e-6)
    assert _holds(centroid_ellipse(eyes_of(points)), np.zeros(2)) == (p_value > 0.05)


def test_the_ellipses_hold_95_in_100_of_what_they_promise() -> None:
    trials, count = 4000, 12
    rng = np.random.default_rng(7)
    shape, true_mean = np.array([[0.5, 0.2], [0.0, 0.3]]), np.array([0.2, -0.1])
    held = {"centroid": 0, "next eye": 0}
    for _ in range(trials):
        points = rng.standard_normal((count, 2)) @ shape + true_mean
        next_eye = rng.standard_normal(2) @ shape + true_mean
        held["centroid"] += _holds(centroid_ellipse(eyes_of(points)), true_mean)
        held["next eye"] += _holds(data_ellipse(eyes_of(points)), next_eye)
    margin = 4 * math.sqrt(0.95 * 0.05 / trials)
    for name, number in held.items():
        assert number / trials == pytest.approx(0.95, abs=margin), name


def _holds(ellipse: Ellipse, point: NDArray[np.float64]) -> bool:
    off = point - [ellipse.centre.x_dpt, ellipse.centre.y_dpt]
    angle = np.deg2rad(ellipse.plot_angle_deg)
    along, across = off @ [np.cos(angle), np.sin(angle)], off @ [-np.sin(angle), np.cos(angle)]
    return bool((along / ellipse.semi_major_dpt) ** 2 + (across / ellipse.semi_minor_dpt) ** 2 <= 1.0)


@given(seed=SEEDS, count=COUNTS, angle=st.floats(-90.0, 90.0))
def test_turning_every_eye_turns_the_centroid_and_the_ellipse_and_changes_no_size(
    seed: int, count: int, angle: float
) -> None:
    eyes = eyes_of(points_of(seed, count))
    turned = eyes.turned(angle)
    assert centroid(turned).minus(centroid(eyes).turned(angle)).magnitude_dpt < 1e-9
    assert aggregate(turned).total_sd_dpt == pytest.approx(aggregate(eyes).total_sd_dpt, abs=1e-9)
    one, other = data_ellipse(eyes), data_ellipse(turned)
    assert other.semi_major_dpt == pytest.approx(one.semi_major_dpt, rel=1e-7)
    assert other.semi_minor_dpt == pytest.approx(one.semi_minor_dpt, rel=1e-7)
    if one.semi_major_dpt > 1.01 * one.semi_minor_dpt:
        apart = (other.plot_angle_deg - one.plot_angle_deg - 2 * angle) % 180.0
        assert min(apart, 180.0 - apart) < 1e-4


@given(seed=SEEDS, count=st.integers(2, 60))
def test_spread_is_what_numpy_says_and_magnitudes_average_to_more_than_the_centroid(
    seed: int, count: int
) -> None:
    points = points_of(seed, count)
    found = aggregate(eyes_of(points))
    scatter = sum(np.outer(point - points.mean(axis=0), point - points.mean(axis=0)) for point in points)
    assert covariance_dpt2(eyes_of(points)) == pytest.approx(scatter / (count - 1), abs=1e-12)
    assert found.total_sd_dpt == pytest.approx(math.sqrt(np.trace(scatter) / (count - 1)), abs=1e-12)
    assert found.mean_magnitude_dpt >= found.centroid.magnitude_dpt


def test_eyes_that_point_across_one_another_have_cylinders_and_no_centroid() -> None:
    found = aggregate(steep(np.ones(4), np.array([0.0, 45.0, 90.0, 135.0]), Plane.CORNEA))
    assert found.mean_magnitude_dpt == pytest.approx(1.0)
    assert found.centroid.magnitude_dpt == pytest.approx(0.0, abs=1e-12)


def test_a_cylinder_on_a_step_counts_as_within_it() -> None:
    found = aggregate(steep(np.array([0.25, 0.5, 0.8 - 0.3, 2.0, 2.1]), np.full(5, 33.0), Plane.CORNEA))
    assert found.within["0.25"] == 0.2
    assert found.within["0.50"] == 0.6
    assert found.within["2.00"] == 0.8
    assert list(found.within) == ["0.25", "0.50", "0.75", "1.00", "1.25", "1.50", "1.75", "2.00"]


@settings(deadline=None, max_examples=40)
@given(seed=SEEDS, count=st.integers(3, 70))
def test_the_polygon_is_convex_holds_95_in_100_and_its_corners_are_eyes(seed: int, count: int) -> None:
    points = points_of(seed, count)
    outline = corners(polygon_of_most(eyes_of(points)))
    inside = Delaunay(outline).find_simplex(points, tol=1e-9) >= 0
    assert inside.sum() >= 0.95 * count
    assert inside.sum() == count - count // 20
    assert {tuple(each) for each in outline} <= {tuple(each) for each in points}
    assert len(ConvexHull(outline).vertices) == len(outline)
    sides = np.roll(outline, -1, axis=0) - outline
    following = np.roll(sides, -1, axis=0)
    assert (sides[:, 0] * following[:, 1] - sides[:, 1] * following[:, 0] > 0.0).all()


def test_the_eye_far_from_all_others_is_the_one_left_out() -> None:
    points = np.vstack([points_of(3, 19), [[6.0, 6.0]]])
    assert polygon_of_most(eyes_of(points)).x_dpt == pytest.approx(
        points[:19][ConvexHull(points[:19]).vertices][:, 0]
    )


def test_eyes_on_one_line_have_no_ellipse_no_test_and_no_outline() -> None:
    eyes = steep(np.array([0.5, 1.0, 1.5, 2.0]), np.full(4, 60.0), Plane.CORNEA)
    for figure in (data_ellipse, data_ellipse_of_many, centroid_ellipse, hotelling_test, polygon_of_most):
        with pytest.raises(NotDefinedError, match="one line"):
            figure(eyes)


def test_too_few_eyes_or_one_that_is_no_number_is_refused() -> None:
    two = steep(np.ones(2), np.array([10.0, 50.0]), Plane.CORNEA)
    for figure in (data_ellipse, data_ellipse_of_many, centroid_ellipse, hotelling_test, polygon_of_most):
        with pytest.raises(MissingMeasurementError, match="3 or more eyes; there are 2"):
            figure(two)
    with pytest.raises(MissingMeasurementError):
        aggregate(steep(np.empty(0), np.empty(0), Plane.CORNEA))
    with pytest.raises(OutOfRangeError, match="not a finite number"):
        centroid(steep(np.array([1.0, np.nan]), np.array([10.0, 50.0]), Plane.CORNEA))
    assert aggregate(steep(1.0, 90.0, Plane.CORNEA)).total_sd_dpt is None


@given(
    before=st.tuples(SIZES, MERIDIANS),
    wanted=st.tuples(SIZES, MERIDIANS),
    after=st.tuples(SIZES, MERIDIANS),
)
def test_what_was_done_and_what_is_missing_make_the_target(
    before: tuple[float, float], wanted: tuple[float, float], after: tuple[float, float]
) -> None:
    start, aim, end = (steep(*each, Plane.CORNEA) for each in (before, wanted, after))
    found = surgical_vectors(start, aim, end)
    assume(found.target.magnitude_dpt > 1e-3)
    assume(found.induced.magnitude_dpt > 1e-3)
    assert found.induced.plus(found.difference).minus(found.target).magnitude_dpt < 1e-12
    assert found.difference.minus(aim.minus(end)).magnitude_dpt < 1e-12
    assert -90.0 <= found.angle_error_deg <= 90.0
    double = 2 * math.radians(float(found.angle_error_deg))
    assert found.flattening_effect_dpt == pytest.approx(
        found.induced.magnitude_dpt * math.cos(double), abs=1e-9
    )
    assert found.flattening_index == pytest.approx(found.correction_index * math.cos(double), abs=1e-6)
    # Law of cosines in the double-angle plot: the three sizes and the angle belong together.
    assert found.index_of_success**2 == pytest.approx(
        1 + found.correction_index**2 - 2 * found.correction_index * math.cos(double), rel=1e-6, abs=1e-6
    )


@given(size=SIZES, meridian=MERIDIANS)
def test_an_operation_that_does_what_was_meant_is_ideal_in_every_figure(size: float, meridian: float) -> None:
    start, aim = steep(size, meridian, Plane.CORNEA), steep(0.0, 0.0, Plane.CORNEA)
    found = surgical_vectors(start, aim, aim)
    assert found.correction_index == pytest.approx(1.0)
    assert found.flattening_index == pytest.approx(1.0)
    assert found.index_of_success == pytest.approx(0.0, abs=1e-12)
    assert found.angle_error_deg == pytest.approx(0.0, abs=1e-9)
    assert found.flags == 0


def test_ratios_without_a_target_are_not_defined_and_say_so_for_that_eye_alone() -> None:
    start = steep(np.array([1.0, 1.0, 1.0]), np.full(3, 90.0), Plane.CORNEA)
    aim = steep(np.array([1.0, 0.2, 0.0]), np.full(3, 90.0), Plane.CORNEA)
    end = steep(np.array([0.6, 1.0, 0.5]), np.full(3, 90.0), Plane.CORNEA)
    found = surgical_vectors(start, aim, end)
    assert np.asarray(found.flags).tolist() == [NO_TARGET, NO_CHANGE, 0]
    assert np.isnan(found.correction_index).tolist() == [True, False, False]
    assert np.isnan(found.flattening_index).tolist() == [True, False, False]
    assert np.isnan(found.angle_error_deg).tolist() == [True, True, False]
    assert np.asarray(found.correction_index)[1:] == pytest.approx([0.0, 0.5])


def test_astigmatism_of_two_planes_is_not_compared() -> None:
    cornea, glasses = steep(1.0, 90.0, Plane.CORNEA), steep(1.0, 90.0, Plane.SPECTACLES)
    with pytest.raises(InconsistentRecordError):
        surgical_vectors(cornea, cornea, glasses)


@given(turns=st.lists(st.floats(-89.0, 89.0), min_size=1, max_size=50))
def test_mean_and_spread_of_turns_are_those_of_scipy_on_the_circle(turns: list[float]) -> None:
    found = rotation_results(np.array(turns), Since.INTENDED)
    length = abs(np.exp(2j * np.deg2rad(turns)).mean())
    assume(length > 1e-3)
    apart = (found.mean_deg - stats.circmean(turns, high=90.0, low=-90.0)) % 180.0
    assert min(apart, 180.0 - apart) < 1e-6
    assert found.sd_deg == pytest.approx(stats.circstd(turns, high=90.0, low=-90.0), abs=1e-4)


@given(start=MERIDIANS, turn=st.floats(-89.9, 89.9), halves=st.integers(-2, 2))
def test_a_turn_is_found_again_across_the_end_of_the_scale(start: float, turn: float, halves: int) -> None:
    assert turned_by_deg(start, start + turn + 180.0 * halves) == pytest.approx(turn, abs=1e-9)


def test_ninety_degrees_is_the_farthest_and_counts_as_counter_clockwise() -> None:
    assert turned_by_deg(10.0, 100.0) == 90.0
    assert turned_by_deg(100.0, 10.0) == 90.0


def test_each_comparison_has_the_limits_that_its_standard_gives_for_it() -> None:
    turns = np.array([0.0, 5.0, -5.0, 5.0, 1.0, 2.0, 3.0, -4.0, 5.0, -11.0])
    visits = rotation_results(turns, Since.EARLIER_VISIT)
    assert [(one.limit.at_most_deg, one.found_percent, one.met) for one in visits.limits] == [
        (5.0, 90.0, True)
    ]
    intended = rotation_results(turns, Since.INTENDED)
    assert [(one.limit.at_most_deg, one.met) for one in intended.limits] == [(10.0, True), (20.0, True)]
    worse = rotation_results(np.append(turns, [12.0, 21.0]), Since.INTENDED)
    assert [one.met for one in worse.limits] == [False, False]
    assert worse.largest_deg == 21.0
    assert len(LIMITS) == 3


@pytest.mark.parametrize("wrong", [[91.0], [np.nan], [-90.5, 1.0]])
def test_a_turn_that_no_lens_can_make_is_refused(wrong: list[float]) -> None:
    with pytest.raises(OutOfRangeError):
        rotation_results(np.array(wrong), Since.INTENDED)


def test_no_lens_is_no_result() -> None:
    with pytest.raises(MissingMeasurementError):
        rotation_results(np.empty(0), Since.INTENDED)
