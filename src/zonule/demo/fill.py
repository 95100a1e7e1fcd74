"""Live through the invented clinic's year, verb by verb, as a surgeon would have."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, time, timedelta

from zonule.case.case import case_key
from zonule.case.operation import Operation
from zonule.demo.clinic import DemoCase, DemoClinic, demo_clinic
from zonule.workflow.forecast import plan_eye
from zonule.workflow.learn import accept_lesson, look_back
from zonule.workflow.operate import record_operation
from zonule.workflow.plan import request_for, save_intent, sign_plan, standing_warnings
from zonule.workflow.ports import Record
from zonule.workflow.review import record_review

CLERK = "Demo clinic"
_LESSON_EYES = 20
"""Groups smaller than this are left for the visitor to accept."""


def fill(record: Record, *, today: date, progress: Callable[[int, int], None]) -> str:
    """Put the clinic into an empty record; the key of the first eye on today's list."""
    clinic = demo_clinic(today=today)
    _add_lenses(record, clinic, today)
    for done, case in enumerate(clinic.cases):
        progress(done, len(clinic.cases))
        key = _list(record, case)
        if case.outcome is not None:
            _live_through(record, case, key)
    _accept_lessons(record, today)
    progress(len(clinic.cases), len(clinic.cases))
    first = next(case for case in clinic.cases if case.listed_on == today)
    return case_key(first.patient.key, first.eye.side)


def _add_lenses(record: Record, clinic: DemoClinic, today: date) -> None:
    start = _at(today - timedelta(days=400))
    with record.act(who=CLERK, verb="fill catalogue", subject="catalogue", at=start) as act:
        for lens in clinic.lenses:
            act.put_lens(lens)


def _list(record: Record, case: DemoCase) -> str:
    """Bring the two eyes in, and open the case of the one to be operated."""
    measured_on = case.eye.biometry.measured_on or case.listed_on
    key = case_key(case.patient.key, case.eye.side)
    with record.act(who=CLERK, verb="import", subject=key, at=_at(measured_on)) as act:
        act.put_patient(case.patient)
        act.put_eye(case.patient.key, case.eye)
        act.put_eye(case.patient.key, case.fellow)
        act.put_case(key, case.patient.key, case.eye.side, case.listed_on)
        if case.outcome is None:
            act.put_intent(key, case.intent, 0)
    return key


def _live_through(record: Record, case: DemoCase, key: str) -> None:
    outcome = case.outcome
    assert outcome is not None  # noqa: S101 - the caller asked
    surgeon = case.intent.surgeon
    planned_at = _at(case.listed_on - timedelta(days=2))
    revision = save_intent(record, key, case.intent, revision=0, who=surgeon, now=planned_at)
    plan = plan_eye(request_for(record.case(key), record), planned_at.date())
    power = plan.odds.best_power_dpt if plan.odds else None
    if power is None:
        return
    reasons = "Seen and discussed with the patient." if standing_warnings(plan, power) else ""
    signed = sign_plan(
        record,
        key,
        power_dpt=power,
        asked=plan.asked,
        reasons=reasons,
        revision=revision,
        who=surgeon,
        now=planned_at,
    )
    operation = Operation(
        plan_digest=signed.digest,
        operated_on=outcome.operated_on,
        surgeon=surgeon,
        lens_model=case.intent.lens_model,
        lens_power_dpt=power,
        fixation=outcome.fixation,
        complication=outcome.complication,
        capsulorhexis_mm=case.intent.capsulorhexis_mm,
        incision_meridian_deg=case.intent.incision_meridian_deg,
    )
    operated_at = _at(outcome.operated_on)
    record_operation(record, key, operation, revision=revision + 1, who=surgeon, now=operated_at)
    record_review(
        record,
        key,
        refraction=outcome.refraction_with(power),
        refracted_on=outcome.refracted_on,
        acuity_logmar=None,
        notes="",
        revision=revision + 2,
        who=surgeon,
        now=_at(outcome.refracted_on),
    )


def _accept_lessons(record: Record, today: date) -> None:
    """The surgeon has accepted what the larger groups taught; the newest eyes are left to look at."""
    for group in look_back(record, today).groups:
        if group.summary.eyes >= _LESSON_EYES:
            accept_lesson(
                record,
                surgeon=group.surgeon,
                method=group.method,
                lens_model=group.lens_model,
                who=group.surgeon,
                now=_at(today - timedelta(days=1)),
            )


def _at(day: date) -> datetime:
    return datetime.combine(day, time(8, 30), tzinfo=UTC)
