"""What each formula says about one eye, with its spread, as records."""

from __future__ import annotations

import math
import statistics
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from zonule.case.biometry import Biometry, Method
from zonule.case.eye import Eye
from zonule.case.finding import Finding, note, warning
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
from zonule.science.lens_power.flags import FormulaFlag
from zonule.science.lens_power.formulas import UNTOUCHED, EyeNumbers, Formula, missing, seen_eye
from zonule.science.optics.keratometry import corneal_power_dpt
from zonule.science.optics.vergence import refraction_in_reported_lane_dpt
from zonule.science.uncertainty.propagation import (
    PUBLISHED_SDS,
    average_eye_variance_dpt2,
    measurement_variance,
)
from zonule.science.uncertainty.repeatability import PUBLISHED_SD, ULTRASOUND_LENGTH_SD_MM
from zonule.science.uncertainty.spread import (
    ROUTINE_SCALE_DPT,
    ErrorLaw,
    chances_of_target,
    error_law,
    fraction_below,
)
from zonule.science.units import KERATOMETRIC_INDEX

UNFIT = (
    FormulaFlag.IMAGINARY_ROOT
    | FormulaFlag.NEAR_IMAGINARY_ROOT
    | FormulaFlag.LENGTH_BEYOND_TURN
    | FormulaFlag.LENS_OUTSIDE_EYE
)
"""What keeps a formula out of odds, medians and audits for one eye."""

_FLAG_SENTENCES = {
    FormulaFlag.IMAGINARY_ROOT: (
        "imaginary-branch",
        (
            "In SRK/T this eye has no real corneal height (the root is imaginary). The number shown sets the "
            "root to zero, which is known to leave such eyes hyperopic; it is kept out of the odds."
        ),
        "aramberri-2005",
    ),
    FormulaFlag.NEAR_IMAGINARY_ROOT: (
        "near-imaginary-branch",
        (
            "This eye is close to the edge of SRK/T, where lens position runs away with corneal "
            "power. SRK/T is kept out of the odds."
        ),
        "aramberri-2005",
    ),
    FormulaFlag.LENGTH_BEYOND_TURN: (
        "beyond-srk-t",
        "Beyond 36 mm SRK/T moves the lens forward as the eye grows. It is kept out of the odds.",
        "retzlaff-1990",
    ),
    FormulaFlag.RADIUS_CLAMPED: (
        "radius-clamped",
        "Holladay 1 treats every cornea steeper than 48.2 D alike when it places the lens.",
        "holladay-1988",
    ),
    FormulaFlag.WIDTH_CLAMPED: (
        "width-clamped",
        (
            "Holladay 1 places the lens of every eye longer than 25.3 mm alike, which leaves long eyes "
            "hyperopic."
        ),
        "holladay-1988",
    ),
    FormulaFlag.LENGTH_CLAMPED: (
        "length-clamped",
        "Hoffer Q stops moving the lens outside 18.5 to 31 mm.",
        "hoffer-1993",
    ),
}


@dataclass(frozen=True, slots=True)
class Evaluation:
    """One method's result, with the numbers the odds are made of, one entry for each power."""

    result: MethodResult
    refractions_dpt: NDArray[np.float64]
    law_scale_dpt: float
    """Of the law over many eyes, after a lesson has had its say."""
    average_eye_variance_dpt2: float
    measurement_variances_dpt2: NDArray[np.float64]
    variance_errors_dpt2: NDArray[np.float64]


def eye_numbers(eye: Eye) -> EyeNumbers | None:
    """What the formulas read of this eye; None when length or cornea is missing."""
    length, mean_k = eye.biometry.axial_length_mm, eye.biometry.keratometry.mean_k_dpt
    if length is None or mean_k is None:
        return None
    depth = eye.biometry.chamber_from_epithelium_mm
    return EyeNumbers(length.value, mean_k, math.nan if depth is None else depth)


def measurement_sds(biometry: Biometry) -> EyeNumbers:
    """How far each number may be off: published repeatability, or the eye's own repeats if worse."""
    return EyeNumbers(
        quantity_sd(biometry, "axial_length_mm"),
        max(PUBLISHED_SDS.mean_k_dpt, _own_mean_k_sd_dpt(biometry)),
        quantity_sd(biometry, "anterior_chamber_depth_mm"),
    )


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
    """That of the mean K; a meridian that nobody repeated is taken to scatter like the other."""
    flat, steep = (_own_meridian_sd_dpt(biometry, name) for name in ("flat", "steep"))
    return math.hypot(flat or steep, steep or flat) / 2.0


def _own_meridian_sd_dpt(biometry: Biometry, name: str) -> float:
    keratometry = biometry.keratometry
    radius = biometry.measured(f"{name}_radius_mm")
    if radius is not None and (sd_mm := _own_sd(biometry, f"{name}_radius_mm")):
        return float(corneal_power_dpt(radius.value)) * sd_mm / radius.value
    index = keratometry.keratometric_index or KERATOMETRIC_INDEX
    return _own_sd(biometry, f"{name}_power_dpt") * (KERATOMETRIC_INDEX - 1.0) / (index - 1.0)


def constants_for(formula: Formula, lens: LensModel) -> tuple[tuple[float, ...], bool] | None:
    """The constants of this lens for a formula, and whether they are only a first guess from A."""
    own = lens.constants.own(formula.key)
    if own is not None:
        return own, False
    if lens.constants.a_constant is None:
        return None
    return formula.first_guess(lens.constants.a_constant), True


def same_constants(these: Sequence[float], those: Sequence[float]) -> bool:
    """Whether two sets of constants are one baseline."""
    return len(these) == len(those) and all(
        math.isclose(one, other, rel_tol=0.0, abs_tol=1e-9) for one, other in zip(these, those, strict=True)
    )


def evaluate(
    formula: Formula,
    lens: LensModel,
    numbers: EyeNumbers,
    drawn: EyeNumbers,
    target_dpt: float,
    lesson: Lesson | None,
    feared: FearedSide,
    *,
    odds_allowed: bool,
) -> Evaluation | Refused:
    """What one formula says: its prediction for every power made, or why it must not be used."""
    if missing(formula, numbers):
        return _refused(
            formula, "needs-chamber-depth", "needs the chamber depth, which is missing or unclear"
        )
    chosen = constants_for(formula, lens)
    if chosen is None:
        return _refused(formula, "constant-missing", f"has no constant for the lens {lens.name}")
    constants, first_guess = chosen
    seen = seen_eye(formula, numbers, constants)
    flags = FormulaFlag(int(seen.flags))
    if flags & FormulaFlag.LENS_OUTSIDE_EYE:
        return _refused(
            formula, "lens-outside-eye", "would place the lens outside the eye with these constants"
        )
    fit = not flags & UNFIT and (formula.converted_fit_for_odds or not first_guess)
    counts = fit and odds_allowed
    offset_dpt = lane_shift_dpt(lens) + (lesson.offset_dpt if lesson else 0.0)
    powers = np.array(lens.powers.powers_dpt)
    refractions = np.asarray(formula.optics.refraction_dpt(seen, powers)) + offset_dpt
    simulated = measurement_variance(formula, constants, drawn, powers)
    scale_dpt = lesson.scale_dpt if lesson else ROUTINE_SCALE_DPT
    average = average_eye_variance_dpt2(formula.key, constants)
    law = error_law(scale_dpt, average, simulated.variance_dpt2) if counts else None
    result = MethodResult(
        method=formula.key,
        constants=constants,
        first_guess=first_guess,
        counts=counts,
        fit=fit,
        offset_dpt=lesson.offset_dpt if lesson else 0.0,
        power_for_target_dpt=float(formula.optics.lens_power_dpt(seen, target_dpt - offset_dpt)),
        predictions=predictions(powers, refractions, law, target_dpt, feared),
        findings=tuple(_method_findings(formula, flags, first_guess=first_guess)),
    )
    return Evaluation(
        result, refractions, scale_dpt, average, simulated.variance_dpt2, simulated.standard_error_dpt2
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


def lane_shift_dpt(lens: LensModel) -> float:
    """From the lane of the constants to the 6 m in which refractions are reported.

    None if nobody said, which `lens_checks` tells.
    """
    if lens.constants_lane_m is None:
        return 0.0
    return float(refraction_in_reported_lane_dpt(0.0, lens.constants_lane_m))


def _refused(formula: Formula, code: str, reason: str) -> Refused:
    finding = note(code, f"{formula.name} {reason}.", f"methods.{formula.key}", formula.source)
    return Refused(formula.key, (finding,))


def _method_findings(formula: Formula, flags: FormulaFlag, *, first_guess: bool) -> Iterator[Finding]:
    where = f"methods.{formula.key}"
    if flags & FormulaFlag.IMAGINARY_ROOT:
        flags &= ~FormulaFlag.NEAR_IMAGINARY_ROOT
    for bit, (code, sentence, source) in _FLAG_SENTENCES.items():
        if flags & bit:
            yield warning(code, sentence, where, source)
    if first_guess and formula.key != "srk_t":
        kept_out = (
            "" if formula.converted_fit_for_odds else " It runs about 1 D high and is kept out of the odds."
        )
        yield note(
            "first-guess-constant",
            f"The {formula.name} constant was converted from the A-constant: a first guess, not an "
            "optimised one." + kept_out,
            where,
            "constant-conversion",
        )


def all_methods(
    lens: LensModel,
    numbers: EyeNumbers,
    drawn: EyeNumbers,
    target_dpt: float,
    lessons: dict[str, Lesson],
    feared: FearedSide,
    *,
    odds_allowed: bool,
) -> tuple[list[Evaluation], list[Refused]]:
    """Every formula of the table on one eye: those that answered, and those that must not be used."""
    evaluated: list[Evaluation] = []
    refused: list[Refused] = []
    for formula in UNTOUCHED.values():
        answer = evaluate(
            formula,
            lens,
            numbers,
            drawn,
            target_dpt,
            lessons.get(formula.key),
            feared,
            odds_allowed=odds_allowed,
        )
        if isinstance(answer, Refused):
            refused.append(answer)
        else:
            evaluated.append(answer)
    return evaluated, refused
