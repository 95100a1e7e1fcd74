"""When the refraction surprises: what could explain it, and what can be done, in numbers."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

from zonule.case.biometry import Biometry
from zonule.case.case import Case
from zonule.case.eye import CornealSurgery
from zonule.case.finding import COMMON_PRACTICE, Finding, gravest_first, note, warning
from zonule.case.lens import LensModel
from zonule.case.lesson import Lesson
from zonule.case.operation import Fixation
from zonule.case.plan import Plan
from zonule.case.review import Review
from zonule.case.surprise import (
    LARGE_ERROR_DPT,
    BackSolved,
    Clue,
    ClueKind,
    MeasuredAgain,
    Remedy,
    RemedyKind,
    Room,
    Surprise,
    is_large,
)
from zonule.science.lens_power.moved_lens import SULCUS
from zonule.science.uncertainty.label import label_limit_dpt
from zonule.science.uncertainty.spread import ROUTINE_SCALE_DPT
from zonule.science.uncertainty.spread import sd_dpt as law_sd_dpt
from zonule.workflow.causes import (
    SeenBefore,
    back_solved,
    explaining_power_dpt,
    lesson_about,
    middle,
    mix_ups,
    ranked_causes,
    seen_before,
)
from zonule.workflow.forecast import plan_eye
from zonule.workflow.remedies import remedies

WEAK_LENS_DPT = 3.0
"""Within this of zero a refraction says nothing about where the lens lies (haigis-2008)."""
FLAT_K_DPT = 41.0
LONG_EYE_MM = 25.0
"""A cornea flatter on an eye longer than this is asked again for laser that nobody recorded (our rule)."""
FELLOW_ALIKE_DPT = 0.5
"""An error of the other eye, the same way, from which both are looked at together (our rule)."""
CLUE_DPT = 0.5
"""Error from which a clue about its direction is given (our rule)."""
FURTHEST_FORWARD_MM = 2.0
"""Beyond this a distended capsule is not offered as what moved the lens (our rule)."""
EXCHANGE_DIFFERS_DPT = 0.5
"""Between readings of the cause: one step of most lenses."""
NOT_MADE_DPT = 0.5
"""From the power needed to the nearest made."""

_NOTHING_AGAIN = MeasuredAgain()


def deserves_a_look(case: Case) -> bool:
    """Whether the review of this case is far enough from its prediction to be looked into."""
    error = None if case.review is None else case.review.error_dpt
    if error is None:
        return False
    return abs(error) > LARGE_ERROR_DPT or is_large(error, _spread(case))


def look_into_surprise(
    case: Case,
    *,
    catalogue: Iterable[LensModel] = (),
    lessons: Iterable[Lesson] = (),
    fellow: Case | None = None,
    again: MeasuredAgain = _NOTHING_AGAIN,
) -> Surprise | None:
    """What could explain the refraction of this case; None where nothing was predicted for it.

    `catalogue` and `fellow` are asked for lenses that may have been mixed up, `lessons` for what this
    surgeon's other eyes with this lens say, `again` for what was measured after the operation.
    """
    operation, review, signed = case.operation, case.review, case.signed
    if operation is None or review is None or signed is None or review.error_dpt is None:
        return None
    lens, target, power = (
        signed.request.lens,
        signed.request.target_refraction_dpt,
        operation.lens_power_dpt,
    )
    if lens is None or target is None or power is None:
        return None
    plan = plan_eye(signed.request, signed.signed_on)
    achieved = review.refraction.reported_equivalent_dpt
    seen = seen_before(plan, power, achieved)
    if not seen:
        return None
    sd = _spread_of(plan, power)
    found_mix_ups = mix_ups(seen, lens, catalogue, _other_eye_power(fellow), sd)
    lesson = lesson_about(plan, seen, lessons)
    solved = back_solved(seen)
    fellow_dpt = _fellow_refraction(case, fellow)
    ways = remedies(seen, lens, target, fellow_dpt)
    clues = tuple(_clues(case, review, review.error_dpt, seen, solved, fellow))
    return Surprise(
        refraction=review.refraction,
        achieved_dpt=achieved,
        predicted_dpt=achieved - review.error_dpt,
        error_dpt=review.error_dpt,
        sd_dpt=sd,
        is_large=is_large(review.error_dpt, sd),
        target_dpt=target,
        days_after=review.days_after,
        lens_model=lens.name,
        lens_power_dpt=power,
        explaining_power_dpt=explaining_power_dpt(seen),
        label_tolerance_dpt=float(label_limit_dpt(power)),
        causes=ranked_causes(plan, seen, found_mix_ups, lesson, again, sd),
        clues=clues,
        mix_ups=found_mix_ups,
        positions=solved,
        room=_room(signed.request.eye.biometry, solved),
        remedies=ways,
        findings=gravest_first(_findings(review, power, clues, solved, ways)),
        fellow_refraction_dpt=fellow_dpt,
        fellow_by_glasses=fellow is None or fellow.review is None,
        lesson_eyes=0 if lesson is None else lesson.eyes,
    )


def _spread(case: Case) -> float:
    if case.signed is None or case.operation is None or case.operation.lens_power_dpt is None:
        return math.inf
    plan = plan_eye(case.signed.request, case.signed.signed_on)
    return _spread_of(plan, case.operation.lens_power_dpt)


def _spread_of(plan: Plan, power_dpt: float) -> float:
    """How far eyes like this scatter: as planned, or as in routine practice where no odds were given."""
    prediction = plan.expected_of(power_dpt)
    if prediction is None or prediction.spread is None:
        return float(law_sd_dpt(ROUTINE_SCALE_DPT))
    return prediction.spread.sd_dpt


def _other_eye_power(fellow: Case | None) -> float | None:
    if fellow is None or fellow.signed is None:
        return None
    return fellow.signed.intent.lens_power_dpt


def _fellow_refraction(case: Case, fellow: Case | None) -> float | None:
    """The other eye as it sees now: after its own operation, or through the glasses on record."""
    if fellow is not None and fellow.review is not None:
        return fellow.review.refraction.reported_equivalent_dpt
    if fellow is not None and fellow.operation is not None:
        return None
    eye = fellow.eye if fellow is not None else (case.signed.request.fellow if case.signed else None)
    glasses = None if eye is None else eye.history.glasses
    return None if glasses is None else glasses.reported_equivalent_dpt


def _room(biometry: Biometry, solved: Sequence[BackSolved]) -> Room:
    """Whether the lens would lie between the front and the back of where the natural lens was."""
    front, thickness = biometry.chamber_from_epithelium_mm, biometry.lens_thickness_mm
    place = middle(one.position_mm for one in solved)
    if front is None or thickness is None or math.isnan(place):
        return Room.NOT_MEASURED
    if place < front:
        return Room.BEFORE_IRIS
    return Room.INSIDE if place <= front + thickness.value else Room.BEHIND_CAPSULE


def _clues(
    case: Case,
    review: Review,
    error: float,
    seen: Sequence[SeenBefore],
    solved: Sequence[BackSolved],
    fellow: Case | None,
) -> Iterator[Clue]:
    in_bag = case.operation is not None and case.operation.fixation is Fixation.BAG
    shift = middle(one.position_mm - one.predicted_mm for one in solved)
    if not review.is_stable:
        yield Clue(ClueKind.NOT_SETTLED, float(review.days_after))
    if not in_bag:
        yield Clue(ClueKind.LENS_NOT_IN_BAG, error)
    elif error < -CLUE_DPT and -FURTHEST_FORWARD_MM < shift < 0.0:
        yield Clue(ClueKind.CAPSULAR_BLOCK, -shift)
    if error > CLUE_DPT and _may_have_had_laser(case, seen):
        yield Clue(ClueKind.LASER_NOT_RECORDED, float(seen[0].numbers.mean_k_dpt))
    other = fellow.review.error_dpt if fellow is not None and fellow.review is not None else None
    if other is not None and abs(other) > FELLOW_ALIKE_DPT and other * error > 0.0:
        yield Clue(ClueKind.FELLOW_ALIKE, other)


def _may_have_had_laser(case: Case, seen: Sequence[SeenBefore]) -> bool:
    surgery = case.eye.history.corneal_surgery
    numbers = seen[0].numbers
    flat_and_long = float(numbers.mean_k_dpt) < FLAT_K_DPT and float(numbers.axial_length_mm) > LONG_EYE_MM
    return surgery is CornealSurgery.UNKNOWN or (surgery is CornealSurgery.NONE and flat_and_long)


def _findings(
    review: Review,
    power_dpt: float,
    clues: Sequence[Clue],
    solved: Sequence[BackSolved],
    ways: Sequence[Remedy],
) -> Iterator[Finding]:
    yield from _doubts(review, power_dpt, clues, solved)
    yield from _about_remedies(ways)


def _doubts(
    review: Review, power_dpt: float, clues: Sequence[Clue], solved: Sequence[BackSolved]
) -> Iterator[Finding]:
    kinds = {one.kind for one in clues}
    yield note(
        "numbers-rank-causes",
        "The ranking says how unusual each cause would have to be if it alone explained the refraction. It "
        "does not say how often each happens, two causes together may explain it as well, and it proves "
        "none. Look before you act.",
        "review.error_dpt",
        "zonule-ranges",
    )
    if not review.is_stable:
        yield warning(
            "surprise-not-settled",
            f"Refracted {review.days_after} days after the operation. The eye may still change; refract it "
            "again after four weeks before anything is done about it, unless you see a cause that cannot "
            "wait, such as a distended capsule.",
            "review.refracted_on",
            COMMON_PRACTICE,
        )
    if ClueKind.LENS_NOT_IN_BAG in kinds:
        yield warning(
            "lens-not-where-planned",
            "The prediction was for a lens in the bag, and this one lies elsewhere. Its place is the first "
            "thing to look at, and an exchange into the bag is another calculation than this one.",
            "operation.fixation",
            COMMON_PRACTICE,
        )
    if abs(power_dpt) < WEAK_LENS_DPT or not solved:
        yield warning(
            "position-not-to-be-told",
            "With so weak a lens the refraction hardly depends on where the lens lies, so its place cannot "
            "be worked out from it, and an exchange cannot be planned on it.",
            "operation.lens_power_dpt",
            "haigis-2008",
        )


def _about_remedies(ways: Sequence[Remedy]) -> Iterator[Finding]:
    exchange = next((one for one in ways if one.kind is RemedyKind.EXCHANGE), None)
    if exchange is not None and exchange.range_dpt is not None:
        low, high = exchange.range_dpt
        if high - low > EXCHANGE_DIFFERS_DPT:
            yield warning(
                "exchange-depends-on-cause",
                f"The power to exchange for differs by {high - low:.1f} D between one cause and another. "
                "Find out which lens is in the eye, and repeat the biometry, before an exchange is planned.",
                "remedies.exchange",
                "zonule-ranges",
            )
        if any(abs(one.power_dpt - one.power_made_dpt) > NOT_MADE_DPT for one in exchange.exchanges):
            yield warning(
                "exchange-power-not-made",
                "This model is not made in a power that the exchange would need under every reading. Choose "
                "another model, which is another calculation.",
                "remedies.exchange",
            )
    yield note(
        "remedy-odds-are-limits",
        "The chances of the remedies come from published scatter of refraction and lens position alone. No "
        "published series of exchanges, add-on lenses or laser after cataract surgery stands behind them, "
        "and complications are not in them: take them as the best that can be hoped for.",
        "remedies",
        "norrby-2008",
    )
    yield note(
        "add-on-place-assumed",
        f"The add-on lens is taken to lie {SULCUS.middle_mm:g} mm in front of the lens in the bag. "
        "Whether there is room for it is not computed. The refractive vergence formula is from memory.",
        "remedies.add_on",
        "holladay-1993",
    )
    yield note(
        "laser-not-planned",
        "Only the change wanted at the cornea is given. Thickness, shape, dryness and healing decide whether "
        "a cornea can be treated, and nothing of that is computed here.",
        "remedies.laser",
        COMMON_PRACTICE,
    )
