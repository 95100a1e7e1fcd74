"""Limits of one eye's measurements: what cannot be, and what deserves a second look.

Refusals are ranges of this project; second looks are the UK college guideline of 2010 after
Knox Cartwright 2010, from memory, and ranges of this project for depth, lens and corneal thickness.
"""

from __future__ import annotations

from dataclasses import dataclass

from zonule.case.finding import Finding, Severity, blocking, warning
from zonule.errors import OutOfRangeError

OWN_RANGE = "zonule-ranges"
SECOND_LOOK = "uk-college-2010"


@dataclass(frozen=True, slots=True)
class Limits:
    """Possible and usual range of one quantity, in the unit its field name states."""

    words: str
    unit: str
    possible: tuple[float, float]
    usual: tuple[float, float]
    usual_source: str = OWN_RANGE
    slips: tuple[tuple[float, str], ...] = ()
    """Factors that turn a common slip of unit into a possible value, and what the slip was."""


LIMITS = {
    "axial_length_mm": Limits(
        "axial length",
        "mm",
        (15.0, 38.0),
        (21.20, 26.60),
        SECOND_LOOK,
        (
            (0.1, "a decimal point is missing"),
            (10.0, "it was given in centimetres"),
            (1000.0, "it is in metres"),
        ),
    ),
    "mean_k_dpt": Limits("mean corneal power", "D", (30.0, 60.0), (41.0, 47.0), SECOND_LOOK),
    "radius_mm": Limits("corneal radius", "mm", (5.5, 11.5), (5.5, 11.5)),
    "power_dpt": Limits("corneal power", "D", (30.0, 65.0), (30.0, 65.0)),
    "posterior_radius_mm": Limits("back radius of the cornea", "mm", (4.0, 9.0), (5.6, 7.4)),
    "anterior_chamber_depth_mm": Limits(
        "anterior chamber depth", "mm", (1.5, 5.5), (2.2, 4.2), OWN_RANGE, ((0.001, "it is in micrometres"),)
    ),
    "lens_thickness_mm": Limits(
        "lens thickness", "mm", (2.5, 7.0), (3.5, 5.8), OWN_RANGE, ((0.001, "it is in micrometres"),)
    ),
    "corneal_thickness_um": Limits(
        "corneal thickness",
        "\u00b5m",
        (350.0, 750.0),
        (450.0, 620.0),
        OWN_RANGE,
        ((1000.0, "it is in millimetres"),),
    ),
    "white_to_white_mm": Limits(
        "white-to-white",
        "mm",
        (7.0, 15.0),
        (10.5, 13.0),
        "common practice, no source",
        ((0.1, "a decimal point is missing"),),
    ),
    "pressure_mmhg": Limits("eye pressure", "mmHg", (0.0, 80.0), (6.0, 21.0), "common practice, no source"),
    "dilated_pupil_mm": Limits("dilated pupil", "mm", (1.0, 11.0), (5.0, 11.0), "common practice, no source"),
    "contact_lens_out_days": Limits("time without contact lenses", "days", (0.0, 36500.0), (0.0, 36500.0)),
    "incision_meridian_deg": Limits("incision", "degrees", (0.0, 360.0), (0.0, 360.0)),
    "incision_width_mm": Limits("width of the incision", "mm", (0.5, 12.0), (0.5, 12.0)),
    "incision_flattening_dpt": Limits("flattening by the incision", "D", (-1.0, 3.0), (-1.0, 3.0)),
    "lens_cylinder_dpt": Limits("cylinder of the lens", "D", (0.0, 20.0), (0.0, 20.0)),
    "lens_meridian_deg": Limits("meridian of the lens", "degrees", (0.0, 180.0), (0.0, 180.0)),
    "capsulorhexis_mm": Limits("capsulorhexis", "mm", (1.0, 10.0), (1.0, 10.0)),
    "pupil_smallest_mm": Limits("smallest pupil", "mm", (0.5, 11.0), (0.5, 11.0)),
}

MAX_CORNEAL_CYLINDER_DPT = 2.5
"""Corneal cylinder beyond which a second look is advised (uk-college-2010)."""


def limit_finding(quantity: str, value: float, where: str) -> Finding | None:
    """What is odd about a value, if anything: impossible (blocking) or worth a second look (warning)."""
    limits = LIMITS[quantity]
    low, high = limits.possible
    if not low <= value <= high:
        return blocking(
            "impossible-value",
            f"{_value(limits, value)} cannot be the {limits.words}: it lies outside {low:g} to {high:g} "
            f"{limits.unit}.{_slip(limits, value)} Read it again and correct it.",
            where,
            OWN_RANGE,
        )
    usual_low, usual_high = limits.usual
    if not usual_low <= value <= usual_high:
        return warning(
            "second-look",
            f"The {limits.words} of {_value(limits, value)} lies outside the usual {usual_low:g} to "
            f"{usual_high:g} {limits.unit}. Measure it again, best on a second device, and record that you "
            "did.",
            where,
            limits.usual_source,
        )
    return None


def refuse_impossible(record: object, *quantities: str) -> None:
    """Raise `OutOfRangeError` for the first of these fields of a record that cannot be; absent ones may."""
    for quantity in quantities:
        value = getattr(record, quantity)
        finding = None if value is None else limit_finding(quantity, value, quantity)
        if finding is not None and finding.severity is Severity.BLOCKING:
            raise OutOfRangeError(finding.sentence)


def _value(limits: Limits, value: float) -> str:
    return f"{value:g} {limits.unit}"


def _slip(limits: Limits, value: float) -> str:
    for factor, words in limits.slips:
        if limits.possible[0] <= value * factor <= limits.possible[1]:
            return f" It would be {value * factor:g} {limits.unit} if {words}."
    return ""
