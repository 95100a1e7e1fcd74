"""How each method would have predicted a set of operated eyes."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from workflow.clinic import (
    KEY,
    clean_eye,
    clean_lens,
    clinic,
    operate,
    review,
    sign,
    signed_clinic,
)
from zonule.case.eye import CornealSurgery
from zonule.case.learned import Audit
from zonule.case.operation import Complication, Fixation
from zonule.case.outcome import OutcomeRow
from zonule.case.patient import Side
from zonule.case.refraction import Refraction
from zonule.workflow.audit import audit_record, audit_table

ROW = OutcomeRow(
    "demo-0042",
    Side.RIGHT,
    operated_on=date(2026, 1, 12),
    axial_length_mm=23.5,
    flat_power_dpt=43.0,
    steep_power_dpt=44.0,
    keratometric_index=1.3375,
    corneal_surgery=CornealSurgery.NONE,
    lens_model="Meadow One",
    a_constant=118.4,
    lens_power_dpt=20.5,
    fixation=Fixation.BAG,
    complication=Complication.NONE,
    refracted_on=date(2026, 2, 16),
    refraction=Refraction(-0.25, lane_m=6.0),
)


def audit_of(*rows: OutcomeRow) -> Audit:
    return audit_table(rows)[0]


def eyes_by_method(audit: Audit) -> dict[str, int]:
    return {one.method: one.summary.eyes for one in audit.methods}


def test_the_error_is_achieved_minus_predicted() -> None:
    errors = {one.method: one.summary.mean_error_dpt for one in audit_of(ROW).methods}
    assert errors["srk_t"] == pytest.approx(-0.25 - 0.0445, abs=5e-5)
    assert errors["hoffer_q"] == pytest.approx(-0.25 - 0.0397, abs=5e-5)
    assert "haigis" not in errors


@pytest.mark.parametrize(
    ("changes", "reason"),
    [
        ({"corneal_surgery": CornealSurgery.UNKNOWN}, "corneal surgery: unknown"),
        ({"corneal_surgery": CornealSurgery.MYOPIC_LASER}, "corneal surgery: myopic laser"),
        ({"fixation": Fixation.SULCUS}, "lens not in the bag"),
        ({"fixation": None}, "fixation not recorded"),
        ({"complication": Complication.VITREOUS_LOSS}, "complication"),
        ({"complication": None}, "complication not recorded"),
        ({"refracted_on": date(2026, 2, 8)}, "refracted before 28 days"),
        ({"refracted_on": None}, "days to refraction unknown"),
        ({"axial_length_mm": None}, "length or cornea missing"),
        ({"refraction": None}, "refraction or lens power missing"),
        ({"a_constant": None}, "lens or constant missing"),
    ],
)
def test_what_is_left_out_is_counted_with_its_reason(changes: dict[str, Any], reason: str) -> None:
    audit = audit_of(ROW, replace(ROW, **changes))
    assert audit.eyes == 1
    assert [(one.reason, one.eyes) for one in audit.excluded] == [(reason, 1)]


def test_srk_t_is_not_judged_by_an_eye_on_its_imaginary_branch() -> None:
    runaway = replace(ROW, axial_length_mm=26.0, flat_power_dpt=49.0, steep_power_dpt=49.0)
    assert eyes_by_method(audit_of(ROW, runaway)) == {"srk_t": 1, "t2": 2, "holladay_1": 2, "hoffer_q": 2}


def test_a_formula_that_puts_the_lens_outside_the_eye_does_not_stop_the_audit() -> None:
    outside = replace(ROW, axial_length_mm=15.0, flat_power_dpt=35.0, steep_power_dpt=35.0, a_constant=110.0)
    counted = eyes_by_method(audit_of(ROW, outside))
    assert counted["srk_t"] == 1


def test_the_record_and_the_review_agree_on_the_error_in_any_lane() -> None:
    record = clinic(lens=clean_lens(constants_lane_m=4.0))
    sign(record)
    operate(record)
    seen = review(record, Refraction(-0.25, lane_m=4.0))
    errors = {one.method: one.summary.mean_error_dpt for one in audit_record(record).methods}
    assert set(errors) - set(seen.method_errors_dpt) == {"t2"}
    assert {one: errors[one] for one in seen.method_errors_dpt} == pytest.approx(seen.method_errors_dpt)


def test_an_eye_of_the_record_with_another_lens_is_left_out() -> None:
    record = signed_clinic()
    operate(record, lens_model="Heath Two", changed_from_plan="Out of stock.")
    review(record, Refraction(0.0))
    audit = audit_record(record)
    assert (audit.eyes, [one.reason for one in audit.excluded]) == (0, ["another lens than planned"])
    assert record.case(KEY).eye == clean_eye()


def test_the_constant_for_zero_mean_is_higher_after_hyperopic_surprises() -> None:
    rows = [replace(ROW, axial_length_mm=length, refraction=Refraction(1.0)) for length in (23.4, 23.5, 23.6)]
    srk_t = next(one for one in audit_of(*rows).methods if one.method == "srk_t")
    assert srk_t.constant_for_zero_mean is not None
    assert srk_t.constant_for_zero_mean > 118.4


def test_eyes_of_two_lenses_have_no_common_constant_and_are_told_apart() -> None:
    audit = audit_of(ROW, replace(ROW, lens_model="Heath Two", a_constant=119.0))
    assert all(one.constant_for_zero_mean is None for one in audit.methods)
    assert audit.by_lens.keys() == {"Meadow One", "Heath Two"}
    assert (audit.eyes, audit.patients) == (2, 1)
