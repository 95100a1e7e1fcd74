"""The back of the cornea: radii, their meridian, and whether they fit the front."""

from __future__ import annotations

from typing import Any

import pytest

from case.doubts import codes, the_one
from fakes.examples import ordinary_eye
from zonule.case.finding import Finding, Severity
from zonule.case.measured import Measured
from zonule.case.posterior_checks import posterior_findings

NOTE, BLOCKING = Severity.NOTE, Severity.BLOCKING


def found(
    flat_mm: float | None = 6.6, steep_mm: float | None = 6.2, meridian_deg: float | None = 90.0
) -> list[Finding]:
    radii: dict[str, Any] = {
        "posterior_flat_radius_mm": None if flat_mm is None else Measured(flat_mm, sd=0.01),
        "posterior_steep_radius_mm": None if steep_mm is None else Measured(steep_mm, sd=0.01),
    }
    eye = ordinary_eye(**radii, posterior_steep_meridian_deg=meridian_deg)
    return list(posterior_findings(eye, "biometry."))


def test_an_upright_back_raises_nothing() -> None:
    assert found() == []
    assert found(None, None, None) == []


def test_a_back_without_its_meridian_cannot_be_used_for_astigmatism() -> None:
    finding = the_one(found(meridian_deg=None), "back-direction-missing")
    assert (finding.severity, finding.where) == (NOTE, "biometry.posterior_steep_meridian_deg")
    # Surface power from 1.376 to 1.336: 40 (1/6.2 - 1/6.6) dioptres.
    assert f"{40.0 * (1 / 6.2 - 1 / 6.6):.2f} D" in finding.sentence
    assert "cannot be used for astigmatism" in finding.sentence


def test_a_round_back_needs_no_meridian() -> None:
    assert found(6.4, 6.4, None) == []


def test_a_meridian_without_radii_is_said_to_be_unused() -> None:
    assert the_one(found(None, None, 90.0), "back-meridian-alone").severity is NOTE


def test_a_back_with_flat_and_steep_in_each_others_place_blocks() -> None:
    assert the_one(found(6.2, 6.6), "flat-steep-swapped").severity is BLOCKING


@pytest.mark.parametrize("meridian_deg", [60.0, 75.0, 90.0, 120.0])
def test_a_back_steep_near_upright_is_usual(meridian_deg: float) -> None:
    assert found(meridian_deg=meridian_deg) == []


@pytest.mark.parametrize(("meridian_deg", "off"), [(59.0, "31"), (180.0, "90"), (0.0, "90"), (121.0, "31")])
def test_a_back_that_is_not_steep_upright_is_noted(meridian_deg: float, off: str) -> None:
    finding = the_one(found(meridian_deg=meridian_deg), "back-not-upright")
    assert (finding.severity, finding.source) == (NOTE, "hu-2020")
    assert f"{off} degrees from upright" in finding.sentence


def test_a_small_cylinder_of_the_back_may_lie_anywhere() -> None:
    assert codes(found(6.6, 6.4, 180.0)) == set()
