"""What the incision does: laws of its vector, its scatter, and of learning it from own eyes."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from zonule.errors import InconsistentRecordError, NotDefinedError
from zonule.science.astigmatism.corneal import ADJUSTMENTS, total_from_reading
from zonule.science.astigmatism.incision import (
    CENTROID_SD_DPT,
    IncisionEffect,
    induced,
    induced_covariance_dpt2,
    own_weight,
    personal_effect,
    published_effect,
    with_incision,
    without_incision,
)
from zonule.science.astigmatism.vectors import Astigmatism, Plane, steep

sizes = st.floats(0.0, 6.0)
meridians = st.floats(0.0, 180.0)
angles = st.floats(-180.0, 180.0)
effects = st.builds(
    lambda flattening, torque: IncisionEffect(flattening, torque, np.diag([0.08, 0.05]), 0.1),
    st.floats(-0.5, 1.0),
    st.floats(-0.3, 0.3),
)
TEMPORAL = published_effect(180.0, 2.2)
AS_SEEN = (0.0, 0.0)


def cornea(size: float, meridian: float) -> Astigmatism:
    return steep(size, meridian, Plane.CORNEA)


def apart(one: Astigmatism, other: Astigmatism) -> float:
    return float(np.max(one.minus(other).magnitude_dpt))


def plain(flattening: float) -> IncisionEffect:
    return TEMPORAL._replace(flattening_dpt=flattening)


def scattered(eyes: int, along: float, aside: float, seed: int) -> Astigmatism:
    """Changes made by temporal incisions with this mean flattening and torque."""
    draws = np.random.default_rng(seed).normal(0.0, 0.33, size=(2, eyes))
    return Astigmatism(along + draws[0], aside + draws[1], Plane.CORNEA).turned(270.0)


@given(sizes, meridians, effects, meridians)
def test_adding_then_removing_an_incision_is_identity(
    size: float, meridian: float, effect: IncisionEffect, cut: float
) -> None:
    before = cornea(size, meridian)
    assert apart(without_incision(with_incision(before, effect, cut), effect, cut), before) < 1e-12


@given(st.floats(0.5, 6.0), meridians, st.floats(0.0, 0.5))
def test_an_incision_on_the_steep_meridian_takes_its_flattening_off(
    size: float, meridian: float, flattening: float
) -> None:
    after = with_incision(cornea(size, meridian), plain(flattening), meridian)
    assert float(after.magnitude_dpt) == pytest.approx(size - flattening, abs=1e-9)


@given(sizes, meridians, st.floats(0.0, 0.5))
def test_an_incision_on_the_flat_meridian_adds_its_flattening(
    size: float, meridian: float, flattening: float
) -> None:
    after = with_incision(cornea(size, meridian), plain(flattening), meridian + 90.0)
    assert float(after.magnitude_dpt) == pytest.approx(size + flattening, abs=1e-9)


@given(sizes, meridians, effects, meridians, angles)
def test_a_turned_cornea_with_a_turned_incision_is_the_same_turned(
    size: float, meridian: float, effect: IncisionEffect, cut: float, angle: float
) -> None:
    before = cornea(size, meridian)
    after = with_incision(before.turned(angle), effect, cut + angle)
    assert apart(after, with_incision(before, effect, cut).turned(angle)) < 1e-9


@given(sizes, meridians, effects, meridians)
def test_a_left_eye_is_the_mirror_of_a_right_one_and_torque_changes_sign(
    size: float, meridian: float, effect: IncisionEffect, cut: float
) -> None:
    right = with_incision(cornea(size, meridian), effect, cut)
    other = effect._replace(torque_dpt=-effect.torque_dpt)
    left = with_incision(cornea(size, 180.0 - meridian), other, 180.0 - cut)
    assert apart(left, right.mirrored()) < 1e-9


@given(effects)
def test_0_and_180_degrees_are_one_meridian(effect: IncisionEffect) -> None:
    assert apart(induced(effect, 0.0), induced(effect, 180.0)) < 1e-12
    np.testing.assert_allclose(
        induced_covariance_dpt2(effect, 0.0, AS_SEEN),
        induced_covariance_dpt2(effect, 180.0, AS_SEEN),
        atol=1e-12,
    )


@given(meridians)
def test_the_default_is_the_same_for_both_eyes_of_a_mirrored_pair(meridian: float) -> None:
    right, left = published_effect(meridian, 2.2), published_effect(180.0 - meridian, 2.2)
    assert float(right.flattening_dpt) == pytest.approx(float(left.flattening_dpt), abs=1e-12)


@pytest.mark.parametrize(
    ("name", "difference"),
    [("abulafia_koch_2016", 0.074 * 0.28), ("savini_naeser", 0.164 * 0.28), ("goggin_2015", 0.25 * 0.28)],
)
def test_adjusting_first_differs_from_cutting_first(name: str, difference: float) -> None:
    """An adjustment is no mere addition: on a cornea already cut it would change what the cut does, too."""

    def adjusted(reading: Astigmatism) -> Astigmatism:
        return total_from_reading(ADJUSTMENTS[name], reading, 1.0)

    reading, effect = cornea(2.0, 90.0), published_effect(90.0, 2.2)
    right = with_incision(adjusted(reading), effect, 90.0)
    wrong = adjusted(with_incision(reading, effect, 90.0))
    assert apart(right, wrong) == pytest.approx(difference, abs=1e-9)


def test_cutting_first_can_move_an_eye_into_another_group() -> None:
    """With the rule before the cut and against it after: the factor is another."""
    row, effect, reading = ADJUSTMENTS["goggin_2015"], plain(0.4), cornea(0.3, 90.0)
    right = with_incision(total_from_reading(row, reading, 1.0), effect, 90.0)
    wrong = total_from_reading(row, with_incision(reading, effect, 90.0), 1.0)
    assert (float(right.x_dpt), float(wrong.x_dpt)) == pytest.approx((0.175, 0.141))


def test_an_incision_is_not_added_to_a_cylinder_of_another_plane() -> None:
    with pytest.raises(InconsistentRecordError, match="cornea"):
        with_incision(steep(1.0, 90.0, Plane.SPECTACLES), TEMPORAL, 180.0)


@pytest.mark.parametrize("width", [1.8, 2.5, 2.8, float("nan")])
def test_a_width_that_no_series_speaks_of_has_no_default(width: float) -> None:
    with pytest.raises(NotDefinedError, match="own eyes"):
        published_effect(90.0, width)


@given(meridians)
def test_the_default_lies_between_temporal_and_superior(meridian: float) -> None:
    assert 0.15 <= float(published_effect(meridian, 2.2).flattening_dpt) <= 0.28


@given(effects, meridians, angles)
def test_the_scatter_turns_with_the_incision(effect: IncisionEffect, cut: float, angle: float) -> None:
    twice = np.deg2rad(2.0 * angle)
    turn = np.array([[np.cos(twice), -np.sin(twice)], [np.sin(twice), np.cos(twice)]])
    expected = turn @ induced_covariance_dpt2(effect, cut, AS_SEEN) @ turn.T
    np.testing.assert_allclose(induced_covariance_dpt2(effect, cut + angle, AS_SEEN), expected, atol=1e-12)


def test_the_scatter_along_an_incision_at_180_lies_on_x_with_what_is_uncertain_of_the_mean() -> None:
    effect = IncisionEffect(0.1, 0.0, np.diag([0.09, 0.04]), 0.1)
    np.testing.assert_allclose(
        induced_covariance_dpt2(effect, 180.0, AS_SEEN), np.diag([0.10, 0.05]), atol=1e-12
    )


def test_many_meridians_get_what_each_gets_alone() -> None:
    cuts = np.array([0.0, 45.0, 90.0, 170.0])
    many = published_effect(cuts, 2.2)
    spread = induced_covariance_dpt2(many, cuts, AS_SEEN)
    assert spread.shape == (4, 2, 2)
    for place, cut in enumerate(cuts):
        alone = published_effect(float(cut), 2.2)
        one = induced(alone, float(cut))
        assert float(np.asarray(induced(many, cuts).x_dpt)[place]) == pytest.approx(
            float(one.x_dpt), abs=1e-12
        )
        np.testing.assert_allclose(
            spread[place], induced_covariance_dpt2(alone, float(cut), AS_SEEN), atol=1e-12
        )


def test_the_mean_of_vectors_is_learned_and_never_the_mean_of_their_sizes() -> None:
    changes = scattered(4000, 0.0, 0.0, seed=1)
    learned = personal_effect(changes, np.full(4000, 180.0), 4000.0, TEMPORAL)
    assert float(np.mean(changes.magnitude_dpt)) > 0.4
    assert abs(float(learned.flattening_dpt)) < 0.02
    assert abs(float(learned.torque_dpt)) < 0.02


def test_own_eyes_are_recovered_from_many_whatever_the_default() -> None:
    changes = scattered(4000, 0.5, 0.2, seed=2)
    learned = personal_effect(changes, np.full(4000, 180.0), 4000.0, TEMPORAL)
    assert float(learned.flattening_dpt) == pytest.approx(0.5, abs=0.02)
    assert float(learned.torque_dpt) == pytest.approx(0.2, abs=0.02)
    assert np.sqrt(np.diag(learned.covariance_dpt2)) == pytest.approx([0.33, 0.33], abs=0.02)
    assert float(learned.centroid_sd_dpt) < 0.006


def test_one_own_eye_hardly_moves_the_default_and_takes_nothing_off_the_scatter() -> None:
    learned = personal_effect(scattered(1, 1.5, 0.0, seed=3), np.array([180.0]), 1.0, TEMPORAL)
    assert own_weight(1.0, TEMPORAL) < 0.1
    assert abs(float(learned.flattening_dpt) - 0.15) < 0.2
    np.testing.assert_allclose(learned.covariance_dpt2, TEMPORAL.covariance_dpt2, atol=1e-12)


@given(st.floats(0.0, 500.0), st.floats(0.0, 500.0))
def test_more_eyes_weigh_more(one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert 0.0 <= own_weight(low, TEMPORAL) <= own_weight(high, TEMPORAL) < 1.0


def test_the_weight_is_the_posterior_of_two_normal_laws() -> None:
    """By adding precisions, the textbook way."""
    of_data, of_prior = 20.0 / 0.33**2, 1.0 / CENTROID_SD_DPT**2
    assert own_weight(20.0, TEMPORAL) == pytest.approx(of_data / (of_data + of_prior))
    learned = personal_effect(scattered(20, 0.3, 0.0, seed=4), np.full(20, 180.0), 20.0, TEMPORAL)
    assert float(learned.centroid_sd_dpt) == pytest.approx((of_data + of_prior) ** -0.5)


@given(angles)
def test_what_is_learned_does_not_depend_on_where_the_incisions_lay(angle: float) -> None:
    changes, cuts = scattered(12, 0.4, 0.1, seed=5), np.full(12, 180.0)
    here = personal_effect(changes, cuts, 12.0, TEMPORAL)
    there = personal_effect(changes.turned(angle), cuts + angle, 12.0, TEMPORAL)
    assert float(there.flattening_dpt) == pytest.approx(float(here.flattening_dpt), abs=1e-9)
    assert float(there.torque_dpt) == pytest.approx(float(here.torque_dpt), abs=1e-9)
    np.testing.assert_allclose(there.covariance_dpt2, here.covariance_dpt2, atol=1e-9)


def test_two_eyes_of_one_patient_count_for_less_than_two_patients() -> None:
    changes, cuts = scattered(20, 0.5, 0.0, seed=6), np.full(20, 180.0)
    alike = personal_effect(changes, cuts, 13.3, TEMPORAL)
    apart_ = personal_effect(changes, cuts, 20.0, TEMPORAL)
    assert 0.15 < float(alike.flattening_dpt) < float(apart_.flattening_dpt)


@given(st.floats(0.0, 0.5), st.floats(0.0, 0.5), meridians)
def test_the_noise_of_reading_is_taken_off_a_scatter_and_never_more_than_there_is(
    x_sd: float, y_sd: float, cut: float
) -> None:
    seen = induced_covariance_dpt2(TEMPORAL, cut, AS_SEEN)
    left = induced_covariance_dpt2(TEMPORAL, cut, (x_sd, y_sd))
    assert np.linalg.eigvalsh(left)[0] >= CENTROID_SD_DPT**2 - 1e-12
    assert np.linalg.eigvalsh(seen - left)[0] >= -1e-12


def test_what_is_taken_off_is_the_variance_of_two_readings() -> None:
    left = induced_covariance_dpt2(TEMPORAL, 180.0, (0.1, 0.2))
    np.testing.assert_allclose(
        np.diag(left), [0.33**2 - 2 * 0.01 + 0.01, 0.33**2 - 2 * 0.04 + 0.01], atol=1e-12
    )
