"""Chances of one toric plan: our vectorised draws, against a loop over draws and against plain NumPy."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from benchmarks.timing import Benchmark, best_s

from zonule.science.astigmatism.toric_lens import options
from zonule.science.astigmatism.toric_odds import (
    DRAWS,
    KERATOMETRY_J0_SD_DPT,
    KERATOMETRY_J45_SD_DPT,
    LIMITS_DPT,
    odds,
    planning_scatter,
)
from zonule.science.astigmatism.vectors import Astigmatism, Plane, steep
from zonule.science.lens_power.thin_lens import ThinLensEye

STEPS = 20
MODELS = 4
LOOPED_DRAWS = 256
SEED = 1
EYE = ThinLensEye(44.0, 23.5, 5.0, 0)
POWER_DPT = 19.5
SCATTER = planning_scatter(
    (KERATOMETRY_J0_SD_DPT, KERATOMETRY_J45_SD_DPT), np.diag((0.09, 0.09)), 0.0, 3.0, 4.0, 4.0
)


def benchmarks() -> Iterator[Benchmark]:
    """One plan, whole: options and chances."""
    ours_s = best_s(ours, 20)
    looped_s = DRAWS / LOOPED_DRAWS * best_s(lambda: loop_over_draws(LOOPED_DRAWS), 3)
    name = f"chances of a toric plan, {STEPS} steps x {DRAWS:,} draws x {MODELS} corneas"
    limit = "counting draws within four limits; the arrays of one lens stay in the cache"
    yield Benchmark(
        name=name,
        ours_s=ours_s,
        theirs=f"one draw at a time in Python; {LOOPED_DRAWS} draws, scaled up",
        theirs_s=looped_s,
        goal_s=0.1,
        limit=limit,
    )
    yield Benchmark(
        name=f"{name}, against plain NumPy",
        ours_s=ours_s,
        theirs="all steps in one array, random draws, residual vectors and their lengths",
        theirs_s=best_s(plain_numpy, 10),
        goal_s=0.1,
        limit=limit,
    )


def corneas() -> Astigmatism:
    """What four models of the cornea might say of one eye, invented."""
    magnitudes, meridians = np.array([1.5, 1.9, 1.7, 1.6]), np.array([84.0, 90.0, 86.0, 87.0])
    return steep(magnitudes, meridians, Plane.CORNEA)


def planned() -> tuple[np.ndarray, float]:
    """Lens cylinders at the cornea, and the meridian planned on the first model."""
    every = corneas()
    first = Astigmatism(np.asarray(every.x_dpt)[0], np.asarray(every.y_dpt)[0], every.plane)
    offered = options(first, EYE, POWER_DPT, tuple(np.linspace(0.75, 6.0, STEPS)))
    return np.asarray(offered.at_cornea_dpt), float(offered.meridian_deg)


def ours() -> None:
    """Our way."""
    odds(corneas(), *planned(), SCATTER, SEED)


def plain_numpy() -> np.ndarray:
    """The same without care for the cache."""
    lenses, meridian = planned()
    rng = np.random.default_rng(SEED)
    every = corneas()
    errors = rng.multivariate_normal((0.0, 0.0), SCATTER.cornea_covariance_dpt2, DRAWS)
    twice = np.deg2rad(2.0 * rng.normal(meridian, SCATTER.lens_turn_sd_deg, DRAWS))
    x = np.asarray(every.x_dpt)[:, None, None] + errors[:, 0] - lenses[:, None] * np.cos(twice)
    y = np.asarray(every.y_dpt)[:, None, None] + errors[:, 1] - lenses[:, None] * np.sin(twice)
    left = np.hypot(x, y)
    return np.array([(left <= limit).mean(axis=-1) for limit in LIMITS_DPT])


def loop_over_draws(draws: int) -> list[list[list[int]]]:
    """The same, one draw after the other."""
    lenses, meridian = planned()
    rng = np.random.default_rng(SEED)
    root = np.linalg.cholesky(SCATTER.cornea_covariance_dpt2).tolist()
    every = list(zip(np.asarray(corneas().x_dpt).tolist(), np.asarray(corneas().y_dpt).tolist(), strict=True))
    within = [[[0] * len(lenses) for _ in every] for _ in LIMITS_DPT]
    for one, two, three in rng.standard_normal((draws, 3)).tolist():
        twice = math.radians(2.0 * (meridian + SCATTER.lens_turn_sd_deg * three))
        cosine, sine = math.cos(twice), math.sin(twice)
        for model, (x, y) in enumerate(every):
            moved_x, moved_y = x + root[0][0] * one, y + root[1][0] * one + root[1][1] * two
            for place, lens in enumerate(lenses.tolist()):
                left = math.hypot(moved_x - lens * cosine, moved_y - lens * sine)
                for number, limit in enumerate(LIMITS_DPT):
                    within[number][model][place] += left <= limit
    return within
