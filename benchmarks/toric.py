"""Cylinder and axis of one plan, whole; and its chances alone, against a loop over draws and plain NumPy."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from benchmarks.one_plan import LENS, TODAY, ordinary_request
from benchmarks.timing import Benchmark, best_s

from zonule.case.incision import Incision
from zonule.case.toric import CorneaModelName, MarkingName, ToricWishes
from zonule.science.astigmatism.toric_lens import cylinder_at_cornea_dpt
from zonule.science.astigmatism.toric_odds import (
    DRAWS,
    KERATOMETRY_SDS_DPT,
    LIMITS_DPT,
    odds,
    planning_scatter,
)
from zonule.science.astigmatism.vectors import Astigmatism, Plane, steep
from zonule.science.lens_power.thin_lens import ThinLensEye
from zonule.workflow.forecast import plan_eye
from zonule.workflow.toric import toric_answer

STEPS = 20
MODELS = 4
LOOPED_DRAWS = 256
SEED = 1
EYE = ThinLensEye(44.0, 23.5, 5.0, 0)
POWER_DPT = 19.5
CYLINDERS_DPT = tuple(np.linspace(0.75, 6.0, STEPS).tolist())
SCATTER = planning_scatter(KERATOMETRY_SDS_DPT, np.diag((0.09, 0.09)), 0.0, 3.0, 4.0, 4.0)


def benchmarks() -> Iterator[Benchmark]:
    """The chances by themselves in three ways, then everything that a plan says of cylinder and axis."""
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
    yield Benchmark(
        name=f"cylinder and axis of one plan, whole: {STEPS} steps, {DRAWS:,} draws, every cornea model",
        ours_s=whole_plan_s(),
        theirs="chances alone, one draw at a time in Python, scaled up",
        theirs_s=looped_s,
        goal_s=0.1,
        limit=f"{limit}; then findings",
    )


def whole_plan_s() -> float:
    """Seconds for models, incision, cylinders, rays, chances, guard and findings of one planned eye."""
    wishes = ToricWishes(
        cornea_model=CorneaModelName.ABULAFIA_KOCH_2016,
        marking=MarkingName.UPRIGHT_INK,
        lens_cylinder_dpt=0.75,
    )
    lens = replace(LENS, cylinders_dpt=CYLINDERS_DPT)
    asked = replace(ordinary_request(), lens=lens, incision=Incision(180.0, 2.2), toric=wishes)
    plan = plan_eye(asked, TODAY)
    if plan.toric is None or len(plan.toric.options) != STEPS:
        raise RuntimeError("The eye of this benchmark must have 20 cylinders to choose from.")
    return best_s(lambda: toric_answer(plan), 20)


def corneas() -> Astigmatism:
    """What four models of the cornea might say of one eye, invented."""
    magnitudes, meridians = np.array([1.5, 1.9, 1.7, 1.6]), np.array([84.0, 90.0, 86.0, 87.0])
    return steep(magnitudes, meridians, Plane.CORNEA)


def planned() -> tuple[np.ndarray, float]:
    """Lens cylinders at the cornea, and the meridian planned on the first model."""
    every = corneas()
    worth_dpt = cylinder_at_cornea_dpt(EYE, np.array((0.0, *CYLINDERS_DPT)), POWER_DPT)
    return np.asarray(worth_dpt), float(np.asarray(every.steep_meridian_deg)[0])


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
