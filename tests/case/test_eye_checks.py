"""Can these measurements be trusted?"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from case.doubts import TODAY, codes, severities, the_one
from fakes.examples import MEASURED_ON, ordinary_eye, ordinary_keratometry, ordinary_readiness
from zonule.case.biometry import ChamberFrom, Meridian, Method, OtherCornea
from zonule.case.eye import CornealSurgery
from zonule.case.eye_checks import eye_findings
from zonule.case.finding import Finding, Severity
from zonule.case.measured import Measured

BLOCKING, WARNING, NOTE = Severity.BLOCKING, Severity.WARNING, Severity.NOTE


def found(**changes: Any) -> list[Finding]:
    return eye_findings(ordinary_eye(**changes), TODAY)


def test_an_ordinary_eye_raises_nothing() -> None:
    assert found(readiness=ordinary_readiness()) == []


def test_an_eye_without_length_is_blocked() -> None:
    assert the_one(found(axial_length_mm=None), "axial-length-missing").severity is BLOCKING


def test_a_missing_chamber_depth_is_noted_and_costs_haigis() -> None:
    finding = the_one(found(anterior_chamber_depth_mm=None, chamber_from=None), "chamber-depth-missing")
    assert finding.severity is NOTE
    assert "Haigis" in finding.sentence


def test_a_chamber_depth_that_starts_nobody_knows_where_is_not_used() -> None:
    eye = ordinary_eye(chamber_from=None)
    assert the_one(eye_findings(eye, TODAY), "chamber-start-unknown").severity is WARNING
    assert eye.biometry.chamber_from_epithelium_mm is None


def test_an_aqueous_depth_is_converted_with_the_corneal_thickness() -> None:
    eye = ordinary_eye(chamber_from=ChamberFrom.ENDOTHELIUM, anterior_chamber_depth_mm=2.56)
    finding = the_one(eye_findings(eye, TODAY), "aqueous-depth-converted")
    assert (finding.severity, "3.10 mm" in finding.sentence) == (NOTE, True)
    assert eye.biometry.chamber_from_epithelium_mm == pytest.approx(3.10)


def test_an_aqueous_depth_without_corneal_thickness_is_not_used() -> None:
    eye = ordinary_eye(chamber_from=ChamberFrom.ENDOTHELIUM, corneal_thickness_um=None)
    assert the_one(eye_findings(eye, TODAY), "corneal-thickness-missing").severity is WARNING
    assert eye.biometry.chamber_from_epithelium_mm is None


@pytest.mark.parametrize(
    ("quantity", "unusual", "impossible"),
    [
        ("axial_length_mm", 27.0, 39.0),
        ("anterior_chamber_depth_mm", 2.0, 6.0),
        ("lens_thickness_mm", 3.0, 8.0),
        ("corneal_thickness_um", 430.0, 0.54),
        ("white_to_white_mm", 10.0, 6.0),
    ],
)
def test_each_measured_quantity_has_its_limits(quantity: str, unusual: float, impossible: float) -> None:
    warned = the_one(found(**{quantity: unusual}), "second-look")
    assert (warned.severity, warned.where) == (WARNING, f"biometry.{quantity}")
    blocked = the_one(found(**{quantity: impossible}), "impossible-value")
    assert (blocked.severity, blocked.where) == (BLOCKING, f"biometry.{quantity}")


def test_the_fellow_eye_is_named_in_every_place() -> None:
    findings = eye_findings(ordinary_eye(axial_length_mm=None), TODAY, "fellow.")
    assert {one.where for one in findings} == {"fellow.biometry.axial_length_mm"}


@pytest.mark.parametrize(
    ("readings", "scatters"), [((23.47, 23.50, 23.53), False), ((23.44, 23.50, 23.56), True)]
)
def test_repeated_lengths_that_scatter_are_measured_again(
    readings: tuple[float, ...], scatters: bool
) -> None:
    assert ("repeats-scatter" in codes(found(repeats={"axial_length_mm": readings}))) is scatters


@pytest.mark.parametrize(("readings", "scatters"), [((42.75, 43.25), False), ((42.7, 43.3), True)])
def test_repeated_powers_that_range_widely_are_measured_again(
    readings: tuple[float, ...], scatters: bool
) -> None:
    assert ("repeats-scatter" in codes(found(repeats={"flat_power_dpt": readings}))) is scatters


@pytest.mark.parametrize(("readings", "scatters"), [((7.80, 7.85), False), ((7.75, 7.90), True)])
def test_repeated_radii_are_held_to_the_same_half_dioptre(
    readings: tuple[float, ...], scatters: bool
) -> None:
    cornea = ordinary_keratometry(
        flat=Meridian(radius_mm=Measured(7.82)), steep=Meridian(radius_mm=Measured(7.67))
    )
    findings = found(repeats={"flat_radius_mm": readings}, flat=cornea.flat, steep=cornea.steep)
    assert ("repeats-scatter" in codes(findings)) is scatters


def test_a_single_reading_has_no_scatter() -> None:
    assert found(repeats={"axial_length_mm": (23.5,)}) == []


@pytest.mark.parametrize(
    ("quantity", "readings"),
    [
        ("axial_length_mm", (23.46, 23.47)),
        ("flat_power_dpt", (43.2, 43.3)),
        ("lens_thickness_mm", (4.6, 4.7)),
    ],
)
def test_a_value_outside_its_own_repeats_is_a_contradiction(
    quantity: str, readings: tuple[float, ...]
) -> None:
    finding = the_one(found(repeats={quantity: readings}), "repeats-disagree")
    assert (finding.severity, finding.where) == (WARNING, f"biometry.repeats.{quantity}")


@pytest.mark.parametrize(
    ("quantity", "readings", "severity"),
    [
        ("axial_length_mm", (23.55, 23.56), WARNING),
        ("axial_length_mm", (23.56, 23.57), BLOCKING),
        ("axial_length_mm", (23.32, 23.44), BLOCKING),
        ("flat_power_dpt", (43.25, 43.3), WARNING),
        ("flat_power_dpt", (43.3, 43.4), BLOCKING),
        ("flat_power_dpt", (42.5, 42.7), BLOCKING),
        ("lens_thickness_mm", (4.9, 5.0), WARNING),
    ],
)
def test_a_value_far_outside_its_own_repeats_stops_the_plan(
    quantity: str, readings: tuple[float, ...], severity: Severity
) -> None:
    assert the_one(found(repeats={quantity: readings}), "repeats-disagree").severity is severity


def test_biometry_without_a_date_is_a_warning() -> None:
    assert the_one(found(measured_on=None), "date-missing").severity is WARNING


def test_a_date_in_the_future_blocks() -> None:
    finding = the_one(found(measured_on=TODAY + timedelta(days=1)), "date-in-future")
    assert finding.severity is BLOCKING
    assert found(measured_on=TODAY) == []


def test_biometry_grows_old_after_24_months() -> None:
    assert found(measured_on=TODAY - timedelta(days=730)) == []
    finding = the_one(found(measured_on=TODAY - timedelta(days=731)), "old-biometry")
    assert finding.severity is WARNING


def test_an_old_cornea_is_not_hidden_by_a_new_length() -> None:
    old = Measured(43.0, on=date(2023, 1, 9), device="Biometer A")
    finding = the_one(found(flat=Meridian(power_dpt=old)), "old-biometry")
    assert "part of the biometry is from 09 January 2023" in finding.sentence


def test_a_length_measured_nobody_knows_how_is_a_warning() -> None:
    assert the_one(found(method=None), "method-missing").severity is WARNING


def test_contact_ultrasound_is_a_warning_and_immersion_a_note() -> None:
    assert the_one(found(method=Method.CONTACT), "contact-ultrasound").severity is WARNING
    assert the_one(found(method=Method.IMMERSION), "immersion-ultrasound").severity is NOTE


def test_two_devices_in_one_eye_are_a_warning() -> None:
    flat = Meridian(power_dpt=Measured(43.0, device="Keratometer B"))
    findings = found(axial_length_mm=Measured(23.5, device="Biometer A"), flat=flat)
    assert the_one(findings, "mixed-devices").severity is WARNING
    assert codes(found(axial_length_mm=Measured(23.5, device="Keratometer B"), flat=flat)) == set()


def test_surgery_that_nobody_asked_about_is_asked_and_never_taken_as_none() -> None:
    finding = the_one(found(corneal_surgery=CornealSurgery.UNKNOWN), "corneal-surgery-unknown")
    assert (finding.severity, finding.where) == (WARNING, "history.corneal_surgery")


def test_missing_glasses_are_a_note() -> None:
    assert the_one(found(glasses=None), "glasses-missing").severity is NOTE


def test_what_is_taken_for_granted_is_said() -> None:
    findings = found(lens_status=None, vitreous=None)
    assert codes(findings) == {"lens-status-missing", "vitreous-missing"}
    assert severities(findings) == {NOTE}


def test_the_day_of_the_examples_is_not_in_the_future() -> None:
    assert MEASURED_ON < TODAY


@pytest.mark.parametrize("lacking", ["posterior_flat_radius_mm", "posterior_steep_radius_mm"])
def test_a_back_surface_of_one_meridian_is_not_used_and_said_so(lacking: str) -> None:
    radii = {"posterior_flat_radius_mm": Measured(6.5), "posterior_steep_radius_mm": Measured(6.3)}
    assert "back-meridian-missing" not in codes(found(**radii))
    finding = the_one(found(**radii | {lacking: None}), "back-meridian-missing")
    assert finding.severity is WARNING


def test_the_scatter_of_a_back_surface_measured_once_is_said_to_be_unknown() -> None:
    once = {"posterior_flat_radius_mm": Measured(6.5), "posterior_steep_radius_mm": Measured(6.3)}
    assert the_one(found(**once), "back-scatter-unknown").severity is NOTE
    repeated = {name: Measured(one.value, sd=0.03, n=3) for name, one in once.items()}
    assert "back-scatter-unknown" not in codes(found(**repeated))
    assert "back-scatter-unknown" not in codes(found())


def axis_repeats(*readings: float, steep_power_dpt: float = 45.0, **changes: Any) -> list[Finding]:
    eye = ordinary_eye(steep_power_dpt=steep_power_dpt, repeats={"steep_meridian_deg": readings}, **changes)
    return eye_findings(eye, TODAY)


def test_steep_meridians_that_scatter_are_a_warning_and_stop_nothing() -> None:
    finding = the_one(axis_repeats(90.0, 95.0, 101.0), "repeats-scatter")
    assert (finding.severity, finding.where) == (WARNING, "biometry.repeats.steep_meridian_deg")
    assert "11 degrees" in finding.sentence
    assert "repeats-scatter" not in codes(axis_repeats(90.0, 95.0, 100.0))


def test_steep_meridians_scatter_about_180_as_about_any_other() -> None:
    assert codes(axis_repeats(176.0, 180.0, 4.0, steep_meridian_deg=180.0)) == set()
    assert "repeats-scatter" in codes(axis_repeats(174.0, 180.0, 5.0, steep_meridian_deg=180.0))


def test_meridians_of_a_small_cylinder_may_scatter() -> None:
    assert codes(axis_repeats(60.0, 95.0, 130.0, steep_power_dpt=44.0)) == set()


def test_a_steep_meridian_outside_its_own_repeats_is_a_contradiction() -> None:
    finding = the_one(axis_repeats(5.0, 6.0, 7.0), "repeats-disagree")
    assert (finding.severity, finding.where) == (WARNING, "biometry.repeats.steep_meridian_deg")
    assert codes(axis_repeats(96.0, 97.0)) == set()


@pytest.mark.parametrize("number", [0.0, -7.8, 1e-9])
def test_a_radius_or_a_power_that_no_surface_has_is_named_and_breaks_nothing(number: float) -> None:
    radius, power = Meridian(radius_mm=Measured(number)), Meridian(power_dpt=Measured(number))
    whole = ordinary_keratometry()
    both = Meridian(radius_mm=Measured(number), power_dpt=Measured(43.0))
    for wrong in (replace(whole, flat=radius), replace(whole, steep=power), replace(whole, flat=both)):
        told = found(keratometry=wrong, other_corneas=(OtherCornea(whole, "B", MEASURED_ON),))
        assert the_one(told, "impossible-value").severity is BLOCKING
        told = found(other_corneas=(OtherCornea(wrong, "B", MEASURED_ON),))
        assert the_one(told, "impossible-value").severity is WARNING
    told = found(posterior_flat_radius_mm=6.6, posterior_steep_radius_mm=number)
    assert "impossible-value" in codes(told)


@pytest.mark.parametrize("index", [1.0, 0.0])
def test_an_index_that_makes_no_power_is_named_and_breaks_nothing(index: float) -> None:
    assert "impossible-index" in codes(found(keratometric_index=index))
