"""Whole clinics in one call must say what one eye after the other says."""

import subprocess
import sys

import numpy as np
import pytest
from numpy.typing import NDArray

from zonule.science.lens_power.flags import FormulaFlag
from zonule.science.lens_power.formulas import FORMULAS, EyeNumbers, Formula, seen_eye
from zonule.science.uncertainty.many_eyes import refraction_moments
from zonule.science.uncertainty.propagation import (
    AVERAGE_FLATTENED_EYE,
    PUBLISHED_SDS,
    drawn_eyes,
    measurement_variance,
)

SEED = 4
CLINIC = 12
KEYS = ("srk_t", "holladay_1", "hoffer_q", "haigis", "srk_t_double_k", "masket")
"""Two and three numbers read, history among them; compiling each takes a second or two."""


def constants_of(formula: Formula) -> tuple[float, ...]:
    return formula.first_guess(118.4)


def clinic() -> tuple[EyeNumbers, EyeNumbers, NDArray[np.float64]]:
    """Eyes of all lengths, each with its own scatter and lens."""
    rng = np.random.default_rng(6)
    usual = np.array([*AVERAGE_FLATTENED_EYE])[:, None] * rng.uniform(0.95, 1.05, (8, CLINIC))
    sds = np.array([*PUBLISHED_SDS])[:, None] * rng.uniform(0.5, 3.0, (8, CLINIC))
    return EyeNumbers(*usual), EyeNumbers(*sds), rng.uniform(12.0, 24.0, CLINIC)


def eye_number(eyes: EyeNumbers, place: int) -> EyeNumbers:
    return EyeNumbers(*(float(np.asarray(column)[place]) for column in eyes))


@pytest.mark.parametrize("key", KEYS)
def test_the_moments_of_a_clinic_are_those_of_each_eye_alone(key: str) -> None:
    formula = FORMULAS[key]
    eyes, sds, powers = clinic()
    found = refraction_moments([formula], [constants_of(formula)], eyes, sds, powers, SEED)
    for place in range(CLINIC):
        drawn = drawn_eyes(eye_number(eyes, place), eye_number(sds, place), SEED)
        seen = seen_eye(formula, drawn, constants_of(formula))
        plain = np.asarray(formula.optics.refraction_dpt(seen, powers[place]))
        np.testing.assert_allclose(found.mean_dpt[0, place], plain.mean(), rtol=0, atol=1e-11)
        np.testing.assert_allclose(found.variance_dpt2[0, place], plain.var(), rtol=1e-9)
        assert found.flags[0, place] == np.bitwise_or.reduce(np.ravel(seen.flags))
        alone = measurement_variance(formula, constants_of(formula), drawn, powers[place : place + 1])
        np.testing.assert_allclose(found.variance_dpt2[0, place], alone.variance_dpt2, rtol=1e-9)


def test_several_formulas_and_eyes_keep_their_places() -> None:
    table = [FORMULAS[key] for key in ("srk_t", "haigis", "hoffer_q")]
    own = [constants_of(formula) for formula in table]
    eyes, sds, powers = clinic()
    together = refraction_moments(table, own, eyes, sds, powers, SEED)
    assert together.mean_dpt.shape == (3, CLINIC)
    for row, formula in enumerate(table):
        alone = refraction_moments([formula], [own[row]], eyes, sds, powers, SEED)
        np.testing.assert_array_equal(together.variance_dpt2[row], alone.variance_dpt2[0])


def test_an_eye_whose_depth_nobody_measured_is_undefined_with_its_flag_and_harms_no_other() -> None:
    eyes, sds, powers = clinic()
    depths = np.array(eyes.anterior_chamber_depth_mm)
    depths[2] = np.nan
    formula = FORMULAS["haigis"]
    one = eyes._replace(anterior_chamber_depth_mm=depths)
    found = refraction_moments([formula], [constants_of(formula)], one, sds, powers, SEED)
    undefined = np.isnan(found.variance_dpt2[0])
    np.testing.assert_array_equal(undefined, np.arange(CLINIC) == 2)
    np.testing.assert_array_equal((found.flags[0] & FormulaFlag.LENS_OUTSIDE_EYE) != 0, undefined)


def test_eyes_known_exactly_have_no_variance() -> None:
    eyes, _, powers = clinic()
    formula = FORMULAS["srk_t"]
    found = refraction_moments(
        [formula], [constants_of(formula)], eyes, EyeNumbers(*[0.0] * 8), powers, SEED, draws=160
    )
    np.testing.assert_array_equal(found.variance_dpt2, 0.0)


def test_no_eye_at_all_is_an_empty_clinic() -> None:
    formula, nobody = FORMULAS["srk_t"], np.empty(0)
    eyes = EyeNumbers(nobody, nobody, nobody)
    found = refraction_moments([formula], [constants_of(formula)], eyes, PUBLISHED_SDS, 20.0, SEED)
    assert found.variance_dpt2.shape == (1, 0)


def test_importing_many_eyes_does_not_import_numba() -> None:
    code = "import sys, zonule.science.uncertainty.many_eyes; sys.exit('numba' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0  # noqa: S603 - our own code
