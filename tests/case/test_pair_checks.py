"""Two eyes of one person are alike, or something explains why not."""

from __future__ import annotations

from typing import Any

import pytest

from case.doubts import codes, the_one
from fakes.examples import ordinary_eye
from zonule.case.biometry import LensStatus
from zonule.case.eye import Eye
from zonule.case.finding import Severity
from zonule.case.pair_checks import expected_difference_dpt, glasses_difference_dpt, pair_findings
from zonule.case.patient import Side
from zonule.case.refraction import Refraction

BLOCKING, WARNING, NOTE = Severity.BLOCKING, Severity.WARNING, Severity.NOTE
PLANO = Refraction(0.0)


def left(**changes: Any) -> Eye:
    return ordinary_eye(Side.LEFT, **{"axial_length_mm": 23.45, "flat_power_dpt": 43.1} | changes)


def test_two_ordinary_eyes_raise_nothing() -> None:
    assert pair_findings(ordinary_eye(), left()) == []


def test_a_missing_fellow_is_a_note() -> None:
    assert the_one(pair_findings(ordinary_eye(), None), "fellow-eye-missing").severity is NOTE


def test_an_eye_of_23_5_beside_one_of_24_both_plano_is_measured_again() -> None:
    right = ordinary_eye(glasses=PLANO)
    fellow = ordinary_eye(Side.LEFT, axial_length_mm=24.0, glasses=PLANO)
    finding = the_one(pair_findings(right, fellow), "lengths-differ")
    assert (finding.severity, finding.where) == (WARNING, "biometry.axial_length_mm")
    assert "The left eye is 0.50 mm longer" in finding.sentence
    assert "the right eye should be 1.0 D more long-sighted" in finding.sentence
    assert "no different" in finding.sentence
    assert "Measure both lengths again" in finding.sentence


def test_three_tenths_of_a_millimetre_are_allowed() -> None:
    assert "lengths-differ" not in codes(pair_findings(ordinary_eye(), left(axial_length_mm=23.8)))
    assert "lengths-differ" in codes(pair_findings(ordinary_eye(), left(axial_length_mm=23.81, glasses=None)))


def test_glasses_that_go_with_the_lengths_explain_them() -> None:
    right = ordinary_eye(glasses=PLANO)
    findings = pair_findings(right, left(axial_length_mm=24.0, glasses=Refraction(-1.25)))
    assert the_one(findings, "lengths-differ-explained").severity is NOTE


def test_glasses_that_go_the_other_way_explain_nothing() -> None:
    right = ordinary_eye(glasses=PLANO)
    fellow = ordinary_eye(Side.LEFT, axial_length_mm=24.0, glasses=Refraction(1.0))
    finding = the_one(pair_findings(right, fellow), "lengths-differ")
    assert "should be 1.0 D more long-sighted" in finding.sentence
    assert "by its glasses it is 1.0 D more short-sighted" in finding.sentence


def test_three_dioptres_are_not_explained_by_an_eye_3_mm_longer() -> None:
    right = ordinary_eye(glasses=PLANO)
    expected = expected_difference_dpt(right, left(axial_length_mm=26.5))
    assert expected is not None
    half = left(axial_length_mm=26.5, glasses=Refraction(-expected / 2))
    assert "lengths-differ" in codes(pair_findings(right, half))


def test_an_artificial_lens_in_the_fellow_takes_the_glasses_as_explanation_away() -> None:
    right = ordinary_eye(glasses=PLANO)
    fellow = left(axial_length_mm=24.0, glasses=Refraction(-1.25), lens_status=LensStatus.PSEUDOPHAKIC)
    finding = the_one(pair_findings(right, fellow), "lengths-differ")
    assert "before any operation" in finding.sentence


def test_the_expected_difference_is_more_plus_for_the_shorter_eye() -> None:
    difference = expected_difference_dpt(ordinary_eye(axial_length_mm=23.0), left(axial_length_mm=24.0))
    assert difference is not None
    assert 1.5 < difference < 3.0


def test_the_expected_difference_turns_its_sign_with_the_eyes() -> None:
    shorter, longer = ordinary_eye(axial_length_mm=23.0), left(axial_length_mm=24.0)
    one, other = expected_difference_dpt(shorter, longer), expected_difference_dpt(longer, shorter)
    assert one is not None
    assert other is not None
    assert one == pytest.approx(-other, rel=0.15)


def test_nothing_is_expected_of_eyes_that_were_not_measured() -> None:
    assert expected_difference_dpt(ordinary_eye(axial_length_mm=None), left()) is None


def test_the_glasses_differ_by_their_spherical_equivalents() -> None:
    right = ordinary_eye(glasses=Refraction(1.0, -1.0, 90.0))
    assert glasses_difference_dpt(right, left(glasses=Refraction(-1.0))) == pytest.approx(1.5)
    assert glasses_difference_dpt(right, left(glasses=None)) is None


@pytest.mark.parametrize(("flat_dpt", "steep_dpt", "differ"), [(43.9, 44.9, False), (44.0, 44.9, True)])
def test_corneas_may_differ_by_nine_tenths_of_a_dioptre(
    flat_dpt: float, steep_dpt: float, differ: bool
) -> None:
    findings = pair_findings(ordinary_eye(), left(flat_power_dpt=flat_dpt, steep_power_dpt=steep_dpt))
    assert ("corneas-differ" in codes(findings)) is differ
    assert codes(findings, WARNING) == codes(findings)


def test_one_eye_copied_into_the_other_is_noticed() -> None:
    finding = the_one(pair_findings(ordinary_eye(), ordinary_eye(Side.LEFT)), "eyes-identical")
    assert finding.severity is WARNING
    other_axis = ordinary_eye(Side.LEFT, steep_meridian_deg=85.0)
    assert "eyes-identical" not in codes(pair_findings(ordinary_eye(), other_axis))


def test_the_same_side_twice_blocks() -> None:
    other = ordinary_eye(Side.RIGHT, axial_length_mm=23.4)
    assert the_one(pair_findings(ordinary_eye(), other), "same-eye-twice").severity is BLOCKING
