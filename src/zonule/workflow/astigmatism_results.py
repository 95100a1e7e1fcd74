"""What all reviewed eyes say of astigmatism: what was left, and which cornea model foretold it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from zonule.case.astigmatism_results import (
    AstigmatismResults,
    Change,
    Indices,
    ModelMisses,
    ModelsCompared,
    VectorGroup,
)
from zonule.case.case import Case
from zonule.case.incision import IncisionLesson
from zonule.case.learned import Excluded
from zonule.case.toric import CorneaModelName
from zonule.science.astigmatism.surgical_vectors import SurgicalVectors, surgical_vectors
from zonule.science.astigmatism.toric_lens import cylinder_at_cornea_dpt, cylinder_at_lens_dpt, residual
from zonule.science.astigmatism.vectors import Astigmatism, Plane
from zonule.science.statistics.paired import mcnemar_p_value
from zonule.workflow.cornea_models import (
    BY_PREFERENCE,
    FRONT_ALONE,
    model_source,
    model_words,
    totals_of_many,
)
from zonule.workflow.ports import Record
from zonule.workflow.refracted_eyes import (
    ANYWHERE_DEG,
    RefractedEye,
    achieved,
    made_changes,
    middle_over_methods,
    planned_changes,
    refracted_eye,
    seen_by_methods,
)
from zonule.workflow.turned_lenses import turns_of
from zonule.workflow.vector_groups import only, vector_group

HALF_A_DIOPTRE = 0.5
_ROUNDING_DPT = 1e-9


def look_back_at_astigmatism(record: Record) -> AstigmatismResults:
    """What every reviewed eye that counts says of astigmatism."""
    return results_from(record.reviewed_cases(), record.incision_lessons())


def results_from(cases: Sequence[Case], lessons: Iterable[IncisionLesson]) -> AstigmatismResults:
    """The same from given cases and what own eyes are believed to say of incisions."""
    every = [refracted_eye(case) for case in cases]
    eyes = [one for one in every if isinstance(one, RefractedEye)]
    excluded = Counter(one for one in every if isinstance(one, str))
    seen = _Seen.of(eyes, lessons)
    models = tuple(_models(seen))
    return AstigmatismResults(
        eyes=len(eyes),
        toric_eyes=sum(eye.is_toric for eye in eyes),
        meridian_not_seen=sum(eye.is_toric and not eye.meridian_seen for eye in eyes),
        excluded=tuple(Excluded(reason, count) for reason, count in sorted(excluded.items())),
        cornea=vector_group(seen.readings, seen.patient_keys),
        residual=vector_group(seen.achieved, seen.patient_keys),
        change=_change(seen),
        models=models,
        compared=tuple(_compared(seen, models)),
        turns=turns_of(cases),
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Seen:
    """Many eyes at once; every vector has one entry an eye, nan where it is not known."""

    eyes: Sequence[RefractedEye]
    patient_keys: tuple[str, ...]
    readings: Astigmatism
    achieved: Astigmatism
    totals: dict[CorneaModelName, Astigmatism]
    """Of the cornea before the incision, by model."""
    predicted: dict[CorneaModelName, Astigmatism]
    """Residual with the lens implanted, where it lies, and the incision as made."""
    wanted: Astigmatism
    """Residual as planned, of the model planned on; nan where no meridian was planned."""
    planned_totals: Astigmatism
    """Of the model planned on."""

    @classmethod
    def of(cls, eyes: Sequence[RefractedEye], lessons: Iterable[IncisionLesson]) -> _Seen:
        """Everything that these eyes have in common, computed together."""
        readings = Astigmatism(
            np.array([float(eye.reading.x_dpt) for eye in eyes]),
            np.array([float(eye.reading.y_dpt) for eye in eyes]),
            Plane.CORNEA,
        )
        lenses = _Lenses(eyes)
        totals = totals_of_many(
            [eye.signed.request.eye for eye in eyes],
            readings,
            lenses.asked_dpt(np.asarray(readings.magnitude_dpt)),
        )
        made = made_changes(eyes, lessons)
        lies_deg = np.array([eye.lens_meridian_deg for eye in eyes])
        worth_dpt = lenses.implanted_dpt()
        planned_totals = _planned_on(eyes, totals)
        return cls(
            eyes=eyes,
            patient_keys=tuple(eye.case.patient.key for eye in eyes),
            readings=readings,
            achieved=achieved([eye.review.refraction for eye in eyes]),
            totals=totals,
            predicted={key: residual(one.plus(made), worth_dpt, lies_deg) for key, one in totals.items()},
            wanted=_wanted(eyes, planned_totals, lenses),
            planned_totals=planned_totals,
        )

    def misses(self, key: CorneaModelName) -> Astigmatism:
        """Achieved minus predicted by one model."""
        return self.achieved.minus(self.predicted[key])


class _Lenses:
    """What lens cylinders are worth at these corneas, by the lens position of each method."""

    def __init__(self, eyes: Sequence[RefractedEye]) -> None:
        self._eyes = eyes
        self._views = seen_by_methods([eye.signed for eye in eyes])

    def asked_dpt(self, sizes_dpt: NDArray[np.float64]) -> NDArray[np.float64]:
        """Cylinder at the lens that the readings as they are would ask for."""
        aims_dpt = np.array([eye.signed.request.target_refraction_dpt or 0.0 for eye in self._eyes])
        return middle_over_methods(
            self._views,
            len(self._eyes),
            lambda seen, rows: cylinder_at_lens_dpt(seen, sizes_dpt[rows], aims_dpt[rows]),
        )

    def implanted_dpt(self) -> NDArray[np.float64]:
        """Of the lens in the eye; 0 for one without cylinder."""
        powers_dpt = [eye.operation.lens_power_dpt or 0.0 for eye in self._eyes]
        return self._at_cornea_dpt([eye.cylinder_dpt for eye in self._eyes], powers_dpt)

    def planned_dpt(self) -> NDArray[np.float64]:
        """Of the lens signed for."""
        intents = [eye.signed.intent for eye in self._eyes]
        return self._at_cornea_dpt(
            [one.lens_cylinder_dpt or 0.0 for one in intents], [one.lens_power_dpt or 0.0 for one in intents]
        )

    def _at_cornea_dpt(self, cylinders: Sequence[float], powers: Sequence[float]) -> NDArray[np.float64]:
        lens_dpt, power_dpt = np.array(cylinders), np.array(powers)
        worth_dpt = middle_over_methods(
            self._views,
            len(self._eyes),
            lambda seen, rows: cylinder_at_cornea_dpt(seen, lens_dpt[rows], power_dpt[rows]),
        )
        return np.where(lens_dpt == 0.0, 0.0, worth_dpt)


def _planned_on(eyes: Sequence[RefractedEye], totals: dict[CorneaModelName, Astigmatism]) -> Astigmatism:
    """The cornea that each plan was made on: by the model chosen, else by the one a plan takes unasked."""
    rows = np.full((len(eyes), 2), np.nan)
    for row, eye in enumerate(eyes):
        chosen = eye.signed.intent.cornea_model
        for key in BY_PREFERENCE if chosen is None else (chosen,):
            x_dpt, y_dpt = np.asarray(totals[key].x_dpt)[row], np.asarray(totals[key].y_dpt)[row]
            if np.isfinite(x_dpt):
                rows[row] = x_dpt, y_dpt
                break
    return Astigmatism(rows[:, 0], rows[:, 1], Plane.CORNEA)


def _wanted(eyes: Sequence[RefractedEye], totals: Astigmatism, lenses: _Lenses) -> Astigmatism:
    """What each plan meant to leave; nan where its lens has cylinder and no meridian was planned."""
    induced = planned_changes(eyes)
    intents = [eye.signed.intent for eye in eyes]
    meant_deg = np.array(
        [
            (one.lens_meridian_deg if one.lens_meridian_deg is not None else np.nan)
            if one.lens_cylinder_dpt
            else ANYWHERE_DEG
            for one in intents
        ]
    )
    return residual(totals.plus(induced), lenses.planned_dpt(), meant_deg)


def _models(seen: _Seen) -> Iterator[ModelMisses]:
    """Models in the order of their mean miss; those that speak of under half of the eyes come last."""
    found = []
    for key in seen.totals:
        group = vector_group(seen.misses(key), seen.patient_keys)
        if group is not None:
            found.append(ModelMisses(key, model_words(key), *model_source(key), group))
    half = len(seen.eyes) / 2.0
    yield from sorted(
        found, key=lambda one: (one.misses.found.eyes < half, one.misses.found.mean_magnitude_dpt)
    )


def _compared(seen: _Seen, models: Sequence[ModelMisses]) -> Iterator[ModelsCompared]:
    """The first model against the next, and against the front alone."""
    if len(models) < 2:  # noqa: PLR2004 - it takes two to compare
        return
    first, second = models[0].key, models[1].key
    yield _pair(seen, first, second)
    if FRONT_ALONE in {one.key for one in models[2:]}:
        yield _pair(seen, first, FRONT_ALONE)


def _pair(seen: _Seen, better: CorneaModelName, other: CorneaModelName) -> ModelsCompared:
    sizes_dpt = [np.asarray(seen.misses(key).magnitude_dpt) for key in (better, other)]
    both = np.isfinite(sizes_dpt[0]) & np.isfinite(sizes_dpt[1])
    near, other_near = (both & (one <= HALF_A_DIOPTRE + _ROUNDING_DPT) for one in sizes_dpt)
    only_better, only_other = int((near & ~other_near).sum()), int((other_near & ~near).sum())
    p_value = mcnemar_p_value(only_better, only_other)
    return ModelsCompared(better, other, int(both.sum()), only_better, only_other, p_value)


def _change(seen: _Seen) -> Change | None:
    """Target, effect and what is missing, of toric eyes with a meridian planned."""
    signed_for = [eye.is_toric and bool(eye.signed.intent.lens_cylinder_dpt) for eye in seen.eyes]
    known = (
        np.array(signed_for, dtype=bool)
        & np.isfinite(seen.wanted.x_dpt)
        & np.isfinite(seen.planned_totals.x_dpt)
    )
    if not known.any():
        return None
    keys = [key for key, taken in zip(seen.patient_keys, known, strict=True) if taken]
    vectors = surgical_vectors(
        only(seen.planned_totals, known), only(seen.wanted, known), only(seen.achieved, known)
    )
    target, induced, difference = (
        _group(each, keys) for each in (vectors.target, vectors.induced, vectors.difference)
    )
    return Change(target, induced, difference, _indices(vectors))


def _group(vectors: Astigmatism, patient_keys: Sequence[str]) -> VectorGroup:
    group = vector_group(vectors, patient_keys)
    assert group is not None  # noqa: S101 - the eyes were chosen for having all three
    return group


def _indices(vectors: SurgicalVectors) -> Indices | None:
    defined = np.isfinite(vectors.correction_index) & np.isfinite(vectors.angle_error_deg)
    if not defined.any():
        return None
    figures = (
        vectors.magnitude_error_dpt,
        vectors.angle_error_deg,
        vectors.correction_index,
        vectors.index_of_success,
        vectors.flattening_index,
    )
    medians = [float(np.median(np.asarray(each)[defined])) for each in figures]
    return Indices(int(defined.sum()), *medians)
