"""One whole plan against a plain Python loop over the draws of its four classical formulas."""

from __future__ import annotations

import random
from collections.abc import Iterator
from datetime import date

from benchmarks.plain_formulas import CLASSICAL, refraction_dpt, seen_by_each
from benchmarks.timing import Benchmark, best_s

from zonule.case.lens import LensConstants, LensModel, PowerRange
from zonule.case.plan import PlanRequest
from zonule.demo.clinic import demo_clinic
from zonule.science.lens_power.formulas import EyeNumbers
from zonule.science.uncertainty.propagation import AVERAGE_EYE, DRAWS, PUBLISHED_SDS
from zonule.workflow.forecast import plan_eye

TODAY = date(2026, 11, 2)
LENS = LensModel(
    name="Benchmark",
    powers=PowerRange(16.0, 26.0, 0.5),
    constants=LensConstants(a_constant=118.4, haigis=(1.5, 0.4, 0.1)),
)


def ordinary_request() -> PlanRequest:
    """The question about an ordinary eye of the demo clinic."""
    case = next(case for case in demo_clinic(eyes=1, today=TODAY).cases if case.outcome is None)
    return PlanRequest(eye=case.eye, fellow=case.fellow, lens=LENS, target_refraction_dpt=0.0)


def benchmarks() -> Iterator[Benchmark]:
    """The plan of an ordinary eye of the demo clinic."""
    request = ordinary_request()
    plan = plan_eye(request, TODAY)
    if plan.odds is None or plan.odds.methods != CLASSICAL or len(plan.odds.predictions) != 21:
        raise RuntimeError("The eye of this benchmark must be planned by all four formulas, with 21 powers.")
    yield Benchmark(
        name="one plan: 4 formulas that count, 21 powers, 4,096 draws, worth repeating, backup lenses",
        ours_s=best_s(lambda: plan_eye(request, TODAY), 30),
        theirs="draws, closed forms, means and variances in plain Python loops; no odds, no findings",
        theirs_s=best_s(lambda: _plain_loop(AVERAGE_EYE), 3),
        goal_ratio=20.0,
        goal_s=0.015,
        limit="147,456 refractions (nine of the powers, the rest by a polynomial), then many small arrays",
    )


def _plain_loop(eye: EyeNumbers) -> list[tuple[float, float]]:
    """Mean and variance for each formula and power, draw by draw."""
    chance = random.Random(1)  # noqa: S311 - draws, no secret
    powers = LENS.powers.powers_dpt
    sums = [[0.0, 0.0] for _ in range(len(CLASSICAL) * len(powers))]
    for _ in range(DRAWS):
        drawn = [
            chance.gauss(float(value), float(sd)) for value, sd in zip(eye[:3], PUBLISHED_SDS, strict=False)
        ]
        refractions = (refraction_dpt(*seen, power) for seen in seen_by_each(*drawn) for power in powers)
        for total, refraction in zip(sums, refractions, strict=True):
            total[0] += refraction
            total[1] += refraction * refraction
    return [(total / DRAWS, squares / DRAWS - (total / DRAWS) ** 2) for total, squares in sums]
