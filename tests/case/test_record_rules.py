"""The rules that the records themselves keep."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from fakes.examples import (
    ordinary_case,
    ordinary_intent,
    ordinary_operation,
    ordinary_patient,
    ordinary_review,
    ordinary_signed_plan,
)
from zonule.case.case import Stage, case_key
from zonule.case.lens import LensConstants, PowerRange
from zonule.case.patient import Patient, Side
from zonule.case.plan import Intent
from zonule.case.refraction import Refraction
from zonule.errors import InconsistentRecordError, OutOfRangeError


def test_a_refraction_is_reported_at_12_mm_in_a_6_m_lane() -> None:
    assert Refraction(-1.0, 0.0, lane_m=6.0).reported_equivalent_dpt == pytest.approx(-1.0)
    assert Refraction(0.0, lane_m=4.0).reported_equivalent_dpt == pytest.approx(-1 / 4 + 1 / 6)


def test_a_lane_nobody_wrote_down_is_not_corrected() -> None:
    assert Refraction(-0.5).reported_equivalent_dpt == pytest.approx(-0.5)


def test_a_vertex_of_zero_is_the_corneal_plane() -> None:
    assert Refraction(-10.0, vertex_mm=0.0).reported_equivalent_dpt == pytest.approx(-10.0 / 0.88)


def test_each_meridian_is_moved_exactly_before_the_mean() -> None:
    glasses = Refraction(8.0, -4.0, 90.0, vertex_mm=14.0)
    by_meridian = [power / (1.0 - 0.002 * power) for power in (8.0, 4.0)]
    assert glasses.reported_equivalent_dpt == pytest.approx(sum(by_meridian) / 2)


def test_the_sign_of_the_cylinder_does_not_matter() -> None:
    minus, plus = Refraction(2.0, -3.0, 90.0, vertex_mm=15.0), Refraction(-1.0, 3.0, 180.0, vertex_mm=15.0)
    assert minus.reported_equivalent_dpt == pytest.approx(plus.reported_equivalent_dpt)


def test_a_cylinder_needs_its_axis() -> None:
    with pytest.raises(InconsistentRecordError, match="no axis"):
        Refraction(0.0, -1.0)


def test_axis_zero_is_stored_as_180() -> None:
    assert Refraction(0.0, -1.0, 0.0).axis_deg == 180.0


def test_powers_made_are_exact_in_decimals() -> None:
    assert PowerRange(-1.0, 0.3, 0.1).powers_dpt[-3:] == (0.1, 0.2, 0.3)
    assert PowerRange(6.0, 30.0, 0.5).powers_dpt[29] == 20.5


@pytest.mark.parametrize("bounds", [(10.0, 5.0, 0.5), (5.0, 10.0, 0.0), (-30.0, 10.0, 0.5), (5.0, 70.0, 1.0)])
def test_an_impossible_range_of_powers_is_refused(bounds: tuple[float, float, float]) -> None:
    with pytest.raises(OutOfRangeError, match="lowest first"):
        PowerRange(*bounds)


def test_a_constant_is_own_only_for_the_formula_it_was_stated_for() -> None:
    constants = LensConstants(a_constant=118.4, haigis=(1.0, 0.2, 0.15))
    assert constants.own(("a_constant",)) == (118.4,)
    assert constants.own(("a0", "a1", "a2")) == (1.0, 0.2, 0.15)
    assert constants.own(("surgeon_factor",)) is None
    assert constants.own(("another",)) is None


def test_age_counts_completed_years() -> None:
    patient = ordinary_patient(born_on=date(1951, 3, 2))
    assert patient.age_years(date(2026, 3, 1)) == 74
    assert patient.age_years(date(2026, 3, 2)) == 75
    assert Patient("unknown").age_years(date(2026, 3, 2)) is None


def test_the_other_eye_of_the_other_eye_is_this_eye() -> None:
    assert all(side.other.other is side for side in Side)


def test_a_case_is_named_by_patient_and_side() -> None:
    assert case_key("demo-0042", Side.LEFT) == "demo-0042-left"


def test_a_case_walks_through_the_stages_in_order() -> None:
    done: dict[str, Any] = {"intent": Intent()}
    assert ordinary_case(**done).stage is Stage.MEASURE
    steps = (
        ("intent", ordinary_intent(), Stage.PLAN),
        ("signed", ordinary_signed_plan(), Stage.OPERATE),
        ("operation", ordinary_operation(), Stage.REVIEW),
        ("review", ordinary_review(), Stage.LEARN),
    )
    for name, record, stage in steps:
        done[name] = record
        assert ordinary_case(**done).stage is stage


def test_a_refraction_counts_from_28_days_on() -> None:
    assert not ordinary_review(days_after=27).is_stable
    assert ordinary_review(days_after=28).is_stable
