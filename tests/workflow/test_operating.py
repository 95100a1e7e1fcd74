"""Record what was done, against the plan that was signed."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from case.doubts import codes
from fakes.examples import SURGEON, ordinary_operation, ordinary_signed_plan
from fakes.memory_record import MemoryRecord
from workflow.clinic import (
    KEY,
    OPERATED_AT,
    REVIEWED_ON,
    clinic,
    operate,
    operation_for,
    review,
    sign,
    signed_clinic,
)
from zonule.case.finding import Severity
from zonule.case.operation import Complication, Fixation
from zonule.case.refraction import Refraction
from zonule.errors import ChangedMeanwhileError, InconsistentRecordError, InputError
from zonule.workflow.operate import differs_from_plan, operation_findings, record_operation


@pytest.fixture
def record() -> MemoryRecord:
    return signed_clinic()


def refused(record: MemoryRecord, words: str, **changes: Any) -> None:
    before = (record.case(KEY), record.trail())
    with pytest.raises((InputError, InconsistentRecordError), match=words):
        operate(record, **changes)
    assert (record.case(KEY), record.trail()) == before


def test_an_operation_is_recorded_with_the_plan_it_carried_out(record: MemoryRecord) -> None:
    operate(record)
    case = record.case(KEY)
    assert case.signed is not None
    assert case.operation is not None
    assert case.operation.plan_digest == case.signed.digest
    assert record.trail(KEY)[0].verb == "record operation"


def test_a_correction_is_told_as_one(record: MemoryRecord) -> None:
    operate(record)
    operate(record, notes="The serial number was read again.")
    assert record.trail(KEY)[0].verb == "correct operation"


def test_there_is_no_operation_without_a_signed_plan() -> None:
    record = clinic()
    with pytest.raises(InconsistentRecordError, match="no signed plan"):
        record_operation(record, KEY, ordinary_operation(), revision=1, who=SURGEON, now=OPERATED_AT)


def test_an_operation_of_another_plan_is_refused(record: MemoryRecord) -> None:
    seen = operation_for(record.case(KEY))
    sign(record, power_dpt=21.0)
    with pytest.raises(InconsistentRecordError, match="signed anew"):
        record_operation(record, KEY, seen, revision=record.case(KEY).revision, who=SURGEON, now=OPERATED_AT)


def test_a_stale_page_records_nothing(record: MemoryRecord) -> None:
    with pytest.raises(ChangedMeanwhileError):
        operate(record, revision=0)
    assert record.case(KEY).operation is None


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"operated_on": date(2026, 11, 17)}, "future"),
        ({"operated_on": date(2026, 11, 9)}, "before the day the plan was signed"),
        ({"surgeon": " "}, "Name the surgeon"),
        ({"lens_power_dpt": None}, "Name the lens model and power"),
        ({"lens_model": None}, "Name the lens model and power"),
        ({"lens_power_dpt": 205.0, "changed_from_plan": "Slip."}, "not a power in which lenses are made"),
        ({"fixation": Fixation.NO_LENS}, "leave its model and power empty"),
        ({"lens_power_dpt": 21.0}, "Write why it was changed"),
        ({"lens_model": "Heath Two"}, "Write why it was changed"),
        ({"lens_model": "Heath Two", "changed_from_plan": "  "}, "Write why it was changed"),
    ],
)
def test_nonsense_is_refused_and_says_what_to_do(
    record: MemoryRecord, changes: dict[str, Any], words: str
) -> None:
    refused(record, words, **changes)


def test_another_lens_with_its_reason_is_recorded(record: MemoryRecord) -> None:
    operate(record, lens_power_dpt=21.0, changed_from_plan="20.5 D was out of stock.")
    case = record.case(KEY)
    assert case.operation is not None
    assert differs_from_plan(case, case.operation)
    assert not differs_from_plan(case, operation_for(case))


def test_an_eye_that_got_no_lens_is_recorded_with_its_reason(record: MemoryRecord) -> None:
    nothing: dict[str, Any] = {"fixation": Fixation.NO_LENS, "lens_model": None, "lens_power_dpt": None}
    refused(record, "Write why it was changed", **nothing)
    operate(record, **nothing, changed_from_plan="No capsule was left.")
    operation = record.case(KEY).operation
    assert operation is not None
    assert operation.fixation is Fixation.NO_LENS


def test_a_correction_computes_the_errors_of_the_review_anew(record: MemoryRecord) -> None:
    operate(record)
    before = review(record, Refraction(0.0, lane_m=6.0))
    operate(record, lens_power_dpt=21.0, changed_from_plan="The box says 21.0 D.")
    after = record.case(KEY).review
    assert after is not None
    assert before.error_dpt is not None
    assert after.error_dpt is not None
    assert after.error_dpt - before.error_dpt == pytest.approx(0.35, abs=0.01)
    assert after.method_errors_dpt["srk_t"] > before.method_errors_dpt["srk_t"] + 0.3
    assert replace(after, error_dpt=None, method_errors_dpt={}) == replace(
        before, error_dpt=None, method_errors_dpt={}
    )


def test_a_correction_to_another_lens_model_leaves_nothing_to_learn(record: MemoryRecord) -> None:
    operate(record)
    review(record, Refraction(0.0, lane_m=6.0))
    operate(record, lens_model="Heath Two", changed_from_plan="Wrong box was scanned.")
    after = record.case(KEY).review
    assert after is not None
    assert (after.error_dpt, after.method_errors_dpt) == (None, {})


def test_a_day_of_operation_after_the_refraction_is_refused(record: MemoryRecord) -> None:
    operate(record)
    early = date(2026, 11, 16)
    review(record, Refraction(0.0), refracted_on=early)
    case = record.case(KEY)
    late = operation_for(case, operated_on=date(2026, 11, 17))
    with pytest.raises(InputError, match="after the refraction"):
        record_operation(
            record, KEY, late, revision=case.revision, who=SURGEON, now=OPERATED_AT.replace(day=20)
        )
    assert early < REVIEWED_ON


def test_an_uneventful_operation_raises_nothing() -> None:
    assert operation_findings(ordinary_operation(), ordinary_signed_plan()) == []


@pytest.mark.parametrize("fixation", sorted(set(Fixation) - {Fixation.BAG}))
def test_a_lens_outside_the_bag_is_a_warning(fixation: Fixation) -> None:
    assert codes(
        operation_findings(ordinary_operation(fixation=fixation), ordinary_signed_plan()), Severity.WARNING
    ) == {"not-in-the-bag"}


@pytest.mark.parametrize("complication", sorted(set(Complication) - {Complication.NONE}))
def test_a_complication_is_a_warning(complication: Complication) -> None:
    findings = operation_findings(ordinary_operation(complication=complication), ordinary_signed_plan())
    assert codes(findings, Severity.WARNING) == {"complication"}
