"""Odds of turning a lens, and the parts of what is left: laws for every eye."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from zonule.errors import InconsistentRecordError, OutOfRangeError
from zonule.science.astigmatism.residual_causes import parts_of_residual, parts_without_plan
from zonule.science.astigmatism.rotation import best_rotation
from zonule.science.astigmatism.rotation_odds import RotationScatter, rotation_odds
from zonule.science.astigmatism.toric_lens import residual
from zonule.science.astigmatism.toric_odds import LIMITS_DPT
from zonule.science.astigmatism.vectors import Plane, SpheroCylinder, sphero_cylinder, steep

SIZES = st.floats(0.1, 4.0)
LENSES = st.floats(0.5, 4.0)
MERIDIANS = st.floats(0.0, 180.0)
NONE = RotationScatter(0.0, 0.0, 0.0)
SOME = RotationScatter(0.2, 3.3, 6.7)


def seen(cylinder: float, axis: float) -> SpheroCylinder:
    return sphero_cylinder(cylinder / 2.0, -cylinder, axis, Plane.CORNEA)


@settings(deadline=None)
@given(cylinder=SIZES, axis=MERIDIANS, lens=LENSES, lies=MERIDIANS)
def test_without_any_error_the_chances_are_certainties_of_the_best_turn(
    cylinder: float, axis: float, lens: float, lies: float
) -> None:
    best = best_rotation(seen(cylinder, axis), lens, lies)
    left, gain = float(best.best.correcting.magnitude_dpt), float(best.gain_dpt)
    if min(abs(left - limit) for limit in LIMITS_DPT) < 1e-9 or abs(gain - 0.5) < 1e-9:
        return
    odds = rotation_odds(seen(cylinder, axis), lens, lies, NONE, seed=1, draws=16)
    assert odds.within.tolist() == [float(left <= limit) for limit in LIMITS_DPT]
    assert odds.gains_half == float(gain >= 0.5)


@settings(deadline=None)
@given(cylinder=SIZES, axis=MERIDIANS, lens=LENSES, lies=MERIDIANS)
def test_an_axis_and_a_meridian_are_lines_without_ends(
    cylinder: float, axis: float, lens: float, lies: float
) -> None:
    one = rotation_odds(seen(cylinder, axis), lens, lies, SOME, seed=2, draws=1024)
    other = rotation_odds(seen(cylinder, axis + 180.0), lens, lies + 180.0, SOME, seed=2, draws=1024)
    assert np.allclose(one.within, other.within, atol=2e-3)


@settings(deadline=None)
@given(cylinder=SIZES, axis=MERIDIANS, lens=LENSES, lies=MERIDIANS)
def test_chances_rise_with_the_limit(cylinder: float, axis: float, lens: float, lies: float) -> None:
    within = rotation_odds(seen(cylinder, axis), lens, lies, SOME, seed=3, draws=1024).within
    assert np.all(np.diff(within) >= 0.0)


def test_a_lens_far_off_gains_for_sure_and_one_in_place_does_not() -> None:
    cornea = steep(3.0, 90.0, Plane.CORNEA)
    for off, gains in ((40.0, 0.99), (0.0, 0.02)):
        left = residual(cornea, 3.0, 90.0 + off)
        odds = rotation_odds(SpheroCylinder(0.0, left), 3.0, 90.0 + off, SOME, seed=4)
        assert odds.gains_half >= gains if off else odds.gains_half <= gains


def test_the_chances_are_those_of_a_plain_simulation() -> None:
    """Plain NumPy with other draws."""
    rng, many = np.random.default_rng(5), 200_000
    read, lens, lies = seen(1.5, 30.0), 2.0, 80.0
    turn = float(best_rotation(read, lens, lies).rotate_by_deg)
    true = complex(read.correcting.x_dpt, read.correcting.y_dpt) - (
        rng.normal(0, 0.2, many) + 1j * rng.normal(0, 0.2, many)
    )
    at = lies - rng.normal(0, 3.3, many)
    ends = at + turn + rng.normal(0, 6.7, many)
    left = true + lens * (np.exp(2j * np.deg2rad(at)) - np.exp(2j * np.deg2rad(ends)))
    odds = rotation_odds(read, lens, lies, SOME, seed=6)
    assert odds.within == pytest.approx([np.mean(abs(left) <= limit) for limit in LIMITS_DPT], abs=0.006)
    assert odds.gains_half == pytest.approx(np.mean(abs(true) - abs(left) >= 0.5), abs=0.006)
    assert odds.worse == pytest.approx(np.mean(abs(true) < abs(left)), abs=0.006)


def test_a_refraction_at_the_glasses_is_refused() -> None:
    with pytest.raises(InconsistentRecordError):
        rotation_odds(sphero_cylinder(0.5, -1.0, 40.0, Plane.SPECTACLES), 2.0, 95.0, SOME, seed=1)


@pytest.mark.parametrize("wrong", [-0.1, math.nan])
def test_a_scatter_that_is_minus_or_unknown_is_refused(wrong: float) -> None:
    with pytest.raises(OutOfRangeError):
        rotation_odds(seen(1.0, 40.0), 2.0, 95.0, RotationScatter(0.2, wrong, 5.0), seed=1)


@given(
    cylinder=SIZES,
    axis=MERIDIANS,
    cornea=SIZES,
    steep_at=MERIDIANS,
    lens=LENSES,
    meant=MERIDIANS,
    lies=MERIDIANS,
)
def test_the_parts_add_up_to_what_was_seen(
    cylinder: float, axis: float, cornea: float, steep_at: float, lens: float, meant: float, lies: float
) -> None:
    found = seen(cylinder, axis).correcting
    parts = parts_of_residual(found, steep(cornea, steep_at, Plane.CORNEA), lens, meant, lies)
    assert parts.planned.plus(parts.turned).plus(parts.rest).minus(found).magnitude_dpt < 1e-12


@given(lens=LENSES, meant=MERIDIANS, off=st.floats(-90.0, 90.0))
def test_a_lens_off_by_an_angle_adds_twice_its_cylinder_times_the_sine(
    lens: float, meant: float, off: float
) -> None:
    cornea = steep(lens, meant, Plane.CORNEA)
    parts = parts_of_residual(residual(cornea, lens, meant + off), cornea, lens, meant, meant + off)
    assert parts.turned.magnitude_dpt == pytest.approx(2 * lens * abs(math.sin(math.radians(off))), abs=1e-9)
    assert parts.rest.magnitude_dpt < 1e-9


@settings(deadline=None, max_examples=20)
@given(cylinder=SIZES, axis=MERIDIANS, lens=LENSES, lies=MERIDIANS)
def test_the_mirrored_eye_has_the_same_chances(
    cylinder: float, axis: float, lens: float, lies: float
) -> None:
    here = rotation_odds(seen(cylinder, axis), lens, lies, SOME, seed=1)
    there = rotation_odds(seen(cylinder, 180.0 - axis), lens, 180.0 - lies, SOME, seed=1)
    assert there.within == pytest.approx(here.within, abs=0.03)
    assert there.gains_half == pytest.approx(here.gains_half, abs=0.03)
    assert there.worse == pytest.approx(here.worse, abs=0.03)


@settings(deadline=None, max_examples=20)
@given(lens=LENSES, meant=MERIDIANS, off=st.floats(-40.0, 40.0), turn_sd=st.floats(0.5, 10.0))
def test_the_chance_of_a_lens_that_only_turns_is_that_of_its_angle(
    lens: float, meant: float, off: float, turn_sd: float
) -> None:
    """Against the normal law: 2 T sin(d) within a limit means d within arcsin(limit / 2 T)."""
    read = SpheroCylinder(0.0, residual(steep(lens, meant, Plane.CORNEA), lens, meant + off))
    odds = rotation_odds(read, lens, meant + off, RotationScatter(0.0, 0.0, turn_sd), seed=1)
    for limit, share in zip(LIMITS_DPT, odds.within, strict=True):
        most_deg = math.degrees(math.asin(min(limit / (2.0 * lens), 1.0)))
        assert share == pytest.approx(math.erf(most_deg / turn_sd / math.sqrt(2.0)), abs=0.01)


@pytest.mark.parametrize("off", [5.0, 20.0, 40.0])
def test_misreading_the_marks_costs_less_the_nearer_the_lens_lies(off: float) -> None:
    """Derived: with the turn `off` to make, 2 sin(off) of what misplacing it as far would cost."""
    read = SpheroCylinder(0.0, residual(steep(2.0, 90.0, Plane.CORNEA), 2.0, 90.0 + off))
    misread = rotation_odds(read, 2.0, 90.0 + off, RotationScatter(0.0, 5.0, 0.0), seed=1)
    expected = 2.0 * math.sin(math.radians(off)) * 5.0
    most_deg = math.degrees(math.asin(0.25 / 4.0))
    assert misread.within[0] == pytest.approx(math.erf(most_deg / expected / math.sqrt(2.0)), abs=0.01)


@settings(deadline=None)
@given(cylinder=SIZES, axis=MERIDIANS, lens=LENSES, lies=MERIDIANS)
def test_a_lens_at_its_best_grows_no_worse_without_error(
    cylinder: float, axis: float, lens: float, lies: float
) -> None:
    best = best_rotation(seen(cylinder, axis), lens, lies)
    there = rotation_odds(best.best, lens, float(best.best_meridian_deg), NONE, seed=1, draws=16)
    assert (there.gains_half, there.worse) == (0.0, 0.0)
    assert there.within.tolist() == there.within_now.tolist()


@given(cylinder=SIZES, axis=MERIDIANS, lens=LENSES, lies=MERIDIANS)
def test_without_a_plan_place_and_strength_add_up_and_have_their_sizes(
    cylinder: float, axis: float, lens: float, lies: float
) -> None:
    found = seen(cylinder, axis)
    parts, best = parts_without_plan(found, lens, lies), best_rotation(found, lens, lies)
    assert parts.place.plus(parts.strength).minus(found.correcting).magnitude_dpt < 1e-12
    over = float(best.to_correct.magnitude_dpt) - lens
    assert parts.strength.magnitude_dpt == pytest.approx(abs(over), abs=1e-9)
    turn = math.radians(float(best.rotate_by_deg))
    assume(float(best.to_correct.magnitude_dpt) > 1e-6)
    assert parts.place.magnitude_dpt == pytest.approx(2.0 * lens * abs(math.sin(turn)), abs=1e-6)
