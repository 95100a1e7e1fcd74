"""Laws that hold for every formula of the table and every eye that is not refused."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import brentq

from properties.paper_algebra import paper_power_dpt, paper_refraction_dpt
from zonule.science.lens_power.flags import FormulaFlag
from zonule.science.lens_power.formulas import FORMULAS, UNTOUCHED, EyeNumbers, Formula, seen_eye
from zonule.science.lens_power.thin_lens import ThinLensEye, lens_position_mm, lens_power_dpt, refraction_dpt

EXACT_DPT = 1e-9
LENGTHS_MM = st.floats(15.0, 36.0)
POWERS_DPT = st.floats(30.0, 60.0)
DEPTHS_MM = st.floats(1.5, 5.5)
TARGETS_DPT = st.floats(-4.0, 3.0)
LENSES_DPT = st.floats(-5.0, 40.0)
A_CONSTANTS = st.floats(117.0, 120.0)
EYES = st.tuples(LENGTHS_MM, POWERS_DPT, DEPTHS_MM).map(lambda row: EyeNumbers(*row))
USUAL_EYES = st.tuples(st.floats(20.0, 30.0), st.floats(38.0, 50.0), st.floats(2.0, 4.5)).map(
    lambda row: EyeNumbers(*row)
)

every_formula = pytest.mark.parametrize("formula", UNTOUCHED.values(), ids=UNTOUCHED)


def seen_by(formula: Formula, eye: EyeNumbers, a_constant: float = 118.4) -> ThinLensEye:
    seen: ThinLensEye = seen_eye(formula, eye, formula.first_guess(a_constant))
    return seen


def plain(eye: EyeNumbers) -> tuple[float, float, float]:
    length, power, depth = (number(value) for value in eye[:3])
    return length, power, depth


def answers(formula: Formula, seen: ThinLensEye) -> bool:
    """Whether an answer is due: only the plane of T2 leaves a possible eye, a short and flat one."""
    return formula.key != "t2" or not math.isnan(number(seen.lens_position_mm))


def number(value: object) -> float:
    return float(np.asarray(value))


@every_formula
@given(eye=EYES, target=TARGETS_DPT, a_constant=A_CONSTANTS)
def test_power_and_back_gives_the_refraction_asked_for(
    formula: Formula, eye: EyeNumbers, target: float, a_constant: float
) -> None:
    seen = seen_by(formula, eye, a_constant)
    assume(answers(formula, seen))
    assert number(refraction_dpt(seen, lens_power_dpt(seen, target))) == pytest.approx(target, abs=EXACT_DPT)


@every_formula
@given(eye=EYES, power=LENSES_DPT)
def test_refraction_and_back_gives_the_lens(formula: Formula, eye: EyeNumbers, power: float) -> None:
    seen = seen_by(formula, eye)
    refraction = number(refraction_dpt(seen, power))
    assume(abs(refraction) < 25.0)
    assert number(lens_power_dpt(seen, refraction)) == pytest.approx(power, abs=EXACT_DPT)


@every_formula
@given(eye=EYES, target=TARGETS_DPT, a_constant=A_CONSTANTS)
def test_the_engine_gives_the_power_of_the_papers_own_algebra(
    formula: Formula, eye: EyeNumbers, target: float, a_constant: float
) -> None:
    seen = seen_by(formula, eye, a_constant)
    assume(answers(formula, seen))
    found = number(lens_power_dpt(seen, target))
    paper = paper_power_dpt(formula.key, *plain(eye), formula.first_guess(a_constant), target)
    assert found == pytest.approx(paper, abs=EXACT_DPT)


@every_formula
@given(eye=EYES, power=LENSES_DPT)
def test_the_engine_gives_the_refraction_of_the_papers_own_algebra(
    formula: Formula, eye: EyeNumbers, power: float
) -> None:
    found = number(refraction_dpt(seen_by(formula, eye), power))
    assume(abs(found) < 25.0)
    paper = paper_refraction_dpt(formula.key, *plain(eye), formula.first_guess(118.4), power)
    assert found == pytest.approx(paper, abs=EXACT_DPT)


@every_formula
@given(eye=USUAL_EYES, longer=st.floats(0.05, 1.0))
def test_a_longer_eye_needs_a_weaker_lens(formula: Formula, eye: EyeNumbers, longer: float) -> None:
    grown = eye._replace(axial_length_mm=float(eye.axial_length_mm) + longer)
    before, after = seen_by(formula, eye), seen_by(formula, grown)
    assume(number(before.flags) == 0 and number(after.flags) == 0)
    assert number(lens_power_dpt(after, 0.0)) < number(lens_power_dpt(before, 0.0))


@every_formula
@given(eye=USUAL_EYES, steeper=st.floats(0.05, 2.0))
def test_a_steeper_cornea_needs_a_weaker_lens(formula: Formula, eye: EyeNumbers, steeper: float) -> None:
    steep = eye._replace(mean_k_dpt=float(eye.mean_k_dpt) + steeper)
    before, after = seen_by(formula, eye), seen_by(formula, steep)
    assume(number(before.flags) == 0 and number(after.flags) == 0)
    assert number(lens_power_dpt(after, 0.0)) < number(lens_power_dpt(before, 0.0))


@every_formula
@given(eye=USUAL_EYES, more=st.floats(0.01, 1.0))
def test_a_higher_constant_asks_for_a_stronger_lens(formula: Formula, eye: EyeNumbers, more: float) -> None:
    low, high = seen_by(formula, eye), seen_by(formula, eye, 118.4 + more)
    assume(number(lens_power_dpt(low, 0.0)) > 1.0)
    assert number(lens_power_dpt(high, 0.0)) > number(lens_power_dpt(low, 0.0))


@every_formula
@given(eye=USUAL_EYES, power=LENSES_DPT, stronger=st.floats(0.1, 5.0))
def test_a_stronger_lens_leaves_a_more_myopic_eye(
    formula: Formula, eye: EyeNumbers, power: float, stronger: float
) -> None:
    seen = seen_by(formula, eye)
    assert number(refraction_dpt(seen, power + stronger)) < number(refraction_dpt(seen, power))


@every_formula
@given(eye=USUAL_EYES, target=TARGETS_DPT, more_myopic=st.floats(0.05, 3.0))
def test_a_more_myopic_target_asks_for_a_stronger_lens(
    formula: Formula, eye: EyeNumbers, target: float, more_myopic: float
) -> None:
    seen = seen_by(formula, eye)
    assert number(lens_power_dpt(seen, target - more_myopic)) > number(lens_power_dpt(seen, target))


@given(
    corneal_power=st.floats(30.0, 60.0),
    length=st.floats(15.0, 38.0),
    position=st.floats(2.0, 8.0),
    power=st.one_of(st.floats(-20.0, -3.0), st.floats(3.0, 45.0)),
)
def test_the_closed_form_finds_the_lens_plane_of_plus_and_minus_lenses(
    corneal_power: float, length: float, position: float, power: float
) -> None:
    refraction = number(refraction_dpt(ThinLensEye(corneal_power, length, position, 0), power))
    assume(abs(refraction) < 40.0)
    found = number(lens_position_mm(corneal_power, length, power, refraction))
    assert found == pytest.approx(position, abs=1e-9)


@given(length=st.floats(20.0, 30.0), power=st.floats(38.0, 50.0))
def test_a_lens_without_power_tells_nothing_of_its_place(length: float, power: float) -> None:
    refraction = number(refraction_dpt(ThinLensEye(power, length, 5.0, 0), 0.0))
    assert math.isnan(number(lens_position_mm(power, length, 0.0, refraction)))


@every_formula
@given(seed=st.integers(0, 2**32))
def test_eyes_by_powers_at_once_is_the_loop_over_them(formula: Formula, seed: int) -> None:
    rng = np.random.default_rng(seed)
    eyes = EyeNumbers(rng.uniform(15, 38, 5), rng.uniform(30, 60, 5), rng.uniform(1.5, 5.5, 5))
    powers = rng.uniform(-5.0, 40.0, 3)
    table = EyeNumbers(*(np.asarray(column)[:, None] for column in eyes[:3]))
    at_once = np.asarray(refraction_dpt(seen_by(formula, table), powers))
    flags = np.broadcast_to(np.asarray(seen_by(formula, table).flags), (5, 1))
    for row in range(5):
        one = EyeNumbers(*(float(np.asarray(column)[row]) for column in eyes[:3]))
        alone = seen_by(formula, one)
        assert int(np.asarray(alone.flags)) == flags[row, 0]
        for column, power in enumerate(powers):
            assert number(refraction_dpt(alone, float(power))) == at_once[row, column]


@every_formula
@given(eye=EYES, a_constant=st.floats(110.0, 125.0), target=TARGETS_DPT)
def test_no_answer_is_undefined_without_a_flag(
    formula: Formula, eye: EyeNumbers, a_constant: float, target: float
) -> None:
    seen = seen_by(formula, eye, a_constant)
    flagged = int(np.asarray(seen.flags)) & FormulaFlag.LENS_OUTSIDE_EYE
    assert math.isnan(number(lens_power_dpt(seen, target))) == bool(flagged)


@given(eye=EYES, other_depth=DEPTHS_MM)
def test_haigis_without_weight_on_the_chamber_does_not_read_it(eye: EyeNumbers, other_depth: float) -> None:
    haigis, constants = FORMULAS["haigis"], (1.0, 0.0, 0.15)
    one = seen_eye(haigis, eye, constants)
    other = seen_eye(haigis, eye._replace(anterior_chamber_depth_mm=other_depth), constants)
    assert number(lens_power_dpt(one, 0.0)) == number(lens_power_dpt(other, 0.0))


def test_a_missing_chamber_depth_is_flagged_not_invented() -> None:
    seen = seen_by(FORMULAS["haigis"], EyeNumbers(23.5, 43.5, math.nan))
    assert int(np.asarray(seen.flags)) == FormulaFlag.LENS_OUTSIDE_EYE
    assert math.isnan(number(seen.lens_position_mm))


def flags_of(method: str, length: float, k: float) -> FormulaFlag:
    return FormulaFlag(int(np.asarray(seen_by(FORMULAS[method], EyeNumbers(length, k, 3.1)).flags)))


@pytest.mark.parametrize(
    ("length", "edge_k"),
    [
        (22.0, 53.3),
        (23.5, 50.8),
        (24.2, 49.7),
        (25.0, 49.0),
        (26.0, 48.2),
        (27.0, 47.5),
        (28.0, 46.9),
        (30.0, 46.0),
        (32.0, 45.3),
        (34.0, 44.9),
    ],
)
def test_the_root_of_srk_t_is_flagged_from_the_known_corneal_power_on(length: float, edge_k: float) -> None:
    # The edge, computed from the equations apart from this code, to 0.1 D.
    assert FormulaFlag.IMAGINARY_ROOT not in flags_of("srk_t", length, edge_k - 0.06)
    assert FormulaFlag.IMAGINARY_ROOT in flags_of("srk_t", length, edge_k + 0.06)
    assert FormulaFlag.NEAR_IMAGINARY_ROOT in flags_of("srk_t", length, edge_k - 0.06)


@given(length=st.floats(15.0, 36.0), k=st.floats(30.0, 60.0))
def test_the_edge_of_srk_t_is_announced_where_the_radicand_is_under_4_mm2(length: float, k: float) -> None:
    corrected = length if length <= 24.2 else -3.446 + 1.716 * length - 0.0237 * length**2
    width = -5.41 + 0.58412 * corrected + 0.098 * k
    radicand = (337.5 / k) ** 2 - width**2 / 4.0
    assume(abs(radicand) > 1e-9 and abs(radicand - 4.0) > 1e-9)
    flags = flags_of("srk_t", length, k)
    assert (FormulaFlag.NEAR_IMAGINARY_ROOT in flags) == (radicand < 4.0)
    assert (FormulaFlag.IMAGINARY_ROOT in flags) == (radicand < 0.0)


def test_srk_t_is_flagged_beyond_36_mm() -> None:
    assert FormulaFlag.LENGTH_BEYOND_TURN not in flags_of("srk_t", 36.0, 40.0)
    assert FormulaFlag.LENGTH_BEYOND_TURN in flags_of("srk_t", 36.001, 40.0)


@pytest.mark.parametrize(("k", "clamped"), [(48.21, False), (48.22, True)])
def test_holladay_clamps_the_radius_above_48_21_dioptres(k: float, clamped: bool) -> None:
    assert (FormulaFlag.RADIUS_CLAMPED in flags_of("holladay_1", 23.5, k)) is clamped


@pytest.mark.parametrize(("length", "clamped"), [(25.32, False), (25.33, True)])
def test_holladay_clamps_the_width_from_25_33_mm(length: float, clamped: bool) -> None:
    assert (FormulaFlag.WIDTH_CLAMPED in flags_of("holladay_1", length, 43.5)) is clamped


@given(length=st.floats(25.34, 37.0), longer=st.floats(0.0, 1.0))
def test_holladay_places_every_long_eyes_lens_alike(length: float, longer: float) -> None:
    positions = [
        number(seen_by(FORMULAS["holladay_1"], EyeNumbers(each, 43.0, 3.1)).lens_position_mm)
        for each in (length, length + longer)
    ]
    assert positions[0] == positions[1]


@pytest.mark.parametrize(("length", "clamped"), [(18.49, True), (18.5, False), (31.0, False), (31.01, True)])
def test_hoffer_q_clamps_the_length_outside_18_5_to_31_mm(length: float, clamped: bool) -> None:
    assert (FormulaFlag.LENGTH_CLAMPED in flags_of("hoffer_q", length, 43.5)) is clamped


def test_hoffer_q_steps_by_less_than_2_micrometres_where_its_branches_meet() -> None:
    positions = [
        number(seen_by(FORMULAS["hoffer_q"], EyeNumbers(each, 43.5, 3.1)).lens_position_mm)
        for each in (23.0, np.nextafter(23.0, 24.0))
    ]
    assert abs(positions[0] - positions[1]) == pytest.approx(0.0011, abs=5e-5)


def test_srk_t_steps_by_less_than_2_micrometres_where_its_branches_meet() -> None:
    corrected = -3.446 + 1.716 * 24.2 - 0.0237 * 24.2**2
    assert abs(corrected - 24.2) < 0.002
    positions = [
        number(seen_by(FORMULAS["srk_t"], EyeNumbers(each, 43.5, 3.1)).lens_position_mm)
        for each in (24.2, np.nextafter(24.2, 25.0))
    ]
    assert abs(positions[0] - positions[1]) < 0.002


@given(eye=USUAL_EYES, more=st.floats(0.01, 1.0))
def test_the_a_constant_moves_the_lens_by_0_62467_mm_for_each_unit(eye: EyeNumbers, more: float) -> None:
    low, high = (seen_by(FORMULAS["srk_t"], eye, a) for a in (118.4, 118.4 + more))
    moved = number(high.lens_position_mm) - number(low.lens_position_mm)
    assert moved == pytest.approx(0.62467 * more, abs=1e-9)


def test_four_formulas_agree_within_0_05_d_in_an_average_eye_save_haigis() -> None:
    eye = EyeNumbers(23.5, 43.5, 3.1)
    powers = [
        number(lens_power_dpt(seen_by(FORMULAS[key], eye), 0.0))
        for key in ("srk_t", "holladay_1", "hoffer_q")
    ]
    assert max(powers) - min(powers) < 0.05


@pytest.mark.parametrize("length", [22.0, 24.2, 26.0, 30.0, 34.0])
def test_the_warning_before_the_edge_starts_exactly_at_4_mm2(length: float) -> None:
    corrected = length if length <= 24.2 else -3.446 + 1.716 * length - 0.0237 * length**2

    def beyond_4_mm2(k: float) -> float:
        return (337.5 / k) ** 2 - (-5.41 + 0.58412 * corrected + 0.098 * k) ** 2 / 4.0 - 4.0

    edge_k = brentq(beyond_4_mm2, 35.0, 60.0, xtol=1e-9)
    assert FormulaFlag.NEAR_IMAGINARY_ROOT not in flags_of("srk_t", length, edge_k - 1e-6)
    assert FormulaFlag.NEAR_IMAGINARY_ROOT in flags_of("srk_t", length, edge_k + 1e-6)
