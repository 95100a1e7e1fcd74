"""What incisions did to corneas that were measured again, and what of it the next plans may use."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

import numpy as np
from numpy.typing import NDArray

from zonule.case.astigmatism_results import IncisionGroup, IncisionResults
from zonule.case.biometry import CorneaKind
from zonule.case.case import Case
from zonule.case.eye import CornealSurgery, Eye
from zonule.case.incision import IncisionLesson, Place, place_of
from zonule.case.learned import Excluded
from zonule.case.operation import Complication, Operation
from zonule.case.patient import Side
from zonule.case.review import STABLE_AFTER_DAYS, Review
from zonule.errors import InputError
from zonule.science.astigmatism.incision import (
    QUARTER_TURN_DEG,
    WIDTHS_MM,
    IncisionEffect,
    own_weight,
    personal_effect,
    published_effect,
)
from zonule.science.astigmatism.vectors import Astigmatism, Plane
from zonule.science.statistics.shrinkage import effective_eyes
from zonule.workflow.ports import Record
from zonule.workflow.vector_groups import vector_group

LEAST_EYES = 2
"""As for the other lessons: one eye has no spread."""


@dataclass(frozen=True, slots=True)
class _Changed:
    """One cornea before and after, seen as a right eye."""

    surgeon: str
    patient_key: str
    operated_on: date
    place: Place
    width_mm: float
    meridian_deg: float
    change: Astigmatism


def look_back_at_incisions(record: Record, today: date) -> IncisionResults:
    """What every reviewed eye whose cornea was measured again says of its incision."""
    return incisions_from(record.reviewed_cases(), record.incision_lessons(), today)


def incisions_from(cases: Sequence[Case], lessons: Iterable[IncisionLesson], today: date) -> IncisionResults:
    """The same from given cases and lessons."""
    every = [_changed(case) for case in cases]
    excluded = Counter(one for one in every if isinstance(one, str))
    current = {(one.surgeon, one.place, one.width_mm): one for one in lessons}
    groups: dict[tuple[str, Place, float], list[_Changed]] = defaultdict(list)
    for one in every:
        if isinstance(one, _Changed):
            groups[one.surgeon, one.place, one.width_mm].append(one)
    return IncisionResults(
        tuple(_group(eyes, current.get(key), today) for key, eyes in sorted(groups.items())),
        tuple(Excluded(reason, count) for reason, count in sorted(excluded.items())),
    )


def accept_incision_lesson(record: Record, key: str, who: str, now: datetime) -> IncisionLesson:
    """Store what these eyes teach; the next plan of such an incision by this surgeon uses it."""
    for group in look_back_at_incisions(record, now.date()).groups:
        lesson = group.proposed
        if lesson is not None and lesson.key == key:
            with record.act(who=who, verb="accept lesson", subject=key, at=now) as act:
                act.add_incision_lesson(lesson)
            return lesson
    raise InputError(
        "There are too few corneas, measured again after such incisions of this surgeon, to learn from."
    )


def _changed(case: Case) -> _Changed | str:
    """The cornea before and after, seen as a right eye; or why this eye says nothing of its incision."""
    operation, review, signed = case.operation, case.review, case.signed
    if operation is None or review is None or signed is None:
        return "not yet reviewed"
    reason = _why_left_out(signed.request.eye, operation, review)
    if reason:
        return reason
    change = _change(signed.request.eye, review)
    incision = _kind(operation.incision_meridian_deg, operation.incision_width_mm)
    if isinstance(change, str) or isinstance(incision, str):
        return change if isinstance(change, str) else str(incision)
    meridian_deg, width_mm = incision
    is_right = case.side is Side.RIGHT
    return _Changed(
        surgeon=operation.surgeon,
        patient_key=case.patient.key,
        operated_on=operation.operated_on,
        place=place_of(meridian_deg, case.side),
        width_mm=width_mm,
        meridian_deg=meridian_deg if is_right else 180.0 - meridian_deg,
        change=change if is_right else change.mirrored(),
    )


def _why_left_out(eye: Eye, operation: Operation, review: Review) -> str:
    """The first reason why this cornea was changed by more than the incision; empty when there is none."""
    if review.keratometry is None:
        return "cornea not measured after the operation"
    if eye.history.corneal_surgery is not CornealSurgery.NONE:
        return f"corneal surgery: {eye.history.corneal_surgery.replace('_', ' ')}"
    if operation.complication is not Complication.NONE:
        return "complication"
    return "" if review.is_stable else f"measured before {STABLE_AFTER_DAYS} days"


def _change(eye: Eye, review: Review) -> Astigmatism | str:
    """After minus before, by front readings."""
    readings = (eye.biometry.keratometry, review.keratometry)
    if any(one is not None and one.kind is CorneaKind.TOTAL for one in readings):
        return "cornea given as total; incisions are learned from front readings"
    change = eye.biometry.keratometry.change_to(review.keratometry)
    return "steep meridian or a power missing" if change is None else change


def _kind(meridian_deg: float | None, width_mm: float | None) -> tuple[float, float] | str:
    """Meridian and width to a tenth of a millimetre, where there is something to shrink towards."""
    if meridian_deg is None or width_mm is None:
        return "place or width of the incision not recorded"
    rounded_mm, (low_mm, high_mm) = round(width_mm, 1), WIDTHS_MM
    if not low_mm <= rounded_mm <= high_mm:
        return f"incision not {low_mm:g} to {high_mm:g} mm wide, so no published effect to start from"
    return meridian_deg, rounded_mm


def _group(eyes: Sequence[_Changed], current: IncisionLesson | None, today: date) -> IncisionGroup:
    first = eyes[0]
    meridians_deg = np.array([eye.meridian_deg for eye in eyes])
    changes = Astigmatism(
        np.array([float(eye.change.x_dpt) for eye in eyes]),
        np.array([float(eye.change.y_dpt) for eye in eyes]),
        Plane.CORNEA,
    )
    seen = vector_group(
        changes.turned(-(meridians_deg + QUARTER_TURN_DEG)), [eye.patient_key for eye in eyes]
    )
    assert seen is not None  # noqa: S101 - no group is empty, and every change is known
    published = _published(meridians_deg, first.width_mm)
    return IncisionGroup(
        surgeon=first.surgeon,
        place=first.place,
        width_mm=first.width_mm,
        changes=seen,
        published_flattening_dpt=float(published.flattening_dpt),
        proposed=_lesson(eyes, changes, meridians_deg, published, today) if len(eyes) >= LEAST_EYES else None,
        current=current,
    )


def _published(meridians_deg: NDArray[np.float64], width_mm: float) -> IncisionEffect:
    """The published effect half-way between these incisions, which lie within one place."""
    upright = float(np.mean(np.sin(np.deg2rad(meridians_deg)) ** 2))
    return published_effect(float(np.rad2deg(np.arcsin(np.sqrt(upright)))), width_mm)


def _lesson(
    eyes: Sequence[_Changed],
    changes: Astigmatism,
    meridians_deg: NDArray[np.float64],
    published: IncisionEffect,
    today: date,
) -> IncisionLesson:
    first, days = eyes[0], [eye.operated_on for eye in eyes]
    per_patient = Counter(eye.patient_key for eye in eyes)
    independent = effective_eyes(np.array(list(per_patient.values())))
    own = changes.turned(-(meridians_deg + QUARTER_TURN_DEG))
    effect = personal_effect(changes, meridians_deg, independent, published)
    scatter = effect.covariance_dpt2
    return IncisionLesson(
        key=f"{first.surgeon}: {first.place}, {first.width_mm:.1f} mm",
        surgeon=first.surgeon,
        place=first.place,
        width_mm=first.width_mm,
        first_on=min(days),
        last_on=max(days),
        eyes=len(eyes),
        weight=own_weight(independent, published),
        own_flattening_dpt=float(np.mean(own.x_dpt)),
        flattening_dpt=float(effect.flattening_dpt),
        torque_dpt=float(effect.torque_dpt),
        scatter_dpt2=(float(scatter[0, 0]), float(scatter[0, 1]), float(scatter[1, 1])),
        centroid_sd_dpt=float(effect.centroid_sd_dpt),
        learned_on=today,
    )
