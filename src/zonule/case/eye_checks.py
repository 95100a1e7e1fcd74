"""Can these measurements be trusted? Findings about one eye, from its own numbers."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from zonule.case.biometry import Biometry, ChamberFrom, Method
from zonule.case.cornea_agreement import agreement_findings
from zonule.case.cornea_checks import cornea_findings
from zonule.case.eye import CornealSurgery, Eye
from zonule.case.finding import Finding, blocking, note, warning
from zonule.case.limits import OWN_RANGE, limit_finding
from zonule.case.operated_cornea import untouched_only
from zonule.case.posterior_checks import posterior_findings
from zonule.case.repeat_checks import repeat_findings

OLD_AFTER_DAYS = 730
"""Biometry older than 24 months should be repeated (one cohort: rufai)."""


def eye_findings(eye: Eye, today: date, prefix: str = "") -> list[Finding]:
    """Every doubt about this eye's measurements; `prefix` names the eye within a file, such as `fellow.`."""
    biometry = eye.biometry
    place = f"{prefix}biometry."
    return [
        *_missing(biometry, place),
        *_out_of_limits(biometry, place),
        *_cornea(eye, place),
        *posterior_findings(eye, place),
        *agreement_findings(biometry, place, today),
        *repeat_findings(biometry, place),
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
