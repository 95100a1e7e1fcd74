"""What was measured, in rows for a printed table."""

from __future__ import annotations

from collections.abc import Iterator

from zonule.case.biometry import Biometry, Keratometry, Meridian
from zonule.case.eye import CornealSurgery, Eye
from zonule.case.measured import Measured
from zonule.drawings.numbers import axis_text, day_text, measured_text, mm_text, plain_text, size_text

Row = tuple[str, str, str]
"""A quantity, its value with spread and unit, and what it stands on."""


def measurement_rows(eye: Eye) -> list[Row]:
    """Every quantity a surgeon looks for, whether measured or not."""
    biometry = eye.biometry
    return [
        _row("Axial length", biometry.axial_length_mm, 2, "mm", biometry),
        *_cornea_rows(biometry.keratometry),
        _chamber_row(biometry),
        _row("Lens thickness", biometry.lens_thickness_mm, 2, "mm", biometry),
        _row("Corneal thickness", biometry.corneal_thickness_um, 0, "\u00b5m", biometry),
        _row("White-to-white", biometry.white_to_white_mm, 1, "mm", biometry),
        _pupil_row(eye),
        ("Corneal surgery", _surgery(eye.history.corneal_surgery), ""),
    ]


def measurement_source(biometry: Biometry) -> str:
    """How, with what and when, in one line."""
    parts = [
        "method not on record" if biometry.method is None else str(biometry.method),
        ""
        if biometry.length_convention is None
        else f"{str(biometry.length_convention).replace('_', ' ')} length",
        biometry.device or "device not on record",
        "day not on record" if biometry.measured_on is None else day_text(biometry.measured_on),
    ]
    return ", ".join(part for part in parts if part)


def _row(name: str, measured: Measured | None, decimals: int, unit: str, biometry: Biometry) -> Row:
    return (
        name,
        measured_text(measured, decimals, unit),
        "" if measured is None else _stands_on(measured, biometry),
    )


def _stands_on(measured: Measured, biometry: Biometry) -> str:
    """Readings, and the device or day where they are not those of the visit."""
    parts = ["1 reading" if measured.n == 1 else f"{measured.n} readings"]
    if measured.device and measured.device != biometry.device:
        parts.append(measured.device)
    if measured.on is not None and measured.on != biometry.measured_on:
        parts.append(day_text(measured.on))
    return ", ".join(parts)


def _cornea_rows(cornea: Keratometry) -> Iterator[Row]:
    index = "" if cornea.keratometric_index is None else f"on {plain_text(cornea.keratometric_index, 4)}"
    yield f"Flat {_kind(cornea)}", _meridian(cornea, cornea.flat), index
    at = "" if cornea.steep_meridian_deg is None else f" at {axis_text(cornea.steep_meridian_deg)}"
    yield f"Steep {_kind(cornea)}", _meridian(cornea, cornea.steep) + at, index
    mean = cornea.mean_k_dpt
    yield "Mean K", "not known" if mean is None else size_text(mean), "on 1.3375"


def _kind(cornea: Keratometry) -> str:
    return "cornea" if cornea.kind == "anterior" else "total cornea"


def _meridian(cornea: Keratometry, meridian: Meridian) -> str:
    """The power as the device gave it, and the radius."""
    if not meridian.is_measured:
        return "not measured"
    radius = cornea.radius_mm(meridian)
    parts = [] if meridian.power_dpt is None else [measured_text(meridian.power_dpt, 2, "D")]
    if radius is not None:
        parts.append(mm_text(radius))
    return ", ".join(parts)


def _chamber_row(biometry: Biometry) -> Row:
    depth, start = biometry.anterior_chamber_depth_mm, "start not said"
    if biometry.chamber_from is not None:
        start = f"from {biometry.chamber_from}"
    name = "Chamber depth" if depth is None else f"Chamber, {start}"
    return _row(name, depth, 2, "mm", biometry)


def _pupil_row(eye: Eye) -> Row:
    pupil = eye.readiness.dilated_pupil_mm
    return (
        ("Dilated pupil", "not measured", "")
        if pupil is None
        else ("Dilated pupil, apparent", mm_text(pupil, 1), "")
    )


def _surgery(surgery: CornealSurgery) -> str:
    return "not known" if surgery is CornealSurgery.UNKNOWN else str(surgery).replace("_", " ")
