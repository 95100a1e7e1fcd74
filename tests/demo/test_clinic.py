"""The invented clinic: like a clinic, repeatable, and right for no formula by construction."""

import math
from datetime import date, timedelta
from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray

from zonule.case.eye import CornealSurgery
from zonule.case.operation import Complication, Fixation
from zonule.case.patient import Side
from zonule.demo.clinic import DemoCase, DemoClinic, demo_clinic
from zonule.demo.lenses import HAREBELL, HAREBELL_TORIC, LENSES
from zonule.demo.measured_eye import measured_eye
from zonule.demo.people import _NAMES
from zonule.demo.population import CHAMBER_CORRELATIONS, FIGURES, drawn_figures, plausible_pairs
from zonule.demo.truth import Truth, drawn_surprise, glasses_before_surgery
from zonule.science.lens_power.formulas import FORMULAS, UNTOUCHED, EyeNumbers, seen_eye
from zonule.science.lens_power.thin_lens import lens_power_dpt, refraction_dpt

TODAY = date(2026, 11, 2)
PEOPLE = 4000


@cache
def clinic() -> DemoClinic:
    return demo_clinic(today=TODAY)


def past() -> list[DemoCase]:
    return [case for case in clinic().cases if case.outcome is not None]


def on(day: date) -> list[DemoCase]:
    return [case for case in clinic().cases if case.listed_on == day]


@cache
def errors_of_formulas() -> dict[str, NDArray[np.float64]]:
    """Prediction errors of the four formulas in many invented right eyes with the usual lens."""
    rng = np.random.default_rng(11)
    measured, powers, achieved = [], [], []
    for pair in plausible_pairs(rng, PEOPLE):
        eye = measured_eye(rng, pair.right, Side.RIGHT, TODAY, glasses_before_surgery(rng, pair.right, 20.0))
        length, k = eye.biometry.axial_length_mm, eye.biometry.keratometry.mean_k_dpt
        depth = eye.biometry.anterior_chamber_depth_mm
        assert length is not None
        assert k is not None
        assert depth is not None
        numbers = EyeNumbers(length.value, k, depth.value)
        seen = seen_eye(FORMULAS["srk_t"], numbers, [118.7])
        power = round(2.0 * float(lens_power_dpt(seen, 0.0))) / 2.0
        truth = Truth(pair.right, HAREBELL.name, Fixation.BAG, drawn_surprise(rng))
        measured.append(numbers)
        powers.append(power)
        achieved.append(truth.refraction_with(power).reported_equivalent_dpt)
    eyes = EyeNumbers(*np.array(measured).T)
    return {
        key: np.array(achieved)
        - np.asarray(
            refraction_dpt(
                seen_eye(formula, eyes, HAREBELL.constants.own(formula.constant_names) or ()),
                np.array(powers),
            )
        )
        for key, formula in UNTOUCHED.items()
    }


@pytest.mark.parametrize("name", list(FIGURES))
def test_the_drawn_population_has_the_published_means_and_spreads(name: str) -> None:
    right = drawn_figures(np.random.default_rng(3), PEOPLE)[name][0]
    figure = FIGURES[name]
    assert abs(right.mean() - figure.mean) < 4.0 * figure.sd / math.sqrt(PEOPLE)
    assert abs(right.std(ddof=1) - figure.sd) < 4.0 * figure.sd / math.sqrt(2 * PEOPLE)


@pytest.mark.parametrize("name", list(CHAMBER_CORRELATIONS))
def test_chamber_depth_goes_with_the_other_figures_as_published(name: str) -> None:
    figures = drawn_figures(np.random.default_rng(4), PEOPLE)
    found = np.corrcoef(figures["chamber_depth_mm"][0], figures[name][0])[0, 1]
    published = {
        "axial_length_mm": 0.544,
        "lens_thickness_mm": -0.660,
        "white_to_white_mm": 0.300,
        "age_years": -0.285,
    }[name]
    assert abs(found - published) < 4.0 * (1.0 - published**2) / math.sqrt(PEOPLE)


def test_fellow_eyes_are_alike() -> None:
    right, left = drawn_figures(np.random.default_rng(5), PEOPLE)["axial_length_mm"]
    assert np.corrcoef(right, left)[0, 1] == pytest.approx(0.997, abs=0.001)


def test_nobody_implausible_is_in_the_clinic() -> None:
    for pair in plausible_pairs(np.random.default_rng(6), 300):
        for name, figure in FIGURES.items():
            if name != "age_years":
                low, high = figure.plausible
                assert low <= getattr(pair.right, name) <= high
                assert low <= getattr(pair.left, name) <= high


def test_no_formula_is_right_by_construction() -> None:
    means = {key: float(errors.mean()) for key, errors in errors_of_formulas().items()}
    noise = max(float(errors.std()) for errors in errors_of_formulas().values()) / math.sqrt(PEOPLE)
    assert all(abs(mean) > 4.0 * noise for mean in means.values()), means
    ordered = sorted(means.values())
    assert ordered[-1] - ordered[0] > 4.0 * noise


def test_formulas_are_nonetheless_about_as_good_as_in_routine_practice() -> None:
    for errors in errors_of_formulas().values():
        centred = np.abs(errors - np.median(errors))
        assert 0.5 < (centred <= 0.5).mean() < 0.85


@pytest.mark.parametrize("method", list(UNTOUCHED))
def test_outcomes_are_heavy_tailed(method: str) -> None:
    errors = errors_of_formulas()[method]
    centred = np.abs(errors - np.median(errors))
    normal_sd = np.median(centred) / 0.6745
    expected_if_normal = 0.0027 * PEOPLE
    assert (centred > 3.0 * normal_sd).sum() > expected_if_normal + 4.0 * math.sqrt(expected_if_normal)


def test_the_same_seed_gives_the_same_clinic() -> None:
    assert demo_clinic(today=TODAY) == clinic()
    assert demo_clinic(seed=1, today=TODAY) != clinic()


def test_another_day_moves_the_dates_and_nothing_that_was_measured() -> None:
    later = demo_clinic(today=TODAY + timedelta(days=10))
    lengths = [case.eye.biometry.axial_length_mm for case in clinic().cases]
    moved = [case.eye.biometry.axial_length_mm for case in later.cases]
    assert [m.value for m in lengths if m] == [m.value for m in moved if m]
    assert later.cases[0].listed_on - clinic().cases[0].listed_on == timedelta(days=10)


def test_a_year_of_eyes_lies_behind_and_all_are_reviewed() -> None:
    assert len(past()) == 160
    for case in past():
        assert case.outcome is not None
        assert case.outcome.operated_on == case.listed_on
        assert TODAY - timedelta(days=365) < case.listed_on
        assert timedelta(days=28) <= case.outcome.refracted_on - case.outcome.operated_on
        assert case.outcome.refracted_on < TODAY


def test_no_eye_is_operated_on_twice() -> None:
    eyes = [(case.patient.key, case.eye.side) for case in clinic().cases]
    assert len(set(eyes)) == len(eyes)


def test_both_eyes_of_some_patients_were_operated_on() -> None:
    patients = [case.patient.key for case in past()]
    assert 20 < len(patients) - len(set(patients)) < 80


def test_the_usual_lens_has_enough_eyes_to_learn_from() -> None:
    with_usual = [case for case in past() if case.intent.lens_model == HAREBELL.name]
    assert len(with_usual) > 80


def test_some_operations_went_wrong_and_say_so() -> None:
    torn = [case for case in past() if case.outcome and case.outcome.fixation is not Fixation.BAG]
    assert 1 <= len(torn) <= 8
    assert all(case.outcome and case.outcome.complication is Complication.CAPSULE_TEAR for case in torn)


def test_today_has_six_eyes_of_which_three_are_doubtful() -> None:
    today = on(TODAY)
    assert len(today) == 6
    unasked = [c for c in today if c.eye.history.corneal_surgery is CornealSurgery.UNKNOWN]
    lengths = [(c.eye.biometry.axial_length_mm, c.fellow.biometry.axial_length_mm) for c in today]
    unequal = [mine for mine, other in lengths if mine and other and abs(mine.value - other.value) > 0.7]
    long = [mine for mine, _ in lengths if mine and mine.value > 26.6]
    assert (len(unasked), len(unequal), len(long)) == (1, 1, 1)


def test_a_day_next_week_is_listed_too() -> None:
    assert len(on(TODAY + timedelta(days=7))) == 5


def test_a_stronger_lens_leaves_a_more_myopic_eye() -> None:
    outcome = past()[0].outcome
    assert outcome is not None
    refractions = [outcome.refraction_with(power).reported_equivalent_dpt for power in (15.0, 20.0, 25.0)]
    assert refractions == sorted(refractions, reverse=True)


def test_asking_the_truth_twice_gives_the_same_refraction() -> None:
    outcome = past()[0].outcome
    assert outcome is not None
    assert outcome.refraction_with(20.0) == outcome.refraction_with(20.0)


def test_names_are_invented_from_many_and_unique() -> None:
    combinations = sum((len(women) + len(men)) * len(families) for women, men, families in _NAMES)
    assert combinations > 400
    names = {case.patient.key: case.patient.name for case in clinic().cases}
    assert len(set(names.values())) == len(names)


def test_every_lens_can_be_ordered_in_the_powers_these_eyes_need() -> None:
    used = {case.intent.lens_model for case in clinic().cases}
    assert used == {lens.name for lens in (*LENSES, HAREBELL_TORIC)}
    assert used <= {lens.name for lens in clinic().lenses}
    assert all(lens.optic_mm for lens in LENSES)
