"""Two devices' readings of one cornea, compared as vectors."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from case.doubts import TODAY, codes, severities, the_one
from fakes.examples import MEASURED_ON, ordinary_biometry, ordinary_keratometry
from zonule.case.biometry import CorneaKind, OtherCornea
from zonule.case.cornea_agreement import CYLINDERS_APART_DPT, agreement_findings
from zonule.case.finding import Finding, Severity
from zonule.science.astigmatism.toric_odds import KERATOMETRY_SDS_DPT

NOTE, WARNING = Severity.NOTE, Severity.WARNING
SIZES = st.floats(0.0, 4.0)
MERIDIANS = st.floats(1.0, 180.0)


def other(
    flat_dpt: float = 43.0, cylinder_dpt: float = 1.0, meridian_deg: float | None = 95.0, **changes: Any
) -> OtherCornea:
    on = changes.pop("measured_on", MEASURED_ON)
    device = changes.pop("device", "Keratometer B")
    cornea = ordinary_keratometry(
        flat_dpt, flat_dpt + cylinder_dpt, steep_meridian_deg=meridian_deg, **changes
    )
    return OtherCornea(cornea, device, on)


def found(second: OtherCornea, cylinder_dpt: float = 1.0, meridian_deg: float | None = 95.0) -> list[Finding]:
    main = ordinary_keratometry(43.0, 43.0 + cylinder_dpt, steep_meridian_deg=meridian_deg)
    biometry = ordinary_biometry(keratometry=main, other_corneas=(second,))
    return list(agreement_findings(biometry, "biometry.", TODAY))


def test_a_cornea_read_once_has_nothing_to_agree_with() -> None:
    assert list(agreement_findings(ordinary_biometry(), "biometry.", TODAY)) == []


def test_agreement_is_told_in_size_meridian_and_as_vectors() -> None:
    (finding,) = found(other(43.1, 2.1, 97.0), cylinder_dpt=2.0, meridian_deg=95.0)
    assert (finding.severity, finding.code, finding.where) == (
        NOTE,
        "devices-agree",
        "biometry.other_corneas.0",
    )
    assert "Keratometer B agrees with Biometer A" in finding.sentence
    assert "mean power within 0.15 D" in finding.sentence
    assert "cylinder within 0.10 D" in finding.sentence
    assert "within 2 degrees" in finding.sentence
    # 2.1 at 97 less 2.0 at 95 by the law of cosines in double-angle space: 0.1742 D.
    assert "0.17 D as vectors" in finding.sentence


def test_equal_sizes_on_crossed_meridians_do_not_agree() -> None:
    finding = the_one(found(other(cylinder_dpt=1.0, meridian_deg=5.0)), "devices-differ-in-cylinder")
    assert finding.severity is WARNING
    assert "2.00 D as vectors" in finding.sentence
    assert "1.00 D steep at 95 degrees" in finding.sentence


def test_meridians_more_than_ten_degrees_apart_are_a_warning_above_one_dioptre() -> None:
    finding = the_one(
        found(other(cylinder_dpt=1.5, meridian_deg=106.0), 1.5, 95.0), "devices-differ-in-cylinder"
    )
    assert "11 degrees" in finding.sentence
    assert "more than 10 degrees" in finding.sentence
    assert codes(found(other(cylinder_dpt=1.5, meridian_deg=105.0), 1.5, 95.0)) == {"devices-agree"}


def test_meridians_of_a_small_cylinder_are_not_compared_and_said_not_to_be() -> None:
    finding = the_one(found(other(cylinder_dpt=0.5, meridian_deg=130.0), 0.5, 95.0), "devices-agree")
    assert "meridians not compared" in finding.sentence


def test_meridians_on_both_sides_of_180_lie_close_together() -> None:
    assert codes(found(other(cylinder_dpt=1.5, meridian_deg=3.0), 1.5, 178.0)) == {"devices-agree"}


def test_a_mean_power_further_apart_than_two_devices_usually_are_is_a_warning() -> None:
    assert codes(found(other(43.6))) == {"devices-agree"}
    finding = the_one(found(other(43.61)), "devices-differ-in-power")
    assert (finding.severity, finding.source) == (WARNING, "two-devices-2023")
    assert "0.61 D steeper" in finding.sentence
    assert "flatter" in the_one(found(other(42.0)), "devices-differ-in-power").sentence


def test_front_and_total_are_not_compared_as_like_with_like() -> None:
    (finding,) = found(other(45.0, 3.0, 5.0, kind=CorneaKind.TOTAL))
    assert (finding.severity, finding.code) == (NOTE, "devices-read-different-surfaces")
    assert "not compared" in finding.sentence


def test_without_a_meridian_only_sizes_are_compared() -> None:
    (finding,) = found(other(meridian_deg=None))
    assert "cannot be compared" in finding.sentence
    apart = the_one(found(other(43.0, 1.8, None)), "devices-differ-in-cylinder")
    assert "at an unknown meridian" in apart.sentence
    assert "at least 0.80 D apart" in apart.sentence


def test_two_powers_on_two_indices_are_compared_on_one_scale() -> None:
    scale = 332.0 / 337.5
    same = other(43.0 * scale, 1.0 * scale, keratometric_index=1.332)
    (finding,) = found(same)
    assert "mean power within 0.00 D, cylinder within 0.00 D" in finding.sentence


def test_a_reading_that_cannot_be_warns_and_does_not_stop_the_plan() -> None:
    findings = found(other(4.3))
    assert codes(findings) == {"impossible-value"}
    assert severities(findings) == {WARNING}
    assert {one.where for one in findings} == {
        "biometry.other_corneas.0.flat_power_dpt",
        "biometry.other_corneas.0.steep_power_dpt",
    }
    assert all("Keratometer B: " in one.sentence for one in findings)


def test_a_reading_of_tomorrow_is_not_compared() -> None:
    (finding,) = found(other(measured_on=TODAY + timedelta(days=1)))
    assert (finding.severity, finding.code) == (WARNING, "date-in-future")


def test_readings_far_apart_in_time_or_undated_are_said_to_be() -> None:
    assert "days apart" not in found(other())[0].sentence
    assert "(245 days apart)" in found(other(measured_on=date(2026, 3, 2)))[0].sentence
    assert "not dated" in found(other(measured_on=None))[0].sentence


def test_the_limit_of_vectors_is_what_one_device_exceeds_once_in_twenty() -> None:
    # Rayleigh: the 95th percentile of a length whose components scatter alike is 2.4477 SDs.
    x_dpt, y_dpt = KERATOMETRY_SDS_DPT
    typical_dpt = 2.4477 * ((x_dpt**2 + y_dpt**2) / 2.0 * 2.0) ** 0.5
    assert pytest.approx(typical_dpt, abs=0.03) == CYLINDERS_APART_DPT


@given(SIZES, MERIDIANS)
def test_a_reading_agrees_with_itself(cylinder_dpt: float, meridian_deg: float) -> None:
    assert codes(found(other(43.0, cylinder_dpt, meridian_deg), cylinder_dpt, meridian_deg)) == {
        "devices-agree"
    }


@given(SIZES, MERIDIANS, SIZES, MERIDIANS)
def test_which_device_is_planned_from_does_not_matter_to_the_verdict(
    one_dpt: float, one_deg: float, two_dpt: float, two_deg: float
) -> None:
    there = codes(found(other(43.0, two_dpt, two_deg), one_dpt, one_deg))
    back = codes(found(other(43.0, one_dpt, one_deg), two_dpt, two_deg))
    assert there == back


@given(SIZES, MERIDIANS, SIZES, MERIDIANS)
def test_a_mirrored_pair_of_readings_gets_the_same_verdict(
    one_dpt: float, one_deg: float, two_dpt: float, two_deg: float
) -> None:
    right = codes(found(other(43.0, two_dpt, two_deg), one_dpt, one_deg))
    left = codes(found(other(43.0, two_dpt, 180.0 - two_deg), one_dpt, 180.0 - one_deg))
    assert right == left
