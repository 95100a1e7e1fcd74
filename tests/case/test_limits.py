"""Limits of single numbers."""

from __future__ import annotations

import math

import pytest

from fakes.examples import ordinary_intent
from zonule.case.finding import Severity
from zonule.case.limits import LIMITS, limit_finding, refuse_impossible
from zonule.errors import OutOfRangeError

BLOCKING, WARNING = Severity.BLOCKING, Severity.WARNING


@pytest.mark.parametrize("quantity", sorted(LIMITS))
def test_the_ends_of_the_usual_range_are_usual(quantity: str) -> None:
    for value in LIMITS[quantity].usual:
        assert limit_finding(quantity, value, "here") is None


@pytest.mark.parametrize("quantity", sorted(LIMITS))
def test_what_cannot_be_blocks_just_outside_the_possible_range(quantity: str) -> None:
    low, high = LIMITS[quantity].possible
    for value in (math.nextafter(low, -math.inf), math.nextafter(high, math.inf)):
        finding = limit_finding(quantity, value, "here")
        assert finding is not None
        assert (finding.severity, finding.code, finding.where) == (BLOCKING, "impossible-value", "here")


@pytest.mark.parametrize("quantity", sorted(LIMITS))
def test_a_number_that_is_none_blocks(quantity: str) -> None:
    finding = limit_finding(quantity, math.nan, "here")
    assert finding is not None
    assert finding.severity is BLOCKING


@pytest.mark.parametrize(
    ("quantity", "value"),
    [
        ("axial_length_mm", 21.19),
        ("axial_length_mm", 26.61),
        ("mean_k_dpt", 40.99),
        ("mean_k_dpt", 47.01),
        ("anterior_chamber_depth_mm", 2.1),
        ("anterior_chamber_depth_mm", 4.3),
        ("lens_thickness_mm", 3.4),
        ("lens_thickness_mm", 5.9),
        ("corneal_thickness_um", 449.0),
        ("corneal_thickness_um", 621.0),
        ("white_to_white_mm", 10.4),
        ("white_to_white_mm", 13.1),
    ],
)
def test_an_unusual_value_deserves_a_second_look(quantity: str, value: float) -> None:
    finding = limit_finding(quantity, value, "here")
    assert finding is not None
    assert (finding.severity, finding.code) == (WARNING, "second-look")
    assert "again" in finding.sentence


@pytest.mark.parametrize(
    ("quantity", "value", "slip", "meant"),
    [
        ("axial_length_mm", 2.35, "centimetres", "23.5 mm"),
        ("axial_length_mm", 235.0, "decimal point", "23.5 mm"),
        ("axial_length_mm", 0.0235, "metres", "23.5 mm"),
        ("anterior_chamber_depth_mm", 3100.0, "micrometres", "3.1 mm"),
        ("lens_thickness_mm", 4500.0, "micrometres", "4.5 mm"),
        ("corneal_thickness_um", 0.54, "millimetres", "540"),
        ("white_to_white_mm", 119.0, "decimal point", "11.9 mm"),
    ],
)
def test_a_slip_of_unit_is_named_with_what_was_meant(
    quantity: str, value: float, slip: str, meant: str
) -> None:
    finding = limit_finding(quantity, value, "here")
    assert finding is not None
    assert finding.severity is BLOCKING
    assert slip in finding.sentence
    assert meant in finding.sentence


@pytest.mark.parametrize("at_deg", [-1.0, 361.0])
def test_an_incision_lies_on_the_circle_that_the_drawing_counts(at_deg: float) -> None:
    refuse_impossible(ordinary_intent(incision_meridian_deg=0.0), "incision_meridian_deg")
    refuse_impossible(ordinary_intent(incision_meridian_deg=None), "incision_meridian_deg")
    with pytest.raises(OutOfRangeError, match="incision"):
        refuse_impossible(ordinary_intent(incision_meridian_deg=at_deg), "incision_meridian_deg")
