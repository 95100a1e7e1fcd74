"""What each cause would have to be to explain a refraction, and how far that is from usual."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from zonule.case.eye import CornealSurgery
from zonule.case.lens import LensModel
from zonule.case.lesson import Lesson
from zonule.case.plan import Plan
from zonule.case.surprise import BackSolved, Cause, CauseKind, MeasuredAgain, MixUp, MixUpKind
from zonule.science.lens_power.formulas import FORMULAS, EyeNumbers, Formula, seen_eye
from zonule.science.lens_power.surprise import (
    LENS_POSITION_SD_MM,
    REFRACTION_SD_DPT,
    axial_length_that_explains_mm,
    mean_k_that_explains_dpt,
    position_that_explains_mm,
)
from zonule.science.lens_power.thin_lens import ThinLensEye, lens_power_dpt, refraction_dpt
from zonule.science.statistics.shrinkage import SURGEON_BIAS_SD_DPT
from zonule.workflow.methods import constants_for, eye_numbers, measurement_sds, same_constants

NAMED_MIX_UP_DEVIATIONS = 2.0
"""What a mix-up with a known way of happening is charged when it is ranked, in deviations: our choice. How
often one happens is not published as a share of operations, and almost any error has a lens that fits it."""
ANY_BOX_DEVIATIONS = 3.0
"""The same for a lens with nothing to suggest it but that it fits."""

EXPLAINS_AT_LEAST = 0.5
"""The share of an error that another lens or a new measurement must explain to be named (our rule)."""
TREATED = frozenset(CornealSurgery) - {CornealSurgery.NONE, CornealSurgery.UNKNOWN}
"""Corneas whose power no reading tells: the whole scatter of such eyes is put to it, dioptre for dioptre."""
NEWER_DIFFERS = 2.0 * math.sqrt(2.0)
"""Standard deviations of one reading: two of the difference of two."""

_PER_A_CONSTANT_MM = 0.62467
"""Lens position for each unit of an A-constant (retzlaff-1990)."""


@dataclass(frozen=True, slots=True)
class SeenBefore:
    """The eye as one method saw it before the operation, and what the eye got in that method's own terms."""

    formula: Formula
    constants: tuple[float, ...]
    numbers: EyeNumbers
    eye: ThinLensEye
    added_dpt: float
    """What the plan added to the formula's prediction: personal offset and lane."""
    offset_dpt: float
    """The personal offset alone."""
    predicted_dpt: float
    power_dpt: float
    achieved_dpt: float
    """The refraction the eye got."""

    @property
    def own_achieved_dpt(self) -> float:
        """The refraction the eye got, in terms of the formula alone."""
        return self.achieved_dpt - self.added_dpt

    @property
    def position_mm(self) -> float:
        """Where the lens lies if only its place was other than predicted."""
        return float(position_that_explains_mm(self.eye, self.power_dpt, self.own_achieved_dpt))

    @property
    def mean_k_dpt(self) -> float:
        """The keratometry that would have predicted this."""
        return float(
            mean_k_that_explains_dpt(
                self.formula, self.numbers, self.constants, self.power_dpt, self.own_achieved_dpt
            )
        )

    @property
    def axial_length_mm(self) -> float:
        """The length that would have predicted this."""
        return float(
            axial_length_that_explains_mm(
                self.formula, self.numbers, self.constants, self.power_dpt, self.own_achieved_dpt
            )
        )

    def seen(self, **numbers: float) -> ThinLensEye:
        """The eye as the method would have seen it with other numbers."""
        found: ThinLensEye = seen_eye(self.formula, self.numbers._replace(**numbers), self.constants)
        return found


def seen_before(plan: Plan, power_dpt: float, achieved_dpt: float) -> tuple[SeenBefore, ...]:
    """Every fit method with thin-lens optics; the others have no closed form to invert."""
    numbers = eye_numbers(plan.request.eye)
    if numbers is None:
        return ()
    found: list[SeenBefore] = []
    for method in plan.methods:
        formula = FORMULAS[method.method]
        eye = seen_eye(formula, numbers, method.constants) if method.fit else None
        for prediction in method.predictions:
            if isinstance(eye, ThinLensEye) and prediction.lens_power_dpt == power_dpt:
                added = prediction.refraction_dpt - float(refraction_dpt(eye, power_dpt))
                found.append(
                    SeenBefore(
                        formula=formula,
                        constants=method.constants,
                        numbers=numbers,
                        eye=eye,
                        added_dpt=added,
                        offset_dpt=method.offset_dpt,
                        predicted_dpt=prediction.refraction_dpt,
                        power_dpt=power_dpt,
                        achieved_dpt=achieved_dpt,
                    )
                )
    return tuple(found)


def middle(values: Iterable[float]) -> float:
    """The median of those that are defined; nan without any."""
    known = [value for value in values if math.isfinite(value)]
    return float(np.median(known)) if known else math.nan


def predicted_with(seen: Sequence[SeenBefore], power_dpt: float) -> float:
    """What the methods would have predicted for another power of the same lens, offsets included."""
    return middle(float(refraction_dpt(one.eye, power_dpt)) + one.added_dpt for one in seen)


def back_solved(seen: Sequence[SeenBefore]) -> tuple[BackSolved, ...]:
    """Where each method says the lens lies."""
    found = []
    for one in seen:
        position, predicted = one.position_mm, float(one.eye.lens_position_mm)
        if math.isfinite(position) and one.constants:
            per_mm = _PER_A_CONSTANT_MM if one.formula.constant_names[0] == "a_constant" else 1.0
            needed = one.constants[0] + (position - predicted) / per_mm
            found.append(BackSolved(one.formula.key, predicted, position, one.constants[0], needed))
    return tuple(found)


def ranked_causes(
    plan: Plan,
    seen: Sequence[SeenBefore],
    mix_ups: Sequence[MixUp],
    lesson: Lesson | None,
    again: MeasuredAgain,
    sd_dpt: float,
) -> tuple[Cause, ...]:
    """Every cause that the numbers can weigh, the least unusual first."""
    found = [
        *_wrong_lens(mix_ups, seen),
        *_position(seen),
        _constant(seen, lesson),
        _refraction(seen),
        *_measured(plan, seen, again, sd_dpt),
    ]
    return tuple(sorted((one for one in found if math.isfinite(one.needed)), key=lambda one: one.deviations))


def lesson_about(plan: Plan, seen: Sequence[SeenBefore], lessons: Iterable[Lesson]) -> Lesson | None:
    """The lesson of the same surgeon, lens and constants with the most eyes."""
    lens = plan.request.lens
    constants = {one.formula.key: one.constants for one in seen}
    fitting = [
        lesson
        for lesson in lessons
        if lens is not None
        and (lesson.surgeon, lesson.lens_model) == (plan.request.surgeon, lens.name)
        and lesson.method in constants
        and same_constants(lesson.constants, constants[lesson.method])
    ]
    return max(fitting, key=lambda lesson: lesson.eyes, default=None)


def mix_ups(
    seen: Sequence[SeenBefore],
    implanted: LensModel,
    catalogue: Iterable[LensModel],
    other_eye_dpt: float | None,
    sd_dpt: float,
) -> tuple[MixUp, ...]:
    """Other lenses that explain at least half of the error, the best fitting first."""
    achieved, power = seen[0].achieved_dpt, seen[0].power_dpt
    error = achieved - predicted_with(seen, power)
    found: dict[tuple[str, float], MixUp] = {}
    for kind, model, other, predicted in _candidates(seen, implanted, tuple(catalogue), other_eye_dpt):
        left = achieved - predicted
        explains = math.isfinite(left) and abs(left) <= (1.0 - EXPLAINS_AT_LEAST) * abs(error)
        if explains and (model, other) != (implanted.name, power):
            charge = ANY_BOX_DEVIATIONS if kind is MixUpKind.ANY_BOX else NAMED_MIX_UP_DEVIATIONS
            weighed = MixUp(kind, model, other, left, math.hypot(charge, left / sd_dpt))
            found.setdefault((model, other), weighed)
    return tuple(sorted(found.values(), key=lambda one: one.deviations))


def _candidates(
    seen: Sequence[SeenBefore],
    implanted: LensModel,
    catalogue: Sequence[LensModel],
    other_eye_dpt: float | None,
) -> Iterator[tuple[MixUpKind, str, float, float]]:
    """How it may have happened, model and power, and the refraction that would have been predicted."""
    power, achieved = seen[0].power_dpt, seen[0].achieved_dpt
    made = {one for lens in (implanted, *catalogue) for one in lens.powers.powers_dpt}
    slips = [] if other_eye_dpt is None else [(MixUpKind.OTHER_EYE, other_eye_dpt)]
    slips += _slips(power, made)
    slips.append((MixUpKind.ANY_BOX, min(made, key=lambda one: abs(achieved - predicted_with(seen, one)))))
    for kind, other in slips:
        yield kind, implanted.name, other, predicted_with(seen, other)
    for model, predicted in _other_models(seen, implanted, catalogue):
        yield MixUpKind.OTHER_MODEL, model, power, predicted


def _slips(power_dpt: float, made: set[float]) -> Iterator[tuple[MixUpKind, float]]:
    """Powers that are reached from this one by a known slip, as far as they are made."""
    below = max((one for one in made if one < power_dpt), default=None)
    above = min((one for one in made if one > power_dpt), default=None)
    yield from ((MixUpKind.NEXT_BOX, one) for one in (below, above) if one is not None)
    if -power_dpt in made:
        yield MixUpKind.SIGN, -power_dpt
    swapped = digits_swapped_dpt(power_dpt)
    if swapped in made:
        yield MixUpKind.DIGITS, swapped


def digits_swapped_dpt(power_dpt: float) -> float:
    """The power with its tens and ones in each other's place: 21.5 for 12.5."""
    whole, rest = divmod(Decimal(str(abs(power_dpt))), 1)
    tens, ones = divmod(int(whole), 10)
    return math.copysign(float(10 * ones + tens + rest), power_dpt)


def _other_models(
    seen: Sequence[SeenBefore], implanted: LensModel, lenses: Iterable[LensModel]
) -> Iterator[tuple[str, float]]:
    """Other lenses of the catalogue made in the same power, and what they would have given."""
    power = seen[0].power_dpt
    for lens in lenses:
        if lens.name != implanted.name and power in lens.powers.powers_dpt:
            yield lens.name, middle(_with_lens(seen, lens, power))


def _with_lens(seen: Sequence[SeenBefore], lens: LensModel, power_dpt: float) -> Iterator[float]:
    for one in seen:
        chosen = constants_for(one.formula, lens)
        if chosen is not None and (one.formula.converted_fit_for_odds or not chosen[1]):
            eye = seen_eye(one.formula, one.numbers, chosen[0])
            yield float(refraction_dpt(eye, power_dpt)) + one.added_dpt - one.offset_dpt


def explaining_power_dpt(seen: Sequence[SeenBefore]) -> float:
    """The lens power that would have given this refraction."""
    return middle(float(lens_power_dpt(one.eye, one.own_achieved_dpt)) for one in seen)


def _wrong_lens(found: Sequence[MixUp], seen: Sequence[SeenBefore]) -> Iterator[Cause]:
    if found:
        best = found[0]
        yield Cause(
            CauseKind.WRONG_LENS,
            needed=explaining_power_dpt(seen) - seen[0].power_dpt,
            unit="D",
            usual_sd=0.0,
            deviations=best.deviations,
            source="zonule-ranges",
            from_value=seen[0].power_dpt,
            mix_up=best,
        )


def _position(seen: Sequence[SeenBefore]) -> Iterator[Cause]:
    solved = back_solved(seen)
    if solved:
        needed = middle(one.position_mm - one.predicted_mm for one in solved)
        yield Cause(
            CauseKind.LENS_POSITION,
            needed,
            "mm",
            LENS_POSITION_SD_MM,
            abs(needed) / LENS_POSITION_SD_MM,
            "norrby-2008",
            from_value=middle(one.predicted_mm for one in solved),
        )


def _constant(seen: Sequence[SeenBefore], lesson: Lesson | None) -> Cause:
    """The whole error as a bias of lens and surgeon, against what their other eyes say."""
    without_offset = middle(one.achieved_dpt - one.predicted_dpt + one.offset_dpt for one in seen)
    expected, sd = (0.0, SURGEON_BIAS_SD_DPT) if lesson is None else (lesson.offset_dpt, lesson.offset_sd_dpt)
    return Cause(
        CauseKind.CONSTANT,
        without_offset,
        "D",
        sd,
        abs(without_offset - expected) / sd,
        "zonule-ranges",
        from_value=expected,
    )


def _refraction(seen: Sequence[SeenBefore]) -> Cause:
    error = middle(one.achieved_dpt - one.predicted_dpt for one in seen)
    return Cause(
        CauseKind.REFRACTION,
        -error,
        "D",
        REFRACTION_SD_DPT,
        abs(error) / REFRACTION_SD_DPT,
        "photonics-2024",
        from_value=seen[0].achieved_dpt,
    )


def _measured(plan: Plan, seen: Sequence[SeenBefore], again: MeasuredAgain, sd_dpt: float) -> Iterator[Cause]:
    sds, numbers = measurement_sds(plan.request.eye.biometry), seen[0].numbers
    rows = (
        (CauseKind.CORNEA, "mean_k_dpt", "D", middle(one.mean_k_dpt for one in seen)),
        (CauseKind.LENGTH, "axial_length_mm", "mm", middle(one.axial_length_mm for one in seen)),
    )
    for kind, name, unit, explaining in rows:
        value, sd, newer = float(getattr(numbers, name)), float(getattr(sds, name)), getattr(again, name)
        needed = explaining - value
        left = None if newer is None else _left_by(seen, name, newer, NEWER_DIFFERS * sd)
        source = "langenbucher-2025"
        if kind is CauseKind.CORNEA and plan.request.eye.history.corneal_surgery in TREATED:
            sd, source = max(sd, sd_dpt), "zonule-ranges"
        deviations = abs(needed) / sd if left is None else abs(left) / sd_dpt
        yield Cause(
            kind,
            needed,
            unit,
            sd,
            deviations,
            source,
            from_value=value,
            again=newer,
            unexplained_dpt=left,
        )


def _left_by(seen: Sequence[SeenBefore], name: str, newer: float, differs: float) -> float | None:
    """What a new measurement leaves of the error; None if it is the old one again, or explains too little."""
    error = middle(one.achieved_dpt - one.predicted_dpt for one in seen)
    left = middle(
        one.achieved_dpt - float(refraction_dpt(one.seen(**{name: newer}), one.power_dpt)) - one.added_dpt
        for one in seen
    )
    is_other = abs(newer - float(getattr(seen[0].numbers, name))) > differs
    explains = abs(left) <= (1.0 - EXPLAINS_AT_LEAST) * abs(error)
    return left if is_other and explains else None
