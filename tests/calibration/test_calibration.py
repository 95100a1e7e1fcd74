"""Do as many eyes land in an interval as it promises? In clinics whose truth comes from another model.

This proves the arithmetic of the spread, not that patients follow it: the surprises are drawn by us.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from calibration.simulated_clinic import (
    EYES_PER_CLASS,
    HAIGIS,
    LENGTH_CLASSES_MM,
    SOUND,
    Clinic,
    Faults,
    simulated_clinic,
)
from docs.manual import table_rows
from zonule.science.lens_power.formulas import FORMULAS, EyeNumbers, Formula, seen_eye
from zonule.science.statistics.constants import constant_for_zero_mean
from zonule.science.uncertainty.many_eyes import refraction_moments
from zonule.science.uncertainty.propagation import PUBLISHED_SDS, average_eye_variance_dpt2
from zonule.science.uncertainty.spread import ROUTINE_SCALE_DPT, error_law, fraction_below

SRK_T = FORMULAS["srk_t"]
INTERVALS = (0.50, 0.80, 0.95)
SURE = 0.999
"""Of each binomial limit: of eighty sound clinics with twelve counts each, one would fail by chance."""
BY_CONTACT = PUBLISHED_SDS._replace(axial_length_mm=0.15)
Verdict = tuple[str, float, float]
"""Class of length, interval, and the share of eyes found in it."""


def predicted(formula: Formula, constants: tuple[float, ...], clinic: Clinic) -> NDArray[np.float64]:
    seen = seen_eye(formula, clinic.measured, constants)
    return np.asarray(formula.optics.refraction_dpt(seen, clinic.lens_powers_dpt))


def fitted_haigis(clinic: Clinic) -> tuple[float, ...]:
    """All three constants, by least squares on the refraction: it is nearly straight in them."""
    constants = np.array([1.4, 0.4, 0.1])
    measured = clinic.measured
    for _ in range(4):
        now = predicted(HAIGIS, tuple(constants), clinic)
        moved = (predicted(HAIGIS, tuple(constants + np.array([0.01, 0.0, 0.0])), clinic) - now) / 0.01
        slopes = moved[:, None] * np.stack(
            [np.ones(now.size), measured.anterior_chamber_depth_mm, measured.axial_length_mm], axis=1
        )
        constants += np.linalg.lstsq(slopes, clinic.achieved_dpt - now)[0]
    return tuple(constants.tolist())


def fitted_srk_t(clinic: Clinic) -> tuple[float, ...]:
    fitted = constant_for_zero_mean(
        SRK_T, (118.4,), clinic.measured, clinic.lens_powers_dpt, clinic.achieved_dpt
    )
    assert fitted is not None
    return (fitted,)


def places_in_law(formula: Formula, constants: tuple[float, ...], clinic: Clinic) -> NDArray[np.float64]:
    """Where in its own predicted law each eye landed, 0 to 1."""
    moments = refraction_moments(
        [formula], [constants], clinic.measured, clinic.stated_sds, clinic.lens_powers_dpt, seed=1, draws=512
    )
    average = average_eye_variance_dpt2(formula.key, constants)
    law = error_law(ROUTINE_SCALE_DPT, average, moments.variance_dpt2[0])
    return fraction_below(clinic.achieved_dpt, predicted(formula, constants, clinic), law)


def distances_from_the_middle(clinic: Clinic, formula: Formula) -> tuple[NDArray[np.float64], Clinic]:
    """How far from the middle of its law each judged eye landed; constants come from the other half."""
    fitted = (fitted_haigis if formula is HAIGIS else fitted_srk_t)(clinic.half(first=True))
    judged = clinic.half(first=False)
    return np.abs(places_in_law(formula, fitted, judged) - 0.5), judged


def misses(clinic: Clinic, formula: Formula = HAIGIS) -> list[Verdict]:
    """The intervals that hold more or fewer eyes than chance allows; none for a clinic that is as it says."""
    distance, judged = distances_from_the_middle(clinic, formula)
    found = []
    for name in LENGTH_CLASSES_MM:
        inside = distance[judged.in_class(name)]
        for interval in INTERVALS:
            held = int((inside <= interval / 2.0).sum())
            low, high = stats.binom.interval(SURE, inside.size, interval)
            if not low <= held <= high:
                found.append((name, interval, held / inside.size))
    return found


@cache
def clinic_of(seed: int, stated_sds: EyeNumbers = PUBLISHED_SDS, faults: Faults = SOUND) -> Clinic:
    return simulated_clinic(seed, stated_sds, faults)


def classes_in(verdicts: list[Verdict]) -> set[str]:
    return {name for name, _, _ in verdicts}


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("stated", [PUBLISHED_SDS, BY_CONTACT], ids=["by light", "by contact"])
def test_intervals_hold_what_they_promise_in_eyes_of_every_length(stated: EyeNumbers, seed: int) -> None:
    assert misses(clinic_of(seed, stated)) == []


def test_every_class_of_length_has_enough_eyes_to_judge() -> None:
    judged = clinic_of(0).half(first=False)
    assert min(judged.in_class(name).sum() for name in LENGTH_CLASSES_MM) > 0.8 * EYES_PER_CLASS


def test_the_sound_clinic_lands_as_often_as_routine_practice() -> None:
    # Lundstrom 2018: 72.7 % within half a dioptre, 93.0 % within one.
    clinic = clinic_of(0)
    errors = clinic.achieved_dpt - predicted(HAIGIS, fitted_haigis(clinic), clinic)
    assert (np.abs(errors) <= 0.5).mean() == pytest.approx(0.727, abs=0.02)
    assert (np.abs(errors) <= 1.0).mean() == pytest.approx(0.930, abs=0.015)


def test_a_biometer_that_scatters_three_times_as_stated_is_found_out() -> None:
    found = misses(clinic_of(0, PUBLISHED_SDS, SOUND._replace(noise_times=3.0)))
    assert classes_in(found) == set(LENGTH_CLASSES_MM)
    assert all(held < interval for _, interval, held in found)


def test_long_eyes_read_too_long_are_found_out_where_they_are() -> None:
    found = misses(clinic_of(0, PUBLISHED_SDS, SOUND._replace(long_eyes_read_mm=0.3)))
    assert "over 26" in classes_in(found)
    worst = min(found, key=lambda verdict: verdict[2] - verdict[1])
    assert worst[0] == "over 26"


def test_a_clinic_better_than_promised_fails_as_well() -> None:
    found = misses(clinic_of(0, PUBLISHED_SDS, SOUND._replace(surprise_times=0.5)))
    assert classes_in(found) == set(LENGTH_CLASSES_MM)
    assert all(held > interval for _, interval, held in found)


def test_a_formula_that_misplaces_the_lens_in_short_eyes_is_found_out_there() -> None:
    # The truth of this clinic has a place of the lens that SRK/T cannot give: it says nothing about patients.
    assert "under 22" in classes_in(misses(clinic_of(0), SRK_T))


def test_the_page_shows_what_the_first_clinic_held() -> None:
    rows = list(table_rows("docs/explanation/spread-and-odds.md", "Do the intervals hold what they promise?"))
    distance, judged = distances_from_the_middle(clinic_of(0), HAIGIS)
    held = {name: distance[judged.in_class(name)] for name in LENGTH_CLASSES_MM}
    shown = [
        [
            name,
            str(inside.size),
            *(f"{100.0 * (inside <= one / 2.0).mean():.1f}" for one in INTERVALS),
        ]
        for name, inside in held.items()
    ]
    assert rows == shown
