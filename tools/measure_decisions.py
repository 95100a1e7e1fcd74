"""Measure what docs/decisions/ rests on, again, on this machine.

Usage::

    python tools/measure_decisions.py

Starts each import afresh, so the file cache is warm and nothing else is. Figures depend on the machine and
on what else it does; compare the lines of one run with each other.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from zonule.science.uncertainty.propagation import average_eye_variance_dpt2
from zonule.science.uncertainty.quasi_random import shifted_normal_draws
from zonule.science.uncertainty.spread import (
    DEGREES_OF_FREEDOM,
    ROUTINE_SCALE_DPT,
    ErrorLaw,
    error_law,
    fraction_within,
    sd_dpt,
)

RUNS = 7
DRAWS = 4096
REPEATS = 200
EXAMPLE = Path(__file__).parent.parent / "examples" / "ordinary-eye.json"
NOTHING = "pass"
IMPORTS = ("numpy", "scipy.special", "scipy.stats.qmc", "numba")


def main() -> None:
    """Print every figure."""
    print("start of Python and an import, median of", RUNS)
    for module in ("", *IMPORTS):
        code = f"import {module}" if module else NOTHING
        print(f"  {code:24} {median_s([sys.executable, '-c', code]):.2f} s")
    plan = [sys.executable, "-m", "zonule.cli.main", "plan", str(EXAMPLE)]
    print(f"  a whole cold plan        {median_s(plan):.2f} s")
    print(f"relative scatter of a simulated variance, {DRAWS} draws, {REPEATS} seeds")
    for name, draw in (
        ("shifted Richtmyer", richtmyer),
        ("scrambled Sobol", sobol),
        ("random", pseudo_random),
    ):
        found = np.array([curved(draw(seed)).var() for seed in range(REPEATS)])
        print(f"  {name:18} {100 * found.std() / found.mean():.3f} %")

    print("share within 0.50 and 1.00 D, by measurement SD: shape kept, variance kept, both shares met")
    average = average_eye_variance_dpt2("srk_t", (118.4,))
    for measured in (average**0.5, 0.25, 0.366, 0.434):
        laws = (shape_kept(average, measured), in_use(average, measured), both_met(average, measured))
        told = [f"{100 * share(limit, law):.1f} %" for law in laws for limit in (0.5, 1.0)]
        print(f"  {measured:.3f} D", *told, f"(SD {float(laws[2].sd_dpt):.3f} D)")


def share(limit_dpt: float, law: ErrorLaw) -> float:
    """Share within a limit of an aim that is met."""
    return float(fraction_within(limit_dpt, 0.0, 0.0, law))


def shape_kept(average_dpt2: float, measured_dpt: float) -> ErrorLaw:
    """The law over many eyes, only widened until its variance is this eye's."""
    whole = float(in_use(average_dpt2, measured_dpt).sd_dpt) ** 2
    return ErrorLaw(whole, DEGREES_OF_FREEDOM, 0.0)


def in_use(average_dpt2: float, measured_dpt: float) -> ErrorLaw:
    """The convolution: the residual's variance is what is left, one share is met."""
    return error_law(ROUTINE_SCALE_DPT, average_dpt2, measured_dpt**2)


def both_met(average_dpt2: float, measured_dpt: float) -> ErrorLaw:
    """The convolution whose residual meets both shares in the average eye; its variance floats."""
    from scipy import optimize

    routine = ErrorLaw(float(sd_dpt(ROUTINE_SCALE_DPT)) ** 2, DEGREES_OF_FREEDOM, 0.0)

    def misses(shape: NDArray[np.float64]) -> list[float]:
        law = ErrorLaw(float(shape[0]), float(shape[1]), average_dpt2)
        return [share(limit, law) - share(limit, routine) for limit in (0.5, 1.0)]

    variance, freedom = optimize.fsolve(misses, [0.35, 3.0])
    return ErrorLaw(float(variance), float(freedom), measured_dpt**2)


def median_s(command: list[str]) -> float:
    """Median wall time of a command."""
    times = []
    for _ in range(RUNS):
        start = time.perf_counter()
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL)  # noqa: S603 - our own commands
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def curved(normal: NDArray[np.float64]) -> NDArray[np.float64]:
    """A refraction, roughly: three errors with the weights of an average eye, and a little curvature."""
    length, cornea, chamber = normal
    return np.asarray(0.05 * length + 0.13 * cornea + 0.02 * chamber + 0.005 * length * cornea)


def richtmyer(seed: int) -> NDArray[np.float64]:
    """The draws in use."""
    return shifted_normal_draws(DRAWS, 3, seed).reshape(3, -1)


def sobol(seed: int) -> NDArray[np.float64]:
    """The general-purpose alternative."""
    from scipy.stats import qmc

    points = qmc.Sobol(3, seed=seed).random(DRAWS)
    return np.asarray(ndtri(points).T)


def pseudo_random(seed: int) -> NDArray[np.float64]:
    """Plain random draws."""
    return np.random.default_rng(seed).standard_normal((3, DRAWS))


if __name__ == "__main__":
    main()
