"""Can these measurements be trusted? Findings about one eye, from its own numbers."""

from __future__ import annotations

import statistics
from collections.abc import Iterator, Sequence
from datetime import date

from zonule.case.biometry import Biometry, ChamberFrom, CorneaKind, Method
from zonule.case.cornea_checks import cornea_findings
from zonule.case.eye import CornealSurgery, Eye
from zonule.case.finding import Finding, blocking, note, warning
from zonule.case.limits import OWN_RANGE, limit_finding
from zonule.case.measured import Measured
from zonule.case.operated_cornea import untouched_only
from zonule.science.optics.keratometry import corneal_power_dpt, corneal_radius_mm

OLD_AFTER_DAYS = 730
"""Biometry older than 24 months should be repeated (one cohort: rufai)."""

USUAL_BACK_TO_FRONT = (0.76, 0.89)
"""Back over front radius of untouched corneas with room about 0.82 to 0.84 (range of this project)."""
REPEAT_SD_LENGTH_MM = 0.03
REPEAT_RANGE_K_DPT = 0.5
FAR_OUTSIDE_LENGTH_MM = 0.05
FAR_OUTSIDE_K_DPT = 0.25
"""A value used that lies further outside its own repeats stops the plan: about an eighth of a dioptre of
refraction from a length, a quarter from a cornea (our choice)."""
_RADII = frozenset({"flat_radius_mm", "steep_radius_mm"})
_ROUNDING = 1e-9
"""A difference of decimals that sits on a limit must not be pushed over it by binary fractions."""


def eye_findings(eye: Eye, today: date, prefix: str = "") -> list[Finding]:
    """Every doubt about this eye's measurements; `prefix` names the eye within a file, such as `fellow.`."""
    biometry = eye.biometry
    place = f"{prefix}biometry."
    return [
        *_missing(biometry, place),
        *_out_of_limits(biometry, place),
        *_cornea(eye, place),
        *_back_of_the_cornea(eye, place),
        *_repeats(biometry, place),
        *_when_and_how(biometry, place, today),
        *_mixed_devices(biometry, place),
        *_not_recorded(biometry, place),
        *_surgery(eye, f"{prefix}history."),
        *_glasses(eye, f"{prefix}history."),
    ]


def _cornea(eye: Eye, place: str) -> Iterator[Finding]:
    """Doubts about the front of the cornea; that surgery made its power unusual is no news."""
    for finding in cornea_findings(eye.biometry.keratometry, place):
        if finding.code != "second-look" or untouched_only(eye) is None:
            yield finding


def _missing(biometry: Biometry, place: str) -> Iterator[Finding]:
    if biometry.axial_length_mm is None:
        yield blocking(
            "axial-length-missing",
            "The axial length has not been measured. No power can be computed without it.",
            f"{place}axial_length_mm",
            OWN_RANGE,
        )
    if biometry.anterior_chamber_depth_mm is None:
        yield note(
            "chamber-depth-missing",
            "The anterior chamber depth has not been measured, so Haigis cannot be used and the chamber is "
            "not drawn.",
            f"{place}anterior_chamber_depth_mm",
            "haigis-2000",
        )
    elif biometry.chamber_from is None:
        yield warning(
            "chamber-start-unknown",
            "It is not said whether the chamber depth starts at the epithelium or the endothelium. The two "
            "differ by the corneal thickness, about half a millimetre, so the depth is not used. Look it up "
            "and add chamber_from.",
            f"{place}chamber_from",
            OWN_RANGE,
        )
    elif biometry.chamber_from is ChamberFrom.ENDOTHELIUM:
        yield _aqueous_depth(biometry, place)


def _aqueous_depth(biometry: Biometry, place: str) -> Finding:
    depth = biometry.chamber_from_epithelium_mm
    if depth is None:
        return warning(
            "corneal-thickness-missing",
            "The chamber depth starts at the endothelium, and without the corneal thickness it cannot be "
            "turned into a depth from the epithelium. It is not used.",
            f"{place}corneal_thickness_um",
            OWN_RANGE,
        )
    return note(
        "aqueous-depth-converted",
        f"The chamber depth was given from the endothelium; with the corneal thickness it is {depth:.2f} mm "
        "from the epithelium, and that is used.",
        f"{place}anterior_chamber_depth_mm",
        OWN_RANGE,
    )


def _out_of_limits(biometry: Biometry, place: str) -> Iterator[Finding]:
    for quantity in (
        "axial_length_mm",
        "anterior_chamber_depth_mm",
        "lens_thickness_mm",
        "corneal_thickness_um",
        "white_to_white_mm",
    ):
        measured = getattr(biometry, quantity)
        if measured is not None:
            finding = limit_finding(quantity, measured.value, f"{place}{quantity}")
            if finding is not None:
                yield finding


def _back_of_the_cornea(eye: Eye, place: str) -> Iterator[Finding]:
    biometry = eye.biometry
    for quantity in ("posterior_flat_radius_mm", "posterior_steep_radius_mm"):
        measured = getattr(biometry, quantity)
        if measured is None:
            continue
        finding = limit_finding("posterior_radius_mm", measured.value, f"{place}{quantity}")
        if finding is not None:
            yield finding
    flat, steep = biometry.posterior_flat_radius_mm, biometry.posterior_steep_radius_mm
    yield from _front_and_back(eye, place)
    if (flat is None) != (steep is None):
        yield warning(
            "back-meridian-missing",
            "Only one meridian of the back of the cornea is given. Both are needed; the back surface is not "
            "used.",
            f"{place}posterior_flat_radius_mm",
            OWN_RANGE,
        )
    if flat is not None and steep is not None and flat.sd is None and steep.sd is None:
        yield note(
            "back-scatter-unknown",
            "The back of the cornea was not measured more than once, and no figure for its scatter has "
            "been published to us. The spread of methods that read it lacks that part.",
            f"{place}posterior_flat_radius_mm",
            OWN_RANGE,
        )
    if flat is not None and steep is not None and flat.value < steep.value - _ROUNDING:
        yield blocking(
            "flat-steep-swapped",
            f"The flat meridian of the back of the cornea ({flat.value:g} mm) is steeper than the steep one "
            f"({steep.value:g} mm). They may have been swapped. Read the printout again.",
            f"{place}posterior_flat_radius_mm",
            OWN_RANGE,
        )


def _front_and_back(eye: Eye, place: str) -> Iterator[Finding]:
    """A front that no longer fits its back: laser, a slip, or a total power given as that of the front.

    After the laser that is on record it is to be expected.
    """
    biometry, surgery = eye.biometry, eye.history.corneal_surgery
    back_mm, front_dpt = biometry.posterior_radius_mm, biometry.keratometry.mean_k_dpt
    if back_mm is None or front_dpt is None or biometry.keratometry.kind is CorneaKind.TOTAL:
        return
    ratio = back_mm / float(corneal_radius_mm(front_dpt))
    low, high = USUAL_BACK_TO_FRONT
    expected = (surgery is CornealSurgery.MYOPIC_LASER and ratio < low) or (
        surgery is CornealSurgery.HYPEROPIC_LASER and ratio > high
    )
    if not low <= ratio <= high and not expected:
        meaning = (
            "laser for short sight makes it smaller"
            if ratio < low
            else "laser for long sight makes it larger"
        )
        yield warning(
            "front-back-ratio",
            f"The back radius of the cornea is {ratio:.3f} of its front radius; in untouched corneas it is "
            f"about 0.82, and {meaning}. Make sure of the history, and that the powers given are those of "
            "the front.",
            f"{place}posterior_flat_radius_mm",
            OWN_RANGE,
        )


def _repeats(biometry: Biometry, place: str) -> Iterator[Finding]:
    for quantity, readings in sorted((biometry.repeats or {}).items()):
        where = f"{place}repeats.{quantity}"
        if len(readings) > 1:
            yield from _scatter(quantity, readings, where)
            yield from _outside_repeats(quantity, biometry.measured(quantity), readings, where)


def _scatter(quantity: str, readings: Sequence[float], where: str) -> Iterator[Finding]:
    if quantity == "axial_length_mm":
        sd_mm = statistics.stdev(readings)
        if sd_mm > REPEAT_SD_LENGTH_MM + _ROUNDING:
            yield warning(
                "repeats-scatter",
                f"The repeated axial lengths scatter with a standard deviation of {sd_mm:.3f} mm, more than "
                f"{REPEAT_SD_LENGTH_MM} mm. Measure again; check fixation and the quality of each scan.",
                where,
            )
        return
    if quantity in _RADII and min(readings) > 0:
        readings = [float(corneal_power_dpt(radius_mm)) for radius_mm in readings]
    elif not quantity.endswith("power_dpt"):
        return
    range_dpt = max(readings) - min(readings)
    if range_dpt > REPEAT_RANGE_K_DPT + _ROUNDING:
        yield warning(
            "repeats-scatter",
            f"The repeated corneal powers range over {range_dpt:.2f} D, more than {REPEAT_RANGE_K_DPT} D. "
            "Treat the ocular surface and measure again.",
            where,
        )


def _outside_repeats(
    quantity: str, measured: Measured | None, readings: Sequence[float], where: str
) -> Iterator[Finding]:
    if measured is None or min(readings) <= measured.value <= max(readings):
        return
    sentence = (
        f"The value {measured.value:g} lies outside its own repeats ({min(readings):g} to "
        f"{max(readings):g}). Find out which number is wrong."
    )
    if _is_far_outside(quantity, measured.value, readings):
        yield blocking("repeats-disagree", sentence, where, OWN_RANGE)
    else:
        yield warning("repeats-disagree", sentence, where, OWN_RANGE)


def _is_far_outside(quantity: str, value: float, readings: Sequence[float]) -> bool:
    """Whether the value is no average of its repeats, however they were rounded, and would move the plan."""
    if quantity == "axial_length_mm":
        limit = FAR_OUTSIDE_LENGTH_MM
    elif quantity in _RADII and min(value, *readings) > 0:
        limit = FAR_OUTSIDE_K_DPT
        value, *readings = (float(corneal_power_dpt(radius_mm)) for radius_mm in (value, *readings))
    elif quantity.endswith("power_dpt"):
        limit = FAR_OUTSIDE_K_DPT
    else:
        return False
    return max(min(readings) - value, value - max(readings)) > limit + _ROUNDING


def _measured_on(biometry: Biometry) -> list[date | None]:
    """Days on which length and cornea were measured; they differ where two visits were put together."""
    flat, steep = biometry.keratometry.flat, biometry.keratometry.steep
    used = (
        biometry.axial_length_mm,
        flat.radius_mm or flat.power_dpt,
        steep.radius_mm or steep.power_dpt,
    )
    return [biometry.measured_on if value is None else value.on or biometry.measured_on for value in used]


def _when_and_how(biometry: Biometry, place: str, today: date) -> Iterator[Finding]:
    days = _measured_on(biometry)
    known = [day for day in days if day is not None]
    if len(known) < len(days):
        yield warning(
            "date-missing",
            "The date of the biometry is not recorded, so its age is unknown.",
            f"{place}measured_on",
            OWN_RANGE,
        )
    if known and max(known) > today:
        yield blocking(
            "date-in-future",
            f"The biometry is dated {max(known):%d %B %Y}, which is in the future. Correct the date.",
            f"{place}measured_on",
            OWN_RANGE,
        )
    elif known and (today - min(known)).days > OLD_AFTER_DAYS:
        part = "The biometry" if min(known) == max(known) else "A part of the biometry"
        yield warning(
            "old-biometry",
            f"{part} is from {min(known):%d %B %Y}, more than 24 months ago. Measure again.",
            f"{place}measured_on",
            "rufai",
        )
    if biometry.method is None:
        yield warning(
            "method-missing",
            "It is not recorded whether the length was measured optically or by ultrasound. The spread "
            "shown is that of an optical length.",
            f"{place}method",
            OWN_RANGE,
        )
    elif biometry.method is Method.CONTACT:
        yield warning(
            "contact-ultrasound",
            "Contact ultrasound reads 0.1 to 0.3 mm short, about half a dioptre. Measure optically or by "
            "immersion if you can; lens constants found with optical lengths do not fit.",
            f"{place}method",
            "axial-length-methods",
        )
    elif biometry.method is Method.IMMERSION:
        yield note(
            "immersion-ultrasound",
            "The length was measured by immersion ultrasound; constants found with optical lengths may not "
            "fit.",
            f"{place}method",
            "axial-length-methods",
        )


def _mixed_devices(biometry: Biometry, place: str) -> Iterator[Finding]:
    length, flat = biometry.axial_length_mm, biometry.keratometry.flat
    cornea = flat.radius_mm or flat.power_dpt
    if length is None or cornea is None or not length.device or not cornea.device:
        return
    if length.device != cornea.device:
        yield warning(
            "mixed-devices",
            f"The length was measured with {length.device}, the cornea with {cornea.device}. Two devices can "
            "differ by half a dioptre of lens power; use constants found with one of them only.",
            f"{place}device",
            "two-devices-2022",
        )


def _surgery(eye: Eye, place: str) -> Iterator[Finding]:
    if eye.history.corneal_surgery is CornealSurgery.UNKNOWN:
        yield warning(
            "corneal-surgery-unknown",
            "Nobody has recorded whether this cornea had laser or other surgery. Ask the patient and look "
            "at the topography: after laser these formulas miss by a dioptre or more.",
            f"{place}corneal_surgery",
            "aramberri-2003",
        )


def _glasses(eye: Eye, place: str) -> Iterator[Finding]:
    if eye.history.glasses is None:
        yield note(
            "glasses-missing",
            "The present glasses are not recorded, so a difference in length between the eyes cannot be "
            "checked against them.",
            f"{place}glasses",
        )


def _not_recorded(biometry: Biometry, place: str) -> Iterator[Finding]:
    """What the formulas take for granted when nobody has said otherwise."""
    if biometry.lens_status is None:
        yield note(
            "lens-status-missing",
            "It is not recorded which lens is in the eye; a natural one is taken for granted. An artificial "
            "lens would change the measured length and the plan.",
            f"{place}lens_status",
        )
    if biometry.vitreous is None:
        yield note(
            "vitreous-missing",
            "It is not recorded what fills the eye behind the lens; the natural vitreous is taken for "
            "granted. Silicone oil would make the measured length wrong.",
            f"{place}vitreous",
            "axial-length-methods",
        )
