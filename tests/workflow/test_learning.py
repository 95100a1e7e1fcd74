"""What all reviewed eyes say, and what of it the next plan may use."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date
from functools import cache
from typing import Any

import numpy as np
import pytest

from fakes.examples import LENS_NAME, SURGEON, ordinary_lesson, ordinary_patient
from fakes.memory_record import MemoryRecord
from workflow.clinic import (
    KEY,
    NOW,
    TODAY,
    clean_eye,
    clean_lens,
    clean_request,
    clinic,
    operate,
    plan_of,
    review,
    sign,
    signed_clinic,
)
from zonule.case.case import Case, case_key
from zonule.case.lens import LensConstants
from zonule.case.lesson import Lesson
from zonule.case.operation import Complication, Fixation
from zonule.case.patient import Side
from zonule.case.plan import Plan, SignedPlan
from zonule.case.refraction import Refraction
from zonule.errors import InputError
from zonule.workflow.expectation import with_errors
from zonule.workflow.forecast import plan_eye
from zonule.workflow.learn import accept_lesson, learned_from, look_back, why_not_learned_from

METHODS = {"srk_t", "holladay_1", "hoffer_q"}
BIAS_DPT = 0.3


@cache
def reviewed_case() -> Case:
    """One eye all the way round, which ended just where SRK/T said."""
    record = signed_clinic()
    operate(record)
    review(record, Refraction(0.0445, lane_m=6.0))
    return record.case(KEY)


def case_of(number: int, error_dpt: float = 0.0, side: Side = Side.RIGHT, **operation: Any) -> Case:
    """The same eye of another patient, which ended `error_dpt` from where SRK/T said."""
    case = reviewed_case()
    assert case.operation is not None
    assert case.review is not None
    assert case.signed is not None
    predicted_dpt = case.signed.method_predictions_dpt["srk_t"]
    patient = ordinary_patient(f"demo-{number:04d}", name=f"Patient {number}")
    done = replace(case.operation, **operation)
    seen = replace(case.review, refraction=Refraction(predicted_dpt + error_dpt, lane_m=6.0))
    return replace(
        case,
        key=case_key(patient.key, side),
        patient=patient,
        side=side,
        operation=done,
        review=with_errors(seen, case.signed, done),
    )


def many(errors_dpt: Iterable[float], **operation: Any) -> list[Case]:
    return [case_of(number, error, **operation) for number, error in enumerate(errors_dpt)]


def lesson_of(cases: Sequence[Case], method: str = "srk_t") -> Lesson:
    (group,) = [one for one in learned_from(cases, (), TODAY).groups if one.method == method]
    assert group.proposed is not None
    return group.proposed


# --- which eyes count -------------------------------------------------------------------------------------


def signed_for(case: Case, **changes: Any) -> SignedPlan:
    assert case.signed is not None
    return replace(case.signed, request=replace(case.signed.request, eye=clean_eye(**changes)))


def test_eyes_that_teach_nothing_are_counted_with_their_reasons() -> None:
    plain = many([0.1, -0.1])
    early = case_of(10)
    assert early.review is not None
    early = replace(early, review=replace(early.review, days_after=20))
    other_lens = case_of(11, lens_model="Heath Two")
    steep = replace(case_of(12), signed=signed_for(case_of(12), flat_power_dpt=48.2, steep_power_dpt=48.8))
    sulcus = [case_of(13, fixation=Fixation.SULCUS), case_of(14, fixation=Fixation.SULCUS)]
    torn = case_of(15, complication=Complication.CAPSULE_TEAR)
    learned = learned_from([*plain, early, other_lens, steep, *sulcus, torn], (), TODAY)
    assert learned.eyes == 2
    assert {one.reason: one.eyes for one in learned.excluded} == {
        "refracted before 28 days": 1,
        "nothing predicted for the lens implanted": 1,
        "very steep cornea, keratoconus asked": 1,
        "lens not in the bag": 2,
        "complication": 1,
    }
    assert all(group.summary.eyes == 2 for group in learned.groups)


def test_an_eye_that_counts_has_no_reason_not_to() -> None:
    assert why_not_learned_from(case_of(1)) is None
    assert why_not_learned_from(replace(case_of(1), review=None)) == "not yet reviewed"


def test_nobody_learns_from_no_eyes() -> None:
    learned = learned_from([], (), TODAY)
    assert (learned.eyes, learned.achieved, learned.groups, learned.errors_dpt) == (0, None, (), ())


# --- groups -----------------------------------------------------------------------------------------------


def test_eyes_are_summed_up_for_each_method_and_a_converted_haigis_for_none() -> None:
    learned = learned_from(many([0.2, 0.4]), (), TODAY)
    assert {one.method for one in learned.groups} == METHODS
    srk_t = next(one for one in learned.groups if one.method == "srk_t")
    assert srk_t.summary.mean_error_dpt == pytest.approx(0.3)
    assert srk_t.constants == (118.4,)


def test_surgeons_learn_apart() -> None:
    learned = learned_from([*many([0.3, 0.3]), *many([-0.3, -0.3, -0.3], surgeon="M. Hale")], (), TODAY)
    summaries = {one.surgeon: one.summary for one in learned.groups if one.method == "srk_t"}
    assert {surgeon: one.eyes for surgeon, one in summaries.items()} == {SURGEON: 2, "M. Hale": 3}
    assert summaries[SURGEON].mean_error_dpt == pytest.approx(0.3)
    assert summaries["M. Hale"].mean_error_dpt == pytest.approx(-0.3)


def test_eyes_planned_with_another_constant_learn_apart() -> None:
    other = clean_lens(constants=LensConstants(119.0))
    moved = []
    for case in many([0.5, 0.5]):
        assert case.signed is not None
        moved.append(replace(case, signed=replace(case.signed, request=clean_request(lens=other))))
    learned = learned_from([*many([0.1, 0.1]), *moved], (), TODAY)
    assert sorted(one.constants for one in learned.groups if one.method == "srk_t") == [(118.4,), (119.0,)]


def test_what_was_promised_is_summed_up_over_all_eyes() -> None:
    learned = learned_from([*many([0.3, 0.5]), *many([-0.3], surgeon="M. Hale")], (), TODAY)
    assert learned.achieved is not None
    assert learned.achieved.eyes == len(learned.errors_dpt) == 3
    signed = reviewed_case().signed
    assert signed is not None
    middle_from_srk_t = signed.method_predictions_dpt["srk_t"] - signed.predicted_refraction_dpt
    expected = np.mean([0.3, 0.5, -0.3]) + middle_from_srk_t
    assert learned.achieved.mean_error_dpt == pytest.approx(expected, abs=1e-9)


# --- lessons ----------------------------------------------------------------------------------------------


def test_one_eye_teaches_nothing() -> None:
    learned = learned_from(many([0.4]), (), TODAY)
    assert all(one.proposed is None for one in learned.groups)


def test_a_lesson_is_shrunk_toward_zero_by_its_evidence() -> None:
    few, more = lesson_of(many([0.4] * 4)), lesson_of(many([0.4] * 100))
    assert few.mean_error_dpt == pytest.approx(more.mean_error_dpt) == pytest.approx(0.4)
    assert 0.0 < few.offset_dpt < more.offset_dpt < 0.4
    for lesson in (few, more):
        assert lesson.offset_dpt == pytest.approx(lesson.weight * lesson.mean_error_dpt)
    assert few.offset_sd_dpt > more.offset_sd_dpt


def test_two_eyes_of_one_patient_count_less_than_two_patients() -> None:
    patients = lesson_of(many([0.4] * 20))
    pairs = [case_of(number, 0.4, side) for number in range(10) for side in Side]
    assert lesson_of(pairs).eyes == patients.eyes == 20
    assert lesson_of(pairs).weight < patients.weight
    ten = lesson_of(many([0.4] * 10))
    assert lesson_of(pairs).weight > ten.weight


def test_a_lesson_names_its_baseline_and_its_period() -> None:
    cases = [case_of(1, 0.1, operated_on=date(2026, 11, 16)), case_of(2, 0.2, operated_on=date(2026, 11, 11))]
    lesson = lesson_of(cases)
    assert (lesson.surgeon, lesson.method, lesson.lens_model) == (SURGEON, "srk_t", LENS_NAME)
    assert lesson.constants == (118.4,)
    assert (lesson.first_on, lesson.last_on) == (date(2026, 11, 11), date(2026, 11, 16))
    assert lesson.learned_on == TODAY


def test_scattered_results_widen_the_spread_and_tight_ones_narrow_it() -> None:
    rng = np.random.default_rng(3)
    tight, wide = (lesson_of(many(rng.normal(0.0, sd, 200))) for sd in (0.25, 0.9))
    assert tight.scale_dpt < 0.383 < wide.scale_dpt


def test_a_bias_alone_does_not_widen_the_spread() -> None:
    rng = np.random.default_rng(3)
    errors = rng.normal(0.0, 0.3, 60)
    assert lesson_of(many(errors + 0.5)).scale_dpt == pytest.approx(lesson_of(many(errors)).scale_dpt)


def test_the_lesson_in_use_is_shown_only_beside_its_own_constants() -> None:
    current = ordinary_lesson()
    (group,) = [one for one in learned_from(many([0.1]), [current], TODAY).groups if one.method == "srk_t"]
    assert group.current == current
    stale = ordinary_lesson(constants=(119.0,))
    (group,) = [one for one in learned_from(many([0.1]), [stale], TODAY).groups if one.method == "srk_t"]
    assert group.current is None


# --- the loop ---------------------------------------------------------------------------------------------


class Reviewed(MemoryRecord):
    """A record whose reviewed cases are given."""

    def __init__(self, cases: Sequence[Case], constants: LensConstants | None = None) -> None:
        super().__init__()
        self._cases = tuple(cases)
        with self.act(who="Clerk", verb="fill", subject="catalogue", at=NOW) as act:
            act.put_lens(clean_lens(constants=constants or LensConstants(118.4)))

    def reviewed_cases(self) -> tuple[Case, ...]:
        return self._cases


def accept(
    record: MemoryRecord, method: str = "srk_t", surgeon: str = SURGEON, lens: str = LENS_NAME
) -> Lesson:
    return accept_lesson(record, surgeon=surgeon, method=method, lens_model=lens, who=surgeon, now=NOW)


def next_plan(record: MemoryRecord) -> Plan:
    return plan_eye(clean_request(lessons=record.lessons()), TODAY)


def test_an_accepted_lesson_is_read_by_the_next_plan_which_shows_that_it_used_it() -> None:
    record = Reviewed(many([0.3] * 30))
    accepted = accept(record)
    assert record.lessons() == (accepted,)
    assert [(entry.verb, entry.who) for entry in record.trail(accepted.key)] == [("accept lesson", SURGEON)]
    plan = next_plan(record)
    assert [(use.lesson, use.used) for use in plan.lessons] == [(accepted, True)]
    (srk_t,) = [one for one in plan.methods if one.method == "srk_t"]
    assert srk_t.offset_dpt == accepted.offset_dpt


def test_a_lesson_on_a_case_in_the_record_reaches_its_plan() -> None:
    record = clinic()
    before = plan_of(record)
    with record.act(who=SURGEON, verb="accept lesson", subject="lesson", at=NOW) as act:
        act.add_lesson(lesson_of(many([0.3] * 30)))
    after = plan_of(record)
    assert [use.used for use in after.lessons] == [True]
    assert after.seed != before.seed


def test_a_planted_bias_is_mostly_gone_from_the_next_plans() -> None:
    noise = 0.35 * np.random.default_rng(11).standard_t(3.4, 150)
    record = Reviewed(many(BIAS_DPT + np.concatenate([noise, -noise])))
    for method in sorted(METHODS):
        accept(record, method)
    before, after = plan_eye(clean_request(), TODAY), next_plan(record)
    assert before.odds is not None
    assert after.odds is not None
    moved = after.odds.predictions[9].refraction_dpt - before.odds.predictions[9].refraction_dpt
    assert BIAS_DPT - 0.05 < moved < BIAS_DPT
    assert after.odds.best_power_dpt >= before.odds.best_power_dpt


def test_a_second_round_teaches_the_same_again_and_does_not_add_to_the_first() -> None:
    """Errors are kept before the offset, so an eye planned with a lesson says what it would without."""
    record = clinic()
    with record.act(who=SURGEON, verb="accept lesson", subject="lesson", at=NOW) as act:
        act.add_lesson(lesson_of(many([BIAS_DPT] * 100)))
    sign(record)
    operate(record)
    seen = review(record, Refraction(0.0445 + BIAS_DPT, lane_m=6.0))
    assert seen.method_errors_dpt["srk_t"] == pytest.approx(BIAS_DPT, abs=1e-3)


def test_a_new_constant_retires_the_lesson_learned_on_the_old_one() -> None:
    record = Reviewed(many([0.3] * 30))
    accept(record)
    lens = clean_lens(constants=LensConstants(118.7))
    plan = plan_eye(clean_request(lens=lens, lessons=record.lessons()), TODAY)
    assert [(use.used, use.reason) for use in plan.lessons] == [
        (False, "It was learned against another constant.")
    ]


def test_only_what_was_learned_on_the_constants_the_lens_has_now_can_be_accepted() -> None:
    other = clean_lens(constants=LensConstants(119.0))
    moved = []
    for case in many([0.5] * 5):
        assert case.signed is not None
        moved.append(replace(case, signed=replace(case.signed, request=clean_request(lens=other))))
    cases = [*many([0.1] * 5), *moved]
    for constant, mean_dpt in ((118.4, 0.1), (119.0, 0.5)):
        lesson = accept(Reviewed(cases, LensConstants(constant)))
        assert lesson.constants == (constant,)
        assert lesson.mean_error_dpt == pytest.approx(mean_dpt)
    with pytest.raises(InputError, match="constants that the lens has now"):
        accept(Reviewed(cases, LensConstants(118.0)))


@pytest.mark.parametrize(
    "how", [{"surgeon": "M. Hale"}, {"method": "haigis"}, {"method": "unheard_of"}, {"lens": "Heath Two"}]
)
def test_nothing_can_be_accepted_that_was_not_learned(how: dict[str, str]) -> None:
    record = Reviewed(many([0.3] * 5))
    with pytest.raises(InputError):
        accept(record, **how)
    assert record.lessons() == ()


def test_a_single_eye_cannot_be_accepted() -> None:
    with pytest.raises(InputError, match="too few"):
        accept(Reviewed(many([0.3])))


def test_looking_back_reads_the_record() -> None:
    record = Reviewed(many([0.2, 0.4]))
    assert look_back(record, TODAY) == learned_from(record.reviewed_cases(), (), TODAY)
