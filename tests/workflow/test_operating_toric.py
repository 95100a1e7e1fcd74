"""Record a toric lens: its cylinder, where its marks were left, and the slips that are asked about."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from case.doubts import codes
from fakes.examples import ordinary_operation, ordinary_signed_plan
from fakes.memory_record import MemoryRecord
from workflow.clinic import KEY, operate
from workflow.test_operating import refused
from workflow.toric_clinic import CYLINDER_DPT, operated_toric_clinic, signed_toric_clinic
from zonule.case.finding import Finding, Severity
from zonule.case.operation import Fixation
from zonule.workflow.operate import differs_from_plan, operation_findings

NO_LENS: dict[str, Any] = {
    "fixation": Fixation.NO_LENS,
    "lens_model": None,
    "lens_power_dpt": None,
    "changed_from_plan": "No capsule was left.",
}


@pytest.fixture
def record() -> MemoryRecord:
    return signed_toric_clinic()


def findings(record: MemoryRecord) -> list[Finding]:
    case = record.case(KEY)
    assert case.operation is not None
    assert case.signed is not None
    return operation_findings(case.operation, case.signed)


def test_cylinder_marks_and_width_are_kept() -> None:
    record = operated_toric_clinic(96.0, incision_width_mm=2.2)
    done = record.case(KEY).operation
    assert done is not None
    assert (done.lens_cylinder_dpt, done.lens_meridian_deg, done.incision_width_mm) == (1.5, 96.0, 2.2)
    assert not differs_from_plan(record.case(KEY), done)
    assert findings(record) == []


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"lens_cylinder_dpt": -1.5, "changed_from_plan": "Slip."}, "cylinder of the lens"),
        ({"lens_cylinder_dpt": 60.0, "changed_from_plan": "Slip."}, "cylinder of the lens"),
        ({"lens_cylinder_dpt": CYLINDER_DPT, "lens_meridian_deg": 181.0}, "meridian of the lens"),
        ({"lens_cylinder_dpt": CYLINDER_DPT, "lens_meridian_deg": -1.0}, "meridian of the lens"),
        ({"lens_cylinder_dpt": CYLINDER_DPT, "incision_width_mm": 22.0}, "width of the incision"),
        ({"lens_cylinder_dpt": 2.25}, "Write why it was changed"),
        ({"lens_cylinder_dpt": None}, "Write why it was changed"),
        ({"lens_meridian_deg": 95.0, "changed_from_plan": "None in stock."}, "has no marks"),
        (NO_LENS | {"lens_cylinder_dpt": CYLINDER_DPT}, "leave its cylinder"),
        (NO_LENS | {"lens_meridian_deg": 95.0}, "leave its cylinder"),
    ],
)
def test_nonsense_about_the_cylinder_is_refused_and_says_what_to_do(
    record: MemoryRecord, changes: dict[str, Any], words: str
) -> None:
    refused(record, words, **changes)


def test_another_cylinder_with_its_reason_is_kept(record: MemoryRecord) -> None:
    operate(record, lens_cylinder_dpt=2.25, lens_meridian_deg=95.0, changed_from_plan="Read again.")
    done = record.case(KEY).operation
    assert done is not None
    assert differs_from_plan(record.case(KEY), done)


@pytest.mark.parametrize(
    ("placed_deg", "words"),
    [
        (5.0, "90 degrees off"),
        (10.0, "90 degrees off"),
        (0.0, "90 degrees off"),
        (85.0, "180 minus it"),
        (89.0, "180 minus it"),
    ],
)
def test_marks_where_a_slip_would_put_them_are_refused_by_its_name(
    record: MemoryRecord, placed_deg: float, words: str
) -> None:
    refused(record, words, lens_cylinder_dpt=CYLINDER_DPT, lens_meridian_deg=placed_deg)


@pytest.mark.parametrize(
    ("placed_deg", "code"), [(30.0, "lens-seems-flipped"), (60.0, "lens-seems-mirrored")]
)
def test_with_a_reason_they_are_kept_and_stay_a_warning(placed_deg: float, code: str) -> None:
    reason = "Measured again on the table."
    record = operated_toric_clinic(placed_deg, planned_deg=120.0, changed_from_plan=reason)
    (found,) = findings(record)
    assert (found.code, found.severity) == (code, Severity.WARNING)
    assert found.where == "operation.lens_meridian_deg"


def test_marks_at_0_are_kept_as_180(record: MemoryRecord) -> None:
    operate(
        record, lens_cylinder_dpt=CYLINDER_DPT, lens_meridian_deg=0.0, changed_from_plan="Turned on purpose."
    )
    done = record.case(KEY).operation
    assert done is not None
    assert done.lens_meridian_deg == 180.0


@pytest.mark.parametrize(
    ("placed_deg", "severity"), [(102.0, Severity.NOTE), (108.0, Severity.WARNING), (78.0, Severity.WARNING)]
)
def test_marks_off_the_plan_are_told_with_what_they_cost(placed_deg: float, severity: Severity) -> None:
    (found,) = findings(operated_toric_clinic(placed_deg))
    assert (found.code, found.severity) == ("lens-off-plan", severity)
    assert "degrees" in found.sentence
    assert "adds a cylinder of 0." in found.sentence


@pytest.mark.parametrize("placed_deg", [90.0, 100.0])
def test_marks_within_5_degrees_are_on_the_plan(placed_deg: float) -> None:
    assert findings(operated_toric_clinic(placed_deg)) == []


def test_a_toric_lens_without_its_meridian_is_a_note() -> None:
    found = findings(operated_toric_clinic(None))
    assert codes(found, Severity.NOTE) == {"lens-meridian-not-recorded"}


def test_a_toric_lens_that_nobody_planned_is_compared_with_nothing() -> None:
    done = ordinary_operation(lens_cylinder_dpt=1.5, lens_meridian_deg=5.0)
    found = operation_findings(done, ordinary_signed_plan())
    assert codes(found, Severity.NOTE) == {"lens-meridian-not-planned"}
    assert operation_findings(replace(done, lens_cylinder_dpt=None), ordinary_signed_plan()) == []
