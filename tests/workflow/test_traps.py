"""Five eyes that a careless planner gets wrong."""

from __future__ import annotations

from typing import Any

import pytest

from case.doubts import codes, the_one
from fakes.examples import ordinary_eye
from workflow.clinic import TODAY, clean_eye, clean_fellow, clean_request
from zonule.case.biometry import Meridian
from zonule.case.eye import CornealSurgery
from zonule.case.finding import Severity
from zonule.case.measured import Measured
from zonule.case.patient import Side
from zonule.case.plan import MethodResult, Plan
from zonule.case.refraction import Refraction
from zonule.science.lens_power.formulas import UNTOUCHED
from zonule.workflow.forecast import plan_eye

BLOCKING, WARNING, NOTE = Severity.BLOCKING, Severity.WARNING, Severity.NOTE


def plan(**changes: Any) -> Plan:
    return plan_eye(clean_request(**changes), TODAY)


def result(plan: Plan, method: str) -> MethodResult:
    return next(one for one in plan.methods if one.method == method)


def refraction(result: MethodResult, power_dpt: float) -> float:
    return next(one.refraction_dpt for one in result.predictions if one.lens_power_dpt == power_dpt)


def test_a_clean_pair_of_eyes_gives_notes_only() -> None:
    assert {one.severity for one in plan().findings} == {NOTE}


def test_trap_a_srk_t_needs_20_56_and_20_5_lands_at_plus_0_04() -> None:
    srk_t = result(plan(), "srk_t")
    assert srk_t.power_for_target_dpt == pytest.approx(20.5637, abs=5e-5)
    assert refraction(srk_t, 20.5) == pytest.approx(0.0445, abs=5e-5)
    assert (srk_t.first_guess, srk_t.counts) == (False, True)


def test_trap_a_a_converted_haigis_is_shown_as_a_first_guess_and_kept_out_of_the_odds() -> None:
    answer = plan()
    haigis = result(answer, "haigis")
    assert haigis.power_for_target_dpt == pytest.approx(21.5888, abs=5e-5)
    assert (haigis.first_guess, haigis.counts, haigis.fit) == (True, False, False)
    assert all(one.spread is None for one in haigis.predictions)
    finding = the_one(haigis.findings, "first-guess-constant")
    assert "first guess" in finding.sentence
    assert "kept out of the odds" in finding.sentence
    assert answer.odds is not None
    assert answer.odds.methods == ("srk_t", "holladay_1", "hoffer_q")


def test_trap_b_a_radius_of_7_70_with_43_12_at_index_1_3375_blocks() -> None:
    flat = Meridian(radius_mm=Measured(7.70), power_dpt=Measured(43.12))
    answer = plan(eye=clean_eye(flat=flat))
    assert the_one(answer.findings, "radius-power-conflict").severity is BLOCKING
    assert (answer.methods, answer.odds) == ((), None)
    assert {one.method for one in answer.refused} == set(UNTOUCHED)


def test_trap_c_a_flat_long_eye_of_unknown_history_gets_no_power() -> None:
    eye = clean_eye(
        axial_length_mm=26.0,
        flat_power_dpt=38.0,
        steep_power_dpt=38.0,
        corneal_surgery=CornealSurgery.UNKNOWN,
    )
    answer = plan(eye=eye, fellow=None)
    assert the_one(answer.findings, "possible-laser").severity is BLOCKING
    assert "corneal-surgery-unknown" in codes(answer.findings, WARNING)
    assert (answer.methods, answer.odds) == ((), None)
    for refused in answer.refused:
        assert "possible-laser" in codes(refused.findings)
    assert answer.no_odds_because


def test_trap_d_a_long_steep_eye_is_on_the_imaginary_branch_asks_keratoconus_and_gets_no_odds() -> None:
    eye = clean_eye(
        axial_length_mm=26.0, flat_power_dpt=49.0, steep_power_dpt=49.0, anterior_chamber_depth_mm=3.3
    )
    answer = plan(eye=eye, fellow=None)
    srk_t = result(answer, "srk_t")
    assert srk_t.power_for_target_dpt == pytest.approx(6.1345, abs=5e-5)
    assert the_one(srk_t.findings, "imaginary-branch").severity is WARNING
    assert "near-imaginary-branch" not in codes(srk_t.findings)
    assert the_one(answer.findings, "keratoconus-asked").severity is WARNING
    assert answer.odds is None
    assert "steep" in answer.no_odds_because
    for method in answer.methods:
        assert not method.counts
        assert all(one.spread is None for one in method.predictions)
    assert "radius-clamped" in codes(result(answer, "holladay_1").findings)


@pytest.mark.parametrize("side", [Side.RIGHT, Side.LEFT])
def test_trap_e_23_5_beside_24_both_plano_says_measure_again(side: Side) -> None:
    plano = Refraction(0.0)
    right = clean_eye(glasses=plano)
    left = clean_eye(Side.LEFT, axial_length_mm=24.0, glasses=plano)
    eye, fellow = (right, left) if side is Side.RIGHT else (left, right)
    finding = the_one(plan(eye=eye, fellow=fellow).findings, "lengths-differ")
    assert finding.severity is WARNING
    assert "Measure both lengths again" in finding.sentence


def test_nothing_is_planned_while_a_finding_blocks() -> None:
    answer = plan(eye=ordinary_eye(axial_length_mm=None), fellow=clean_fellow())
    assert answer.methods == ()
    assert "resolved first" in answer.no_odds_because
