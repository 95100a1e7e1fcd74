"""How often the right cause comes first when everything else scatters as it usually does.

The eyes are those of a chain of four surfaces, not of the formulas. The shares stand on the manual's page.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import pytest

from docs.manual import table_rows
from workflow.test_surprises import LENGTH_MM, MEAN_K_DPT, POWER, Truth, predicted, reviewed, true_eye
from zonule.case.plan import Plan
from zonule.case.surprise import CauseKind, MeasuredAgain
from zonule.science.lens_power.surprise import LENS_POSITION_SD_MM, REFRACTION_SD_DPT
from zonule.science.uncertainty.repeatability import AXIAL_LENGTH_SD_MM, MEAN_K_SD_DPT
from zonule.workflow.causes import SeenBefore, mix_ups, ranked_causes, seen_before
from zonule.workflow.forecast import plan_eye

PAGE = "docs/how-to/look-into-a-surprise.md"
EYES = 120


@dataclass(frozen=True)
class Planted:
    """What is wrong with an eye, on top of what scatters."""

    right: CauseKind
    power_off_dpt: float = 0.0
    moved_mm: float = 0.0
    misread_dpt: float = 0.0
    again: bool = False


PLANTED = {
    "Another lens, 4 D off": Planted(CauseKind.WRONG_LENS, power_off_dpt=-4.0),
    "Another lens, 3 D off": Planted(CauseKind.WRONG_LENS, power_off_dpt=3.0),
    "Another lens, 2 D off": Planted(CauseKind.WRONG_LENS, power_off_dpt=2.0),
    "Another lens, 1.5 D off": Planted(CauseKind.WRONG_LENS, power_off_dpt=-1.5),
    "The lens 0.7 mm elsewhere": Planted(CauseKind.LENS_POSITION, moved_mm=0.7),
    "The lens 1 mm elsewhere": Planted(CauseKind.LENS_POSITION, moved_mm=-1.0),
    "Mean K misread by 1.5 D, measured again": Planted(CauseKind.CORNEA, misread_dpt=1.5, again=True),
    "Mean K misread by 1.5 D, not measured again": Planted(CauseKind.CORNEA, misread_dpt=1.5),
}


@cache
def planned() -> tuple[Plan, tuple[SeenBefore, ...], Truth]:
    signed = reviewed(1.0).signed
    assert signed is not None
    plan = plan_eye(signed.request, signed.signed_on)
    return plan, seen_before(plan, POWER, 1.0), true_eye(predicted())


def first_cause(planted: Planted, noise: np.random.Generator) -> CauseKind:
    """What is ranked first in one eye."""
    plan, before, truth = planned()
    assert plan.request.lens is not None
    mean_k = MEAN_K_DPT + planted.misread_dpt + noise.normal(0.0, MEAN_K_SD_DPT)
    got = truth.refraction_dpt(
        POWER + planted.power_off_dpt,
        forward_mm=planted.moved_mm + noise.normal(0.0, LENS_POSITION_SD_MM),
        mean_k=mean_k,
        length=LENGTH_MM + noise.normal(0.0, AXIAL_LENGTH_SD_MM),
    ) + noise.normal(0.0, REFRACTION_SD_DPT)
    seen = tuple(replace(one, achieved_dpt=got) for one in before)
    again = MeasuredAgain(mean_k + noise.normal(0.0, MEAN_K_SD_DPT)) if planted.again else MeasuredAgain()
    found = mix_ups(seen, plan.request.lens, (), None, 0.6)
    return ranked_causes(plan, seen, found, None, again, 0.6)[0].kind


def share_first(name: str) -> float:
    noise = np.random.default_rng(7)
    ranked = Counter(first_cause(PLANTED[name], noise) for _ in range(EYES))
    return 100.0 * ranked[PLANTED[name].right] / EYES


ON_THE_PAGE = {
    cells[0]: float(cells[1]) for cells in table_rows(PAGE, "How often the right cause comes first")
}


def test_every_planted_cause_stands_on_the_page() -> None:
    assert ON_THE_PAGE.keys() == PLANTED.keys()


@pytest.mark.parametrize("name", PLANTED)
def test_the_right_cause_comes_first_as_often_as_the_page_says(name: str) -> None:
    said = ON_THE_PAGE[name] / 100.0
    standard_error = 100.0 * np.sqrt(max(said * (1.0 - said), 0.01) / EYES)
    assert share_first(name) == pytest.approx(ON_THE_PAGE[name], abs=3.0 * standard_error)
