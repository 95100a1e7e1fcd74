"""Every doubt about what was asked, before any formula answers."""

from __future__ import annotations

from typing import Any

import pytest

from case.doubts import TODAY, codes, severities, the_one
from fakes.examples import ordinary_eye, ordinary_lens, ordinary_readiness, ordinary_request
from zonule.case.biometry import Keratometry, Meridian
from zonule.case.eye import CornealSurgery, Eye
from zonule.case.finding import Finding, Severity
from zonule.case.patient import Side
from zonule.case.refraction import Refraction
from zonule.case.request_checks import aim_difference_dpt, request_findings

BLOCKING, WARNING, NOTE = Severity.BLOCKING, Severity.WARNING, Severity.NOTE


def ready(**changes: Any) -> Eye:
    return ordinary_eye(readiness=ordinary_readiness(), **changes)


def left(**changes: Any) -> Eye:
    return ordinary_eye(Side.LEFT, **{"axial_length_mm": 23.45, "flat_power_dpt": 43.1} | changes)


def found(**changes: Any) -> list[Finding]:
    asked: dict[str, Any] = {"eye": ready(), "fellow": left(), "lens": ordinary_lens(constants_lane_m=6.0)}
    return request_findings(ordinary_request(**asked | changes), TODAY)


def test_a_clean_pair_of_eyes_raises_notes_only() -> None:
    assert severities(found()) == {NOTE}
    assert codes(found()) == {"anisometropia-left"}


def test_every_part_of_the_request_is_checked() -> None:
    findings = found(
        eye=ordinary_eye(corneal_surgery=CornealSurgery.GRAFT, axial_length_mm=27.0),
        lens=ordinary_lens(a_constant=121.0),
    )
    assert {
        "second-look",
        "lengths-differ",
        "readiness-unanswered",
        "no-published-correction",
        "unusual-constant",
    } <= codes(findings)


def test_a_missing_lens_blocks() -> None:
    assert the_one(found(lens=None), "lens-missing").severity is BLOCKING


def test_a_missing_target_blocks_and_is_never_assumed() -> None:
    assert the_one(found(target_refraction_dpt=None), "target-missing").severity is BLOCKING


@pytest.mark.parametrize("target_dpt", [-6.25, 2.25, 20.0])
def test_an_impossible_target_blocks(target_dpt: float) -> None:
    finding = the_one(found(target_refraction_dpt=target_dpt), "impossible-target")
    assert finding.severity is BLOCKING
    assert "sign" in finding.sentence


def test_a_long_sighted_target_is_a_warning_about_its_sign() -> None:
    assert the_one(found(target_refraction_dpt=0.5), "hyperopic-target").severity is WARNING
    assert codes(found(target_refraction_dpt=-0.5), WARNING) == set()


def test_doubts_about_the_fellow_warn_and_name_it() -> None:
    findings = found(fellow=left(flat_power_dpt=45.0, steep_power_dpt=44.0))
    finding = the_one(findings, "flat-steep-swapped")
    assert finding.severity is WARNING
    assert finding.sentence.startswith("Fellow eye: ")
    assert finding.where == "fellow.biometry.flat_power_dpt"


def test_a_warning_about_the_fellow_is_not_taken_for_one_about_this_eye() -> None:
    finding = the_one(found(fellow=left(lens_thickness_mm=6.0)), "second-look")
    assert finding.sentence.startswith("Fellow eye: ")


def test_a_fellow_that_was_never_measured_is_no_warning() -> None:
    bare = left(axial_length_mm=None, measured_on=None, method=None)
    bare_cornea = Keratometry(flat=Meridian(), steep=Meridian())
    findings = found(fellow=left(axial_length_mm=None, flat=bare_cornea.flat, steep=bare_cornea.steep))
    assert codes(findings, BLOCKING) | codes(findings, WARNING) == set()
    assert codes(found(fellow=bare), WARNING) == set()


def test_the_difference_that_the_aim_would_leave_is_named() -> None:
    findings = found(fellow=left(glasses=Refraction(-1.5)))
    finding = the_one(findings, "anisometropia-left")
    assert finding.severity is NOTE
    assert "1.5 D apart" in finding.sentence


def test_too_large_a_difference_is_a_warning_with_both_eyes_in_it() -> None:
    finding = the_one(found(fellow=left(glasses=Refraction(-4.5))), "anisometropia")
    assert finding.severity is WARNING
    assert "4.5 D apart" in finding.sentence
    assert "this eye at +0.00 D, the fellow eye's glasses at -4.50 D" in finding.sentence


def test_two_dioptres_between_the_eyes_are_still_allowed() -> None:
    assert "anisometropia" not in codes(found(fellow=left(glasses=Refraction(-2.0))))


def test_the_difference_is_this_aim_minus_the_fellow_glasses() -> None:
    request = ordinary_request(fellow=left(glasses=Refraction(-3.0, -1.0, 90.0)), target_refraction_dpt=-1.0)
    assert aim_difference_dpt(request) == pytest.approx(2.5)


def test_without_the_fellow_glasses_the_difference_is_unknown_and_said() -> None:
    findings = found(fellow=left(glasses=None))
    assert the_one(findings, "fellow-glasses-missing").severity is NOTE
    assert aim_difference_dpt(ordinary_request(fellow=left(glasses=None))) is None
