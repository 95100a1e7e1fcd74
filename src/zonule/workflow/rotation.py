"""Would turning a toric lens help? What is left, why, the best turn with its odds, and the advice."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from zonule.case.axis_looks import Slip, likely_slip_of
from zonule.case.canonical import canonical_numbers, seed_from
from zonule.case.finding import Finding, gravest_first, note, warning
from zonule.case.follow_up import TURNING_DAYS
from zonule.case.limits import OWN_RANGE
from zonule.case.refraction import Refraction
from zonule.case.rotation import (
    Advice,
    Because,
    CausePart,
    ResidualCause,
    RotationReview,
    ToricOutcome,
    TurnChances,
)
from zonule.case.toric import by_limit
from zonule.science.astigmatism.marking import MARKINGS, ROTATION_SD_DEG
from zonule.science.astigmatism.residual_causes import parts_of_residual, parts_without_plan
from zonule.science.astigmatism.rotation import best_rotation, minus_form, sweep
from zonule.science.astigmatism.rotation_odds import (
    MERIDIAN_SD_DEG,
    REFRACTION_SD_DPT,
    WORTH_DPT,
    RotationScatter,
    rotation_odds,
)
from zonule.science.astigmatism.toric_odds import DRAWS
from zonule.science.astigmatism.vectors import (
    Plane,
    SpheroCylinder,
    at_cornea,
    at_spectacles,
    sphero_cylinder,
)
from zonule.science.units import SPECTACLE_VERTEX_MM

SPHERE_OFF_DPT = 0.5
"""A spherical equivalent farther than this from the aim is not mended by turning (common practice)."""
VERTEX_ROOM_DPT = 0.05
"""What moving a written half dioptre to 12 mm may add: the plane must not tip the scale (our choice)."""
LEFT_OVER_DPT = 0.5
"""What no turn takes away, from which on it is said (our choice)."""
UNEXPLAINED_DPT = 1.0
"""So much that no part explains deserves another look at every reading (our choice)."""
_EVEN_CHANCE = 0.5
SWEEP_STEP_DEG = 1
_ROUNDING_DPT = 1e-6
TURN_SD_DEG = float(np.hypot(MARKINGS["upright_ink"].sd_deg, ROTATION_SD_DEG))
"""Marked upright in ink once more, and free to turn once more."""


def rotation_review(outcome: ToricOutcome) -> RotationReview:
    """What turning the lens of this eye would bring, and whether the numbers speak for it."""
    seen = seen_at_cornea(outcome.refraction)
    lens_dpt, lies_deg = outcome.lens_at_cornea_dpt, outcome.lens_meridian_deg
    best = best_rotation(seen, lens_dpt, lies_deg)
    gain_dpt = float(best.gain_dpt)
    days = _days_after(outcome)
    off_dpt = outcome.refraction.reported_equivalent_dpt - (outcome.target_refraction_dpt or 0.0)
    because = tuple(_because(off_dpt, gain_dpt, days))
    found = RotationReview(
        outcome=outcome,
        seen=seen.correcting.plain,
        equivalent_at_cornea_dpt=float(seen.equivalent_dpt),
        equivalent_off_dpt=off_dpt,
        to_correct=best.to_correct.plain,
        best_meridian_deg=float(best.best_meridian_deg),
        rotate_by_deg=float(best.rotate_by_deg),
        after=best.best.correcting.plain,
        gain_dpt=gain_dpt,
        after_at_cornea=_written(best.best, 0.0),
        after_at_spectacles=_written(at_spectacles(best.best), SPECTACLE_VERTEX_MM),
        chances=_chances(outcome, seen),
        sweep=tuple(_sweep(outcome, seen)),
        causes=tuple(_causes(outcome, seen)),
        advice=_advice(because),
        because=because,
        days_after=days,
        findings=(),
    )
    return replace(found, findings=gravest_first((*_findings(outcome, because, days), *_limits(found))))


def seen_at_cornea(refraction: Refraction) -> SpheroCylinder:
    """A manifest refraction as vectors at the cornea; a vertex distance of 0 is the cornea already."""
    axis_deg = 180.0 if refraction.axis_deg is None else refraction.axis_deg
    plane = Plane.SPECTACLES if refraction.vertex_mm else Plane.CORNEA
    written = sphero_cylinder(refraction.sphere_dpt, refraction.cylinder_dpt, axis_deg, plane)
    return at_cornea(written, refraction.vertex_mm) if refraction.vertex_mm else written


def _written(after: SpheroCylinder, vertex_mm: float) -> Refraction:
    """A refraction as it is written with a minus cylinder."""
    form = minus_form(after)
    return Refraction(float(form.sphere_dpt), float(form.cylinder_dpt), float(form.axis_deg), vertex_mm)


def _chances(outcome: ToricOutcome, seen: SpheroCylinder) -> TurnChances:
    scatter = RotationScatter(REFRACTION_SD_DPT, MERIDIAN_SD_DEG, TURN_SD_DEG)
    seed = seed_from(canonical_numbers(outcome))
    odds = rotation_odds(seen, outcome.lens_at_cornea_dpt, outcome.lens_meridian_deg, scatter, seed)
    return TurnChances(
        by_limit(odds.within.tolist()),
        by_limit(odds.within_now.tolist()),
        odds.gains_half,
        odds.worse,
        odds.standard_error,
        DRAWS,
    )


def _sweep(outcome: ToricOutcome, seen: SpheroCylinder) -> Iterator[tuple[float, float]]:
    meridians_deg = np.arange(SWEEP_STEP_DEG, 181, SWEEP_STEP_DEG, dtype=np.float64)
    left = sweep(seen, outcome.lens_at_cornea_dpt, outcome.lens_meridian_deg, meridians_deg)
    yield from zip(meridians_deg.tolist(), np.asarray(left.correcting.magnitude_dpt).tolist(), strict=True)


def _causes(outcome: ToricOutcome, seen: SpheroCylinder) -> Iterator[CausePart]:
    """The parts of the cylinder that is left; without a plan what a turn can and cannot take away."""
    planned = outcome.planned
    if planned is None:
        alone = parts_without_plan(seen, outcome.lens_at_cornea_dpt, outcome.lens_meridian_deg)
        yield CausePart(ResidualCause.PLACE, alone.place.plain)
        yield CausePart(ResidualCause.STRENGTH, alone.strength.plain)
        return
    parts = parts_of_residual(
        seen.correcting,
        planned.corneal,
        outcome.lens_at_cornea_dpt,
        planned.lens_meridian_deg,
        outcome.lens_meridian_deg,
    )
    yield CausePart(ResidualCause.PLANNED, parts.planned.plain)
    yield CausePart(ResidualCause.TURNED, parts.turned.plain)
    rest = parts.rest
    if outcome.corneal_change is not None and planned.induced is not None:
        surprise = outcome.corneal_change.minus(planned.induced)
        yield CausePart(ResidualCause.INCISION, surprise.plain)
        rest = rest.minus(surprise)
    yield CausePart(ResidualCause.REST, rest.plain)


def _days_after(outcome: ToricOutcome) -> int | None:
    if outcome.refracted_on is None or outcome.operated_on is None:
        return None
    return (outcome.refracted_on - outcome.operated_on).days


def _because(off_dpt: float, gain_dpt: float, days: int | None) -> Iterator[Because]:
    if gain_dpt < WORTH_DPT - _ROUNDING_DPT:
        yield Because.SMALL_GAIN
    if abs(off_dpt) > SPHERE_OFF_DPT + VERTEX_ROOM_DPT:
        yield Because.SPHERE
    if days is not None and days < TURNING_DAYS[0]:
        yield Because.TOO_EARLY


def _advice(because: tuple[Because, ...]) -> Advice:
    if Because.SMALL_GAIN in because or Because.SPHERE in because:
        return Advice.DO_NOT_ROTATE
    return Advice.WAIT if because else Advice.ROTATE


def _findings(outcome: ToricOutcome, because: tuple[Because, ...], days: int | None) -> Iterator[Finding]:
    if outcome.target_refraction_dpt is None:
        yield note(
            "aim-not-given",
            "The refraction aimed at is not given; 0 is taken to judge the sphere.",
            "plan.target_refraction_dpt",
            OWN_RANGE,
        )
    if outcome.planned is None:
        yield note(
            "plan-not-given",
            "The plan is not given, so a lens that turned, the cornea and the incision cannot be told apart.",
            "plan",
            OWN_RANGE,
        )
    else:
        yield from _slips(outcome.planned.lens_meridian_deg, outcome.lens_meridian_deg)
    if days is None:
        yield note(
            "days-not-known",
            "The day of the operation or of the refraction is not given, so nobody can tell whether the "
            f"usual window for turning a lens, {TURNING_DAYS[0]} to {TURNING_DAYS[1]} days after the "
            "operation, is open.",
            "operated_on",
        )
    elif days > TURNING_DAYS[1] and not because:
        yield warning(
            "bag-may-hold",
            f"{days} days have passed. Lenses are usually turned {TURNING_DAYS[0]} to {TURNING_DAYS[1]} days "
            "after the operation; later the bag may hold the lens, and turning it may need more than a "
            "hook.",
            "operated_on",
        )


def _limits(found: RotationReview) -> Iterator[Finding]:
    """What turning cannot do, and what makes the numbers doubtful."""
    if Because.SMALL_GAIN not in found.because and found.chances.gains_half < _EVEN_CHANCE:
        yield warning(
            "gain-unlikely",
            f"{found.gain_dpt:.2f} D would go if all went as meant. Refraction, reading and turning all have "
            f"their error: only {100.0 * found.chances.gains_half:.0f} of 100 such eyes would gain half a "
            "dioptre. Refract and read the marks again before deciding.",
            "odds",
            OWN_RANGE,
        )
    if abs(found.too_weak_by_dpt) >= LEFT_OVER_DPT:
        word = "weaker" if found.too_weak_by_dpt > 0.0 else "stronger"
        yield note(
            "lens-does-not-match",
            f"The lens is {abs(found.too_weak_by_dpt):.2f} D {word} at the cornea than what it has to meet. "
            "So much is left wherever it lies.",
            "lens",
            "holladay-1998",
        )
    for one in found.causes:
        size_dpt = float(one.part.magnitude_dpt)
        if one.kind is ResidualCause.REST and size_dpt >= UNEXPLAINED_DPT:
            yield warning(
                "cylinder-unexplained",
                f"{size_dpt:.2f} D are explained neither by the plan nor by where the lens lies. Refract and "
                "read the marks again, and measure the cornea, before anything is turned.",
                "causes",
                OWN_RANGE,
            )


def _slips(planned_deg: float, lies_deg: float) -> Iterator[Finding]:
    """A lens that lies where a slip would have put it, or was read as a slip would read it."""
    likely = likely_slip_of(lies_deg, planned_deg)
    if likely is None:
        return
    where = "90 degrees from" if likely is Slip.FLIPPED else "at the mirror image of"
    yield warning(
        "seen-axis-looks-like-a-slip",
        f"The marks were seen {where} where they were planned. Look again, with the chart of this eye: a "
        "slip of reading is commoner than a lens that lies so.",
        "lens.meridian_deg",
        OWN_RANGE,
    )
