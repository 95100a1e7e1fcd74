"""Reviewed eyes as corneas with an incision and a lens: which count, and what each of them was."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from zonule.case.applicability import keratoconus_asked
from zonule.case.axis_looks import Occasion, looks_of, meridian_signed_deg
from zonule.case.case import Case
from zonule.case.incision import Incision, IncisionLesson, place_of
from zonule.case.operation import Operation
from zonule.case.outcome_rules import why_left_out
from zonule.case.patient import Side
from zonule.case.plan import SignedPlan
from zonule.case.refraction import Refraction
from zonule.case.review import Review
from zonule.science.arrays import Numbers
from zonule.science.astigmatism.vectors import Astigmatism, Plane, at_cornea, sphero_cylinder
from zonule.science.lens_power.formulas import FORMULAS, THIN_LENS, EyeNumbers, seen_eye
from zonule.science.lens_power.thin_lens import ThinLensEye
from zonule.workflow.incision_effect import induced_mean
from zonule.workflow.methods import constants_for, eye_numbers

ANYWHERE_DEG = 180.0
"""Meridian of what has no cylinder."""


@dataclass(frozen=True, slots=True)
class RefractedEye:
    """One reviewed eye that can say something about cornea models."""

    case: Case
    signed: SignedPlan
    operation: Operation
    review: Review
    reading: Astigmatism
    """Of the cornea before the operation."""
    cylinder_dpt: float
    """Of the lens implanted, as labelled; 0 for one without."""
    lens_meridian_deg: float
    """Where it lay at the refraction, as far as anybody knows."""
    meridian_seen: bool
    """Whether somebody looked after the operation."""

    @property
    def is_toric(self) -> bool:
        """Whether the lens has cylinder."""
        return self.cylinder_dpt > 0.0

    @property
    def incision(self) -> Incision | None:
        """As made; as planned where the operation note is silent."""
        planned, made_deg = self.signed.request.incision, self.operation.incision_meridian_deg
        if made_deg is None:
            return planned
        stated_dpt = None if planned is None else planned.flattening_dpt
        planned_mm = None if planned is None else planned.width_mm
        width_mm = self.operation.incision_width_mm
        return Incision(made_deg, planned_mm if width_mm is None else width_mm, stated_dpt)


def refracted_eye(case: Case) -> RefractedEye | str:
    """The eye, or why it says nothing about cornea models."""
    signed, operation, review = case.signed, case.operation, case.review
    if signed is None or operation is None or review is None:
        return "not yet reviewed"
    eye = signed.request.eye
    reason = why_left_out(
        eye.history.corneal_surgery, operation.fixation, operation.complication, review.days_after
    )
    if reason:
        return reason
    if keratoconus_asked(eye) is not None:
        return "very steep cornea, keratoconus asked"
    reading = eye.biometry.keratometry.astigmatism
    if reading is None or eye_numbers(eye) is None:
        return "no steep meridian, or no length"
    lens = _lens(case, signed, operation, review)
    return lens if isinstance(lens, str) else RefractedEye(case, signed, operation, review, reading, *lens)


def _lens(
    case: Case, signed: SignedPlan, operation: Operation, review: Review
) -> tuple[float, float, bool] | str:
    """Cylinder of the lens, where it lies and whether that was seen; or why this cannot be told."""
    planned, cylinder_dpt = signed.request.lens, operation.lens_cylinder_dpt
    if planned is None or operation.lens_model != planned.name:
        return "another lens than planned"
    if cylinder_dpt is None and planned.cylinders_dpt:
        return "cylinder of the lens not recorded"
    if not cylinder_dpt:
        return 0.0, ANYWHERE_DEG, False
    if operation.lens_power_dpt is None:
        return "power of the lens not recorded"
    looks = [look for look in looks_of(case) if look.seen_on <= review.refracted_on]
    if looks:
        return cylinder_dpt, looks[-1].lens_meridian_deg, looks[-1].occasion is not Occasion.OPERATION
    meant_deg = meridian_signed_deg(signed)
    return "meridian of the lens not recorded" if meant_deg is None else (cylinder_dpt, meant_deg, False)


def achieved(refractions: Sequence[Refraction]) -> Astigmatism:
    """What is left of astigmatism by refraction, moved to the cornea."""
    rows = np.array(
        [
            (one.sphere_dpt, one.cylinder_dpt, ANYWHERE_DEG if one.axis_deg is None else one.axis_deg)
            for one in refractions
        ]
    ).reshape(-1, 3)
    vertex_mm = np.array([one.vertex_mm for one in refractions])
    # A vertex distance of 0 is the cornea, and moving by nothing changes nothing.
    sphere_dpt, cylinder_dpt, axis_deg = rows.T
    written = sphero_cylinder(sphere_dpt, cylinder_dpt, axis_deg, Plane.SPECTACLES)
    return at_cornea(written, vertex_mm).correcting


def planned_changes(eyes: Sequence[RefractedEye]) -> Astigmatism:
    """The mean change that each plan expected of its incision."""
    requests = [eye.signed.request for eye in eyes]
    asked = [
        (one.incision, one.incision_lesson, eye.case.side) for one, eye in zip(requests, eyes, strict=True)
    ]
    return _mean_changes(asked)


def made_changes(eyes: Sequence[RefractedEye], lessons: Iterable[IncisionLesson]) -> Astigmatism:
    """The mean change to expect of each incision as made, by what own eyes are believed to say now."""
    current = {(one.surgeon, one.place, one.width_mm): one for one in lessons}
    asked = []
    for eye in eyes:
        incision, side = eye.incision, eye.case.side
        lesson = None
        if incision is not None and incision.width_mm is not None:
            place = place_of(incision.meridian_deg, side)
            lesson = current.get((eye.operation.surgeon, place, round(incision.width_mm, 1)))
        asked.append((incision, lesson, side))
    return _mean_changes(asked)


def _mean_changes(asked: Sequence[tuple[Incision | None, IncisionLesson | None, Side]]) -> Astigmatism:
    """No change where nothing is known of an incision; like incisions are asked about once."""
    known: dict[object, tuple[float, float]] = {}
    changes = np.zeros((len(asked), 2))
    for row, (incision, lesson, side) in enumerate(asked):
        if incision is None:
            continue
        kind = (incision, lesson, side)
        if kind not in known:
            change = induced_mean(incision, lesson, side)
            known[kind] = (float(change.x_dpt), float(change.y_dpt))
        changes[row] = known[kind]
    return Astigmatism(changes[:, 0], changes[:, 1], Plane.CORNEA)


def seen_by_methods(plans: Sequence[SignedPlan]) -> tuple[tuple[NDArray[np.intp], ThinLensEye], ...]:
    """Many eyes as each method sees them that stood for them when the plan was signed.

    Each entry holds which of the eyes, and these eyes together. Only methods that place a thin lens: the
    cylinder of a lens is moved to the cornea by its position.
    """
    numbers = np.array([_numbers(plan) for plan in plans]).reshape(-1, len(EyeNumbers._fields))
    return tuple(_views(plans, numbers))


def _numbers(plan: SignedPlan) -> EyeNumbers:
    return eye_numbers(plan.request.eye) or EyeNumbers(*(math.nan,) * len(EyeNumbers._fields))


def _views(
    plans: Sequence[SignedPlan], numbers: NDArray[np.float64]
) -> Iterator[tuple[NDArray[np.intp], ThinLensEye]]:
    for key in {method: None for plan in plans for method in plan.method_predictions_dpt}:
        formula = FORMULAS.get(key)
        if formula is None or formula.optics is not THIN_LENS:
            continue
        chosen = {
            row: found[0]
            for row, plan in enumerate(plans)
            if key in plan.method_predictions_dpt
            and plan.request.lens is not None
            and (found := constants_for(formula, plan.request.lens)) is not None
        }
        if chosen:
            rows = np.array(list(chosen))
            constants = np.array(list(chosen.values()))
            yield rows, seen_eye(formula, EyeNumbers(*numbers[rows].T), list(constants.T))


def middle_over_methods(
    views: Sequence[tuple[NDArray[np.intp], ThinLensEye]],
    count: int,
    ask: Callable[[ThinLensEye, NDArray[np.intp]], Numbers],
) -> NDArray[np.float64]:
    """The median over methods of what each says of an eye; nan where none says anything."""
    answers = np.full((len(views) + 1, count), np.nan)
    for place, (rows, eyes) in enumerate(views):
        answers[place, rows] = ask(eyes, rows)
    silent = np.isnan(answers).all(axis=0)
    answers[-1, silent] = 0.0
    middle: NDArray[np.float64] = np.nanmedian(answers, axis=0)
    middle[silent] = np.nan
    return middle
