"""Compiled batches must say what the plain formulas say, flags included."""

import subprocess
import sys

import numpy as np
import pytest

from zonule.science.lens_power.compiled import BatchAnswers, powers_for_target_dpt, refractions_dpt
from zonule.science.lens_power.flags import FormulaFlag
from zonule.science.lens_power.formulas import FORMULAS, THIN_LENS, EyeNumbers, seen_eye
from zonule.science.lens_power.thin_lens import lens_power_dpt, refraction_dpt

TABLE = [row for row in FORMULAS.values() if row.optics is THIN_LENS]
CONSTANTS = [formula.first_guess(118.4) for formula in TABLE]
FEW_KEYS = ("srk_t", "haigis", "hoffer_q_double_k", "shammas_pl", "masket", "haigis_long_eye_2011")
FEW = [FORMULAS[key] for key in FEW_KEYS]
"""One of each kind; compiling takes a third of a second for each formula and direction."""
FEW_CONSTANTS = [formula.first_guess(118.4) for formula in FEW]
IDENTICAL_DPT = 1e-12


def wide_eyes(count: int = 5000) -> EyeNumbers:
    """Eyes over the whole range that is not refused, so that every flag occurs."""
    rng = np.random.default_rng(5)
    length, k, depth = (
        rng.uniform(15.0, 38.0, count),
        rng.uniform(30.0, 60.0, count),
        rng.uniform(1.5, 5.5, count),
    )
    before = np.where(rng.random(count) < 0.5, np.nan, rng.uniform(30.0, 60.0, count))
    return EyeNumbers(
        length, k, depth, mean_k_before_dpt=before, treated_at_cornea_dpt=rng.uniform(-10.0, 6.0, count)
    )


def assert_same(batch: BatchAnswers, row: int, values: object, flags: object) -> None:
    np.testing.assert_allclose(batch.values_dpt[row], np.asarray(values), rtol=0, atol=IDENTICAL_DPT)
    np.testing.assert_array_equal(
        batch.flags[row], np.broadcast_to(np.asarray(flags), batch.flags[row].shape)
    )


def test_a_compiled_batch_gives_the_powers_and_flags_of_plain_numpy() -> None:
    eyes, targets = wide_eyes(), np.linspace(-4.0, 3.0, 5000)
    batch = powers_for_target_dpt(TABLE, eyes, CONSTANTS, targets)
    for row, (formula, constants) in enumerate(zip(TABLE, CONSTANTS, strict=True)):
        seen = seen_eye(formula, eyes, constants)
        assert_same(batch, row, lens_power_dpt(seen, targets), seen.flags)


def test_a_compiled_batch_gives_the_refractions_of_plain_numpy() -> None:
    eyes, powers = wide_eyes(), np.linspace(-5.0, 40.0, 5000)
    batch = refractions_dpt(FEW, eyes, FEW_CONSTANTS, powers)
    for row, (formula, constants) in enumerate(zip(FEW, FEW_CONSTANTS, strict=True)):
        seen = seen_eye(formula, eyes, constants)
        assert_same(batch, row, refraction_dpt(seen, powers), seen.flags)


def test_the_wide_eyes_of_these_tests_raise_every_flag() -> None:
    batch = powers_for_target_dpt(TABLE, wide_eyes(), CONSTANTS, 0.0)
    odd = powers_for_target_dpt(TABLE, wide_eyes(), [f.first_guess(110.0) for f in TABLE], 0.0)
    raised = int(np.bitwise_or.reduce(batch.flags, axis=None)) | int(
        np.bitwise_or.reduce(odd.flags, axis=None)
    )
    assert raised == sum(FormulaFlag)


def test_a_missing_chamber_depth_undefines_only_the_formula_that_needs_it() -> None:
    eye = EyeNumbers(23.5, 43.5, np.nan, treated_at_cornea_dpt=-5.0)
    batch = powers_for_target_dpt(TABLE, eye, CONSTANTS, 0.0)
    undefined = np.isnan(batch.values_dpt)
    np.testing.assert_array_equal(
        undefined, ["anterior_chamber_depth_mm" in formula.reads for formula in TABLE]
    )
    np.testing.assert_array_equal((batch.flags & FormulaFlag.LENS_OUTSIDE_EYE) != 0, undefined)


def test_eyes_and_powers_broadcast_as_they_do_in_numpy() -> None:
    eyes = EyeNumbers(*(np.broadcast_to(column, (7,))[:, None] for column in wide_eyes(7)))
    powers = np.array([18.0, 20.0, 22.0])
    batch = refractions_dpt(FEW, eyes, FEW_CONSTANTS, powers)
    assert batch.values_dpt.shape == (len(FEW), 7, 3)
    for row, (formula, constants) in enumerate(zip(FEW, FEW_CONSTANTS, strict=True)):
        assert_same(batch, row, refraction_dpt(seen_eye(formula, eyes, constants), powers), batch.flags[row])


def test_no_eye_at_all_is_an_empty_answer() -> None:
    nobody = EyeNumbers(np.empty(0), np.empty(0), np.empty(0))
    assert powers_for_target_dpt(TABLE, nobody, CONSTANTS, 0.0).values_dpt.shape == (len(TABLE), 0)


@pytest.mark.parametrize("size", [1, 2, 3, 4097])
def test_no_eye_is_lost_between_the_threads(size: int) -> None:
    batch = powers_for_target_dpt(FEW, wide_eyes(size), FEW_CONSTANTS, 0.0)
    seen = seen_eye(FEW[0], wide_eyes(size), FEW_CONSTANTS[0])
    assert_same(batch, 0, lens_power_dpt(seen, 0.0), seen.flags)


def test_importing_the_module_does_not_import_numba() -> None:
    code = "import sys, zonule.science.lens_power.compiled; sys.exit('numba' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0  # noqa: S603 - our own code
