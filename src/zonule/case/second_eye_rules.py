"""When the first eye's error may be carried to the second, and every reason when it may not."""

from __future__ import annotations

from collections.abc import Iterator

from zonule.case.biometry import LensStatus, Vitreous
from zonule.case.eye import CornealSurgery, Eye
from zonule.case.finding import Finding, note
from zonule.case.lens import LensModel
from zonule.case.operation import Complication, Fixation
from zonule.case.review import STABLE_AFTER_DAYS
from zonule.case.second_eye import FellowOutcome

LIKE_LENGTHS_MM = 0.3
LIKE_CORNEAS_DPT = 0.6
"""The stricter of two published limits. Among 2,129 patients correction no longer helped beyond 0.60 D
(aristodemou-2011); the 1.0 D of jivrajka-2012 was a condition for entering the study, not a finding."""
LIKE_DEPTHS_MM = 0.3
NOT_CARRIED = " Its error is not carried to this eye."
"""How every reason ends when it stands alone among the findings of a plan."""
_ROUNDING = 1e-9

_FIXATIONS = {
    Fixation.SULCUS: "in the sulcus",
    Fixation.SULCUS_CAPTURED: "in the sulcus with its optic captured",
    Fixation.ANTERIOR_CHAMBER: "in the anterior chamber",
}


def why_not_carried(
    eye: Eye, fellow: Eye | None, lens: LensModel | None, outcome: FellowOutcome
) -> tuple[Finding, ...]:
    """Every reason why the first eye's error says nothing about this eye; none when it may be used.

    What was not recorded or not measured is a reason: a rule that nobody could check is not kept.
    """
    found = [
        *_lens(lens, outcome),
        *_operation(outcome),
        *_settled(outcome),
        *_corneas(eye, fellow),
    ]
    return (*found, *(_no_fellow() if fellow is None else _likeness(eye, fellow)))


def _not_carried(code: str, sentence: str, where: str, source: str = "common practice, no source") -> Finding:
    return note(code, sentence + NOT_CARRIED, where, source)


def _lens(lens: LensModel | None, outcome: FellowOutcome) -> Iterator[Finding]:
    if outcome.lens_power_dpt is None or not outcome.lens_model:
        yield _not_carried(
            "first-eye-lens-unknown",
            "First eye: which lens and power went in is not recorded.",
            "fellow.outcome.lens_model",
        )
    elif lens is None or lens.name != outcome.lens_model:
        planned = "no named lens is" if lens is None or not lens.name else f"{lens.name} is"
        yield _not_carried(
            "first-eye-other-lens",
            f"First eye: it got {outcome.lens_model}; here {planned} planned.",
            "fellow.outcome.lens_model",
        )


def _operation(outcome: FellowOutcome) -> Iterator[Finding]:
    if outcome.fixation is None:
        yield _not_carried(
            "first-eye-not-in-bag",
            "First eye: where its lens sits is not recorded.",
            "fellow.outcome.fixation",
        )
    elif outcome.fixation is not Fixation.BAG:
        sits = (
            f"its lens sits {_FIXATIONS[outcome.fixation]}"
            if outcome.fixation in _FIXATIONS
            else "it has no lens"
        )
        yield _not_carried(
            "first-eye-not-in-bag", f"First eye: {sits}, not in the bag.", "fellow.outcome.fixation"
        )
    if outcome.complication is None:
        yield _not_carried(
            "first-eye-complicated",
            "First eye: whether there was a complication is not recorded.",
            "fellow.outcome.complication",
        )
    elif outcome.complication is not Complication.NONE:
        yield _not_carried(
            "first-eye-complicated",
            f"First eye: there was a complication ({outcome.complication.replace('_', ' ')}).",
            "fellow.outcome.complication",
        )


def _settled(outcome: FellowOutcome) -> Iterator[Finding]:
    days = outcome.days_after
    if days is None:
        yield _not_carried(
            "first-eye-not-settled",
            "First eye: the day of the operation or of the refraction is not recorded.",
            "fellow.outcome.refracted_on",
        )
    elif days < STABLE_AFTER_DAYS:
        yield _not_carried(
            "first-eye-not-settled",
            f"First eye: refracted {days} days after the operation; it counts from {STABLE_AFTER_DAYS} days "
            "on.",
            "fellow.outcome.refracted_on",
        )


def _corneas(eye: Eye, fellow: Eye | None) -> Iterator[Finding]:
    for name, one, where in (("This", eye, ""), ("First", fellow, "fellow.")):
        surgery = CornealSurgery.NONE if one is None else one.history.corneal_surgery
        if surgery is CornealSurgery.NONE:
            continue
        said = "nobody said whether its cornea is untouched"
        if surgery is not CornealSurgery.UNKNOWN:
            said = f"its cornea is not untouched ({surgery.replace('_', ' ')})"
        yield _not_carried(
            "first-eye-cornea-touched", f"{name} eye: {said}.", f"{where}history.corneal_surgery"
        )


def _no_fellow() -> tuple[Finding, ...]:
    return (
        _not_carried(
            "first-eye-not-measured",
            "First eye: its measurements are not given, so nothing was predicted for it.",
            "fellow.biometry",
        ),
    )


def _likeness(eye: Eye, fellow: Eye) -> Iterator[Finding]:
    yield from _measured_before(eye, fellow)
    pairs = (
        (
            "length",
            _length_mm(eye),
            _length_mm(fellow),
            LIKE_LENGTHS_MM,
            "mm",
            "axial_length_mm",
            "jivrajka-2012",
        ),
        (
            "mean cornea",
            _mean_k(eye),
            _mean_k(fellow),
            LIKE_CORNEAS_DPT,
            "D",
            "flat_power_dpt",
            "aristodemou-2011",
        ),
        (
            "chamber depth",
            _depth_mm(eye),
            _depth_mm(fellow),
            LIKE_DEPTHS_MM,
            "mm",
            "anterior_chamber_depth_mm",
            "jivrajka-2012",
        ),
    )
    for name, this, first, limit, unit, quantity, source in pairs:
        if this is None or first is None:
            yield _not_carried(
                "first-eye-unlike",
                f"The {name} of both eyes is not known, so nobody can say that they are alike.",
                f"fellow.biometry.{quantity}",
                source,
            )
        elif abs(this - first) > limit + _ROUNDING:
            yield _not_carried(
                "first-eye-unlike",
                f"The two eyes differ by {abs(this - first):.2f} {unit} in {name}, more than {limit:g} "
                f"{unit}.",
                f"fellow.biometry.{quantity}",
                source,
            )


def _measured_before(eye: Eye, fellow: Eye) -> Iterator[Finding]:
    if fellow.biometry.lens_status in {LensStatus.PSEUDOPHAKIC, LensStatus.APHAKIC}:
        yield _not_carried(
            "first-eye-not-measured",
            "First eye: its measurements were taken after the operation. Those from before are needed.",
            "fellow.biometry.lens_status",
        )
    if fellow.biometry.vitreous in {Vitreous.SILICONE_OIL, Vitreous.GAS}:
        yield _not_carried(
            "first-eye-unlike", "First eye: it is filled with oil or gas.", "fellow.biometry.vitreous"
        )
    methods = (eye.biometry.method, fellow.biometry.method)
    if None not in methods and methods[0] is not methods[1]:
        yield _not_carried(
            "first-eye-unlike",
            f"The lengths were measured in two ways: {methods[0]} here, {methods[1]} in the first eye.",
            "fellow.biometry.method",
        )


def _length_mm(eye: Eye) -> float | None:
    length = eye.biometry.axial_length_mm
    return None if length is None else length.value


def _mean_k(eye: Eye) -> float | None:
    return eye.biometry.keratometry.mean_k_dpt


def _depth_mm(eye: Eye) -> float | None:
    return eye.biometry.chamber_from_epithelium_mm
