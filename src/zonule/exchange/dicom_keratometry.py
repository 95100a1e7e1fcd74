"""Keratometry of one eye from a DICOM object; the radius is primary, and the index is recovered."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from zonule.case.biometry import Keratometry, Meridian
from zonule.case.finding import Finding, warning
from zonule.case.measured import Measured
from zonule.exchange.dicom_object import DICOM, Place, items, number, tag
from zonule.exchange.refusal import RefusedFileError, refused
from zonule.science.optics.keratometry import implied_keratometric_index

if TYPE_CHECKING:
    from pydicom.dataset import Dataset

_STEEP = "SteepKeratometricAxisSequence"
_FLAT = "FlatKeratometricAxisSequence"
_MUST_STATE = ("RadiusOfCurvature", "KeratometricPower", "KeratometricAxis")
_ROUNDED_RADIUS_MM = 0.005
_ROUNDED_POWER_DPT = 0.01
_QUARTER_STEP_DPT = 0.125
_INDEX_DECIMALS = 4
_AXIS_ROUNDING_DEG = 1.0


def keratometry_of(eye: Dataset, place: Place) -> tuple[Keratometry, list[Finding]]:
    """The two meridians of one eye, and a finding where the object leaves out what it must state.

    Raises
    ------
    RefusedFileError
        When a meridian is missing, the two are not at right angles, or radius and power of the two
        meridians imply different indices.
    """
    steep, flat = _one(eye, _STEEP, place), _one(eye, _FLAT, place)
    steep_meridian, flat_meridian = _meridian(steep, _STEEP, place), _meridian(flat, _FLAT, place)
    steep_deg, flat_deg = _axis_deg(steep, place), _axis_deg(flat, place)
    if not _alike(steep_meridian, flat_meridian):
        _refuse_skew(steep_deg, flat_deg, place)
    cornea = Keratometry(
        flat=flat_meridian,
        steep=steep_meridian,
        steep_meridian_deg=180.0 if steep_deg == 0.0 else steep_deg,
        keratometric_index=_recovered_index(flat_meridian, steep_meridian, place),
    )
    return cornea, [*_left_out(steep, _STEEP, place), *_left_out(flat, _FLAT, place)]


def _left_out(item: Dataset, sequence: str, place: Place) -> Iterator[Finding]:
    for keyword in _MUST_STATE:
        if number(item, keyword, place) is None:
            sentence = (
                f"{keyword} is left out, which the standard does not allow, so radius, power and axis cannot "
                "be checked against each other. Compare them with the printout."
            )
            yield warning("element-left-out", sentence, f"{place.of(sequence)} > {tag(keyword)}", DICOM)


def _one(eye: Dataset, keyword: str, place: Place) -> Dataset:
    found = items(eye, keyword)
    if len(found) != 1:
        sentence = f"The object holds this meridian {len(found)} times where it must stand once."
        raise refused("meridian-missing", sentence, place.of(keyword))
    return found[0]


def _meridian(item: Dataset, sequence: str, place: Place) -> Meridian:
    def measured(keyword: str) -> Measured | None:
        value = number(item, keyword, place)
        if value is None:
            return None
        source = f"{place.of(sequence)} > {tag(keyword)}, as stored {value!r}"
        return Measured(value, device=place.device, on=place.measured_on, source=source)

    return Meridian(measured("RadiusOfCurvature"), measured("KeratometricPower"))


def _axis_deg(item: Dataset, place: Place) -> float | None:
    axis_deg = number(item, "KeratometricAxis", place)
    if axis_deg is not None and not 0.0 <= axis_deg <= 180.0:  # noqa: PLR2004 - a meridian's whole range
        sentence = f"An axis of {axis_deg:g} degrees cannot be: axes run from 0 to 180."
        raise refused("impossible-value", sentence, place.of("KeratometricAxis"))
    return axis_deg


def _alike(one: Meridian, other: Meridian) -> bool:
    """Whether the cornea is spherical, so that its axes mean nothing."""
    pairs = ((one.radius_mm, other.radius_mm), (one.power_dpt, other.power_dpt))
    known = [(first.value, second.value) for first, second in pairs if first and second]
    return bool(known) and all(first == second for first, second in known)


def _refuse_skew(steep_deg: float | None, flat_deg: float | None, place: Place) -> None:
    if steep_deg is None or flat_deg is None:
        return
    if abs((steep_deg - flat_deg) % 180.0 - 90.0) > _AXIS_ROUNDING_DEG:
        sentence = (
            f"The steep meridian at {steep_deg:g} and the flat one at {flat_deg:g} degrees are not at right "
            "angles, as the standard demands. Read the printout."
        )
        raise refused("meridians-not-at-right-angles", sentence, place.of("KeratometricAxis"))


def _recovered_index(flat: Meridian, steep: Meridian, place: Place) -> float | None:
    """The index the device worked with; the object does not carry it."""
    whole = [
        (one.radius_mm.value, one.power_dpt.value) for one in (flat, steep) if one.radius_mm and one.power_dpt
    ]
    if not whole:
        return None
    found = [float(implied_keratometric_index(radius_mm, power_dpt)) for radius_mm, power_dpt in whole]
    allowed = sum(_index_rounding(radius_mm, power_dpt) for radius_mm, power_dpt in whole)
    if max(found) - min(found) > allowed:
        raise _indices_differ(found, place)
    return round(sum(found) / len(found), _INDEX_DECIMALS)


def _index_rounding(radius_mm: float, power_dpt: float) -> float:
    """How far rounding of radius and power alone moves the index they imply."""
    quarter_step = math.isclose(power_dpt * 4.0, round(power_dpt * 4.0), abs_tol=1e-9)
    power_part_dpt = _QUARTER_STEP_DPT if quarter_step else _ROUNDED_POWER_DPT
    return (_ROUNDED_RADIUS_MM * abs(power_dpt) + power_part_dpt * abs(radius_mm)) / 1000.0


def _indices_differ(found: list[float], place: Place) -> RefusedFileError:
    sentence = (
        f"Radius and power fit an index of {found[0]:.4f} in the flat meridian and of {found[1]:.4f} in the "
        "steep one, which rounding does not explain. A number is wrong; read the printout."
    )
    return refused("indices-differ", sentence, place.of("KeratometricPower"))
