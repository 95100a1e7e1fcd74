"""Laws of a lens that lies further forward than planned, for every eye."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from numpy.typing import NDArray

from zonule.science.lens_power.flags import FormulaFlag
from zonule.science.lens_power.formulas import FORMULAS, EyeNumbers, Formula, seen_eye
from zonule.science.lens_power.moved_lens import (
    ANTERIOR_CHAMBER,
    OPTIC_CAPTURED,
    SULCUS,
    StepFlag,
    moved_forward,
    moved_power_dpt,
    moved_refraction_dpt,
    sulcus_step,
)
from zonule.science.lens_power.thin_lens import ThinLensEye, lens_power_dpt, refraction_dpt

EXACT_DPT = 1e-9
CORNEAS_DPT = st.floats(35.0, 52.0)
LENGTHS_MM = st.floats(20.0, 32.0)
PLACES_MM = st.floats(3.5, 6.5)
FORWARD_MM = st.floats(0.05, 3.0)
TARGETS_DPT = st.floats(-4.0, 3.0)
GAINS = st.floats(0.97, 1.03)
SHIFTS_DPT = st.floats(-2.0, 2.0)
EYES = st.builds(ThinLensEye, CORNEAS_DPT, LENGTHS_MM, PLACES_MM, st.just(0), GAINS, st.just(0.0))
SHIFTED_EYES = st.builds(ThinLensEye, CORNEAS_DPT, LENGTHS_MM, PLACES_MM, st.just(0), GAINS, SHIFTS_DPT)

every_formula = pytest.mark.parametrize(
    "formula", [FORMULAS[key] for key in ("srk_t", "holladay_1", "hoffer_q")], ids=lambda one: one.key
)


def number(value: object) -> float:
    return float(np.asarray(value))


@given(eye=EYES, forward=FORWARD_MM, target=TARGETS_DPT)
def test_a_plus_lens_further_forward_must_be_weaker(eye: ThinLensEye, forward: float, target: float) -> None:
    in_the_bag = number(lens_power_dpt(eye, target))
    assume(in_the_bag > 0.01)
    moved = number(moved_power_dpt(eye, forward, target))
    assert 0.0 < moved < in_the_bag


@given(cornea=CORNEAS_DPT, place=PLACES_MM, power=st.floats(-15.0, -0.01), forward=FORWARD_MM)
def test_a_minus_lens_further_forward_must_be_weaker_as_well(
    cornea: float, place: float, power: float, forward: float
) -> None:
    """An eye long enough to need this minus lens for distance."""
    in_front = 1336.0 / (1336.0 / cornea - place)
    eye = ThinLensEye(cornea, place + 1336.0 / (power + in_front), place, 0)
    assert number(lens_power_dpt(eye, 0.0)) == pytest.approx(power, abs=1e-6)
    assert power < number(moved_power_dpt(eye, forward, 0.0)) < 0.0


@given(eye=EYES, forward=FORWARD_MM, power=st.floats(0.5, 35.0))
def test_an_unchanged_lens_leaves_short_sight_if_plus_and_long_sight_if_minus(
    eye: ThinLensEye, forward: float, power: float
) -> None:
    for signed, side in ((power, -1.0), (-power, 1.0)):
        before, after = (
            number(refraction_dpt(eye, signed)),
            number(moved_refraction_dpt(eye, forward, signed)),
        )
        assume(abs(before) < 20.0 and abs(after) < 20.0)
        assert math.copysign(1.0, after - before) == side


@given(eye=EYES, forward=FORWARD_MM)
def test_a_lens_of_no_power_does_not_care_where_it_lies(eye: ThinLensEye, forward: float) -> None:
    before = number(refraction_dpt(eye, 0.0))
    assume(abs(before) < 25.0)
    assert number(moved_refraction_dpt(eye, forward, 0.0)) == pytest.approx(before, abs=EXACT_DPT)


@given(eye=EYES, forward=FORWARD_MM, shorter=st.floats(0.1, 2.0))
def test_the_stronger_the_lens_the_more_a_shift_changes_it(
    eye: ThinLensEye, forward: float, shorter: float
) -> None:
    short = eye._replace(optical_length_mm=eye.optical_length_mm - shorter)
    assume(number(lens_power_dpt(eye, 0.0)) > 0.0)

    def change(one: ThinLensEye) -> float:
        return number(lens_power_dpt(one, 0.0) - moved_power_dpt(one, forward, 0.0))

    assert change(short) > change(eye)


@given(eye=EYES, target=TARGETS_DPT, near=FORWARD_MM, further=FORWARD_MM)
def test_further_forward_changes_more(eye: ThinLensEye, target: float, near: float, further: float) -> None:
    assume(number(lens_power_dpt(eye, target)) > 0.5 and further > near + 0.01)
    assert number(moved_power_dpt(eye, further, target)) < number(moved_power_dpt(eye, near, target))


@given(eye=SHIFTED_EYES, forward=FORWARD_MM, target=TARGETS_DPT)
def test_power_and_back_gives_the_refraction_asked_for_wherever_the_lens_lies(
    eye: ThinLensEye, forward: float, target: float
) -> None:
    power = moved_power_dpt(eye, forward, target)
    assert number(moved_refraction_dpt(eye, forward, power)) == pytest.approx(target, abs=EXACT_DPT)


@given(eye=SHIFTED_EYES, forward=FORWARD_MM, target=TARGETS_DPT)
def test_forward_and_back_is_the_eye_that_was(eye: ThinLensEye, forward: float, target: float) -> None:
    back = moved_forward(moved_forward(eye, forward), -forward)
    assert number(lens_power_dpt(back, target)) == pytest.approx(
        number(lens_power_dpt(eye, target)), abs=EXACT_DPT
    )


@given(eye=SHIFTED_EYES, forward=FORWARD_MM)
def test_a_move_touches_nothing_but_the_place_of_the_lens(eye: ThinLensEye, forward: float) -> None:
    moved = moved_forward(eye, forward)
    assert number(moved.lens_position_mm) == pytest.approx(number(eye.lens_position_mm) - forward, abs=1e-12)
    assert moved._replace(lens_position_mm=eye.lens_position_mm, flags=0) == eye


@given(eye=EYES, forward=FORWARD_MM, power=st.floats(-5.0, 35.0))
def test_ray_matrices_put_the_focus_on_the_retina(eye: ThinLensEye, forward: float, power: float) -> None:
    """Matrix optics share no line with the vergence equation: a ray from far away meets the axis there."""
    refraction = number(moved_refraction_dpt(eye._replace(refraction_gain=1.0), forward, power))
    assume(abs(refraction) < 20.0)
    cornea, length, place = (number(one) for one in eye[:3])

    def thin(dioptres: float) -> NDArray[np.float64]:
        return np.array([[1.0, 0.0], [-dioptres, 1.0]])

    def gap(mm: float, index: float) -> NDArray[np.float64]:
        return np.array([[1.0, mm / 1000.0 / index], [0.0, 1.0]])

    glasses = gap(12.0, 1.0) @ thin(refraction)
    front = gap(place - forward, 1.336) @ thin(cornea) @ glasses
    eye_and_glasses = gap(length - place + forward, 1.336) @ thin(power) @ front
    height_at_retina, _ = eye_and_glasses @ np.array([1.0, 0.0])
    assert height_at_retina == pytest.approx(0.0, abs=1e-10)


def test_a_lens_moved_out_of_the_eye_has_no_power_and_says_so() -> None:
    moved = moved_forward(ThinLensEye(43.5, 23.5, 5.0, 0), np.array([0.5, 5.0, -20.0]))
    assert list(np.asarray(moved.flags)) == [0, FormulaFlag.LENS_OUTSIDE_EYE, FormulaFlag.LENS_OUTSIDE_EYE]
    assert list(np.isnan(moved.lens_position_mm)) == [False, True, True]


@given(eyes=st.lists(EYES, min_size=1, max_size=5), forward=FORWARD_MM)
def test_many_eyes_at_once_are_each_eye_alone(eyes: list[ThinLensEye], forward: float) -> None:
    together = ThinLensEye(*(np.array(column) for column in zip(*eyes, strict=True)))
    powers = np.asarray(moved_power_dpt(together, forward, 0.0))
    alone = [number(moved_power_dpt(eye, forward, 0.0)) for eye in eyes]
    assert powers == pytest.approx(alone, abs=EXACT_DPT)


@every_formula
def test_a_lens_of_20_5_in_an_average_bag_is_one_of_19_5_to_20_in_the_sulcus(
    formula: Formula,
) -> None:
    """Common practice, no source: half a dioptre to one less; what is left unchanged is about -0.6 D."""
    eye = seen_eye(formula, EyeNumbers(23.5, 43.5, 3.1), formula.first_guess(118.4))
    target = number(refraction_dpt(eye, 20.5))
    assert 19.5 <= number(moved_power_dpt(eye, SULCUS.middle_mm, target)) <= 20.0
    left = number(moved_refraction_dpt(eye, SULCUS.middle_mm, 20.5)) - target
    assert left == pytest.approx(-0.6, abs=0.1)


@every_formula
@pytest.mark.parametrize(
    ("length", "rule"), [(21.0, -1.5), (22.5, -1.0), (23.5, -1.0), (25.5, -0.5), (29.0, 0.0)]
)
def test_the_optics_and_the_step_rule_tell_the_same_story(
    formula: Formula, length: float, rule: float
) -> None:
    """From memory: the rule and the optics came about apart, and half a dioptre is a lens step."""
    eye = seen_eye(formula, EyeNumbers(length, 43.5, 3.1), formula.first_guess(118.4))
    in_the_bag = number(lens_power_dpt(eye, 0.0))
    assert number(sulcus_step(round(2.0 * in_the_bag) / 2.0).step_dpt) == rule
    assert number(moved_power_dpt(eye, SULCUS.middle_mm, 0.0)) - in_the_bag == pytest.approx(rule, abs=0.5)


@every_formula
def test_an_anterior_chamber_lens_by_its_place_meets_one_by_a_usual_constant(formula: Formula) -> None:
    """A-constants of lenses for the chamber lie about 115 (from memory); both ways meet within the range."""
    numbers = EyeNumbers(23.5, 43.5, 3.1)
    in_the_bag = seen_eye(formula, numbers, formula.first_guess(118.4))
    forward = number(in_the_bag.lens_position_mm) - 3.1
    stronger, weaker = (
        number(moved_power_dpt(in_the_bag, forward + shift, 0.0))
        for shift in (ANTERIOR_CHAMBER.least_mm, ANTERIOR_CHAMBER.most_mm)
    )
    by_constant = number(lens_power_dpt(seen_eye(formula, numbers, formula.first_guess(115.2)), 0.0))
    assert weaker < by_constant < stronger


@pytest.mark.parametrize("forward", [SULCUS, OPTIC_CAPTURED, ANTERIOR_CHAMBER])
def test_a_distance_lies_within_its_range(forward: tuple[float, float, float]) -> None:
    middle, least, most = forward
    assert least < middle < most


def test_a_captured_optic_lies_behind_one_in_the_sulcus() -> None:
    assert OPTIC_CAPTURED.middle_mm < SULCUS.middle_mm
    assert OPTIC_CAPTURED.least_mm == 0.0


@pytest.mark.parametrize(
    ("bag", "step"),
    [
        *((-5.0, 0.0), (0.0, 0.0), (8.5, 0.0), (9.5, -0.5), (17.0, -0.5), (17.5, -1.0), (20.5, -1.0)),
        *((28.0, -1.0), (28.5, -1.5), (35.0, -1.5)),
    ],
)
def test_the_step_rule_answers_by_its_table(bag: float, step: float) -> None:
    found = sulcus_step(bag)
    assert number(found.step_dpt) == step
    assert int(found.flags) == StepFlag.NONE


@pytest.mark.parametrize("bag", [9.0, 9.25, 17.25, 28.25, math.nan])
def test_between_two_rows_the_step_rule_does_not_answer(bag: float) -> None:
    found = sulcus_step(bag)
    assert math.isnan(number(found.step_dpt))
    assert int(found.flags) == StepFlag.BETWEEN_ROWS


@given(bags=st.lists(st.floats(-10.0, 45.0), min_size=1, max_size=20))
def test_a_step_is_undefined_exactly_where_it_is_flagged_and_never_adds_power(bags: list[float]) -> None:
    found = sulcus_step(np.array(bags))
    steps = np.asarray(found.step_dpt)
    assert list(np.isnan(steps)) == list(np.asarray(found.flags) == StepFlag.BETWEEN_ROWS)
    assert set(steps[~np.isnan(steps)]) <= {0.0, -0.5, -1.0, -1.5}
