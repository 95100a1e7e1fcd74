"""Are these the constants of this lens? A constant in the wrong field costs dioptres."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from zonule.case.eye import Eye
from zonule.case.finding import Finding, Severity, blocking, note, warning
from zonule.case.lens import CONSTANTS, IN_FRONT, ConstantsAccount, LensConstants, LensModel, Material
from zonule.case.lens_build import build_problems
from zonule.case.limits import OWN_RANGE
from zonule.case.refraction import LANES_M
from zonule.errors import OutOfRangeError
from zonule.science.lens_power.length_convention import segmental_less_composite_mm

FINEST_STEP_DPT = 0.05
"""No lens is labelled more finely; a step below it is a slip (range of this project)."""
LONGEST_TEXT = 200
"""Letters of a text that a file of this project holds."""
_AVERAGE_CHAMBER_MM = 3.1
_AVERAGE_LENGTH_MM = 23.5


@dataclass(frozen=True, slots=True)
class _Limits:
    """Possible and usual range of one lens constant."""

    words: str
    unit: str
    where: str
    read: Callable[[LensConstants], float | None]
    possible: tuple[float, float]
    usual: tuple[float, float]


def _haigis_position_mm(constants: LensConstants) -> float | None:
    """Where the three Haigis constants put the lens of an average eye; alone, none of them means anything."""
    if constants.haigis is None:
        return None
    a0_mm, a1, a2 = constants.haigis
    return a0_mm + a1 * _AVERAGE_CHAMBER_MM + a2 * _AVERAGE_LENGTH_MM


_LIMITS = (
    _Limits(
        "an A-constant",
        "",
        "lens.a_constant",
        lambda constants: constants.a_constant,
        (110.0, 125.0),
        (117.5, 119.7),
    ),
    _Limits(
        "a surgeon factor",
        " mm",
        "lens.surgeon_factor",
        lambda constants: constants.surgeon_factor,
        (-3.4, 4.4),
        (0.9, 2.3),
    ),
    _Limits("a pACD", " mm", "lens.p_acd", lambda constants: constants.p_acd, (2.0, 8.0), (4.6, 6.1)),
    _Limits(
        "the place of the lens in an average eye by its Haigis constants",
        " mm",
        "lens.haigis",
        _haigis_position_mm,
        (2.0, 8.0),
        (4.0, 6.1),
    ),
    _Limits(
        "a C-constant",
        "",
        "lens.c_constant",
        lambda constants: constants.c_constant,
        (0.0, 0.8),
        (0.3, 0.5),
    ),
)
"""Of A: a range of this project. The next three are what those A-constants convert to, widened a little and
kept apart, so that one typed in the place of another is found (our choice). Of C: from the front of the
natural lens to the far part of it, and its middle (our choice)."""


def lens_findings(lens: LensModel, eye: Eye) -> Iterator[Finding]:
    """What is odd about the lens and its constants for this eye."""
    if lens.constants == LensConstants():
        yield _no_constant(lens)
        return
    yield from constant_findings(lens)
    yield from _where_constants_come_from(lens, eye)
    yield from _impossible_lanes(lens)
    yield from build_problems(lens)
    if lens.haptic in IN_FRONT:
        yield warning(
            "lens-not-for-the-bag",
            f"{lens.name} is {lens.haptic}: it is not made for the capsular bag. Check that the lens for the "
            "bag was not meant.",
            "lens.haptic",
        )


def constant_findings(lens: LensModel) -> Iterator[Finding]:
    """What is odd about the constants of a lens, whatever the eye; only lenses of the bag have usual ones."""
    for limits in _LIMITS:
        for finding in _constant(limits, limits.read(lens.constants)):
            if finding.severity is Severity.BLOCKING or lens.haptic not in IN_FRONT:
                yield finding


def lens_problems(lens: LensModel) -> Iterator[Finding]:
    """Why no plan could use this lens, or why it cannot be as it is described."""
    if not lens.name.strip():
        yield blocking(
            "lens-name-missing", "A lens has a name: the one that stands on its box.", "lens.model", OWN_RANGE
        )
    yield from _too_long(lens)
    if lens.powers.step_dpt < FINEST_STEP_DPT:
        yield blocking(
            "impossible-step",
            f"Powers in steps of {lens.powers.step_dpt:g} D are finer than lenses are labelled, which is "
            f"{FINEST_STEP_DPT:g} D or more. Read the step again.",
            "lens.powers_dpt.step",
            OWN_RANGE,
        )
    if lens.constants == LensConstants():
        yield _no_constant(lens)
    yield from (one for one in constant_findings(lens) if one.severity is Severity.BLOCKING)
    yield from _impossible_lanes(lens)
    yield from build_problems(lens)
    if lens.material is not None and lens.known_material is None:
        yield blocking(
            "unknown-material",
            f"{lens.material[:40]!r} is not a material known here. Write {', '.join(Material)}.",
            "lens.material",
            OWN_RANGE,
        )


def _too_long(lens: LensModel) -> Iterator[Finding]:
    texts = {
        "model": ("The name of a lens", lens.name),
        "constants_from": ("What is said of where the constants come from", lens.constants_from),
        "biometer_family": ("The kind of biometer", lens.biometer_family),
    }
    for key, (words, text) in texts.items():
        if len(text) > LONGEST_TEXT:
            yield blocking(
                "text-too-long",
                f"{words} has {len(text)} letters, and {LONGEST_TEXT} are kept. Shorten it.",
                f"lens.{key}",
                OWN_RANGE,
            )


def refuse_impossible_lens(lens: LensModel) -> None:
    """Raise `OutOfRangeError` for a lens that no plan could use: unnamed, or without possible constants."""
    for problem in lens_problems(lens):
        raise OutOfRangeError(problem.sentence)


def _no_constant(lens: LensModel) -> Finding:
    return blocking(
        "lens-constants-missing",
        f"No constant is recorded for the lens {lens.name}. Enter its A-constant or the constants of a "
        "formula.",
        "lens",
        OWN_RANGE,
    )


def _constant(limits: _Limits, value: float | None) -> Iterator[Finding]:
    if value is None:
        return
    low, high = limits.possible
    usual_low, usual_high = limits.usual
    if not low <= value <= high:
        yield blocking(
            "impossible-constant",
            f"{value:g}{limits.unit} cannot be {limits.words}: it lies outside {low:g} to {high:g}. Check "
            "that it was not entered in the place of another constant.",
            limits.where,
            OWN_RANGE,
        )
    elif not usual_low <= value <= usual_high:
        yield warning(
            "unusual-constant",
            f"{value:g}{limits.unit} is unusual as {limits.words} of a lens in the bag ({usual_low:g} to "
            f"{usual_high:g}). Check that it belongs to this lens and to optical lengths.",
            limits.where,
            OWN_RANGE,
        )


def _accounts(lens: LensModel) -> Iterator[tuple[str, ConstantsAccount]]:
    """Every account of the lens's constants that counts, and the key where it stands."""
    stated = [name for name in CONSTANTS if getattr(lens.constants, name) is not None]
    own = [name for name in stated if getattr(lens.constants_notes, name) is not None]
    if len(own) < len(stated):
        shared = next(name for name in stated if name not in own)
        yield "lens.constants_", lens.account_of((shared,))
    for name in own:
        yield f"lens.constants_notes.{name}.", lens.account_of((name,))


def _impossible_lanes(lens: LensModel) -> Iterator[Finding]:
    for where, account in _accounts(lens):
        if account.lane_m is not None and not LANES_M[0] <= account.lane_m <= LANES_M[1]:
            yield blocking(
                "impossible-lane",
                f"A refraction lane is {LANES_M[0]:g} to {LANES_M[1]:g} m long. Check the unit.",
                f"{where}lane_m",
                OWN_RANGE,
            )


def _conventions_apart(eye: Eye) -> str:
    """How far the two kinds of length lie apart in this eye, where that can be told."""
    biometry = eye.biometry
    if biometry.axial_length_mm is None or biometry.lens_thickness_mm is None:
        return "The two differ by up to 0.25 mm in long and short eyes. "
    apart_mm = float(
        segmental_less_composite_mm(biometry.axial_length_mm.value, biometry.lens_thickness_mm.value)
    )
    return (
        f"In an eye like this the sum of the parts reads about {abs(apart_mm):.2f} mm "
        f"{'longer' if apart_mm > 0 else 'shorter'} than one index for all (cooke-2019, from memory). "
        "Nothing is converted. "
    )


def _where_constants_come_from(lens: LensModel, eye: Eye) -> Iterator[Finding]:
    measured = eye.biometry.length_convention
    for where, account in _accounts(lens):
        which = f" ({where.split('.')[2]})" if "notes" in where else ""
        if account.lane_m is None:
            yield note(
                "constants-lane-missing",
                f"It is not recorded in which lane the refractions behind the lens constants{which} were "
                "found; 6 m is assumed, and a 4 m lane would shift every prediction by 0.08 D.",
                f"{where}lane_m",
                "lane-length",
            )
        if account.length is not None and measured is not None and account.length is not measured:
            yield warning(
                "length-conventions-differ",
                f"The constants{which} were found with {account.length} lengths, and this eye's length is "
                f"{measured}. {_conventions_apart(eye)}Use constants found with the same kind.",
                "biometry.length_convention",
                "axial-length-methods",
            )
