"""Can these corneal readings be trusted? Radii, powers and index must tell one story."""

from __future__ import annotations

import math
from collections.abc import Iterator

from zonule.case.biometry import CorneaKind, Keratometry, Meridian
from zonule.case.finding import Finding, blocking, note, warning
from zonule.case.limits import LIMITS, MAX_CORNEAL_CYLINDER_DPT, OWN_RANGE, SECOND_LOOK, limit_finding
from zonule.science.optics.keratometry import corneal_power_dpt, implied_keratometric_index
from zonule.science.units import KERATOMETRIC_INDEX

_SAME_INDEX = 5e-5
_PLAUSIBLE_INDEX = (1.32, 1.345)
_WHOLE_CORNEA_INDEX = (1.3255, 1.3305)
"""Indices that turn the front radius into the power of a whole ordinary cornea: 1.328 to 1.329 with room."""
_CYLINDER_WITH_A_DIRECTION_DPT = 0.5
"""Corneal cylinder from which its meridian matters to an incision (common practice, no source)."""


def cornea_findings(keratometry: Keratometry, place: str) -> Iterator[Finding]:
    """Every doubt about the two meridians of a cornea; `place` is where they stand, such as `biometry.`."""
    meridians = (("flat", keratometry.flat), ("steep", keratometry.steep))
    problems = [
        problem for name, meridian in meridians for problem in _meridian(name, meridian, keratometry, place)
    ]
    yield from problems
    yield from _index_converted(keratometry, place)
    if problems or keratometry.powers_dpt is None:
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
    yield from _shape(keratometry, (flat_dpt + steep_dpt) / 2.0, steep_dpt - flat_dpt, place)


def _shape(keratometry: Keratometry, mean_k_dpt: float, cylinder_dpt: float, place: str) -> Iterator[Finding]:
    finding = limit_finding("mean_k_dpt", round(mean_k_dpt, 2), f"{place}flat_power_dpt")
    if finding is not None:
        yield finding
    if cylinder_dpt > MAX_CORNEAL_CYLINDER_DPT + 1e-9:
        yield warning(
            "large-corneal-cylinder",
            f"The corneal cylinder is {cylinder_dpt:.2f} D, more than {MAX_CORNEAL_CYLINDER_DPT} D. Measure "
            "again, best on a second device, and look at the topography.",
            f"{place}steep_power_dpt",
            SECOND_LOOK,
        )
    if keratometry.steep_meridian_deg is None and cylinder_dpt >= _CYLINDER_WITH_A_DIRECTION_DPT:
        yield note(
            "steep-meridian-missing",
            f"The direction of the corneal cylinder ({cylinder_dpt:.2f} D) is not recorded, so neither the "
            "drawing nor the incision can be turned to it.",
            f"{place}steep_meridian_deg",
        )
    if keratometry.kind is CorneaKind.TOTAL:
        yield warning(
            "total-cornea",
            "The keratometry describes the total cornea. Lens constants found with anterior keratometry do "
            "not fit it unless the device rescales, so formulas for the front of the cornea are shown and "
            "not counted.",
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
    if meridian.radius_mm is not None:
        yield from _one_value("radius_mm", meridian.radius_mm.value, f"{place}{name}_radius_mm")
    if meridian.power_dpt is not None:
        impossible = list(_one_value("power_dpt", meridian.power_dpt.value, f"{place}{name}_power_dpt"))
        yield from impossible or _power(name, meridian, meridian.power_dpt.value, keratometry, place)


def _one_value(quantity: str, value: float, where: str) -> Iterator[Finding]:
    """Whether one number can be a radius or a power; one typed into the other's field is named as such."""
    finding = limit_finding(quantity, value, where)
    if finding is None:
        return
    other = LIMITS["power_dpt" if quantity == "radius_mm" else "radius_mm"]
    if other.possible[0] <= value <= other.possible[1]:
        yield blocking(
            "impossible-value",
            f"{value:g} cannot be a {LIMITS[quantity].words} in {LIMITS[quantity].unit}; it looks like a "
            f"{other.words} in {other.unit}. Enter it in its own field.",
            where,
            OWN_RANGE,
        )
    else:
        yield finding


def _power(
    name: str, meridian: Meridian, power_dpt: float, keratometry: Keratometry, place: str
) -> Iterator[Finding]:
    index = keratometry.keratometric_index
    radius_mm = None if meridian.radius_mm is None else meridian.radius_mm.value
    if index is None and radius_mm is None:
        yield blocking(
            "keratometric-index-missing",
            f"The {name} power of {power_dpt:g} D comes without the keratometric index it was made with. "
            "1.3375 and 1.332 differ by 0.7 D. Add the index, or the radius in millimetres.",
            f"{place}keratometric_index",
            OWN_RANGE,
        )
    elif index is not None and not _is_plausible(index):
        yield blocking(
            "impossible-index",
            f"{index:g} cannot be a keratometric index: those in use lie between {_PLAUSIBLE_INDEX[0]} and "
            f"{_PLAUSIBLE_INDEX[1]}. Look it up in the device's settings.",
            f"{place}keratometric_index",
            OWN_RANGE,
        )
    elif radius_mm is not None and radius_mm > 0:
        yield from _conflict(name, radius_mm, power_dpt, index, f"{place}{name}_power_dpt")


def _conflict(
    name: str, radius_mm: float, power_dpt: float, index: float | None, where: str
) -> Iterator[Finding]:
    fitting = float(implied_keratometric_index(radius_mm, power_dpt))
    if index is None:
        if _WHOLE_CORNEA_INDEX[0] <= fitting <= _WHOLE_CORNEA_INDEX[1]:
            yield _total_as_anterior(name, radius_mm, power_dpt, fitting, where)
        if not _is_plausible(fitting):
            yield blocking(
                "radius-power-conflict",
                f"A {name} radius of {radius_mm:g} mm and a power of {power_dpt:g} D do not belong together: "
                f"they would need an index of {fitting:.4f}. Find out which of the two is wrong.",
                where,
                OWN_RANGE,
            )
        return
    expected_dpt = float(corneal_power_dpt(radius_mm, index))
    if abs(power_dpt - expected_dpt) > _rounding_dpt(radius_mm, power_dpt):
        yield blocking(
            "radius-power-conflict",
            f"A {name} radius of {radius_mm:g} mm is {expected_dpt:.2f} D with index {index:g}, but "
            f"{power_dpt:g} D is given. The pair would fit an index of {fitting:.4f}"
            f"{_like_a_whole_cornea(fitting)}. Find out which of the three is wrong.",
            where,
            OWN_RANGE,
        )


def _total_as_anterior(name: str, radius_mm: float, power_dpt: float, fitting: float, where: str) -> Finding:
    return warning(
        "total-given-as-anterior",
        f"A {name} radius of {radius_mm:g} mm and a power of {power_dpt:g} D fit an index of "
        f"{fitting:.4f}{_like_a_whole_cornea(fitting)}. The radius is used. Make sure that it is that of "
        "the front, and state the index of the power.",
        where,
        "wang-2011-total",
    )


def _like_a_whole_cornea(index: float) -> str:
    """What such an index suggests."""
    low, high = _WHOLE_CORNEA_INDEX
    if not low <= index <= high:
        return ""
    return ", which is that of the whole cornea: a total power may have been given as that of the front"


def _index_converted(keratometry: Keratometry, place: str) -> Iterator[Finding]:
    index = keratometry.keratometric_index
    from_power = any(
        meridian.radius_mm is None and meridian.power_dpt is not None
        for meridian in (keratometry.flat, keratometry.steep)
    )
    if (
        from_power
        and index is not None
        and _is_plausible(index)
        and abs(index - KERATOMETRIC_INDEX) > _SAME_INDEX
    ):
        yield note(
            "index-converted",
            f"The powers were made with index {index:g}; they are turned into radii and shown on the 1.3375 "
            "scale.",
            f"{place}keratometric_index",
            OWN_RANGE,
        )


def _is_plausible(index: float) -> bool:
    return _PLAUSIBLE_INDEX[0] <= index <= _PLAUSIBLE_INDEX[1]


def _rounding_dpt(radius_mm: float, power_dpt: float) -> float:
    """How far a power may lie from its radius by rounding alone: 0.01 mm, and 0.01 or a quarter dioptre."""
    radius_part = 0.005 * power_dpt / radius_mm
    quarter_step = math.isclose(power_dpt * 4.0, round(power_dpt * 4.0), abs_tol=1e-9)
    return radius_part + (0.125 if quarter_step else 0.01) + 0.005
