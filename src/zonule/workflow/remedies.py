"""What each remedy comes to, with what it is expected to leave."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from zonule.case.lens import LensModel
from zonule.case.surprise import CauseKind, Exchange, Outlook, Remedy, RemedyKind
from zonule.science.lens_power.moved_lens import SULCUS
from zonule.science.lens_power.remedies import (
    add_on_power_dpt,
    corneal_change_dpt,
    eye_as_it_turned_out,
    position_scatter_dpt,
    refraction_with_add_on_dpt,
    rough_add_on_power_dpt,
)
from zonule.science.lens_power.surprise import LENS_POSITION_SD_MM, REFRACTION_SD_DPT
from zonule.science.lens_power.thin_lens import ThinLensEye, lens_power_dpt, refraction_dpt
from zonule.science.optics.keratometry import corneal_power_dpt, corneal_radius_mm
from zonule.science.uncertainty.spread import DEGREES_OF_FREEDOM, ErrorLaw, fraction_within
from zonule.workflow.causes import SeenBefore, middle

READ_TWICE_DPT = math.sqrt(2.0) * REFRACTION_SD_DPT
"""A remedy is worked out from one refraction and judged by another."""
_NET_INDEX = 4.0 / 3.0
"""Corneal power for refractive vergence, the scale of holladay-1988."""


def remedies(
    seen: Sequence[SeenBefore], lens: LensModel, target_dpt: float, fellow_dpt: float | None
) -> tuple[Remedy, ...]:
    """Glasses, exchange, add-on lens and laser, the least invasive first."""
    made = _exchange(seen, lens, target_dpt, fellow_dpt)
    parts = (
        _glasses(seen[0].achieved_dpt, fellow_dpt),
        _laser(seen, target_dpt, fellow_dpt),
        _add_on(seen, target_dpt, fellow_dpt),
        made,
    )
    return tuple(one for one in parts if one is not None)


def _outlook(refraction: float, sd: float, target: float, fellow: float | None) -> Outlook:
    law = ErrorLaw(0.0, DEGREES_OF_FREEDOM, sd**2)
    within = float(fraction_within(0.5, target, refraction, law))
    return Outlook(refraction, sd, within, None if fellow is None else refraction - fellow)


def _glasses(achieved: float, fellow: float | None) -> Remedy:
    """Sharp in the far distance through glasses; the eye itself stays as it is beside its fellow."""
    through = _outlook(0.0, READ_TWICE_DPT, 0.0, None)
    beside = None if fellow is None else achieved - fellow
    return Remedy(RemedyKind.GLASSES, replace(through, beside_fellow_dpt=beside), achieved)


def _laser(seen: Sequence[SeenBefore], target: float, fellow: float | None) -> Remedy:
    change = float(corneal_change_dpt(seen[0].achieved_dpt, target))
    after = float(seen[0].numbers.mean_k_dpt) + change
    outlook = _outlook(target, READ_TWICE_DPT, target, fellow)
    return Remedy(RemedyKind.LASER, outlook, change, mean_k_after_dpt=after)


def _add_on(seen: Sequence[SeenBefore], target: float, fellow: float | None) -> Remedy:
    achieved = seen[0].achieved_dpt
    net = float(corneal_power_dpt(corneal_radius_mm(seen[0].numbers.mean_k_dpt), _NET_INDEX))
    bag = middle(float(one.eye.lens_position_mm) for one in seen)
    place = bag - SULCUS.middle_mm
    power = float(add_on_power_dpt(achieved, target, net, place))
    places = (bag - SULCUS.most_mm, bag - SULCUS.least_mm)
    ends = [float(add_on_power_dpt(achieved, target, net, one)) for one in places]
    off = [
        float(refraction_with_add_on_dpt(achieved, power, net, place + side * LENS_POSITION_SD_MM))
        for side in (-1.0, 1.0)
    ]
    sd = math.hypot(READ_TWICE_DPT, abs(off[1] - off[0]) / 2.0)
    return Remedy(
        RemedyKind.ADD_ON,
        _outlook(target, sd, target, fellow),
        power,
        range_dpt=(min(ends), max(ends)),
        place_mm=place,
        rough_dpt=float(rough_add_on_power_dpt(achieved - target)),
    )


def _exchange(
    seen: Sequence[SeenBefore], lens: LensModel, target: float, fellow: float | None
) -> Remedy | None:
    readings = tuple(_readings(seen, lens, target))
    moved = next((one for one in readings if one.if_cause is CauseKind.LENS_POSITION), None)
    if moved is None:
        return None
    powers = [one.power_dpt for one in readings]
    scatter = middle(
        float(position_scatter_dpt(_turned_out(one), moved.power_made_dpt, LENS_POSITION_SD_MM))
        for one in seen
    )
    sd = math.hypot(READ_TWICE_DPT, scatter)
    return Remedy(
        RemedyKind.EXCHANGE,
        _outlook(moved.refraction_dpt, sd, target, fellow),
        moved.power_dpt,
        range_dpt=(min(powers), max(powers)),
        exchanges=readings,
    )


def _turned_out(one: SeenBefore) -> ThinLensEye:
    return eye_as_it_turned_out(one.eye, one.power_dpt, one.own_achieved_dpt)


def _readings(seen: Sequence[SeenBefore], lens: LensModel, target: float) -> Iterator[Exchange]:
    """The lens to exchange for if the place, the cornea, the length or the lens itself was wrong."""
    eyes: dict[CauseKind, list[ThinLensEye]] = {
        CauseKind.LENS_POSITION: [_turned_out(one) for one in seen],
        CauseKind.CORNEA: [one.seen(mean_k_dpt=one.mean_k_dpt) for one in seen],
        CauseKind.LENGTH: [one.seen(axial_length_mm=one.axial_length_mm) for one in seen],
        CauseKind.WRONG_LENS: [one.eye for one in seen],
    }
    for cause, found in eyes.items():
        pairs = list(zip(found, seen, strict=True))
        power = middle(float(lens_power_dpt(eye, target - one.added_dpt)) for eye, one in pairs)
        if math.isfinite(power):
            made = min(lens.powers.powers_dpt, key=lambda one: abs(one - power))
            left = middle(float(refraction_dpt(eye, made)) + one.added_dpt for eye, one in pairs)
            yield Exchange(cause, power, made, left)
