"""Corneas that surgery or disease changed: which methods answer, which are refused, and how sure they are."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from case.doubts import codes, the_one
from workflow.clinic import TODAY, clean_eye, clean_lens, clean_request
from zonule.case.biometry import CorneaKind, LengthConvention, Meridian
from zonule.case.eye import CornealSurgery, Eye
from zonule.case.finding import Severity
from zonule.case.lens import LensConstants
from zonule.case.measured import Measured
from zonule.case.plan import MethodResult, Plan
from zonule.science.lens_power import ray_traced
from zonule.science.lens_power.corrected_cornea import shammas_hyperopic, shammas_without_history
from zonule.science.lens_power.formulas import FORMULAS, UNTOUCHED, Family, seen_eye
from zonule.science.uncertainty.operated_cornea import AFTER_KERATOTOMY_SCALE_DPT, AFTER_LASER_SCALE_DPT
from zonule.science.uncertainty.propagation import PUBLISHED_SDS, drawn_eyes, measurement_variance
from zonule.science.uncertainty.spread import sd_dpt
from zonule.workflow.forecast import plan_eye
from zonule.workflow.methods import eye_numbers

MYOPIC, HYPEROPIC, RADIAL = (
    CornealSurgery.MYOPIC_LASER,
    CornealSurgery.HYPEROPIC_LASER,
    CornealSurgery.RADIAL_KERATOTOMY,
)
DOUBLE_K = ("srk_t_double_k", "holladay_1_double_k", "hoffer_q_double_k")


def operated(surgery: CornealSurgery, mean_k_dpt: float, length_mm: float, **history: Any) -> Eye:
    eye = clean_eye(
        axial_length_mm=length_mm,
        flat_power_dpt=mean_k_dpt,
        steep_power_dpt=mean_k_dpt,
        corneal_surgery=surgery,
    )
    return replace(eye, history=replace(eye.history, **history))


def plan(eye: Eye, **changes: Any) -> Plan:
    return plan_eye(clean_request(**({"eye": eye, "fellow": None} | changes)), TODAY)


def told(plan: Plan) -> dict[str, MethodResult]:
    """Results by the key that files tell."""
    return {FORMULAS[one.method].method: one for one in plan.methods}


AFTER_MYOPIC = operated(MYOPIC, 38.0, 26.0)
AFTER_HYPEROPIC = operated(HYPEROPIC, 46.0, 23.0)
AFTER_CUTS = operated(RADIAL, 38.0, 26.0)


@pytest.mark.parametrize(
    "eye", [AFTER_MYOPIC, AFTER_HYPEROPIC, AFTER_CUTS], ids=["myopic", "hyperopic", "radial"]
)
def test_every_method_with_a_number_from_memory_is_named(eye: Eye) -> None:
    found = plan(eye)
    said = the_one(found.findings, "formulas-from-memory").sentence
    names = {FORMULAS[one.method].name for one in found.methods if "memory" in FORMULAS[one.method].status}
    assert len(names) >= 3
    assert {name for name in names if name not in said} == set()


@pytest.mark.parametrize(
    "eye", [AFTER_MYOPIC, AFTER_HYPEROPIC, AFTER_CUTS], ids=["myopic", "hyperopic", "radial"]
)
def test_formulas_for_untouched_corneas_appear_only_as_refused(eye: Eye) -> None:
    answer = plan(eye)
    refused = {one.method for one in answer.refused}
    allowed_here = {key for key, one in UNTOUCHED.items() if eye.history.corneal_surgery in one.corneas}
    assert refused >= set(UNTOUCHED) - allowed_here
    assert not {one.method for one in answer.methods} & refused
    assert answer.odds is not None


@pytest.mark.parametrize("eye", [AFTER_MYOPIC, AFTER_HYPEROPIC], ids=["myopic", "hyperopic"])
def test_double_k_answers_by_the_keys_of_the_contract_after_either_laser(eye: Eye) -> None:
    assert set(DOUBLE_K) <= set(told(plan(eye)))


def test_haigis_with_the_reading_as_it_is_answers_after_radial_keratotomy_alone() -> None:
    lens = clean_lens(constants=LensConstants(a_constant=118.4, haigis=(-0.5, 0.2, 0.2)))
    assert told(plan(AFTER_CUTS, lens=lens))["haigis"].counts
    assert "haigis" not in told(plan(AFTER_MYOPIC, lens=lens))


def test_shammas_pl_meets_the_number_of_the_reference_table() -> None:
    assert told(plan(AFTER_MYOPIC))["shammas_pl"].power_for_target_dpt == pytest.approx(22.372, abs=5e-4)


def test_double_k_agrees_where_single_k_does_not() -> None:
    powers = [told(plan(AFTER_MYOPIC))[key].power_for_target_dpt for key in DOUBLE_K]
    assert max(powers) - min(powers) < 0.25


def test_the_known_cornea_before_surgery_moves_the_lens() -> None:
    before = {"flat_power_before_dpt": 42.0, "steep_power_before_dpt": 42.0}
    known = told(plan(operated(MYOPIC, 38.0, 26.0, **before)))["srk_t_double_k"]
    assumed = told(plan(AFTER_MYOPIC))["srk_t_double_k"]
    assert known.power_for_target_dpt < assumed.power_for_target_dpt - 0.5
    assert "before-assumed" in codes(assumed.findings)
    assert "before-assumed" not in codes(known.findings)


def test_a_known_treatment_brings_the_methods_that_need_it() -> None:
    without, with_it = plan(AFTER_MYOPIC), plan(operated(MYOPIC, 38.0, 26.0, treated_at_cornea_dpt=-5.0))
    assert "masket" not in told(without)
    (refused,) = [one for one in without.refused if one.method == "masket"]
    assert codes(refused.findings) == {"needs-history"}
    assert "masket" in told(with_it)
    assert len(with_it.corneas) > len(without.corneas)


def test_corrections_of_the_cornea_stand_side_by_side() -> None:
    by_name = {one.name: one.power_dpt for one in plan(AFTER_MYOPIC).corneas}
    assert by_name["Shammas, without history"] == pytest.approx(36.52, abs=1e-9)
    assert plan(clean_eye()).corneas == ()


@pytest.mark.parametrize(("reading_dpt", "sign"), [(44.0, 1.0), (42.0, -1.0)])
def test_the_hyperopic_correction_changes_sign_at_its_fixed_point(reading_dpt: float, sign: float) -> None:
    (correction,) = plan(operated(HYPEROPIC, reading_dpt, 23.0)).corneas
    assert correction.power_dpt == shammas_hyperopic(reading_dpt).power_dpt
    assert (correction.power_dpt - reading_dpt) * sign > 0.0
    assert shammas_without_history(reading_dpt).power_dpt < reading_dpt


@pytest.mark.parametrize(
    ("eye", "scale_dpt"), [(AFTER_MYOPIC, AFTER_LASER_SCALE_DPT), (AFTER_CUTS, AFTER_KERATOTOMY_SCALE_DPT)]
)
def test_the_spread_is_that_of_published_series_after_surgery(eye: Eye, scale_dpt: float) -> None:
    odds = plan(eye).odds
    assert odds is not None
    best = next(one for one in odds.predictions if one.lens_power_dpt == odds.best_power_dpt)
    assert best.spread is not None
    assert best.spread.sd_dpt == pytest.approx(float(sd_dpt(scale_dpt)), abs=0.03)


def test_after_laser_no_more_than_the_published_share_is_promised() -> None:
    odds = plan(AFTER_MYOPIC).odds
    assert odds is not None
    assert 0.45 < max(one.spread.within_0_50 for one in odds.predictions if one.spread) < 0.57


def as_total(eye: Eye) -> Eye:
    keratometry = replace(eye.biometry.keratometry, kind=CorneaKind.TOTAL)
    return replace(eye, biometry=replace(eye.biometry, keratometry=keratometry))


def test_a_power_of_the_whole_cornea_is_not_corrected_again() -> None:
    answer = plan(as_total(AFTER_MYOPIC))
    assert answer.methods == ()
    after = [one for one in answer.refused if FORMULAS[one.method].family is Family.AFTER_SURGERY]
    assert len(after) > len(DOUBLE_K)
    assert {code for one in after for code in codes(one.findings)} == {"corrected-twice"}
    assert answer.odds is None


def test_a_method_that_needs_the_front_of_the_cornea_is_refused_the_power_of_the_whole() -> None:
    answer = plan(as_total(with_back(clean_eye())))
    refused = {one.method: codes(one.findings) for one in answer.refused}
    assert refused["four_surface"] == refused["ray_traced"] == {"needs-front-radius"}


def test_a_power_of_the_whole_untouched_cornea_is_shown_and_not_counted() -> None:
    answer = plan(as_total(clean_eye()))
    assert the_one(answer.findings, "total-cornea").severity is Severity.WARNING
    assert answer.methods
    assert not any(one.counts or one.fit for one in answer.methods)
    assert answer.odds is None


@pytest.mark.parametrize("surgery", [CornealSurgery.KERATOCONUS, CornealSurgery.GRAFT])
def test_without_a_published_correction_and_a_back_surface_there_is_no_number(
    surgery: CornealSurgery,
) -> None:
    answer = plan(operated(surgery, 46.0, 24.0))
    assert answer.methods == ()
    assert the_one(answer.findings, "no-published-correction").severity is Severity.BLOCKING


@pytest.mark.parametrize("surgery", [CornealSurgery.KERATOCONUS, CornealSurgery.GRAFT])
def test_with_a_back_surface_its_optics_are_shown_without_odds(surgery: CornealSurgery) -> None:
    answer = plan(with_back(operated(surgery, 46.0, 24.0)))
    assert {FORMULAS[one.method].family for one in answer.methods} == {Family.ANATOMICAL}
    assert answer.odds is None
    assert "published" in answer.no_odds_because
    assert all(one.spread is None for method in answer.methods for one in method.predictions)


def with_back(eye: Eye) -> Eye:
    biometry = replace(
        eye.biometry,
        posterior_flat_radius_mm=Measured(6.3),
        posterior_steep_radius_mm=Measured(6.1),
        corneal_thickness_um=Measured(520.0),
        lens_thickness_mm=Measured(4.5),
    )
    return replace(eye, biometry=biometry)


def long_eye(convention: LengthConvention | None) -> Eye:
    eye = clean_eye(axial_length_mm=28.0)
    return replace(eye, biometry=replace(eye.biometry, length_convention=convention))


def test_adjusted_lengths_stand_beside_the_formulas_and_do_not_count() -> None:
    answer = plan(long_eye(LengthConvention.COMPOSITE))
    beside = [one for one in answer.methods if FORMULAS[one.method].family is Family.LONG_EYE]
    assert beside
    assert not any(one.fit or one.counts for one in beside)
    plain = {one.method: one.power_for_target_dpt for one in answer.methods}
    assert plain["holladay_1_long_eye_2018"] > plain["holladay_1"]


def test_a_length_summed_part_by_part_is_not_adjusted_again() -> None:
    answer = plan(long_eye(LengthConvention.SEGMENTAL))
    assert not any(FORMULAS[one.method].family is Family.LONG_EYE for one in answer.methods)
    refused = [one for one in answer.refused if FORMULAS[one.method].family is Family.LONG_EYE]
    assert refused
    assert {code for one in refused for code in codes(one.findings)} == {"length-adjusted-twice"}


@pytest.mark.parametrize(("length_mm", "near"), [(25.2, True), (25.49, True), (25.6, False), (26.4, False)])
def test_near_the_length_where_an_adjustment_begins_its_jump_is_told(length_mm: float, near: bool) -> None:
    answer = plan(clean_eye(axial_length_mm=length_mm))
    adjusted = next(one for one in answer.methods if one.method == "holladay_1_long_eye_2011")
    assert ("long-eye-step" in codes(adjusted.findings)) is near


def test_constants_that_put_the_lens_outside_this_eye_are_refused_and_give_no_number() -> None:
    # 4.2 mm in an eye of 23.5 mm, as it should be; in front of the cornea in one of 19.5 mm.
    steep = LensConstants(a_constant=118.4, haigis=(-24.0, 0.0, 1.2))
    answer = plan(clean_eye(axial_length_mm=19.5), lens=clean_lens(constants=steep))
    refused = next(one for one in answer.refused if one.method == "haigis")
    assert codes(refused.findings) == {"lens-outside-eye"}
    assert "haigis" not in {one.method for one in answer.methods}


def test_an_ordinary_length_is_not_spoken_of_as_long() -> None:
    answer = plan(clean_eye())
    named = {one.method for one in answer.methods} | {one.method for one in answer.refused}
    assert not any(FORMULAS[one].family is Family.LONG_EYE for one in named)


def test_own_c_constant_lets_the_measured_optics_count() -> None:
    lens = clean_lens(constants=LensConstants(a_constant=118.4, c_constant=0.4))
    counted = {one.method: one for one in plan(with_back(clean_eye()), lens=lens).methods if one.counts}
    assert {"four_surface", "ray_traced"} <= counted.keys()
    for one in (counted["four_surface"], counted["ray_traced"]):
        assert one.constants == (0.4,)
        assert "general-lens-place" not in codes(one.findings)


def test_a_general_place_of_the_lens_is_shown_and_not_counted() -> None:
    answer = plan(with_back(clean_eye()))
    beside = [one for one in answer.methods if FORMULAS[one.method].family is Family.ANATOMICAL]
    assert [one.method for one in beside] == ["four_surface", "ray_traced"]
    assert not any(one.fit for one in beside)
    assert all("general-lens-place" in codes(one.findings) for one in beside)


def test_measurement_error_moves_rays_as_it_moves_the_four_surfaces() -> None:
    eye = eye_numbers(with_back(clean_eye()))
    assert eye is not None
    drawn = drawn_eyes(eye, PUBLISHED_SDS, seed=3, draws=256)
    powers = np.array([21.0])
    by_rays, by_surfaces = (
        measurement_variance(FORMULAS[key], (0.39,), drawn, powers).variance_dpt2[0]
        for key in ("ray_traced", "four_surface")
    )
    assert by_rays == pytest.approx(by_surfaces, rel=0.05)


@pytest.mark.parametrize(("power_dpt", "doubted"), [(42.73, True), (43.83, False)])
def test_a_total_power_beside_the_radius_of_the_front_is_named_as_one(
    power_dpt: float, *, doubted: bool
) -> None:
    # 7.70 mm is 43.83 D with 1.3375 and 42.73 D with 1.329, the index of a whole cornea.
    meridian = Meridian(Measured(7.70), Measured(power_dpt))
    eye = clean_eye(flat=meridian, steep=meridian, keratometric_index=None)
    answer = plan(eye)
    assert ("total-given-as-anterior" in codes(answer.findings, Severity.WARNING)) is doubted
    by_radius = plan(with_radii(eye, 7.70)).methods
    assert [one.power_for_target_dpt for one in answer.methods] == [
        one.power_for_target_dpt for one in by_radius
    ]


def with_radii(eye: Eye, radius_mm: float) -> Eye:
    """The same cornea given by its radius alone."""
    meridian = Meridian(radius_mm=Measured(radius_mm))
    keratometry = replace(eye.biometry.keratometry, flat=meridian, steep=meridian)
    return replace(eye, biometry=replace(eye.biometry, keratometry=keratometry))


@pytest.mark.parametrize(("mean_k_dpt", "doubted"), [(43.5, False), (38.0, True)])
def test_a_front_that_does_not_fit_its_back_is_doubted_though_nobody_recorded_surgery(
    mean_k_dpt: float, *, doubted: bool
) -> None:
    # The back of 6.2 mm belongs to a front of about 7.6 mm: 38 D is a treated front, or no front at all.
    answer = plan(with_back(operated(CornealSurgery.NONE, mean_k_dpt, 24.0)))
    assert ("front-back-ratio" in codes(answer.findings, Severity.WARNING)) is doubted


def test_an_ordinary_cornea_without_a_measured_back_is_not_told_what_it_lacks() -> None:
    named = {one.method for one in plan(clean_eye()).refused}
    assert not any(FORMULAS[one].family is Family.ANATOMICAL for one in named)
    refused = {one.method: codes(one.findings) for one in plan(AFTER_MYOPIC).refused}
    assert refused["ray_traced"] == refused["four_surface"] == {"needs-measurement"}


def test_rays_through_an_operated_cornea_say_whose_shape_they_take() -> None:
    assert "usual-corneal-shape" in codes(plan(with_back(AFTER_MYOPIC)).findings)
    assert "usual-corneal-shape" not in codes(plan(with_back(clean_eye())).findings)


@pytest.mark.parametrize(
    ("eye", "conic", "least_dpt", "most_dpt"),
    [
        (AFTER_MYOPIC, 0.5, -0.25, -0.15),
        (AFTER_MYOPIC, 1.0, -0.45, -0.3),
        (operated(CornealSurgery.KERATOCONUS, 47.5, 24.0), -1.0, 0.4, 0.6),
    ],
)
def test_the_shape_moves_the_rays_by_what_the_finding_says(
    eye: Eye, conic: float, least_dpt: float, most_dpt: float
) -> None:
    numbers = eye_numbers(with_back(eye))
    assert numbers is not None
    seen = seen_eye(FORMULAS["ray_traced"], numbers, (0.39,))
    power = ray_traced.lens_power_dpt(seen, 0.0)
    moved = ray_traced.refraction_dpt(seen._replace(anterior_conic=conic), power)
    assert least_dpt < float(np.asarray(moved)) < most_dpt
