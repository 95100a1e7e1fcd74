"""Are these the constants of this lens? A constant in the wrong field costs dioptres."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from zonule.case.eye import Eye
from zonule.case.finding import Finding, Severity, blocking, note, warning
from zonule.case.lens import LensConstants, LensModel
from zonule.case.limits import OWN_RANGE
from zonule.case.refraction import LANES_M
from zonule.errors import OutOfRangeError

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
)
"""Of A: a range of this project. The others are what those A-constants convert to, widened a little and kept
apart, so that one typed in the place of another is found (our choice)."""


OPTICS_MM = (4.0, 8.0)
"""Widths in which optics are made (common practice, no source)."""


def lens_findings(lens: LensModel, eye: Eye) -> Iterator[Finding]:
    """What is odd about the constants of the lens for this eye."""
    if lens.constants == LensConstants():
        yield _no_constant(lens)
        return
    for limits in _LIMITS:
        yield from _constant(limits, limits.read(lens.constants))
    yield from _where_constants_come_from(lens, eye)


def refuse_impossible_lens(lens: LensModel) -> None:
    """Raise `OutOfRangeError` for a lens that no plan could use: unnamed, or without possible constants."""
    if not lens.name.strip():
        raise OutOfRangeError("A lens has a name: the one that stands on its box.")
    if lens.constants == LensConstants():
        raise OutOfRangeError(_no_constant(lens).sentence)
    if lens.optic_mm is not None and not OPTICS_MM[0] <= lens.optic_mm <= OPTICS_MM[1]:
        raise OutOfRangeError(f"An optic is {OPTICS_MM[0]:g} to {OPTICS_MM[1]:g} mm wide. Check the unit.")
    if lens.constants_lane_m is not None and not LANES_M[0] <= lens.constants_lane_m <= LANES_M[1]:
        raise OutOfRangeError(
            f"A refraction lane is {LANES_M[0]:g} to {LANES_M[1]:g} m long. Check the unit."
        )
    for limits in _LIMITS:
        for finding in _constant(limits, limits.read(lens.constants)):
            if finding.severity is Severity.BLOCKING:
                raise OutOfRangeError(finding.sentence)


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


def _where_constants_come_from(lens: LensModel, eye: Eye) -> Iterator[Finding]:
    if lens.constants_lane_m is None:
        yield note(
            "constants-lane-missing",
            "It is not recorded in which lane the refractions behind the lens constants were found; 6 m is "
            "assumed, and a 4 m lane would shift every prediction by 0.08 D.",
            "lens.constants_lane_m",
            "lane-length",
        )
    own, measured = lens.constants_length, eye.biometry.length_convention
    if own is not None and measured is not None and own is not measured:
        yield warning(
            "length-conventions-differ",
            f"The constants were found with {own} lengths, and this eye's length is {measured}. The two "
            "differ by up to 0.25 mm in long and short eyes; use constants found with the same kind.",
            "biometry.length_convention",
            "axial-length-methods",
        )
