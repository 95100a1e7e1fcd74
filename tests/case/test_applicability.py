"""Which eyes the formulas here are for."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from case.doubts import codes, the_one
from fakes.examples import ordinary_eye
from zonule.case.applicability import (
    keratoconus_asked,
    length_cautions,
    odds_withheld,
    refusals,
)
from zonule.case.biometry import LensStatus, Vitreous
from zonule.case.eye import CornealSurgery, Eye
from zonule.case.finding import Severity
from zonule.case.measured import Measured
from zonule.case.operated_cornea import untouched_only
from zonule.case.refraction import Refraction

BLOCKING, WARNING = Severity.BLOCKING, Severity.WARNING
OPERATED = (CornealSurgery.MYOPIC_LASER, CornealSurgery.HYPEROPIC_LASER, CornealSurgery.RADIAL_KERATOTOMY)
TOUCHED = sorted(set(CornealSurgery) - {CornealSurgery.NONE, CornealSurgery.UNKNOWN})


def test_an_ordinary_eye_is_refused_nothing() -> None:
    assert refusals(ordinary_eye()) == []


@pytest.mark.parametrize("surgery", TOUCHED)
def test_a_cornea_that_was_touched_gets_no_formula_for_untouched_ones(surgery: CornealSurgery) -> None:
    finding = untouched_only(ordinary_eye(corneal_surgery=surgery))
    assert finding is not None
    assert finding.code == "cornea-not-untouched"


@pytest.mark.parametrize("surgery", [CornealSurgery.NONE, CornealSurgery.UNKNOWN])
def test_a_cornea_not_known_to_be_touched_gets_them(surgery: CornealSurgery) -> None:
    assert untouched_only(ordinary_eye(corneal_surgery=surgery)) is None


@pytest.mark.parametrize("surgery", OPERATED)
def test_an_operated_cornea_warns_of_the_wider_spread(surgery: CornealSurgery) -> None:
    assert the_one(refusals(ordinary_eye(corneal_surgery=surgery)), "cornea-operated").severity is WARNING
    assert not odds_withheld(ordinary_eye(corneal_surgery=surgery))


@pytest.mark.parametrize("surgery", [CornealSurgery.KERATOCONUS, CornealSurgery.GRAFT])
def test_a_cornea_without_a_published_correction_gets_no_number_from_its_front_alone(
    surgery: CornealSurgery,
) -> None:
    finding = the_one(refusals(ordinary_eye(corneal_surgery=surgery)), "no-published-correction")
    assert finding.severity is BLOCKING


@pytest.mark.parametrize("surgery", [CornealSurgery.KERATOCONUS, CornealSurgery.GRAFT])
def test_a_measured_back_surface_lets_its_optics_be_shown_without_odds(surgery: CornealSurgery) -> None:
    eye = with_back(6.5, 6.3, corneal_surgery=surgery)
    assert the_one(refusals(eye), "no-published-correction").severity is WARNING
    assert odds_withheld(eye)


@pytest.mark.parametrize(
    ("surgery", "treated_dpt", "is_blocked"),
    [
        (CornealSurgery.MYOPIC_LASER, -5.0, False),
        (CornealSurgery.MYOPIC_LASER, 5.0, True),
        (CornealSurgery.HYPEROPIC_LASER, 3.0, False),
        (CornealSurgery.HYPEROPIC_LASER, -3.0, True),
    ],
)
def test_a_treatment_of_the_wrong_sign_blocks(
    surgery: CornealSurgery, treated_dpt: float, *, is_blocked: bool
) -> None:
    eye = ordinary_eye()
    history = replace(eye.history, corneal_surgery=surgery, treated_at_cornea_dpt=treated_dpt)
    assert ("treatment-sign" in codes(refusals(replace(eye, history=history)), BLOCKING)) is is_blocked


@pytest.mark.parametrize(
    ("surgery", "before_minus_now_dpt", "is_blocked"),
    [
        (CornealSurgery.MYOPIC_LASER, 5.0, False),
        (CornealSurgery.MYOPIC_LASER, -0.4, False),
        (CornealSurgery.MYOPIC_LASER, -2.0, True),
        (CornealSurgery.RADIAL_KERATOTOMY, -2.0, True),
        (CornealSurgery.HYPEROPIC_LASER, -3.0, False),
        (CornealSurgery.HYPEROPIC_LASER, 0.4, False),
        (CornealSurgery.HYPEROPIC_LASER, 2.0, True),
    ],
)
def test_a_cornea_before_surgery_that_surgery_cannot_have_turned_into_this_one_blocks(
    surgery: CornealSurgery, before_minus_now_dpt: float, *, is_blocked: bool
) -> None:
    eye = ordinary_eye(corneal_surgery=surgery)
    now = eye.biometry.keratometry.mean_k_dpt
    assert now is not None
    before = now + before_minus_now_dpt
    history = replace(eye.history, flat_power_before_dpt=before - 0.5, steep_power_before_dpt=before + 0.5)
    found = codes(refusals(replace(eye, history=history)), BLOCKING)
    assert ("before-wrong-way" in found) is is_blocked


def test_one_meridian_before_surgery_is_not_half_a_cornea() -> None:
    eye = ordinary_eye(corneal_surgery=CornealSurgery.MYOPIC_LASER)
    history = replace(eye.history, flat_power_before_dpt=43.0)
    assert "before-half-known" in codes(refusals(replace(eye, history=history)), WARNING)


def with_back(flat_mm: float, steep_mm: float, **changes: Any) -> Eye:
    eye = ordinary_eye(**changes)
    biometry = replace(
        eye.biometry,
        posterior_flat_radius_mm=Measured(flat_mm),
        posterior_steep_radius_mm=Measured(steep_mm),
    )
    return replace(eye, biometry=biometry)


def flat_and_long(axial_length_mm: float, k_dpt: float, surgery: CornealSurgery) -> set[str]:
    eye = ordinary_eye(
        axial_length_mm=axial_length_mm, flat_power_dpt=k_dpt, steep_power_dpt=k_dpt, corneal_surgery=surgery
    )
    return codes(refusals(eye), BLOCKING)


def test_a_flat_cornea_on_a_long_eye_of_unknown_history_gets_no_formula() -> None:
    assert flat_and_long(26.0, 38.0, CornealSurgery.UNKNOWN) == {"possible-laser"}


@pytest.mark.parametrize(("length_mm", "k_dpt"), [(25.0, 38.0), (26.0, 40.0)])
def test_a_long_eye_or_a_flat_cornea_alone_is_asked_about_only(length_mm: float, k_dpt: float) -> None:
    assert flat_and_long(length_mm, k_dpt, CornealSurgery.UNKNOWN) == set()


def test_a_flat_cornea_that_was_asked_about_may_be_planned() -> None:
    assert flat_and_long(26.0, 38.0, CornealSurgery.NONE) == set()


@pytest.mark.parametrize("vitreous", [Vitreous.SILICONE_OIL, Vitreous.GAS])
def test_oil_and_gas_block(vitreous: Vitreous) -> None:
    assert the_one(refusals(ordinary_eye(vitreous=vitreous)), "vitreous-replaced").severity is BLOCKING


def test_an_eye_without_vitreous_is_a_warning() -> None:
    found = refusals(ordinary_eye(vitreous=Vitreous.VITRECTOMISED))
    assert the_one(found, "vitrectomised").severity is WARNING


def test_an_eye_with_an_artificial_lens_needs_another_calculation() -> None:
    findings = refusals(ordinary_eye(lens_status=LensStatus.PSEUDOPHAKIC))
    assert the_one(findings, "already-pseudophakic").severity is BLOCKING


def test_an_eye_without_a_lens_is_a_warning() -> None:
    assert the_one(refusals(ordinary_eye(lens_status=LensStatus.APHAKIC)), "aphakic").severity is WARNING


@pytest.mark.parametrize(("k_dpt", "asked"), [(47.9, False), (48.0, True), (49.0, True)])
def test_keratoconus_is_asked_from_48_dioptres(k_dpt: float, asked: bool) -> None:
    finding = keratoconus_asked(ordinary_eye(flat_power_dpt=k_dpt, steep_power_dpt=k_dpt))
    assert (finding is not None) is asked
    if finding is not None:
        assert (finding.code, finding.severity) == ("keratoconus-asked", WARNING)
        assert "keratoconus?" in finding.sentence


@pytest.mark.parametrize("surgery", [CornealSurgery.KERATOCONUS, CornealSurgery.GRAFT])
def test_keratoconus_is_not_asked_where_the_answer_is_on_record(surgery: CornealSurgery) -> None:
    eye = ordinary_eye(flat_power_dpt=50.0, steep_power_dpt=50.0, corneal_surgery=surgery)
    assert keratoconus_asked(eye) is None
    assert odds_withheld(eye)


def test_keratoconus_is_not_asked_of_a_cornea_nobody_measured() -> None:
    assert keratoconus_asked(ordinary_eye(keratometric_index=None)) is None


@pytest.mark.parametrize(
    ("length_mm", "expected"),
    [(21.9, {"short-eye"}), (22.0, set()), (25.0, set()), (25.1, {"long-eye"}), (None, set())],
)
def test_long_and_short_eyes_are_cautioned(length_mm: float | None, expected: set[str]) -> None:
    assert codes(length_cautions(ordinary_eye(axial_length_mm=length_mm)), WARNING) == expected


@pytest.mark.parametrize(("sphere_dpt", "is_told"), [(-0.5, False), (-3.0, True)])
def test_short_sight_of_the_cataract_is_not_taken_for_what_the_laser_left(
    sphere_dpt: float, *, is_told: bool
) -> None:
    eye = ordinary_eye(
        axial_length_mm=26.0,
        flat_power_dpt=38.0,
        steep_power_dpt=38.0,
        corneal_surgery=CornealSurgery.MYOPIC_LASER,
        glasses=Refraction(sphere_dpt),
    )
    assert ("cataract-short-sight" in codes(refusals(eye))) is is_told


@pytest.mark.parametrize(("treated_dpt", "is_told"), [(-5.0, False), (-1.0, True)])
def test_a_cornea_that_changed_by_more_than_was_treated_is_told(treated_dpt: float, *, is_told: bool) -> None:
    eye = ordinary_eye(
        axial_length_mm=26.0,
        flat_power_dpt=38.0,
        steep_power_dpt=38.0,
        corneal_surgery=CornealSurgery.MYOPIC_LASER,
    )
    history = replace(
        eye.history,
        flat_power_before_dpt=43.0,
        steep_power_before_dpt=43.0,
        treated_at_cornea_dpt=treated_dpt,
    )
    found = codes(refusals(replace(eye, history=history)), WARNING)
    assert ("change-and-treatment-apart" in found) is is_told


def test_no_odds_are_given_for_an_eye_without_a_lens() -> None:
    assert odds_withheld(ordinary_eye(lens_status=LensStatus.APHAKIC))
