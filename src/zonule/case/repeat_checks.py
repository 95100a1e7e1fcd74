"""Single readings of one quantity: whether they agree, and the value used lies among them."""

from __future__ import annotations

import statistics
from collections.abc import Iterator, Sequence
from itertools import pairwise

from zonule.case.biometry import Biometry
from zonule.case.finding import Finding, blocking, warning
from zonule.case.limits import OWN_RANGE
from zonule.case.measured import Measured
from zonule.science.astigmatism.vectors import HALF_TURN_DEG
from zonule.science.optics.keratometry import corneal_power_dpt

REPEAT_SD_LENGTH_MM = 0.03
REPEAT_RANGE_K_DPT = 0.5
REPEAT_RANGE_AXIS_DEG = 10.0
CYLINDER_WITH_AN_AXIS_DPT = 1.0
"""Corneal cylinder above which repeated steep meridians should agree: the scatter of an axis is inversely
proportional to the cylinder (langenbucher-2025); both figures are common practice, no source."""
FAR_OUTSIDE_LENGTH_MM = 0.05
FAR_OUTSIDE_K_DPT = 0.25
"""A value used that lies further outside its own repeats stops the plan: about an eighth of a dioptre of
refraction from a length, a quarter from a cornea (our choice)."""
_RADII = frozenset({"flat_radius_mm", "steep_radius_mm"})
_ROUNDED_AXIS_DEG = 1.0
_ROUNDING = 1e-9
"""A difference of decimals that sits on a limit must not be pushed over it by binary fractions."""


def repeat_findings(biometry: Biometry, place: str) -> Iterator[Finding]:
    """Every doubt about single readings; `place` is where they stand, such as `biometry.`."""
    for quantity, readings in sorted((biometry.repeats or {}).items()):
        where = f"{place}repeats.{quantity}"
        if len(readings) > 1:
            yield from _scatter(quantity, readings, where)
            yield from _outside_repeats(quantity, biometry.measured(quantity), readings, where)
    yield from _axis_repeats(biometry, f"{place}repeats.steep_meridian_deg")


def _axis_repeats(biometry: Biometry, where: str) -> Iterator[Finding]:
    """Scatter of the steep meridian, where the cylinder is large enough for one to mean something."""
    readings = (biometry.repeats or {}).get("steep_meridian_deg", ())
    powers = biometry.keratometry.powers_dpt
    cylinder_dpt = 0.0 if powers is None else powers[1] - powers[0]
    if len(readings) < 2 or cylinder_dpt <= CYLINDER_WITH_AN_AXIS_DPT + _ROUNDING:  # noqa: PLR2004 - one reading has no scatter
        return
    range_deg = _narrowest_arc_deg(readings)
    if range_deg > REPEAT_RANGE_AXIS_DEG + _ROUNDING:
        yield warning(
            "repeats-scatter",
            f"The repeated steep meridians spread over {range_deg:.0f} degrees with a cylinder of "
            f"{cylinder_dpt:.2f} D; above {CYLINDER_WITH_AN_AXIS_DPT:g} D they should lie within "
            f"{REPEAT_RANGE_AXIS_DEG:g} degrees. Treat the ocular surface and measure again before a "
            "cylinder is placed on them.",
            where,
        )
    used_deg = biometry.keratometry.steep_meridian_deg
    if used_deg is not None and _narrowest_arc_deg((*readings, used_deg)) > range_deg + _ROUNDED_AXIS_DEG:
        told = ", ".join(f"{one:g}" for one in readings)
        yield warning(
            "repeats-disagree",
            f"The steep meridian of {used_deg:g} degrees lies outside its own repeats ({told}). Find out "
            "which number is wrong.",
            where,
            OWN_RANGE,
        )


def _narrowest_arc_deg(meridians_deg: Sequence[float]) -> float:
    """The smallest arc that holds all of these meridians: 178 and 2 lie 4 degrees apart."""
    turned = sorted(one % HALF_TURN_DEG for one in meridians_deg)
    gaps_deg = [after - before for before, after in pairwise((*turned, turned[0] + HALF_TURN_DEG))]
    return HALF_TURN_DEG - max(gaps_deg)


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
