"""Would turning a toric lens help? What is left, why, the best turn with its odds, and the advice."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from zonule.case.axis_looks import Slip, likely_slip_of
from zonule.case.canonical import canonical_numbers, seed_from
from zonule.case.finding import Finding, note, warning
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
from zonule.science.astigmatism.marking import MARKINGS, ROTATION_SD_DEG
from zonule.science.astigmatism.residual_causes import parts_of_residual
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
    Astigmatism,
    Plane,
    SpheroCylinder,
    at_cornea,
    at_spectacles,
    sphero_cylinder,
)

SPHERE_OFF_DPT = 0.5
"""A spherical equivalent farther than this from the aim is not mended by turning (common practice)."""
SWEEP_STEP_DEG = 5
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
    because = tuple(_because(outcome, float(seen.equivalent_dpt), gain_dpt, days))
    return RotationReview(
        outcome=outcome,
        seen=_plain(seen.correcting),
        equivalent_at_cornea_dpt=float(seen.equivalent_dpt),
        to_correct=_plain(best.to_correct),
        best_meridian_deg=float(best.best_meridian_deg),
        rotate_by_deg=float(best.rotate_by_deg),
        after=_plain(best.best.correcting),
        gain_dpt=gain_dpt,
        after_at_spectacles=_glasses(best.best),
        chances=_chances(outcome, seen),
        sweep=tuple(_sweep(outcome, seen)),
        causes=tuple(_causes(outcome, seen.correcting)),
        advice=_advice(because),
        because=because,
        days_after=days,
        findings=tuple(_findings(outcome, because, days)),
    )


def seen_at_cornea(refraction: Refraction) -> SpheroCylinder:
    """A manifest refraction as vectors at the cornea; a vertex distance of 0 is the cornea already."""
    axis_deg = 180.0 if refraction.axis_deg is None else refraction.axis_deg
    plane = Plane.SPECTACLES if refraction.vertex_mm else Plane.CORNEA
    written = sphero_cylinder(refraction.sphere_dpt, refraction.cylinder_dpt, axis_deg, plane)
    return at_cornea(written, refraction.vertex_mm) if refraction.vertex_mm else written


def _glasses(after: SpheroCylinder) -> Refraction:
    """The same as glasses at 12 mm are written, minus cylinder."""
    written = minus_form(at_spectacles(after))
    return Refraction(float(written.sphere_dpt), float(written.cylinder_dpt), float(written.axis_deg))


def _chances(outcome: ToricOutcome, seen: SpheroCylinder) -> TurnChances:
    scatter = RotationScatter(REFRACTION_SD_DPT, MERIDIAN_SD_DEG, TURN_SD_DEG)
    seed = seed_from(canonical_numbers(outcome))
    odds = rotation_odds(seen, outcome.lens_at_cornea_dpt, outcome.lens_meridian_deg, scatter, seed)
    first, second, third, fourth = odds.within.tolist()
    return TurnChances(
        (first, second, third, fourth), odds.gains_half, odds.worse, odds.standard_error, DRAWS
    )


def _sweep(outcome: ToricOutcome, seen: SpheroCylinder) -> Iterator[tuple[float, float]]:
    meridians_deg = np.arange(SWEEP_STEP_DEG, 181, SWEEP_STEP_DEG, dtype=np.float64)
    left = sweep(seen, outcome.lens_at_cornea_dpt, outcome.lens_meridian_deg, meridians_deg)
    yield from zip(meridians_deg.tolist(), np.asarray(left.correcting.magnitude_dpt).tolist(), strict=True)


def _causes(outcome: ToricOutcome, seen: Astigmatism) -> Iterator[CausePart]:
    """The parts of the cylinder that is left; without a plan nothing can be compared."""
    planned = outcome.planned
    if planned is None:
        return
    parts = parts_of_residual(
        seen,
        planned.corneal,
        outcome.lens_at_cornea_dpt,
        planned.lens_meridian_deg,
        outcome.lens_meridian_deg,
    )
    yield CausePart(ResidualCause.PLANNED, _plain(parts.planned))
    yield CausePart(ResidualCause.TURNED, _plain(parts.turned))
    rest = parts.rest
    if outcome.corneal_change is not None and planned.induced is not None:
        surprise = outcome.corneal_change.minus(planned.induced)
        yield CausePart(ResidualCause.INCISION, _plain(surprise))
        rest = rest.minus(surprise)
    yield CausePart(ResidualCause.REST, _plain(rest))


def _days_after(outcome: ToricOutcome) -> int | None:
    if outcome.refracted_on is None or outcome.operated_on is None:
        return None
    return (outcome.refracted_on - outcome.operated_on).days


def _because(
    outcome: ToricOutcome, equivalent_dpt: float, gain_dpt: float, days: int | None
) -> Iterator[Because]:
    if gain_dpt < WORTH_DPT - _ROUNDING_DPT:
        yield Because.SMALL_GAIN
    if abs(equivalent_dpt - (outcome.target_refraction_dpt or 0.0)) > SPHERE_OFF_DPT + _ROUNDING_DPT:
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
            "The plan is not given, so what is left cannot be split into its causes.",
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


def _plain(vector: Astigmatism) -> Astigmatism:
    return Astigmatism(float(vector.x_dpt), float(vector.y_dpt), vector.plane)
