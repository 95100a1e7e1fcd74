"""Measurement error of a whole clinic through six formulas: compiled, against plain NumPy; and its memory."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from benchmarks.timing import Benchmark, best_s

from zonule.science.lens_power.formulas import FORMULAS, EyeNumbers, seen_eye
from zonule.science.uncertainty.many_eyes import refraction_moments
from zonule.science.uncertainty.propagation import DRAWS, PUBLISHED_SDS, drawn_eyes

ROOT = Path(__file__).parent.parent
EYES = 1_000
EYES_FOR_NUMPY = 100
EYE_DRAWS = 10_000_000
LARGEST_GIB = 1.0
SIX = ("srk_t", "t2", "holladay_1", "hoffer_q", "haigis", "srk_t_long_eye_2018")
TABLE = [FORMULAS[key] for key in SIX]
CONSTANTS = [formula.first_guess(118.4) for formula in TABLE]
POWER_DPT = 20.5
_KIB_PER_GIB = 1024.0**2


def benchmarks() -> Iterator[Benchmark]:
    """Time against plain NumPy in one run, and the peak memory of a fresh process."""
    eyes = clinic(EYES)
    start = time.perf_counter()
    compiled(clinic(1))
    compile_s = time.perf_counter() - start
    evaluations = EYES * len(SIX) * DRAWS
    ours_s = best_s(lambda: compiled(eyes), 10)
    eyes_for_memory = -(-EYE_DRAWS // DRAWS)
    peak_gib, least_gib = _peak_gib(eyes_for_memory), _peak_gib(1)
    if peak_gib > LARGEST_GIB:
        raise MemoryError(f"{peak_gib:.2f} GiB for {EYE_DRAWS:,} eye-draws")
    yield Benchmark(
        name=f"{EYES:,} eyes x {len(SIX)} formulas x {DRAWS:,} draws",
        ours_s=ours_s,
        theirs=f"the same draws in vectorised NumPy, eye by eye; {EYES_FOR_NUMPY} eyes, scaled up",
        theirs_s=EYES / EYES_FOR_NUMPY * best_s(lambda: plain_numpy(clinic(EYES_FOR_NUMPY)), 3),
        goal_s=0.6,
        limit=(
            f"roots, tangents and divisions, {1e9 * ours_s / evaluations:.1f} ns an eye-draw and formula on "
            f"all cores; the first call compiled for {compile_s:.1f} s, not counted. Memory is no limit: "
            f"{EYE_DRAWS:,} eye-draws peak at {peak_gib:.2f} GiB, one eye at {least_gib:.2f} GiB"
        ),
    )


def clinic(eyes: int) -> EyeNumbers:
    """Eyes of an ordinary clinic, invented."""
    rng = np.random.default_rng(1)
    return EyeNumbers(rng.normal(23.6, 1.2, eyes), rng.normal(43.6, 1.6, eyes), rng.normal(3.1, 0.35, eyes))


def compiled(eyes: EyeNumbers) -> None:
    """Our way."""
    refraction_moments(TABLE, CONSTANTS, eyes, PUBLISHED_SDS, POWER_DPT, seed=1)


def plain_numpy(eyes: EyeNumbers) -> None:
    """The same formulas and draws without a compiler; eye by eye, so that arrays stay in the cache."""
    measured = np.array(eyes[:3]).T
    for eye in measured.tolist():
        drawn = drawn_eyes(EyeNumbers(*eye), PUBLISHED_SDS, seed=1)
        for formula, constants in zip(TABLE, CONSTANTS, strict=True):
            refractions = formula.optics.refraction_dpt(seen_eye(formula, drawn, constants), POWER_DPT)
            np.mean(refractions)
            np.var(refractions)


def _peak_gib(eyes: int) -> float:
    """Peak memory of a fresh process that computes so many eyes."""
    code = (
        "import resource; from benchmarks.many_eyes import clinic, compiled; "
        f"compiled(clinic({eyes})); print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)"
    )
    run = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)  # noqa: S603 - our own code
    return int(run.stdout) / _KIB_PER_GIB
