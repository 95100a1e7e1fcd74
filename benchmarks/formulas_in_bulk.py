"""All four formulas for 100,000 eyes: compiled, against plain NumPy and against a root finder eye by eye."""

from __future__ import annotations

import time
from collections.abc import Iterator
from functools import partial

import numpy as np
from benchmarks.plain_formulas import CLASSICAL, refraction_dpt, seen_by_each
from benchmarks.timing import Benchmark, best_s
from scipy.optimize import brentq

from zonule.science.lens_power.compiled import powers_for_target_dpt
from zonule.science.lens_power.formulas import FORMULAS, EyeNumbers, seen_eye
from zonule.science.lens_power.thin_lens import lens_power_dpt

EYES = 100_000
EYES_FOR_ROOT_FINDER = 1_000
TABLE = [FORMULAS[key] for key in CLASSICAL]
CONSTANTS = [formula.first_guess(118.4) for formula in TABLE]


def benchmarks() -> Iterator[Benchmark]:
    """Both comparisons, measured in one run."""
    eyes = _eyes()
    start = time.perf_counter()
    powers_for_target_dpt(TABLE, EyeNumbers(23.5, 43.5, 3.1), CONSTANTS, 0.0)
    compile_s = time.perf_counter() - start
    ours_s = best_s(lambda: powers_for_target_dpt(TABLE, eyes, CONSTANTS, 0.0), 30)
    yield Benchmark(
        name=f"four formulas, {EYES:,} eyes, against plain NumPy",
        ours_s=ours_s,
        theirs="the same formulas and flags in vectorised NumPy",
        theirs_s=best_s(lambda: _plain_numpy(eyes), 15),
        goal_ratio=3.0,
        limit=f"two tangents an eye in Hoffer Q; the first call compiled for {compile_s:.1f} s, not counted",
    )
    some = [tuple(float(value) for value in eye) for eye in np.array(eyes[:3]).T[:EYES_FOR_ROOT_FINDER]]
    scale = EYES / EYES_FOR_ROOT_FINDER
    yield Benchmark(
        name=f"four formulas, {EYES:,} eyes, against a root finder",
        ours_s=ours_s,
        theirs=f"a loop over eyes with SciPy's brentq, measured on {EYES_FOR_ROOT_FINDER:,} eyes, scaled up",
        theirs_s=scale * best_s(lambda: [_root_found(*eye) for eye in some], 3),
        goal_ratio=1000.0,
        limit="as above",
    )


def _eyes() -> EyeNumbers:
    rng = np.random.default_rng(1)
    return EyeNumbers(rng.normal(23.6, 1.2, EYES), rng.normal(43.6, 1.6, EYES), rng.normal(3.1, 0.35, EYES))


def _plain_numpy(eyes: EyeNumbers) -> None:
    for formula, constants in zip(TABLE, CONSTANTS, strict=True):
        lens_power_dpt(seen_eye(formula, eyes, constants), 0.0)


def _root_found(length_mm: float, k_dpt: float, depth_mm: float) -> list[float]:
    """The four powers for plano of one eye, each by root finding on its refraction."""
    powers = []
    for cornea, length, position in seen_by_each(length_mm, k_dpt, depth_mm):
        error = partial(refraction_dpt, cornea, length, position)
        powers.append(float(brentq(error, -20.0, 60.0, xtol=1e-9)))
    return powers
