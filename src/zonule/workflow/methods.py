"""What each formula says about one eye, with its spread, as records."""

from __future__ import annotations

import math
import statistics
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from zonule.case.biometry import Biometry, LensStatus, Method
from zonule.case.eye import Eye, History
from zonule.case.finding import note
from zonule.case.lens import LensModel
from zonule.case.lesson import Lesson
from zonule.case.plan import (
    FEARED_BEYOND_DPT,
    FearedSide,
    MethodResult,
    Prediction,
    Refused,
    Spread,
)
from zonule.case.second_eye import SecondEye
from zonule.science.lens_power.flags import FormulaFlag
from zonule.science.lens_power.formulas import FORMULAS, EyeNumbers, Family, Formula, seen_eye
from zonule.science.lens_power.ray_traced import RayTracedEye
from zonule.science.optics.keratometry import corneal_power_dpt
from zonule.science.optics.lens_design import LensShape
from zonule.science.optics.vergence import refraction_in_reported_lane_dpt
from zonule.science.uncertainty.label import excess_label_variance_dpt2
from zonule.science.uncertainty.propagation import (
    PUBLISHED_SDS,
    SimulatedVariance,
    average_eye_variance_dpt2,
    measurement_variance,
)
from zonule.science.uncertainty.repeatability import PUBLISHED_SD, ULTRASOUND_LENGTH_SD_MM
from zonule.science.uncertainty.spread import (
    ErrorLaw,
    chances_of_target,
    error_law,
    fraction_below,
)
from zonule.science.units import KERATOMETRIC_INDEX, um_to_mm
from zonule.workflow.method_findings import method_findings

UNFIT = (
    FormulaFlag.IMAGINARY_ROOT
    | FormulaFlag.NEAR_IMAGINARY_ROOT
    | FormulaFlag.LENGTH_BEYOND_TURN
    | FormulaFlag.LENS_OUTSIDE_EYE
)
"""What keeps a formula out of odds, medians and audits for one eye."""


@dataclass(frozen=True, slots=True)
class Question:
    """What every method is asked about one eye."""

    lens: LensModel
    numbers: EyeNumbers
    drawn: EyeNumbers
    """The same eye as it might have been measured, many times over."""
    target_dpt: float
    feared: FearedSide
    lessons: Mapping[str, Lesson]
    """Those that may be used, by method."""
    law_scale_dpt: float
    """Of the published law for such corneas."""
    odds_allowed: bool
    anatomy_stands: bool = False
    """Whether optics with the general place of a lens may stand for this eye, because nothing else may."""


@dataclass(frozen=True, slots=True)
class Evaluation:
    """One method's answer as numbers, one entry for each power; records are made of it."""

    formula: Formula
    constants: tuple[float, ...]
    first_guess: bool
    fit: bool
    counts: bool
    flags: FormulaFlag
    seen: Any
    """The eye as the formula sees it."""
    lesson_dpt: float
    """Personal offset, included in the refractions."""
    refractions_dpt: NDArray[np.float64]
    law_scale_dpt: float
    """Of the law over many eyes, after a lesson has had its say."""
    average_eye_variance_dpt2: float
    measurement_variances_dpt2: NDArray[np.float64]
    variance_errors_dpt2: NDArray[np.float64]

    def law(self, residual_left: float = 1.0) -> ErrorLaw:
        """How refractions scatter, with so much of what the formula leaves open still open."""
        law = error_law(self.law_scale_dpt, self.average_eye_variance_dpt2, self.measurement_variances_dpt2)
        return replace(law, residual_variance_dpt2=law.residual_variance_dpt2 * residual_left)


def eye_numbers(eye: Eye) -> EyeNumbers | None:
    """What the formulas read of this eye; None when length or cornea is missing."""
    length, mean_k = eye.biometry.axial_length_mm, eye.biometry.keratometry.mean_k_dpt
    if length is None or mean_k is None:
        return None
    biometry, history = eye.biometry, eye.history
    thickness, lens = biometry.corneal_thickness_um, biometry.lens_thickness_mm
    has_lens = biometry.lens_status is not LensStatus.APHAKIC
    return EyeNumbers(
        length.value,
        mean_k,
        _or_nan(biometry.chamber_from_epithelium_mm if has_lens else None),
        _or_nan(None if lens is None or not has_lens else lens.value),
        _or_nan(None if thickness is None else um_to_mm(thickness.value)),
        _or_nan(biometry.posterior_radius_mm),
        _or_nan(_mean_k_before_dpt(history)),
        _or_nan(history.treated_at_cornea_dpt),
    )


def _or_nan(value: float | None) -> float:
    return math.nan if value is None else value


def _mean_k_before_dpt(history: History) -> float | None:
    flat, steep = history.flat_power_before_dpt, history.steep_power_before_dpt
    return None if flat is None or steep is None else (flat + steep) / 2.0


def measurement_sds(biometry: Biometry) -> EyeNumbers:
    """How far each number may be off: published repeatability, or the eye's own repeats if worse."""
    return EyeNumbers(
        quantity_sd(biometry, "axial_length_mm"),
        max(PUBLISHED_SDS.mean_k_dpt, _own_mean_k_sd_dpt(biometry)),
        quantity_sd(biometry, "anterior_chamber_depth_mm"),
        quantity_sd(biometry, "lens_thickness_mm"),
        um_to_mm(quantity_sd(biometry, "corneal_thickness_um")),
        _own_back_sd_mm(biometry),
        0.0,
        0.0,
    )


def _own_back_sd_mm(biometry: Biometry) -> float:
    """That of the back radius: this eye's own repeats alone, for no other scatter was published to us."""
    return max(_own_sd(biometry, f"posterior_{name}_radius_mm") for name in ("flat", "steep"))


def quantity_sd(biometry: Biometry, quantity: str) -> float:
    """The same for one quantity by its name, in the unit of that name."""
    published = PUBLISHED_SD[quantity]
    if quantity == "axial_length_mm" and biometry.method in (Method.IMMERSION, Method.CONTACT):
        published = ULTRASOUND_LENGTH_SD_MM[biometry.method]
    return max(published, _own_sd(biometry, quantity))


def _own_sd(biometry: Biometry, quantity: str) -> float:
    """Standard deviation of this eye's own repeats, as stated or from single readings; 0 without any."""
    measured = biometry.measured(quantity)
    if measured is None:
        return 0.0
    readings = (biometry.repeats or {}).get(quantity, ())
    if measured.sd is None and len(readings) > 1:
        return statistics.stdev(readings)
    return measured.sd or 0.0


def _own_mean_k_sd_dpt(biometry: Biometry) -> float:
    """That of the mean K, for one reading errs alike in both meridians: their mean, never less.

    A meridian that nobody repeated is taken to scatter like the other.
    """
    flat, steep = (_own_meridian_sd_dpt(biometry, name) for name in ("flat", "steep"))
    return ((flat or steep) + (steep or flat)) / 2.0


def _own_meridian_sd_dpt(biometry: Biometry, name: str) -> float:
    keratometry = biometry.keratometry
    radius = biometry.measured(f"{name}_radius_mm")
    if radius is not None and (sd_mm := _own_sd(biometry, f"{name}_radius_mm")):
        return float(corneal_power_dpt(radius.value)) * sd_mm / radius.value
    index = keratometry.keratometric_index or KERATOMETRIC_INDEX
    return _own_sd(biometry, f"{name}_power_dpt") * (KERATOMETRIC_INDEX - 1.0) / (index - 1.0)


def constants_for(formula: Formula, lens: LensModel) -> tuple[tuple[float, ...], bool] | None:
    """The constants of this lens for a formula, and whether they are only a first guess from A."""
    own = lens.constants.own(formula.constant_names)
    if own is not None:
        return own, False
    a_constant = lens.constants.a_constant
    if formula.family is Family.ANATOMICAL:
        return formula.first_guess(math.nan), True
    return None if a_constant is None else (formula.first_guess(a_constant), True)


def same_constants(these: Sequence[float], those: Sequence[float]) -> bool:
    """Whether two sets of constants are one baseline."""
    return len(these) == len(those) and all(
        math.isclose(one, other, rel_tol=0.0, abs_tol=1e-9) for one, other in zip(these, those, strict=True)
    )


def evaluate(formula: Formula, question: Question, *, may_stand: bool) -> Evaluation | Refused:
    """What one formula says for every power made, or why it must not be used.

    `may_stand` tells whether it suits this eye; constants and flags can still keep it out of the odds.
    """
    lens = question.lens
    chosen = constants_for(formula, lens)
    if chosen is None:
        return _refused(formula, "constant-missing", f"has no constant for the lens {lens.name}")
    constants, first_guess = chosen
    seen = _with_known_shape(seen_eye(formula, question.numbers, constants), lens)
    flags = FormulaFlag(int(seen.flags))
    if flags & FormulaFlag.LENS_OUTSIDE_EYE:
        return _refused(
            formula, "lens-outside-eye", "would place the lens outside the eye with these constants"
        )
    guess_stands = formula.converted_fit_for_odds or (
        question.anatomy_stands and formula.family is Family.ANATOMICAL
    )
    fit = may_stand and not flags & UNFIT and (guess_stands or not first_guess)
    counts = fit and question.odds_allowed
    lesson = question.lessons.get(formula.key)
    powers = np.array(lens.powers.powers_dpt)
    simulated = _variance(formula, constants, question, seen) if counts else _NO_VARIANCE
    return Evaluation(
        formula=formula,
        constants=constants,
        first_guess=first_guess,
        fit=fit,
        counts=counts,
        flags=flags,
        seen=seen,
        lesson_dpt=lesson.offset_dpt if lesson else 0.0,
        refractions_dpt=np.asarray(formula.optics.refraction_dpt(seen, powers))
        + lane_shift_dpt(lens, formula)
        + (lesson.offset_dpt if lesson else 0.0),
        law_scale_dpt=lesson.scale_dpt if lesson else question.law_scale_dpt,
        average_eye_variance_dpt2=average_eye_variance_dpt2(formula.key, constants) if counts else 0.0,
        measurement_variances_dpt2=simulated.variance_dpt2,
        variance_errors_dpt2=simulated.standard_error_dpt2,
    )


def _with_known_shape(seen: Any, lens: LensModel) -> Any:
    """The eye with the shape of its lens, where the method traces rays and the catalogue knows it."""
    geometry = lens.geometry
    if geometry is None or not isinstance(seen, RayTracedEye):
        return seen
    shape = LensShape(
        geometry.front_radius_mm,
        geometry.back_radius_mm,
        geometry.thickness_mm,
        geometry.refractive_index,
        geometry.front_conic,
        geometry.back_conic,
    )
    return seen._replace(known_lens=shape)


_NO_VARIANCE = SimulatedVariance(np.array([0.0]), np.array([0.0]))
"""Of a method that is not counted; nobody asks."""


def _variance(
    formula: Formula, constants: tuple[float, ...], question: Question, seen: Any
) -> SimulatedVariance:
    """What measurement error does, and what the labels of strong lenses add to the published spread."""
    powers = np.array(question.lens.powers.powers_dpt)
    cheaper = FORMULAS.get(formula.scatters_as, formula)
    simulated = measurement_variance(cheaper, constants, question.drawn, powers)
    ahead, behind = (np.asarray(formula.optics.refraction_dpt(seen, powers + step)) for step in (0.5, -0.5))
    label = excess_label_variance_dpt2(powers, ahead - behind)
    return SimulatedVariance(simulated.variance_dpt2 + label, simulated.standard_error_dpt2)


def method_result(
    evaluation: Evaluation, question: Question, second: SecondEye | None = None
) -> MethodResult:
    """One method's record, moved by the first eye's error where that may be carried over."""
    formula, seen = evaluation.formula, evaluation.seen
    shift_dpt = second.shift_of(formula.key) if second is not None and second.used else 0.0
    offset_dpt = lane_shift_dpt(question.lens, formula) + evaluation.lesson_dpt + shift_dpt
    law = evaluation.law(second.variance_left if second is not None else 1.0) if evaluation.counts else None
    return MethodResult(
        method=formula.key,
        constants=evaluation.constants,
        first_guess=evaluation.first_guess,
        counts=evaluation.counts,
        fit=evaluation.fit,
        offset_dpt=evaluation.lesson_dpt,
        second_eye_dpt=shift_dpt,
        power_for_target_dpt=float(formula.optics.lens_power_dpt(seen, question.target_dpt - offset_dpt)),
        predictions=predictions(
            question.lens.powers.powers_dpt,
            evaluation.refractions_dpt + shift_dpt,
            law,
            question.target_dpt,
            question.feared,
        ),
        findings=tuple(method_findings(formula, evaluation.flags, first_guess=evaluation.first_guess)),
    )


def predictions(
    powers_dpt: Sequence[float] | NDArray[np.float64],
    refractions_dpt: NDArray[np.float64],
    law: ErrorLaw | None,
    target_dpt: float,
    feared: FearedSide,
) -> tuple[Prediction, ...]:
    """One record for each power; without a spread where none may be promised."""
    pairs = zip(np.asarray(powers_dpt).tolist(), refractions_dpt.tolist(), strict=True)
    if law is None:
        return tuple(Prediction(power, refraction) for power, refraction in pairs)
    chances = chances_of_target(target_dpt, refractions_dpt, law)
    columns = (
        law.sd_dpt,
        chances.within_0_25,
        chances.within_0_50,
        chances.within_0_75,
        chances.within_1_00,
        _beyond_feared(target_dpt, refractions_dpt, law, feared),
        np.sqrt(law.measurement_variance_dpt2),
        np.full_like(refractions_dpt, law.residual_degrees_of_freedom),
    )
    rows = np.column_stack(columns).tolist()
    return tuple(
        Prediction(power, refraction, Spread(*row))
        for (power, refraction), row in zip(pairs, rows, strict=True)
    )


def _beyond_feared(
    target_dpt: float, refractions_dpt: NDArray[np.float64], law: ErrorLaw, feared: FearedSide
) -> NDArray[np.float64]:
    if feared is FearedSide.MYOPIC:
        return fraction_below(target_dpt - FEARED_BEYOND_DPT, refractions_dpt, law)
    return 1.0 - fraction_below(target_dpt + FEARED_BEYOND_DPT, refractions_dpt, law)


def lane_shift_dpt(lens: LensModel, formula: Formula) -> float:
    """From the lane of the formula's constants to the 6 m in which refractions are reported.

    None if nobody said, which `lens_checks` tells. Constants converted from A have its lane; optics that no
    refraction has tuned are those of an endless one.
    """
    stated = lens.constants.own(formula.constant_names) is not None
    if formula.family is Family.ANATOMICAL and not stated:
        return float(refraction_in_reported_lane_dpt(0.0, math.inf))
    lane_m = lens.account_of(formula.constant_names if stated else ("a_constant",)).lane_m
    return 0.0 if lane_m is None else float(refraction_in_reported_lane_dpt(0.0, lane_m))


def _refused(formula: Formula, code: str, reason: str) -> Refused:
    finding = note(code, f"{formula.name} {reason}.", f"methods.{formula.method}", formula.source)
    return Refused(formula.key, (finding,))
