"""Which power, and how sure."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest
from scipy import integrate, stats

from case.doubts import codes, the_one
from fakes.examples import LENS_NAME, SURGEON, ordinary_lesson
from workflow.clinic import TODAY, clean_eye, clean_fellow, clean_lens, clean_request
from zonule.case.biometry import ChamberFrom, LensStatus, Meridian, Method
from zonule.case.finding import Severity
from zonule.case.lens import ConstantsAccount, ConstantsNotes, LensConstants, PowerRange
from zonule.case.lesson import Lesson
from zonule.case.measured import Measured
from zonule.case.plan import FearedSide, MethodResult, Plan, PlanRequest, Prediction, Spread
from zonule.workflow.forecast import plan_eye
from zonule.workflow.look_up import predictions_near, unoffset_predictions_dpt
from zonule.workflow.methods import measurement_sds

LAW_SD_DPT = 0.383 * np.sqrt(3.4 / 1.4)
OWN_HAIGIS = (-1.0, 0.25, 0.22)


@cache
def clean_plan() -> Plan:
    return plan_eye(clean_request(), TODAY)


def plan(**changes: Any) -> Plan:
    return plan_eye(clean_request(**changes), TODAY) if changes else clean_plan()


def result(plan: Plan, method: str) -> MethodResult:
    return next(one for one in plan.methods if one.method == method)


def at(plan: Plan, power_dpt: float) -> Prediction:
    found = plan.expected_of(power_dpt)
    assert found is not None
    return found


def spread(prediction: Prediction) -> Spread:
    assert prediction.spread is not None
    return prediction.spread


def of_method(plan: Plan, method: str, power_dpt: float) -> Prediction:
    return next(one for one in result(plan, method).predictions if one.lens_power_dpt == power_dpt)


# --- spread -----------------------------------------------------------------------------------------------


def test_the_average_eye_gets_the_spread_of_routine_practice() -> None:
    for method in ("srk_t", "holladay_1", "hoffer_q"):
        assert spread(of_method(plan(), method, 20.5)).sd_dpt == pytest.approx(LAW_SD_DPT, abs=5e-4)
    assert spread(at(plan(), 20.5)).sd_dpt == pytest.approx(LAW_SD_DPT, abs=5e-4)


def fraction_below(limit_dpt: float, prediction: Prediction) -> float:
    """By integration over this eye's measurement error, from nothing but what the record bears."""
    one = spread(prediction)
    freedom, measured = one.residual_degrees_of_freedom, stats.norm(scale=one.measurement_sd_dpt)
    residual_sd = np.sqrt(one.sd_dpt**2 - one.measurement_sd_dpt**2)
    left = stats.t(
        freedom, loc=prediction.refraction_dpt, scale=residual_sd * np.sqrt((freedom - 2) / freedom)
    )
    reach = 8 * one.measurement_sd_dpt
    found, _ = integrate.quad(lambda e: left.cdf(limit_dpt - e) * measured.pdf(e), -reach, reach)
    return float(found)


@pytest.mark.parametrize("method", [Method.OPTICAL, Method.CONTACT])
def test_the_chances_are_of_a_t_law_convolved_with_this_eyes_measurement_error(method: Method) -> None:
    answer = plan(target_refraction_dpt=-0.5, eye=clean_eye(method=method))
    for prediction in (at(answer, 21.0), of_method(answer, "hoffer_q", 20.0)):
        one = spread(prediction)
        assert 2.0 < one.residual_degrees_of_freedom < 3.4
        for limit, fraction in ((0.25, one.within_0_25), (0.5, one.within_0_50), (1.0, one.within_1_00)):
            within = fraction_below(-0.5 + limit, prediction) - fraction_below(-0.5 - limit, prediction)
            assert fraction == pytest.approx(within, abs=1e-6)
        assert one.beyond_feared == pytest.approx(1.0 - fraction_below(0.0, prediction), abs=1e-6)


def test_the_odds_stand_on_the_mean_of_the_variances() -> None:
    answer = plan(eye=clean_eye(method=Method.CONTACT))
    assert answer.odds is not None
    alone = [spread(of_method(answer, method, 20.5)) for method in answer.odds.methods]
    together = spread(at(answer, 20.5))
    assert together.sd_dpt**2 == pytest.approx(np.mean([one.sd_dpt**2 for one in alone]))
    assert together.measurement_sd_dpt**2 == pytest.approx(
        np.mean([one.measurement_sd_dpt**2 for one in alone])
    )


def test_the_standard_error_of_the_chance_covers_what_other_draws_say() -> None:
    """Another corneal thickness changes nothing but the seed, and the chance by about what is claimed."""
    answers = [
        plan(eye=clean_eye(method=Method.CONTACT, corneal_thickness_um=Measured(500.0 + step)))
        for step in range(40)
    ]
    odds = [one.odds for one in answers if one.odds is not None]
    seen = np.std([spread(at(one, 20.5)).within_0_50 for one in answers], ddof=1)
    claimed = np.mean([one.standard_error for one in odds])
    assert len(odds) == len({one.seed for one in answers}) == 40
    assert 0.7 * seen < claimed < 3.0 * seen


def test_the_register_is_met_where_the_prediction_is_the_target() -> None:
    centre = at(plan(), 20.5).refraction_dpt
    one = spread(at(plan(target_refraction_dpt=centre), 20.5))
    assert one.within_0_50 == pytest.approx(0.727, abs=0.002)
    assert one.within_1_00 == pytest.approx(0.930, abs=0.005)


def test_the_chances_are_of_the_target_and_not_of_plano() -> None:
    assert plan(target_refraction_dpt=-2.5).odds is not None
    near, far = at(plan(target_refraction_dpt=-2.5), 24.0), at(plan(), 24.0)
    assert spread(near).within_0_50 > 0.6
    assert spread(far).within_0_50 < 0.05


def test_an_eye_whose_repeats_scatter_gets_a_wider_spread() -> None:
    shaky = clean_eye(axial_length_mm=Measured(23.5, sd=0.2, n=5))
    expected = np.sqrt(LAW_SD_DPT**2 + (2.15 * 0.2) ** 2)
    sd_dpt = spread(of_method(plan(eye=shaky), "srk_t", 20.5)).sd_dpt
    assert sd_dpt == pytest.approx(expected, rel=0.03)
    assert plan(eye=shaky).odds is not None


def test_an_eye_whose_repeats_are_better_than_published_does_not_get_a_narrower_one() -> None:
    lucky = clean_eye(axial_length_mm=Measured(23.5, sd=0.001, n=3))
    assert spread(at(plan(eye=lucky), 20.5)).sd_dpt == pytest.approx(LAW_SD_DPT, abs=5e-4)


def test_measurement_error_is_not_counted_twice() -> None:
    """The whole law is the residual plus this eye's own part, so the average eye's part drops out."""
    answer = plan()
    assert answer.odds is not None
    assert 0.15 < answer.odds.measurement_sd_dpt < 0.3
    assert spread(at(answer, 20.5)).sd_dpt < np.hypot(LAW_SD_DPT, answer.odds.measurement_sd_dpt) - 0.015


def test_an_ultrasound_length_widens_the_spread() -> None:
    optical, contact = spread(at(plan(), 20.5)), spread(at(plan(eye=clean_eye(method=Method.CONTACT)), 20.5))
    assert contact.sd_dpt > optical.sd_dpt + 0.05
    assert contact.within_0_50 < optical.within_0_50 - 0.08


@pytest.mark.parametrize(
    "changes",
    [
        {
            "flat": Meridian(power_dpt=Measured(43.0, sd=0.5)),
            "steep": Meridian(power_dpt=Measured(44.0, sd=0.5)),
        },
        {"flat": Meridian(power_dpt=Measured(43.0, sd=0.5))},
        {
            "flat": Meridian(radius_mm=Measured(7.849, sd=0.5 * 7.849 / 43.0)),
            "steep": Meridian(radius_mm=Measured(7.670, sd=0.5 * 7.670 / 44.0)),
        },
        {"repeats": {"flat_power_dpt": (42.5, 43.5), "steep_power_dpt": (43.5, 44.5)}},
    ],
    ids=["powers", "one meridian only", "radii", "single readings"],
)
def test_the_scatter_of_the_cornea_is_read_however_it_was_given(changes: dict[str, Any]) -> None:
    sds = measurement_sds(clean_eye(**changes).biometry)
    expected = np.std([43.0, 44.0], ddof=1) if "repeats" in changes else 0.5  # of the mean K of each reading
    assert sds.mean_k_dpt == pytest.approx(float(expected), rel=1e-3)


def test_the_scatter_of_powers_on_another_index_is_turned_to_the_shown_scale() -> None:
    shaky = Meridian(power_dpt=Measured(43.0, sd=1.0))
    sds = measurement_sds(clean_eye(keratometric_index=1.332, flat=shaky, steep=shaky).biometry)
    assert sds.mean_k_dpt == pytest.approx(337.5 / 332.0)


# --- which side is feared ---------------------------------------------------------------------------------


@pytest.mark.parametrize("feared", list(FearedSide))
def test_the_feared_side_counts_misses_past_half_a_dioptre_on_that_side_only(feared: FearedSide) -> None:
    answer = plan(feared_side=feared)
    for prediction in (at(answer, 20.0), at(answer, 21.5)):
        one = spread(prediction)
        hyperopic, myopic = 1.0 - fraction_below(0.5, prediction), fraction_below(-0.5, prediction)
        expected = hyperopic if feared is FearedSide.HYPEROPIC else myopic
        assert one.beyond_feared == pytest.approx(expected, abs=1e-6)


def test_a_stronger_lens_is_safer_from_hyperopia_and_less_safe_from_myopia() -> None:
    for feared, sign in ((FearedSide.HYPEROPIC, -1), (FearedSide.MYOPIC, 1)):
        answer = plan(feared_side=feared)
        risks = [spread(at(answer, power)).beyond_feared for power in (19.0, 20.0, 21.0, 22.0)]
        assert np.all(np.sign(np.diff(risks)) == sign)


def test_of_two_equal_powers_the_one_less_often_on_the_feared_side_is_best() -> None:
    neutral = plan()
    midway = (at(neutral, 20.5).refraction_dpt + at(neutral, 21.0).refraction_dpt) / 2
    best = {feared: plan(target_refraction_dpt=midway, feared_side=feared).odds for feared in FearedSide}
    hyperopic, myopic = best[FearedSide.HYPEROPIC], best[FearedSide.MYOPIC]
    assert hyperopic is not None
    assert myopic is not None
    assert (hyperopic.best_power_dpt, myopic.best_power_dpt) == (21.0, 20.5)


# --- odds -------------------------------------------------------------------------------------------------


def test_the_odds_stand_at_the_middle_of_the_methods_that_count() -> None:
    answer = plan()
    assert answer.odds is not None
    three = [of_method(answer, method, 20.5).refraction_dpt for method in answer.odds.methods]
    assert at(answer, 20.5).refraction_dpt == pytest.approx(np.median(three))


def test_the_best_power_is_the_one_that_lands_within_half_a_dioptre_most_often() -> None:
    odds = plan().odds
    assert odds is not None
    most = max(odds.predictions, key=lambda one: spread(one).within_0_50)
    assert odds.best_power_dpt == most.lens_power_dpt == 20.5


def test_the_odds_name_their_draws_and_their_standard_error() -> None:
    odds = plan().odds
    assert odds is not None
    assert odds.draws == 4096
    assert 0.0 < odds.standard_error < 0.002
    assert odds.lane_m == 6.0


def test_own_haigis_constants_enter_the_odds() -> None:
    answer = plan(lens=clean_lens(constants=LensConstants(118.4, haigis=OWN_HAIGIS)))
    haigis = result(answer, "haigis")
    assert (haigis.first_guess, haigis.counts, haigis.constants) == (False, True, OWN_HAIGIS)
    assert haigis.power_for_target_dpt == pytest.approx(21.2491, abs=5e-5)
    assert answer.odds is not None
    assert "haigis" in answer.odds.methods
    assert "first-guess-constant" not in codes(haigis.findings)


def test_haigis_is_refused_without_a_chamber_depth_from_the_epithelium() -> None:
    lens = clean_lens(constants=LensConstants(118.4, haigis=OWN_HAIGIS))
    for eye in (
        clean_eye(anterior_chamber_depth_mm=None, chamber_from=None),
        clean_eye(chamber_from=None),
        clean_eye(chamber_from=ChamberFrom.ENDOTHELIUM, corneal_thickness_um=None),
    ):
        answer = plan(eye=eye, lens=lens)
        by_code = {one.method: codes(one.findings) for one in answer.refused}
        assert by_code.keys() == {"haigis"}
        assert by_code["haigis"] == {"needs-chamber-depth"}
        assert "haigis" not in {one.method for one in answer.methods}


def test_a_formula_without_a_constant_is_refused_and_the_others_answer() -> None:
    answer = plan(lens=clean_lens(constants=LensConstants(p_acd=5.2)))
    assert [one.method for one in answer.methods] == ["hoffer_q"]
    without = {one.method for one in answer.refused if "constant-missing" in codes(one.findings)}
    assert without == {"srk_t", "t2", "holladay_1", "haigis"}
    assert answer.odds is not None


def test_a_steep_cornea_gets_predictions_without_odds_from_the_fit_methods_only() -> None:
    steep = clean_eye(flat_power_dpt=48.2, steep_power_dpt=48.6)
    answer = plan(eye=steep, fellow=None)
    assert answer.odds is None
    fit = ["srk_t", "holladay_1", "hoffer_q"]
    assert [one.method for one in answer.methods if one.fit] == fit
    three = [of_method(answer, method, 16.0).refraction_dpt for method in fit]
    assert at(answer, 16.0) == Prediction(16.0, float(np.median(three)), None)
    assert unoffset_predictions_dpt(answer, 16.0).keys() == set(fit)


def test_srk_t_on_its_imaginary_branch_stands_in_no_middle() -> None:
    eye = clean_eye(axial_length_mm=26.0, flat_power_dpt=49.0, steep_power_dpt=49.0)
    answer = plan(eye=eye, fellow=None, lens=clean_lens(powers=PowerRange(4.0, 8.0, 0.5)))
    assert unoffset_predictions_dpt(answer, 6.0).keys() == {"t2", "holladay_1", "hoffer_q"}


def test_the_powers_shown_first_are_those_about_what_the_fit_methods_need() -> None:
    # SRK/T, first of the table, is on its imaginary branch here; it must not choose what is shown.
    eye = clean_eye(axial_length_mm=26.0, flat_power_dpt=49.0, steep_power_dpt=49.0)
    answer = plan(eye=eye, fellow=None, lens=clean_lens(powers=PowerRange(-5.0, 20.0, 0.5)))
    needed = np.median([one.power_for_target_dpt for one in answer.methods if one.fit])
    near = predictions_near(answer, None)
    assert near[len(near) // 2].lens_power_dpt == pytest.approx(needed, abs=0.25)
    assert answer.methods[0].power_for_target_dpt > needed + 0.75


def test_a_power_that_is_not_made_has_no_prediction() -> None:
    assert plan().expected_of(20.25) is None
    steep = plan(eye=clean_eye(flat_power_dpt=48.2, steep_power_dpt=48.6), fellow=None)
    assert steep.expected_of(20.25) is None


def test_the_same_input_gives_the_same_odds() -> None:
    assert plan_eye(clean_request(), TODAY) == plan_eye(clean_request(), TODAY)


def test_who_operates_does_not_change_the_draws_and_another_eye_does() -> None:
    assert plan(surgeon="M. Hale").seed == plan().seed
    assert plan(eye=clean_eye(axial_length_mm=23.51)).seed != plan().seed


def test_a_lane_of_the_constants_other_than_6_m_shifts_every_prediction_once() -> None:
    four = plan(lens=clean_lens(constants_lane_m=4.0))
    difference = (
        of_method(four, "srk_t", 20.5).refraction_dpt - of_method(plan(), "srk_t", 20.5).refraction_dpt
    )
    assert difference == pytest.approx(-1 / 4 + 1 / 6)
    needed = result(four, "srk_t").power_for_target_dpt
    assert needed < result(plan(), "srk_t").power_for_target_dpt


def test_each_constant_is_read_in_the_lane_it_was_found_in() -> None:
    constants = LensConstants(a_constant=118.4, surgeon_factor=1.5)
    notes = ConstantsNotes(surgeon_factor=ConstantsAccount("our own eyes", lane_m=4.0))
    alike = plan(lens=clean_lens(constants=constants))
    apart = plan(lens=clean_lens(constants=constants, constants_notes=notes))
    for method, shift_dpt in (("srk_t", 0.0), ("hoffer_q", 0.0), ("holladay_1", -1 / 4 + 1 / 6)):
        before, after = (of_method(one, method, 20.5).refraction_dpt for one in (alike, apart))
        assert after - before == pytest.approx(shift_dpt, abs=1e-12)


# --- what is said about the answer ------------------------------------------------------------------------


def test_a_power_nobody_makes_is_named() -> None:
    weak = clean_lens(powers=PowerRange(10.0, 20.0, 0.5))
    assert the_one(plan(lens=weak).findings, "power-not-made").severity is Severity.WARNING
    nearly = clean_lens(powers=PowerRange(10.0, 20.5, 0.5))
    assert "power-not-made" not in codes(plan(lens=nearly).findings)


def test_very_long_eyes_are_told_that_a_weak_lens_hardly_answers() -> None:
    eye = clean_eye(axial_length_mm=31.0)
    lens = clean_lens(powers=PowerRange(-10.0, 30.0, 2.0))
    assert "low-power" in codes(plan(eye=eye, fellow=None, lens=lens).findings, Severity.WARNING)


@pytest.mark.parametrize(("length_mm", "code"), [(31.0, "low-power"), (33.5, "minus-power")])
def test_a_lens_of_minus_power_is_told_to_need_constants_of_its_own(length_mm: float, code: str) -> None:
    lens = clean_lens(powers=PowerRange(-15.0, 30.0, 1.0))
    found = codes(plan(eye=clean_eye(axial_length_mm=length_mm), fellow=None, lens=lens).findings)
    assert {"low-power", "minus-power"} & found == {code}


def test_methods_are_held_against_the_spread_at_the_power_shown_not_at_every_power_made() -> None:
    strong = clean_lens(powers=PowerRange(10.0, 40.0, 0.5))
    answer = plan(eye=clean_eye(axial_length_mm=20.0), fellow=None, lens=strong)
    assert answer.odds is not None
    assert answer.agreement is not None
    best = at(answer, answer.odds.best_power_dpt)
    assert answer.agreement.own_spread_dpt == pytest.approx(spread(best).sd_dpt)
    assert answer.agreement.own_spread_dpt > spread(at(answer, 20.0)).sd_dpt + 0.01


def test_very_short_eyes_are_told_that_thin_lenses_end_there() -> None:
    eye = clean_eye(axial_length_mm=20.0)
    lens = clean_lens(powers=PowerRange(6.0, 40.0, 2.0))
    findings = plan(eye=eye, fellow=None, lens=lens).findings
    assert {"high-power", "short-eye"} <= codes(findings, Severity.WARNING)


def test_methods_that_differ_by_more_than_a_dioptre_are_named() -> None:
    far_apart = clean_lens(constants=LensConstants(118.4, p_acd=5.9))
    assert "methods-disagree" in codes(plan(lens=far_apart).findings, Severity.WARNING)
    assert "methods-disagree" not in codes(plan().findings)


@pytest.mark.parametrize(
    ("changes", "method", "code"),
    [
        ({"axial_length_mm": 26.0}, "holladay_1", "width-clamped"),
        ({"axial_length_mm": 31.5}, "hoffer_q", "length-clamped"),
        ({"axial_length_mm": 36.5}, "srk_t", "beyond-srk-t"),
        (
            {"axial_length_mm": 24.0, "flat_power_dpt": 48.5, "steep_power_dpt": 48.5},
            "holladay_1",
            "radius-clamped",
        ),
        (
            {"axial_length_mm": 26.0, "flat_power_dpt": 47.5, "steep_power_dpt": 47.5},
            "srk_t",
            "near-imaginary-branch",
        ),
    ],
)
def test_what_a_formula_had_to_do_to_answer_is_said(changes: dict[str, Any], method: str, code: str) -> None:
    lens = clean_lens(powers=PowerRange(-10.0, 30.0, 2.0))
    findings = result(plan(eye=clean_eye(**changes), fellow=None, lens=lens), method).findings
    assert the_one(findings, code).severity is Severity.WARNING


@pytest.mark.parametrize(
    ("changes", "kept"),
    [
        ({"axial_length_mm": 36.5}, False),
        ({"axial_length_mm": 26.0, "flat_power_dpt": 47.5, "steep_power_dpt": 47.5}, False),
        ({"axial_length_mm": 26.0}, True),
    ],
)
def test_srk_t_is_kept_out_of_the_odds_where_it_runs_away(changes: dict[str, Any], kept: bool) -> None:
    lens = clean_lens(powers=PowerRange(-10.0, 30.0, 2.0))
    answer = plan(eye=clean_eye(**changes), fellow=None, lens=lens)
    assert answer.odds is not None
    assert ("srk_t" in answer.odds.methods) is kept


def test_findings_come_gravest_first_and_each_once() -> None:
    answer = plan(eye=clean_eye(axial_length_mm=27.0), fellow=None)
    order = [list(reversed(Severity)).index(one.severity) for one in answer.findings]
    assert order == sorted(order)
    assert len(set(answer.findings)) == len(answer.findings)


def test_the_anisometropia_that_the_aim_would_leave_is_in_the_plan() -> None:
    assert plan().aim_difference_dpt == pytest.approx(-0.25)


# --- lessons ----------------------------------------------------------------------------------------------


def with_lessons(*lessons: Lesson, **changes: Any) -> Plan:
    return plan(lessons=lessons, **changes)


def test_a_lesson_moves_the_prediction_by_its_offset_exactly() -> None:
    taught = with_lessons(ordinary_lesson(offset_dpt=-0.12))
    for before, after in zip(
        result(plan(), "srk_t").predictions, result(taught, "srk_t").predictions, strict=True
    ):
        assert after.refraction_dpt - before.refraction_dpt == pytest.approx(-0.12, abs=1e-12)
    assert result(taught, "srk_t").offset_dpt == -0.12
    untaught = [of_method(one, "holladay_1", 20.5).refraction_dpt for one in (taught, plan())]
    assert untaught[0] == untaught[1]


def test_a_lesson_moves_the_power_for_the_target_as_an_aim_moved_the_other_way_would() -> None:
    taught = result(with_lessons(ordinary_lesson(offset_dpt=-0.12)), "srk_t")
    aimed = result(plan(target_refraction_dpt=0.12), "srk_t")
    assert taught.power_for_target_dpt == pytest.approx(aimed.power_for_target_dpt, abs=1e-9)
    assert taught.power_for_target_dpt < result(plan(), "srk_t").power_for_target_dpt


def test_a_lesson_brings_its_own_spread() -> None:
    one = spread(of_method(with_lessons(ordinary_lesson(scale_dpt=0.30)), "srk_t", 20.5))
    assert one.sd_dpt == pytest.approx(0.30 * np.sqrt(3.4 / 1.4), abs=1e-3)


def test_the_plan_shows_that_it_used_a_lesson() -> None:
    (use,) = with_lessons(ordinary_lesson()).lessons
    assert use.used
    assert use.reason == "Same surgeon, formula, lens and constant."


@pytest.mark.parametrize(
    ("changes", "reason"),
    [
        ({"lens_model": "Heath Two"}, "another lens, Heath Two"),
        ({"constants": (118.7,)}, "another constant"),
        ({"constants": (118.4, 0.0)}, "another constant"),
        ({"surgeon": "M. Hale"}, "learned by M. Hale; this plan is for R. Calder"),
        ({"surgeon": ""}, "learned by nobody named; this plan is for R. Calder"),
        ({"method": "barely_known"}, "not used for this lens"),
    ],
)
def test_a_lesson_with_another_baseline_is_left_aside_and_the_plan_says_why(
    changes: dict[str, Any], reason: str
) -> None:
    answer = with_lessons(ordinary_lesson(**changes))
    (use,) = answer.lessons
    assert not use.used
    assert reason in use.reason
    assert all(one.offset_dpt == 0.0 for one in answer.methods)
    assert at(answer, 20.5).refraction_dpt == at(plan(), 20.5).refraction_dpt


def test_a_plan_for_nobody_named_uses_nobodys_lessons() -> None:
    (use,) = with_lessons(ordinary_lesson(), surgeon="").lessons
    assert (use.used, use.reason) == (False, f"It was learned by {SURGEON}; this plan is for nobody named.")


def test_of_two_lessons_about_one_formula_only_the_first_is_used() -> None:
    first, second = ordinary_lesson(offset_dpt=-0.12), ordinary_lesson(key="other", offset_dpt=0.4)
    answer = with_lessons(first, second)
    assert [use.used for use in answer.lessons] == [True, False]
    assert "already" in answer.lessons[1].reason
    assert result(answer, "srk_t").offset_dpt == -0.12


def test_a_lesson_about_a_refused_formula_is_not_called_used() -> None:
    lesson = ordinary_lesson(method="haigis", constants=OWN_HAIGIS)
    lens = clean_lens(constants=LensConstants(118.4, haigis=OWN_HAIGIS))
    eye = clean_eye(anterior_chamber_depth_mm=None, chamber_from=None)
    (use,) = with_lessons(lesson, lens=lens, eye=eye).lessons
    assert (use.used, use.reason) == (False, "Its formula is refused for this eye.")
    (use,) = with_lessons(lesson, lens=lens).lessons
    assert use.used


def test_a_lesson_learned_on_a_first_guess_serves_the_same_first_guess() -> None:
    first_guess = result(plan(), "hoffer_q").constants
    answer = with_lessons(ordinary_lesson(method="hoffer_q", constants=first_guess, offset_dpt=0.1))
    assert result(answer, "hoffer_q").offset_dpt == 0.1
    own = clean_lens(constants=LensConstants(118.4, p_acd=5.3))
    assert result(with_lessons(*answer.request.lessons, lens=own), "hoffer_q").offset_dpt == 0.0


def test_predictions_before_offsets_do_not_know_of_lessons() -> None:
    taught = with_lessons(ordinary_lesson(scale_dpt=0.3))
    assert unoffset_predictions_dpt(taught, 20.5) == pytest.approx(unoffset_predictions_dpt(plan(), 20.5))


def test_requests_are_records_and_stay_as_they_were() -> None:
    request: PlanRequest = clean_request()
    plan_eye(request, TODAY)
    assert request == replace(clean_request(), fellow=clean_fellow())
    assert request.lens is not None
    assert request.lens.name == LENS_NAME


def test_t2_stands_for_an_eye_only_where_srk_t_may_not() -> None:
    ordinary = plan()
    assert not result(ordinary, "t2").fit
    assert result(ordinary, "t2").power_for_target_dpt == pytest.approx(20.5877, abs=5e-5)
    steep = plan(eye=clean_eye(axial_length_mm=26.0, flat_power_dpt=49.0, steep_power_dpt=49.0), fellow=None)
    assert (result(steep, "srk_t").fit, result(steep, "t2").fit) == (False, True)


def test_the_chamber_of_an_eye_without_a_lens_is_not_used() -> None:
    lens = clean_lens(constants=LensConstants(118.4, haigis=OWN_HAIGIS))
    answer = plan(eye=clean_eye(lens_status=LensStatus.APHAKIC), lens=lens)
    assert answer.odds is None
    assert [one.method for one in answer.refused] == ["haigis"]
