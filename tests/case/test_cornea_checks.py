"""Radii, powers and index must tell one story."""

from __future__ import annotations

from typing import Any

import pytest

from case.doubts import codes, severities, the_one
from fakes.examples import ordinary_keratometry
from zonule.case.biometry import CorneaKind, Keratometry, Meridian
from zonule.case.cornea_checks import cornea_findings
from zonule.case.finding import Finding, Severity
from zonule.case.measured import Measured

BLOCKING, WARNING, NOTE = Severity.BLOCKING, Severity.WARNING, Severity.NOTE


def meridian(radius_mm: float | None = None, power_dpt: float | None = None) -> Meridian:
    return Meridian(
        None if radius_mm is None else Measured(radius_mm), None if power_dpt is None else Measured(power_dpt)
    )


def found(**changes: Any) -> list[Finding]:
    return list(cornea_findings(ordinary_keratometry(**changes), "biometry."))


def test_an_ordinary_cornea_raises_nothing() -> None:
    assert found() == []


def test_a_cornea_given_as_radii_needs_no_index() -> None:
    assert found(flat=meridian(7.85), steep=meridian(7.67), keratometric_index=None) == []


def test_a_meridian_without_radius_and_power_blocks() -> None:
    finding = the_one(found(steep=meridian()), "cornea-missing")
    assert (finding.severity, finding.where) == (BLOCKING, "biometry.steep_power_dpt")
    assert "steep" in finding.sentence


def test_a_power_without_index_and_radius_blocks() -> None:
    findings = found(keratometric_index=None)
    assert codes(findings) == {"keratometric-index-missing"}
    assert severities(findings) == {BLOCKING}


@pytest.mark.parametrize("index", [1.3, 1.376, 13375.0, 1.0])
def test_an_index_that_no_keratometer_has_blocks(index: float) -> None:
    findings = found(keratometric_index=index)
    assert codes(findings) == {"impossible-index"}
    assert severities(findings) == {BLOCKING}


def test_a_radius_and_a_power_that_disagree_block() -> None:
    finding = the_one(found(flat=meridian(7.70, 43.12)), "radius-power-conflict")
    assert finding.severity is BLOCKING
    assert "43.83 D" in finding.sentence
    assert "1.3320" in finding.sentence


@pytest.mark.parametrize(
    ("radius_mm", "power_dpt"), [(7.70, 43.83), (7.7, 43.75), (7.70, 43.85), (7.85, 43.0)]
)
def test_a_power_that_is_its_radius_but_for_rounding_is_no_conflict(
    radius_mm: float, power_dpt: float
) -> None:
    assert "radius-power-conflict" not in codes(found(flat=meridian(radius_mm, power_dpt)))


def test_a_radius_and_a_power_that_no_index_joins_block_even_without_an_index() -> None:
    pair = meridian(7.70, 50.0)
    findings = found(flat=pair, steep=meridian(7.6), keratometric_index=None)
    assert the_one(findings, "radius-power-conflict").severity is BLOCKING


def test_a_radius_and_a_power_that_some_index_joins_need_none() -> None:
    assert found(flat=meridian(7.85, 42.3), steep=meridian(7.67), keratometric_index=None) == []


def test_powers_on_another_index_are_turned_into_radii_and_said_so() -> None:
    findings = found(keratometric_index=1.332)
    assert the_one(findings, "index-converted").severity is NOTE
    assert severities(findings) == {NOTE}
    converted = ordinary_keratometry(keratometric_index=1.332).mean_k_dpt
    assert converted == pytest.approx(43.5 * 337.5 / 332.0)


def test_radii_are_primary_when_both_are_given() -> None:
    cornea = ordinary_keratometry(flat=meridian(7.70, 43.83), steep=meridian(7.60, 44.41))
    assert cornea.mean_k_dpt == pytest.approx((337.5 / 7.70 + 337.5 / 7.60) / 2)


def test_flat_and_steep_in_each_others_place_block() -> None:
    finding = the_one(found(flat_power_dpt=44.0, steep_power_dpt=43.0), "flat-steep-swapped")
    assert finding.severity is BLOCKING
    assert "90 degrees" in finding.sentence


def test_flat_and_steep_radii_in_each_others_place_block() -> None:
    assert "flat-steep-swapped" in codes(found(flat=meridian(7.6), steep=meridian(7.8)))


def test_a_round_cornea_is_not_swapped() -> None:
    assert found(flat_power_dpt=43.5, steep_power_dpt=43.5) == []


def test_a_cylinder_above_two_and_a_half_dioptres_deserves_a_second_look() -> None:
    assert codes(found(flat_power_dpt=42.0, steep_power_dpt=44.5)) == set()
    findings = found(flat_power_dpt=42.0, steep_power_dpt=44.6)
    assert the_one(findings, "large-corneal-cylinder").severity is WARNING


def test_a_cylinder_without_its_meridian_is_named() -> None:
    assert the_one(found(steep_meridian_deg=None), "steep-meridian-missing").severity is NOTE
    assert found(flat_power_dpt=43.4, steep_power_dpt=43.6, steep_meridian_deg=None) == []


@pytest.mark.parametrize(("flat_dpt", "steep_dpt"), [(40.0, 41.5), (46.8, 47.6)])
def test_an_unusual_mean_power_deserves_a_second_look(flat_dpt: float, steep_dpt: float) -> None:
    findings = found(flat_power_dpt=flat_dpt, steep_power_dpt=steep_dpt)
    assert the_one(findings, "second-look").severity is WARNING


def test_a_total_cornea_is_a_warning() -> None:
    assert the_one(found(kind=CorneaKind.TOTAL), "total-cornea").severity is WARNING


def test_a_radius_typed_as_a_power_is_named_as_one() -> None:
    finding = the_one(found(flat_power_dpt=7.7), "impossible-value")
    assert finding.severity is BLOCKING
    assert "looks like a corneal radius in mm" in finding.sentence


def test_a_power_typed_as_a_radius_is_named_as_one() -> None:
    finding = the_one(found(flat=meridian(43.1)), "impossible-value")
    assert "looks like a corneal power in D" in finding.sentence


def test_a_value_that_is_neither_is_simply_impossible() -> None:
    findings = found(flat_power_dpt=4.3)
    assert the_one(findings, "impossible-value").severity is BLOCKING
    assert codes(findings) == {"impossible-value"}


def test_a_blocked_meridian_says_nothing_about_the_shape() -> None:
    assert codes(found(flat_power_dpt=431.0, steep_power_dpt=48.0)) == {"impossible-value"}


def test_an_empty_cornea_has_no_powers() -> None:
    empty = Keratometry(flat=Meridian(), steep=Meridian())
    assert empty.powers_dpt is None
    assert empty.mean_k_dpt is None
