"""Live through the invented clinic's year, verb by verb, as a surgeon would have."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

from zonule.case.axis_looks import slip_of
from zonule.case.axis_visit import AxisVisit
from zonule.case.case import case_key
from zonule.case.operation import Operation
from zonule.case.plan import Intent, SignedPlan
from zonule.case.toric import ToricPlan
from zonule.demo.clinic import PAST_EYES, DemoCase, DemoClinic, demo_clinic
from zonule.workflow.axis_visits import record_axis_visit
from zonule.workflow.forecast import asked_of, plan_eye
from zonule.workflow.learn import accept_lesson, look_back
from zonule.workflow.operate import record_operation
from zonule.workflow.plan import request_for, save_intent, sign_plan, standing_warnings
from zonule.workflow.ports import Record
from zonule.workflow.review import record_review

CLERK = "Demo clinic"
_SEEN = "Seen and discussed with the patient."
_LESSON_EYES = 20
"""Groups smaller than this are left for the visitor to accept."""


def fill(record: Record, *, today: date, progress: Callable[[int, int], None], eyes: int = PAST_EYES) -> str:
    """Put the clinic into an empty record; the key of the first eye on today's list."""
    clinic = demo_clinic(eyes=eyes, today=today)
    _add_lenses(record, clinic, today)
    for done, case in enumerate(clinic.cases):
        progress(done, len(clinic.cases))
        key = _list(record, case)
        if case.outcome is not None:
            _live_through(record, case, key, today)
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


def _live_through(record: Record, case: DemoCase, key: str, today: date) -> None:
    outcome = case.outcome
    assert outcome is not None  # noqa: S101 - the caller asked
    signed = _sign(record, case, key)
    if signed is None:
        return
    intent = signed.intent
    cylinder_dpt, planned_deg = intent.lens_cylinder_dpt, intent.lens_meridian_deg
    _operate(record, case, key, signed)
    seen = outcome.astigmatism
    is_toric = bool(cylinder_dpt) and planned_deg is not None
    visits = seen.visits(planned_deg or 0.0, outcome.operated_on, today) if is_toric else ()
    for visit in visits:
        if visit.seen_on < outcome.refracted_on:
            _look(record, case, key, visit)
    record_review(
        record,
        key,
        refraction=outcome.refraction_with(
            intent.lens_power_dpt or 0.0, cylinder_dpt or 0.0, planned_deg or 180.0
        ),
        refracted_on=outcome.refracted_on,
        acuity_logmar=None,
        notes="",
        revision=record.case(key).revision,
        who=case.intent.surgeon,
        now=_at(outcome.refracted_on),
        lens_meridian_deg=seen.seen_at_refraction_deg(planned_deg or 0.0) if is_toric else None,
        keratometry=seen.keratometry_after,
    )
    for visit in visits:
        if visit.seen_on > outcome.refracted_on:
            _look(record, case, key, visit)


def _sign(record: Record, case: DemoCase, key: str) -> SignedPlan | None:
    """Plan the eye and sign for the power, and the cylinder, that its plan says is best."""
    surgeon, planned_at = case.intent.surgeon, _at(case.listed_on - timedelta(days=2))
    revision = save_intent(record, key, case.intent, revision=0, who=surgeon, now=planned_at)
    plan = plan_eye(request_for(record.case(key), record), planned_at.date())
    if plan.odds is None:
        return None
    power, asked = plan.odds.best_power_dpt, plan.asked
    reasons = _SEEN if standing_warnings(plan, power) else ""
    if plan.toric is not None and plan.toric.options:
        chosen = _with_cylinder(case.intent, plan.toric)
        revision = save_intent(record, key, chosen, revision=revision, who=surgeon, now=planned_at)
        asked, reasons = asked_of(request_for(record.case(key), record)), _SEEN
    return sign_plan(
        record,
        key,
        power_dpt=power,
        asked=asked,
        reasons=reasons,
        revision=revision,
        who=surgeon,
        now=planned_at,
    )


def _with_cylinder(intent: Intent, toric: ToricPlan) -> Intent:
    """The draft with the best cylinder, and its meridian in whole degrees."""
    best_dpt = toric.best_cylinder_dpt
    meridian_deg = float(round(toric.meridian_deg) % 180 or 180) if best_dpt else None
    return replace(intent, lens_cylinder_dpt=best_dpt, lens_meridian_deg=meridian_deg)


def _operate(record: Record, case: DemoCase, key: str, signed: SignedPlan) -> None:
    outcome, intent = case.outcome, signed.intent
    assert outcome is not None  # noqa: S101 - the caller asked
    planned_deg = intent.lens_meridian_deg if intent.lens_cylinder_dpt else None
    left_deg = None if planned_deg is None else outcome.astigmatism.left_at_deg(planned_deg)
    like_a_slip = left_deg is not None and planned_deg is not None and slip_of(left_deg, planned_deg)
    operation = Operation(
        plan_digest=signed.digest,
        operated_on=outcome.operated_on,
        surgeon=intent.surgeon,
        lens_model=intent.lens_model,
        lens_power_dpt=intent.lens_power_dpt,
        fixation=outcome.fixation,
        complication=outcome.complication,
        capsulorhexis_mm=intent.capsulorhexis_mm,
        incision_meridian_deg=intent.incision_meridian_deg,
        incision_width_mm=intent.incision_width_mm,
        lens_cylinder_dpt=intent.lens_cylinder_dpt,
        lens_meridian_deg=left_deg,
        changed_from_plan="Marks read twice; the lens lies so." if like_a_slip else "",
    )
    revision = record.case(key).revision
    at = _at(outcome.operated_on)
    record_operation(record, key, operation, revision=revision, who=intent.surgeon, now=at)


def _look(record: Record, case: DemoCase, key: str, visit: AxisVisit) -> None:
    revision = record.case(key).revision
    record_axis_visit(record, key, visit, revision=revision, who=case.intent.surgeon, now=_at(visit.seen_on))


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
