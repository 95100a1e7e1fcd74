"""Laws of a toric lens: its cylinder at the cornea, what it leaves, and how surely."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats

from zonule.errors import InconsistentRecordError, OutOfRangeError
from zonule.science.arrays import Numbers
from zonule.science.astigmatism.toric_lens import (
    cylinder_at_cornea_dpt,
    cylinder_at_lens_dpt,
    cylinder_ratio,
    meridional_powers_dpt,
    residual,
    slips,
)
from zonule.science.astigmatism.toric_odds import (
    KERATOMETRY_SDS_DPT,
    LIMITS_DPT,
    Scatter,
    odds,
    planning_scatter,
)
from zonule.science.astigmatism.vectors import Astigmatism, Plane, SpheroCylinder, at_cornea, steep
from zonule.science.lens_power.thin_lens import ThinLensEye, lens_power_dpt
from zonule.science.optics.best_glasses import Pupil
from zonule.science.optics.pseudophakic_eye import PseudophakicEye, refraction
from zonule.science.optics.surfaces import Surface

EYES = st.builds(
    ThinLensEye,
    corneal_power_dpt=st.floats(38.0, 48.0),
    optical_length_mm=st.floats(20.5, 30.0),
    lens_position_mm=st.floats(3.8, 6.2),
    flags=st.just(0),
    refraction_gain=st.sampled_from((1.0, 1.0 / 1.0125)),
    power_shift_dpt=st.sampled_from((0.0, -0.7)),
)
CYLINDERS = st.floats(0.25, 5.0)
MERIDIANS = st.floats(0.0, 180.0)
TARGETS = st.floats(-3.0, 1.0)
PLAIN_EYES = EYES.map(lambda eye: eye._replace(refraction_gain=1.0, power_shift_dpt=0.0))
"""As rays see them, which know of no gain and no shift."""
AVERAGE = ThinLensEye(44.0, 23.5, 5.0, 0)
EXACT_DPT = 1e-9
RAYS_DPT = 2e-5
TINY = Pupil(0.02)
LENS_INDEX, AQUEOUS = 1.50, 1.336
NOTHING = np.zeros((2, 2))


def corneal(magnitude: float, meridian: float) -> Astigmatism:
    return steep(magnitude, meridian, Plane.CORNEA)


def same(one: Astigmatism, other: Astigmatism, within_dpt: float = EXACT_DPT) -> bool:
    return one.plane is other.plane and bool(np.all(one.minus(other).magnitude_dpt <= within_dpt))


@given(eye=EYES, cylinder=CYLINDERS, target=TARGETS)
def test_the_way_to_the_lens_and_back_is_identity(eye: ThinLensEye, cylinder: float, target: float) -> None:
    flat, steep_power = meridional_powers_dpt(eye, cylinder, target)
    back = cylinder_at_cornea_dpt(eye, flat - steep_power, (flat + steep_power) / 2.0)
    assert back == pytest.approx(cylinder, abs=EXACT_DPT)


@given(eye=EYES, cylinder=CYLINDERS, target=TARGETS)
def test_the_lens_needs_more_cylinder_than_the_cornea_has(
    eye: ThinLensEye, cylinder: float, target: float
) -> None:
    assert cylinder_at_lens_dpt(eye, cylinder, target) > cylinder


@given(eye=EYES, target=TARGETS, deeper=st.floats(0.1, 1.0))
def test_the_same_lens_is_worth_less_the_deeper_it_lies(
    eye: ThinLensEye, target: float, deeper: float
) -> None:
    power = lens_power_dpt(eye, target)
    there = eye._replace(lens_position_mm=eye.lens_position_mm + deeper)
    worth = cylinder_at_cornea_dpt(there, 2.0, lens_power_dpt(there, target))
    assert worth < cylinder_at_cornea_dpt(eye, 2.0, power)


@given(eye=EYES, target=TARGETS)
def test_a_small_cylinder_has_the_ratio_of_the_limit(eye: ThinLensEye, target: float) -> None:
    small = cylinder_at_lens_dpt(eye, 1e-3, target) / 1e-3
    assert small == pytest.approx(cylinder_ratio(eye, target), abs=1e-6)


def test_no_fixed_ratio_fits_every_eye() -> None:
    short = cylinder_ratio(ThinLensEye(44.0, 21.0, 4.2, 0), 0.0)
    long = cylinder_ratio(ThinLensEye(44.0, 28.0, 6.0, 0), 0.0)
    assert long - short > 0.2


def test_an_eye_without_a_lens_position_has_no_cylinder_at_the_cornea() -> None:
    assert math.isnan(cylinder_at_cornea_dpt(AVERAGE._replace(lens_position_mm=math.nan), 2.0, 20.0))


@given(lens=CYLINDERS, meridian=MERIDIANS, off=st.floats(-90.0, 90.0))
def test_a_fitting_lens_off_by_an_angle_leaves_twice_its_cylinder_times_the_sine(
    lens: float, meridian: float, off: float
) -> None:
    left = residual(corneal(lens, meridian), lens, meridian + off)
    assert left.magnitude_dpt == pytest.approx(2.0 * lens * abs(math.sin(math.radians(off))), abs=1e-9)


@given(magnitude=CYLINDERS, lens=CYLINDERS, meridian=MERIDIANS, at=MERIDIANS)
def test_turning_the_lens_by_180_degrees_changes_nothing(
    magnitude: float, lens: float, meridian: float, at: float
) -> None:
    cornea = corneal(magnitude, meridian)
    assert same(residual(cornea, lens, at), residual(cornea, lens, at + 180.0))
    assert same(residual(cornea, lens, 0.0), residual(cornea, lens, 180.0))


@given(magnitude=CYLINDERS, lens=CYLINDERS, meridian=MERIDIANS, at=MERIDIANS)
def test_the_mirrored_eye_with_the_mirrored_lens_has_the_mirrored_residual(
    magnitude: float, lens: float, meridian: float, at: float
) -> None:
    cornea = corneal(magnitude, meridian)
    assert same(residual(cornea.mirrored(), lens, 180.0 - at), residual(cornea, lens, at).mirrored())


@given(magnitude=CYLINDERS, meridian=MERIDIANS, at=MERIDIANS)
def test_a_lens_without_cylinder_leaves_the_cornea(magnitude: float, meridian: float, at: float) -> None:
    cornea = corneal(magnitude, meridian)
    assert same(residual(cornea, 0.0, at), cornea)


def test_a_cornea_told_at_the_spectacles_is_refused() -> None:
    elsewhere = steep(1.0, 90.0, Plane.SPECTACLES)
    with pytest.raises(InconsistentRecordError):
        residual(elsewhere, 1.0, 90.0)
    with pytest.raises(InconsistentRecordError):
        odds(elsewhere, 1.0, 90.0, Scatter(NOTHING, 0.0), seed=1)


@given(magnitude=CYLINDERS, meridian=MERIDIANS, lens=CYLINDERS)
def test_a_flipped_axis_adds_the_lens_to_the_cornea(magnitude: float, meridian: float, lens: float) -> None:
    wrong = slips(corneal(magnitude, meridian), lens, meridian)
    assert wrong.flipped.residual.magnitude_dpt == pytest.approx(magnitude + lens, abs=1e-9)
    assert 0.0 < wrong.flipped.meridian_deg <= 180.0


@given(meridian=MERIDIANS, lens=CYLINDERS)
def test_a_mirrored_axis_costs_what_its_angle_costs(meridian: float, lens: float) -> None:
    wrong = slips(corneal(lens, meridian), lens, meridian).mirrored
    angle = math.radians(180.0 - 2.0 * meridian)
    assert wrong.residual.magnitude_dpt == pytest.approx(2.0 * lens * abs(math.sin(angle)), abs=1e-9)
    assert 0.0 < wrong.meridian_deg <= 180.0


@given(eye=EYES, magnitude=CYLINDERS, meridian=MERIDIANS, at=MERIDIANS)
def test_no_meridian_leaves_less_than_the_steep_one(
    eye: ThinLensEye, magnitude: float, meridian: float, at: float
) -> None:
    cornea = corneal(magnitude, meridian)
    worth = cylinder_at_cornea_dpt(eye, np.array((1.0, 2.25, 4.5)), lens_power_dpt(eye, 0.0))
    there, elsewhere = residual(cornea, worth, cornea.steep_meridian_deg), residual(cornea, worth, at)
    assert np.all(there.magnitude_dpt <= elsewhere.magnitude_dpt + 1e-9)
    assert np.allclose(there.magnitude_dpt, np.abs(magnitude - worth))


# The same eye by exact rays: one corneal surface and a lens a thousandth of a micrometre thick.


def traced(
    eye: ThinLensEye, cornea: Astigmatism, power: Numbers, cylinder: Numbers, at: float
) -> Astigmatism:
    """Plus cylinder of the glasses, at the cornea, of rays through a pinhole of a toric eye."""
    mean, toric = float(power), float(cylinder)
    assume(min(abs(mean), abs(abs(mean) - toric)) > 0.01)
    half = 0.5 * float(cornea.magnitude_dpt)
    steep_mm, flat_mm = (
        (AQUEOUS - 1.0) * 1e3 / (float(eye.corneal_power_dpt) + sign * half) for sign in (1, -1)
    )
    front = Surface(
        0.0, steep_mm, AQUEOUS, other_radius_mm=flat_mm, meridian_deg=float(cornea.steep_meridian_deg)
    )
    # The lens is weakest along its marks, where the cornea is steepest; its back has half the mean power.
    back_mm = -(LENS_INDEX - AQUEOUS) * 1e3 / (0.5 * mean)
    along_mm, across_mm = (
        (LENS_INDEX - AQUEOUS) * 1e3 / (0.5 * mean + sign * 0.5 * toric) for sign in (-1, 1)
    )
    lens = Surface(eye.lens_position_mm, along_mm, LENS_INDEX, other_radius_mm=across_mm, meridian_deg=at)
    whole = PseudophakicEye(
        front,
        Surface(1.0, np.inf, AQUEOUS),
        lens,
        Surface(eye.lens_position_mm + 1e-6, back_mm, AQUEOUS),
        eye.optical_length_mm,
    )
    seen = refraction(whole, TINY)
    # J0 is plus where the glasses are stronger across: their plus cylinder then has its axis upright.
    glasses = Astigmatism(-2.0 * seen.j0_dpt, -2.0 * seen.j45_dpt, Plane.SPECTACLES)
    return at_cornea(SpheroCylinder(seen.spherical_equivalent_dpt, glasses)).correcting


@given(eye=PLAIN_EYES, cylinder=st.floats(0.5, 4.0), meridian=MERIDIANS)
def test_rays_through_a_toric_eye_find_no_cylinder_where_meridional_analysis_leaves_none(
    eye: ThinLensEye, cylinder: float, meridian: float
) -> None:
    flat, along = meridional_powers_dpt(eye, cylinder, 0.0)
    left = traced(eye, corneal(cylinder, meridian), (flat + along) / 2.0, flat - along, meridian)
    assert left.magnitude_dpt == pytest.approx(0.0, abs=RAYS_DPT)


@given(eye=PLAIN_EYES, cylinder=st.floats(0.5, 3.0), lens=st.floats(0.5, 4.5), meridian=MERIDIANS)
def test_rays_through_an_aligned_lens_find_the_cylinder_that_is_left(
    eye: ThinLensEye, cylinder: float, lens: float, meridian: float
) -> None:
    power = lens_power_dpt(eye, 0.0)
    worth = cylinder_at_cornea_dpt(eye, lens, power)
    cornea = corneal(cylinder, meridian)
    assert same(traced(eye, cornea, power, lens, meridian), residual(cornea, worth, meridian), RAYS_DPT)


@given(eye=PLAIN_EYES, cylinder=st.floats(0.5, 2.0), meridian=MERIDIANS, off=st.floats(-90.0, 90.0))
def test_rays_through_a_lens_that_turned_find_the_residual_of_the_vectors(
    eye: ThinLensEye, cylinder: float, meridian: float, off: float
) -> None:
    """Crossed meridians too: from the retina, nothing but the lens is toric until the cornea is reached."""
    flat, along = meridional_powers_dpt(eye, cylinder, 0.0)
    cornea = corneal(cylinder, meridian)
    seen = traced(eye, cornea, (flat + along) / 2.0, flat - along, meridian + off)
    told = residual(cornea, cylinder, meridian + off)
    assert same(seen, told, RAYS_DPT)


# Odds.


@given(sd=st.floats(0.1, 0.6), magnitude=st.floats(0.0, 1.0), meridian=MERIDIANS)
def test_the_chance_of_a_round_scatter_is_that_of_the_noncentral_chi_square(
    sd: float, magnitude: float, meridian: float
) -> None:
    """Against SciPy's law."""
    cornea = corneal(1.0 + magnitude, meridian)
    found = odds(cornea, 1.0, meridian, Scatter(np.eye(2) * sd**2, 0.0), seed=3)
    wanted = stats.ncx2.cdf((np.array(LIMITS_DPT) / sd) ** 2, 2, (max(magnitude, 1e-6) / sd) ** 2)
    assert found.within[:, 0, 0] == pytest.approx(wanted, abs=0.01)
    assert np.all(found.standard_error < 0.005)


@given(sd=st.floats(1.0, 8.0), lens=st.floats(1.0, 4.0), meridian=MERIDIANS)
def test_the_chance_of_a_turning_lens_is_that_of_its_angle(sd: float, lens: float, meridian: float) -> None:
    found = odds(corneal(lens, meridian), lens, meridian, Scatter(NOTHING, sd), seed=3)
    limit_deg = np.degrees(np.arcsin(np.minimum(np.array(LIMITS_DPT) / (2.0 * lens), 1.0)))
    assert found.within[:, 0, 0] == pytest.approx(2.0 * stats.norm.cdf(limit_deg / sd) - 1.0, abs=0.005)


def test_a_lens_that_turns_by_five_degrees_leaves_13_9_percent_on_average() -> None:
    found = odds(corneal(1.0, 30.0), 1.0, 30.0, Scatter(NOTHING, 5.0), seed=3)
    assert found.mean_residual_dpt[0, 0] == pytest.approx(0.139, abs=5e-4)


@given(lens=st.floats(0.5, 3.0), off=st.floats(-0.2, 0.2), more=st.floats(1.05, 4.0))
def test_the_chances_fall_with_noise_of_the_cornea(lens: float, off: float, more: float) -> None:
    some = planning_scatter(KERATOMETRY_SDS_DPT, np.diag((0.06, 0.03)), 0.1, 0.0, 0.0, 0.0)
    louder = Scatter(some.cornea_covariance_dpt2 * more**2, 0.0)
    cornea = corneal(lens + off, 40.0)
    quiet, loud = (odds(cornea, lens, 40.0, one, seed=5).within for one in (some, louder))
    assert np.all(loud <= quiet)
    assert loud[0, 0, 0] < quiet[0, 0, 0]


@given(lens=st.floats(1.0, 3.0), sd=st.floats(1.0, 5.0), more=st.floats(1.1, 3.0))
def test_the_chances_of_a_fitting_lens_fall_with_its_turning(lens: float, sd: float, more: float) -> None:
    steady, loose = (
        odds(corneal(lens, 40.0), lens, 40.0, Scatter(NOTHING, one), seed=5) for one in (sd, sd * more)
    )
    assert np.all(loose.within <= steady.within)
    assert loose.mean_residual_dpt[0, 0] > steady.mean_residual_dpt[0, 0]


@given(magnitude=st.floats(0.0, 3.0), lens=st.floats(0.0, 3.0), at=MERIDIANS)
def test_without_noise_the_chances_are_those_of_the_residual_itself(
    magnitude: float, lens: float, at: float
) -> None:
    cornea = corneal(magnitude, 75.0)
    found = odds(cornea, lens, at, Scatter(NOTHING, 0.0), seed=1)
    left = float(residual(cornea, lens, at).magnitude_dpt)
    assert found.mean_residual_dpt[0, 0] == pytest.approx(left, abs=1e-7)
    clear = np.abs(np.array(LIMITS_DPT) - left) > 1e-6
    assert np.all(found.within[clear, 0, 0] == (np.array(LIMITS_DPT) > left)[clear])


@given(turn=st.floats(-90.0, 90.0))
def test_turning_eye_and_plan_together_changes_no_chance_of_a_round_scatter(turn: float) -> None:
    scatter = Scatter(np.eye(2) * 0.04, 4.0)
    cornea = corneal(1.7, 60.0)
    here = odds(cornea, 1.5, 63.0, scatter, seed=2).within
    there = odds(cornea.turned(turn), 1.5, 63.0 + turn, scatter, seed=2).within
    assert there == pytest.approx(here, abs=0.01)


def test_each_model_and_each_lens_has_its_own_chances_and_a_mixture_lies_between() -> None:
    corneas = steep(np.array([1.0, 1.5, 2.0, 0.6]), np.array([88.0, 90.0, 93.0, 100.0]), Plane.CORNEA)
    scatter = planning_scatter((0.24, 0.20), np.diag((0.09, 0.09)), 0.0, 3.0, 4.0, 4.0)
    found = odds(corneas, np.array([0.0, 1.0, 1.5]), 90.0, scatter, seed=1)
    assert found.within.shape == (4, 4, 3)
    alone = odds(corneal(1.5, 90.0), 1.5, 90.0, scatter, seed=1)
    assert found.within[:, 1, 2].tolist() == alone.within[:, 0, 0].tolist()
    assert np.all(found.within_over_models <= found.within.max(axis=1))
    assert np.all(found.within_over_models >= found.within.min(axis=1))


def test_a_lens_whose_cylinder_is_not_known_has_no_chances() -> None:
    found = odds(corneal(1.0, 90.0), np.array([math.nan, 1.0]), 90.0, Scatter(np.eye(2) * 0.04, 0.0), seed=1)
    assert np.all(np.isnan(found.within[..., 0]))
    assert np.all(np.isfinite(found.within[..., 1]))


def test_the_same_seed_gives_the_same_chances() -> None:
    scatter = Scatter(np.eye(2) * 0.04, 4.0)
    one, two = (odds(corneal(1.0, 90.0), 1.0, 90.0, scatter, seed=9) for _ in range(2))
    assert one.within.tolist() == two.within.tolist()


def test_scatter_of_a_power_vector_counts_twice_in_the_cylinder() -> None:
    scatter = planning_scatter((0.24, 0.20), NOTHING, 0.0, 0.0, 0.0, 0.0)
    assert np.sqrt(scatter.cornea_covariance_dpt2.diagonal()) == pytest.approx([0.24, 0.20])


@pytest.mark.parametrize("place", range(4))
@pytest.mark.parametrize("wrong", [-0.1, math.nan])
def test_a_scatter_that_is_minus_or_unknown_is_refused(place: int, wrong: float) -> None:
    sds = [0.1, 3.0, 4.0, 4.0]
    sds[place] = wrong
    with pytest.raises(OutOfRangeError):
        planning_scatter((0.24, 0.20), NOTHING, *sds)


@pytest.mark.parametrize(
    "wrong",
    [
        np.diag((0.1, -0.1)),
        np.array(((0.1, 0.2), (0.2, 0.1))),
        np.array(((0.1, 0.05), (0.0, 0.1))),
        np.diag((0.1, math.nan)),
        np.eye(3),
    ],
)
def test_what_is_no_covariance_is_refused(wrong: np.ndarray) -> None:
    with pytest.raises(OutOfRangeError):
        planning_scatter((0.24, 0.20), wrong, 0.0, 3.0, 4.0, 4.0)
