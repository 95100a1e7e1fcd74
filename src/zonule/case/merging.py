"""Two accounts of one eye put together: the later measurement goes before the earlier, gaps are filled.

What belongs together travels together. A depth keeps the surface it was measured from, a length its method
and convention, a cornea its index and axis; none of them is borrowed from another visit.
"""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import date
from typing import Any, TypeVar

from zonule.case.biometry import Biometry, Keratometry, Meridian, OtherCornea
from zonule.case.cornea_agreement import SAME_CORNEA_DAYS
from zonule.case.eye import CornealSurgery, Eye, History, Readiness
from zonule.case.measured import Measured

_Answers = TypeVar("_Answers", History, Readiness)

_COMPANIONS = {
    "axial_length_mm": ("method", "length_convention"),
    "anterior_chamber_depth_mm": ("chamber_from",),
    "lens_thickness_mm": (),
    "corneal_thickness_um": (),
    "white_to_white_mm": (),
    "posterior_flat_radius_mm": (),
    "posterior_steep_radius_mm": ("posterior_steep_meridian_deg",),
}
"""What is said about a measured quantity, and so goes where the quantity goes."""

_STATES = ("lens_status", "vitreous")


def merged(known: Eye | None, new: Eye) -> Eye:
    """The eye after a new account of it; answers that were asked for stay, and gaps in them are filled."""
    if known is None:
        return new
    return replace(
        new,
        biometry=_merged_biometry(known.biometry, new.biometry),
        history=_merged_history(
            known.history, new.history, is_newer=not is_older(new.biometry, known.biometry)
        ),
        readiness=_filled(known.readiness, new.readiness),
    )


def is_older(new: Biometry, known: Biometry) -> bool:
    """Whether a new account tells of an earlier visit than the one on record."""
    if new.measured_on is None or known.measured_on is None:
        return False
    return new.measured_on < known.measured_on


def _merged_biometry(known: Biometry, new: Biometry) -> Biometry:
    first, second = (known, new) if is_older(new, known) else (new, known)
    if (first.measured_on, first.device) != (second.measured_on, second.device):
        second = _stamped(second)
    values: dict[str, Any] = {}
    repeats: dict[str, tuple[float, ...]] = {}
    for quantity, companions in _COMPANIONS.items():
        owner, other = (first, second) if getattr(first, quantity) is not None else (second, first)
        values[quantity] = _same_source(getattr(known, quantity), getattr(owner, quantity))
        values |= {name: _said(name, quantity, owner, other) for name in companions}
        repeats |= _repeats_of(owner, quantity)
    cornea_owner = first if _has_cornea(first) else second
    repeats |= _repeats_of(cornea_owner, "flat_") | _repeats_of(cornea_owner, "steep_")
    dated = first if _brings_anything(first) else second
    return replace(
        first,
        keratometry=_same_cornea(known.keratometry, cornea_owner.keratometry),
        measured_on=dated.measured_on,
        device=dated.device,
        repeats=repeats or None,
        other_corneas=_other_corneas(known, new, cornea_owner),
        **values,
        **{name: getattr(first, name) or getattr(second, name) for name in _STATES},
    )


def _said(name: str, quantity: str, owner: Biometry, other: Biometry) -> object:
    """What is said about a quantity; an account that brings no such quantity may say it of the other's."""
    said = getattr(owner, name)
    return getattr(other, name) if said is None and getattr(other, quantity) is None else said


def _repeats_of(biometry: Biometry, start: str) -> dict[str, tuple[float, ...]]:
    return {name: read for name, read in (biometry.repeats or {}).items() if name.startswith(start)}


def _has_cornea(biometry: Biometry) -> bool:
    return biometry.keratometry.flat.is_measured or biometry.keratometry.steep.is_measured


def cornea_readings(biometry: Biometry) -> tuple[OtherCornea, ...]:
    """Every device's reading of this cornea, the one that is planned from first."""
    used = OtherCornea(biometry.keratometry, biometry.cornea_device, biometry.cornea_measured_on)
    return (*([used] if _has_cornea(biometry) else []), *biometry.other_corneas)


def _other_corneas(known: Biometry, new: Biometry, owner: Biometry) -> tuple[OtherCornea, ...]:
    """What other devices read of the cornea within two months, the latest of each; nothing is planned on it.

    A device measured again replaces its own reading; one without a name cannot be told from another.
    """
    used_by = _name(owner.cornea_device) if _has_cornea(owner) else ""
    used_on = owner.cornea_measured_on if _has_cornea(owner) else None
    told = [*known.other_corneas, *new.other_corneas]
    if used_by:
        told += [
            one
            for biometry in (known, new)
            for one in cornea_readings(biometry)[: _has_cornea(biometry)]
            if _name(one.device) not in {"", used_by}
        ]
    latest: dict[object, OtherCornea] = {}
    for one in sorted(told, key=lambda one: one.measured_on or date.min):
        if _is_of_one_time(one.measured_on, used_on) and _name(one.device) != (used_by or None):
            latest[_name(one.device) or one] = one
    return tuple(latest.values())


def is_same_device(one: str, other: str) -> bool:
    """Whether two names of devices are one, whatever their capitals and spaces."""
    return _name(one) == _name(other)


def _name(device: str) -> str:
    return " ".join(device.casefold().split())


def _is_of_one_time(one: date | None, other: date | None) -> bool:
    """Whether two readings can be compared; one that is not dated can, and is told so."""
    return one is None or other is None or abs((one - other).days) <= SAME_CORNEA_DAYS


def _brings_anything(biometry: Biometry) -> bool:
    return _has_cornea(biometry) or any(getattr(biometry, quantity) is not None for quantity in _COMPANIONS)


def _same_source(known: Measured | None, taken: Measured | None) -> Measured | None:
    """A number read again from another file is not a new number: it keeps the source it had."""
    if known is not None and taken is not None and replace(taken, source=known.source) == known:
        return known
    return taken


def _same_cornea(known: Keratometry, taken: Keratometry) -> Keratometry:
    return replace(
        taken,
        flat=_same_meridian(known.flat, taken.flat),
        steep=_same_meridian(known.steep, taken.steep),
    )


def _same_meridian(known: Meridian, taken: Meridian) -> Meridian:
    return Meridian(
        _same_source(known.radius_mm, taken.radius_mm), _same_source(known.power_dpt, taken.power_dpt)
    )


def _stamped(biometry: Biometry) -> Biometry:
    """Each number with its own day and device, before it comes to stand beside those of another visit."""

    def stamp(value: Measured | None) -> Measured | None:
        if value is None:
            return None
        return replace(value, on=value.on or biometry.measured_on, device=value.device or biometry.device)

    cornea = biometry.keratometry
    flat, steep = (
        Meridian(stamp(one.radius_mm), stamp(one.power_dpt)) for one in (cornea.flat, cornea.steep)
    )
    numbers: dict[str, Any] = {name: stamp(getattr(biometry, name)) for name in _COMPANIONS}
    return replace(biometry, keratometry=replace(cornea, flat=flat, steep=steep), **numbers)


def _merged_history(known: History, new: History, *, is_newer: bool) -> History:
    """The newer glasses; of the cornea what is known, for a file must not undo what a person said."""
    is_known = known.corneal_surgery is not CornealSurgery.UNKNOWN
    surgery = known.corneal_surgery if is_known else new.corneal_surgery
    glasses = new.glasses if new.glasses is not None and is_newer else known.glasses or new.glasses
    return replace(_filled(known, new), corneal_surgery=surgery, glasses=glasses)


def _filled(known: _Answers, new: _Answers) -> _Answers:
    gaps = {
        field.name: getattr(new, field.name) for field in fields(known) if getattr(known, field.name) is None
    }
    return replace(known, **gaps)
