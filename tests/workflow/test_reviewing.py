"""What the eye got, and how far that is from what was promised."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from case.doubts import codes, the_one
from fakes.examples import SURGEON, ordinary_case, ordinary_lesson, ordinary_review
from fakes.memory_record import MemoryRecord
from workflow.clinic import (
    KEY,
    NOW,
    REVIEWED_ON,
    clean_lens,
    clinic,
    operate,
    operation_for,
    review,
    sign,
    signed_clinic,
)
from zonule.case.finding import Severity
from zonule.case.refraction import Refraction
from zonule.errors import ChangedMeanwhileError, InconsistentRecordError, InputError
from zonule.workflow.review import expected_refraction, review_findings

SIX_METRES = {"lane_m": 6.0}


@pytest.fixture
def record() -> MemoryRecord:
    record = signed_clinic()
    operate(record)
    return record


def predicted(record: MemoryRecord) -> float:
    signed = record.case(KEY).signed
    assert signed is not None
    return signed.predicted_refraction_dpt


def test_the_error_is_achieved_minus_predicted_and_negative_is_more_myopic(record: MemoryRecord) -> None:
    myopic = review(record, Refraction(-0.75, lane_m=6.0))
    assert myopic.error_dpt == pytest.approx(-0.75 - predicted(record))
    assert myopic.error_dpt is not None
    assert myopic.error_dpt < 0
    hyperopic = review(record, Refraction(0.75, lane_m=6.0))
    assert hyperopic.error_dpt == pytest.approx(0.75 - predicted(record))


def test_each_method_has_its_own_error(record: MemoryRecord) -> None:
    one = review(record, Refraction(0.0, lane_m=6.0))
    assert one.method_errors_dpt == {
        "srk_t": pytest.approx(-0.0445, abs=5e-5),
        "holladay_1": pytest.approx(-0.0738, abs=5e-5),
        "hoffer_q": pytest.approx(-0.0397, abs=5e-5),
    }


def test_the_cylinder_counts_half(record: MemoryRecord) -> None:
    one = review(record, Refraction(0.5, -1.0, 90.0, lane_m=6.0))
    assert one.error_dpt == pytest.approx(-predicted(record), abs=1e-3)


def test_a_refraction_is_brought_to_12_mm_and_6_m_before_it_is_compared(record: MemoryRecord) -> None:
    short_lane = review(record, Refraction(0.0, lane_m=4.0))
    assert short_lane.error_dpt == pytest.approx(-1 / 4 + 1 / 6 - predicted(record))
    at_cornea = review(record, Refraction(-3.0, vertex_mm=0.0, lane_m=6.0))
    assert at_cornea.error_dpt == pytest.approx(-3.0 / (1 - 0.012 * 3.0) - predicted(record))


def test_constants_of_a_4_m_lane_and_a_refraction_in_it_need_no_correction() -> None:
    errors = []
    for lane_m in (6.0, 4.0):
        record = clinic(lens=clean_lens(constants_lane_m=lane_m))
        sign(record)
        operate(record)
        errors.append(review(record, Refraction(-0.25, lane_m=lane_m)).method_errors_dpt["srk_t"])
    assert errors[0] == pytest.approx(errors[1], abs=1e-9)


def test_another_power_is_compared_with_what_was_predicted_for_it() -> None:
    record = signed_clinic()
    operate(record, lens_power_dpt=21.5, changed_from_plan="Out of stock.")
    case = record.case(KEY)
    assert case.signed is not None
    assert case.operation is not None
    expected = expected_refraction(case.signed, case.operation)
    assert expected is not None
    assert expected.refraction_dpt == pytest.approx(predicted(record) - 0.70, abs=0.02)
    assert expected.by_method_dpt.keys() == case.signed.method_predictions_dpt.keys()
    one = review(record, Refraction(-0.75, lane_m=6.0))
    assert one.error_dpt == pytest.approx(-0.75 - expected.refraction_dpt)


@pytest.mark.parametrize(
    "changes", [{"lens_model": "Heath Two"}, {"lens_power_dpt": 20.25}, {"lens_power_dpt": 35.0}]
)
def test_nothing_is_predicted_for_another_lens_or_a_power_outside_the_plan(changes: dict[str, Any]) -> None:
    record = signed_clinic()
    operate(record, **changes, changed_from_plan="Out of stock.")
    one = review(record, Refraction(-0.75, lane_m=6.0))
    assert (one.error_dpt, one.method_errors_dpt) == (None, {})
    assert "nothing-predicted" in codes(review_findings(record.case(KEY)))


def test_a_personal_offset_is_inside_the_promise_and_outside_what_is_learned() -> None:
    record = clinic()
    with record.act(who=SURGEON, verb="accept lesson", subject="lesson", at=NOW) as act:
        from_a = {"holladay_1": (0.5663 * 118.4 - 65.6,), "hoffer_q": (5.198688,)}
        for method, constants in {"srk_t": (118.4,), **from_a}.items():
            act.add_lesson(ordinary_lesson(method=method, constants=constants, offset_dpt=-0.2))
    sign(record)
    operate(record)
    one = review(record, Refraction(-0.2, lane_m=6.0))
    assert one.method_errors_dpt["srk_t"] == pytest.approx(-0.2 - 0.0445, abs=5e-5)
    assert one.error_dpt == pytest.approx(-0.0445, abs=1e-4)


def test_the_days_after_the_operation_are_counted(record: MemoryRecord) -> None:
    one = review(record, Refraction(0.0))
    assert one.days_after == 35
    assert one.is_stable


def test_a_review_is_on_record_with_its_line_in_the_trail(record: MemoryRecord) -> None:
    one = review(record, Refraction(0.0))
    assert record.case(KEY).review == one
    assert record.trail(KEY)[0].verb == "record review"
    review(record, Refraction(0.25))
    assert record.trail(KEY)[0].verb == "correct review"


def test_there_is_no_review_before_the_operation() -> None:
    record = signed_clinic()
    with pytest.raises(InconsistentRecordError, match="Record the operation"):
        review(record, Refraction(0.0))


def test_a_stale_page_records_no_review(record: MemoryRecord) -> None:
    with pytest.raises(ChangedMeanwhileError):
        review(record, Refraction(0.0), revision=0)
    assert record.case(KEY).review is None


@pytest.mark.parametrize(
    ("refraction", "changes", "words"),
    [
        (Refraction(0.0), {"refracted_on": date(2026, 12, 22)}, "future"),
        (Refraction(0.0), {"refracted_on": date(2026, 11, 15)}, "before the operation"),
        (Refraction(-75.0), {}, "decimal points"),
        (Refraction(float("nan")), {}, "decimal points"),
        (Refraction(0.0, -11.0, 90.0), {}, "decimal points"),
        (Refraction(0.0, -1.0, 181.0), {}, "axis"),
        (Refraction(0.0, -1.0, -5.0), {}, "axis"),
        (Refraction(0.0, vertex_mm=-1.0), {}, "vertex"),
        (Refraction(0.0, vertex_mm=120.0), {}, "vertex"),
        (Refraction(0.0, lane_m=0.0), {}, "lane"),
        (Refraction(0.0, lane_m=600.0), {}, "lane"),
        (Refraction(0.0), {"acuity_logmar": 20.0}, "logMAR"),
        (Refraction(0.0), {"acuity_logmar": float("nan")}, "logMAR"),
    ],
)
def test_nonsense_is_refused_and_nothing_is_saved(
    record: MemoryRecord, refraction: Refraction, changes: dict[str, Any], words: str
) -> None:
    with pytest.raises(InputError, match=words):
        review(record, refraction, **changes)
    assert record.case(KEY).review is None


# --- what it means ----------------------------------------------------------------------------------------


def test_an_ordinary_result_raises_nothing() -> None:
    assert review_findings(ordinary_case(review=ordinary_review())) == []
    assert review_findings(ordinary_case()) == []


def test_an_early_refraction_is_shown_and_not_learned_from() -> None:
    finding = the_one(
        review_findings(ordinary_case(review=ordinary_review(days_after=27))), "too-early-to-learn"
    )
    assert finding.severity is Severity.NOTE


def test_the_lane_that_is_assumed_is_said() -> None:
    seen = ordinary_review(refraction=Refraction(0.0))
    finding = the_one(review_findings(ordinary_case(review=seen)), "lane-missing")
    assert "6 m is assumed" in finding.sentence


@pytest.mark.parametrize(("error_dpt", "word"), [(1.2, "long-sighted"), (-1.2, "short-sighted")])
def test_a_surprise_is_told_with_its_direction(error_dpt: float, word: str) -> None:
    seen = ordinary_review(error_dpt=error_dpt)
    finding = the_one(review_findings(ordinary_case(review=seen)), "refractive-surprise")
    assert finding.severity is Severity.WARNING
    assert f"1.20 D more {word} than predicted" in finding.sentence


def test_one_dioptre_is_not_yet_a_surprise() -> None:
    assert review_findings(ordinary_case(review=ordinary_review(error_dpt=1.0))) == []


def test_the_expected_refraction_of_an_eye_without_a_lens_is_none(record: MemoryRecord) -> None:
    case = record.case(KEY)
    assert case.signed is not None
    nothing = operation_for(case, lens_model=None, lens_power_dpt=None)
    assert expected_refraction(case.signed, nothing) is None
    assert replace(ordinary_review(), refracted_on=REVIEWED_ON) == ordinary_review()
