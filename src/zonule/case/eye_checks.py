"""Can these measurements be trusted? Findings about one eye, from its own numbers."""

from __future__ import annotations

import math
import statistics
from collections.abc import Iterator
from datetime import date

from zonule.case.biometry import Biometry, ChamberFrom, CorneaKind, Keratometry, Meridian, Method
from zonule.case.eye import CornealSurgery, Eye
from zonule.case.finding import Finding, blocking, note, warning
from zonule.case.limits import MAX_CORNEAL_CYLINDER_DPT, OWN_RANGE, SECOND_LOOK, limit_finding
from zonule.science.optics.keratometry import corneal_power_dpt, implied_keratometric_index
from zonule.science.units import KERATOMETRIC_INDEX

OLD_AFTER_DAYS = 730
"""Biometry older than 24 months should be repeated (one cohort: rufai)."""

REPEAT_SD_LENGTH_MM = 0.03
REPEAT_RANGE_K_DPT = 0.5
_SAME_INDEX = 5e-5
_PLAUSIBLE_INDEX = (1.32, 1.345)


def eye_findings(eye: Eye, today: date, prefix: str = "") -> list[Finding]:
    """Every doubt about this eye's measurements; `prefix` names the eye within a file, such as `fellow.`."""
    biometry = eye.biometry
    place = f"{prefix}biometry."
    return [
        *_missing(biometry, place),
        *_out_of_limits(biometry, place),
        *_keratometry(biometry.keratometry, place),
        *_repeats(biometry, place),
        *_when_and_how(biometry, place, today),
        *_mixed_devices(biometry, place),
        *_surgery(eye, f"{prefix}history."),
        *_glasses(eye, f"{prefix}history."),
    ]


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


def _keratometry(keratometry: Keratometry, place: str) -> Iterator[Finding]:
    meridians = (("flat", keratometry.flat), ("steep", keratometry.steep))
    problems = [
        problem for name, meridian in meridians for problem in _meridian(name, meridian, keratometry, place)
    ]
    yield from problems
    if problems or keratometry.radii_mm is None or keratometry.powers_dpt is None:
        return
    flat_dpt, steep_dpt = keratometry.powers_dpt
    if flat_dpt > steep_dpt + 1e-9:
        yield blocking(
            "flat-steep-swapped",
            f"The flat meridian ({flat_dpt:.2f} D) is steeper than the steep one ({steep_dpt:.2f} D). "
            "They may have been swapped, and then the axis is wrong by 90 degrees. Read the printout again.",
            f"{place}flat_power_dpt",
            OWN_RANGE,
        )
    yield from _corneal_shape(keratometry, (flat_dpt + steep_dpt) / 2.0, steep_dpt - flat_dpt, place)


def _corneal_shape(
    keratometry: Keratometry, mean_k_dpt: float, cylinder_dpt: float, place: str
) -> Iterator[Finding]:
    finding = limit_finding("mean_k_dpt", round(mean_k_dpt, 2), f"{place}flat_power_dpt")
    if finding is not None:
        yield finding
    if cylinder_dpt > MAX_CORNEAL_CYLINDER_DPT:
        yield warning(
            "large-corneal-cylinder",
            f"The corneal cylinder is {cylinder_dpt:.2f} D, more than {MAX_CORNEAL_CYLINDER_DPT} D. Measure "
            "again, best on a second device, and look at the topography.",
            f"{place}steep_power_dpt",
            SECOND_LOOK,
        )
    if keratometry.kind is CorneaKind.TOTAL:
        yield warning(
            "total-cornea",
            "The keratometry describes the total cornea. Lens constants found with anterior keratometry do "
            "not fit it unless the device rescales.",
            f"{place}cornea_kind",
            "wang-2011-total",
        )


def _meridian(name: str, meridian: Meridian, keratometry: Keratometry, place: str) -> Iterator[Finding]:
    if not meridian.is_measured:
        yield blocking(
            "cornea-missing",
            f"The {name} meridian of the cornea has neither a radius nor a power. Both meridians are "
            "needed: give a radius in millimetres, or a power with its keratometric index.",
            f"{place}{name}_power_dpt",
            OWN_RANGE,
        )
        return
    if meridian.radius_mm is not None:
        finding = limit_finding("radius_mm", meridian.radius_mm.value, f"{place}{name}_radius_mm")
        if finding is not None:
            yield finding
    if meridian.power_dpt is not None:
        yield from _power(name, meridian, keratometry, place)


def _power(name: str, meridian: Meridian, keratometry: Keratometry, place: str) -> Iterator[Finding]:
    assert meridian.power_dpt is not None  # noqa: S101 - the caller asked
    power_dpt = meridian.power_dpt.value
    where = f"{place}{name}_power_dpt"
    finding = limit_finding("power_dpt", power_dpt, where)
    if finding is not None:
        yield finding
        return
    index = keratometry.keratometric_index
    if index is None:
        if meridian.radius_mm is None:
            yield blocking(
                "keratometric-index-missing",
                f"The {name} power of {power_dpt:g} D comes without the keratometric index it was made with. "
                "1.3375 and 1.332 differ by 0.7 D. Add the index, or the radius in millimetres.",
                f"{place}keratometric_index",
                OWN_RANGE,
            )
        return
    if not _PLAUSIBLE_INDEX[0] <= index <= _PLAUSIBLE_INDEX[1]:
        yield blocking(
            "impossible-index",
            f"{index:g} cannot be a keratometric index: those in use lie between {_PLAUSIBLE_INDEX[0]} and "
            f"{_PLAUSIBLE_INDEX[1]}. Look it up in the device's settings.",
            f"{place}keratometric_index",
            OWN_RANGE,
        )
    elif meridian.radius_mm is not None:
        yield from _conflict(name, meridian.radius_mm.value, power_dpt, index, where)
    elif abs(index - KERATOMETRIC_INDEX) > _SAME_INDEX and name == "flat":
        yield note(
            "index-converted",
            f"The powers were made with index {index:g}; they are turned into radii and shown on the 1.3375 "
            "scale.",
            f"{place}keratometric_index",
            OWN_RANGE,
        )


def _conflict(name: str, radius_mm: float, power_dpt: float, index: float, where: str) -> Iterator[Finding]:
    expected_dpt = float(corneal_power_dpt(radius_mm, index))
    if abs(power_dpt - expected_dpt) <= _rounding_dpt(radius_mm, power_dpt):
        return
    fitting = float(implied_keratometric_index(radius_mm, power_dpt))
    yield blocking(
        "radius-power-conflict",
        f"A {name} radius of {radius_mm:g} mm is {expected_dpt:.2f} D with index {index:g}, but "
        f"{power_dpt:g} D is given. The pair would fit an index of {fitting:.4f}. Find out which of the "
        "three is wrong.",
        where,
        OWN_RANGE,
    )


def _rounding_dpt(radius_mm: float, power_dpt: float) -> float:
    """How far a power may lie from its radius by rounding alone: 0.01 mm, and 0.01 or a quarter dioptre."""
    radius_part = 0.005 * power_dpt / radius_mm
    quarter_step = math.isclose(power_dpt * 4.0, round(power_dpt * 4.0), abs_tol=1e-9)
    return radius_part + (0.125 if quarter_step else 0.01) + 0.005


def _repeats(biometry: Biometry, place: str) -> Iterator[Finding]:
    for quantity, readings in sorted((biometry.repeats or {}).items()):
        if len(readings) < 2:  # noqa: PLR2004 - one reading has no spread
            continue
        where = f"{place}repeats.{quantity}"
        if quantity == "axial_length_mm" and statistics.stdev(readings) > REPEAT_SD_LENGTH_MM:
            yield warning(
                "repeats-scatter",
                "The repeated axial lengths scatter with a standard deviation of "
                f"{statistics.stdev(readings):.3f} mm, more than {REPEAT_SD_LENGTH_MM} mm. Measure again; "
                "check fixation and the quality of each scan.",
                where,
            )
        if quantity.endswith("power_dpt") and max(readings) - min(readings) > REPEAT_RANGE_K_DPT:
            yield warning(
                "repeats-scatter",
                f"The repeated corneal powers range over {max(readings) - min(readings):.2f} D, more than "
                f"{REPEAT_RANGE_K_DPT} D. Treat the ocular surface and measure again.",
                where,
            )
        measured = getattr(biometry, quantity, None)
        if measured is not None and not min(readings) <= measured.value <= max(readings):
            yield warning(
                "repeats-disagree",
                f"The value {measured.value:g} lies outside its own repeats ({min(readings):g} to "
                f"{max(readings):g}).",
                where,
                OWN_RANGE,
            )


def _when_and_how(biometry: Biometry, place: str, today: date) -> Iterator[Finding]:
    if biometry.measured_on is None:
        yield warning(
            "date-missing",
            "The date of the biometry is not recorded, so its age is unknown.",
            f"{place}measured_on",
            OWN_RANGE,
        )
    elif biometry.measured_on > today:
        yield blocking(
            "date-in-future",
            f"The biometry is dated {biometry.measured_on:%d %B %Y}, which is in the future. Correct the "
            "date.",
            f"{place}measured_on",
            OWN_RANGE,
        )
    elif (today - biometry.measured_on).days > OLD_AFTER_DAYS:
        yield warning(
            "old-biometry",
            f"The biometry is from {biometry.measured_on:%d %B %Y}, more than 24 months ago. Measure again.",
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
            "formulas-2.4",
        )
    elif biometry.method is Method.IMMERSION:
        yield note(
            "immersion-ultrasound",
            "The length was measured by immersion ultrasound; constants found with optical lengths may not "
            "fit.",
            f"{place}method",
            "formulas-2.4",
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
            "The present glasses are not recorded, so the length cannot be checked against them.",
            f"{place}glasses",
        )
