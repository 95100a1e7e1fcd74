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
    eye_sd_dpt,
    fraction_within,
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

    print("share within 0.50 and 1.00 D, by measurement SD: shape kept; convolution, residual fitted anew")
    average = average_eye_variance_dpt2("srk_t", (118.4,))
    residual = refitted_residual_scale_dpt(average**0.5)
    for measured in (average**0.5, 0.25, 0.366, 0.434):
        deviation = eye_sd_dpt(ROUTINE_SCALE_DPT, average, measured**2)
        kept = [float(fraction_within(limit, 0.0, 0.0, deviation)) for limit in (0.5, 1.0)]
        mixed = [share_within(limit, residual, measured) for limit in (0.5, 1.0)]
        print(f"  {measured:.3f} D", *(f"{100 * share:.1f} %" for share in (*kept, *mixed)))


def share_within(limit_dpt: float, residual_scale_dpt: float, measurement_sd_dpt: float) -> float:
    """Share within a limit when a t law and a normal law are convolved."""
    from scipy import integrate, stats

    law = stats.t(DEGREES_OF_FREEDOM, scale=residual_scale_dpt)
    error = stats.norm(scale=measurement_sd_dpt)

    def at(shift_dpt: float) -> float:
        return float(
            (law.cdf(limit_dpt - shift_dpt) - law.cdf(-limit_dpt - shift_dpt)) * error.pdf(shift_dpt)
        )

    reach = 8.0 * measurement_sd_dpt
    return float(integrate.quad(at, -reach, reach, limit=400)[0])


def refitted_residual_scale_dpt(average_sd_dpt: float) -> float:
    """The residual scale that gives the average eye the register's share within half a dioptre."""
    from scipy import optimize

    def miss(scale_dpt: float) -> float:
        return share_within(0.5, scale_dpt, average_sd_dpt) - 0.727

    return float(optimize.brentq(miss, 0.2, 0.5))


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
