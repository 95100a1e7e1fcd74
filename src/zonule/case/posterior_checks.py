"""Can the back of the cornea be trusted? Both radii, their meridian, and whether they fit the front."""

from __future__ import annotations

from collections.abc import Iterator

from zonule.case.biometry import Biometry, CorneaKind
from zonule.case.eye import CornealSurgery, Eye
from zonule.case.finding import Finding, blocking, note, warning
from zonule.case.limits import OWN_RANGE, limit_finding
from zonule.science.astigmatism.corneal import VERTICAL_DEG
from zonule.science.astigmatism.vectors import HALF_TURN_DEG
from zonule.science.optics.four_surface import surface_power_dpt
from zonule.science.optics.keratometry import corneal_radius_mm
from zonule.science.units import AQUEOUS_INDEX, CORNEAL_INDEX

USUAL_BACK_TO_FRONT = (0.76, 0.89)
"""Back over front radius of untouched corneas with room about 0.82 to 0.84 (range of this project)."""
UPRIGHT_WITHIN_DEG = 30.0
"""A steep meridian up to this far from 90 degrees stands upright (common practice, no source)."""
BACK_CYLINDER_WITH_A_DIRECTION_DPT = 0.25
"""Cylinder of the back from which its meridian is told from scatter (our choice)."""
_ROUNDING = 1e-9
_ROUNDED_RADIUS_MM = 0.005


def posterior_findings(eye: Eye, place: str) -> Iterator[Finding]:
    """Every doubt about the back of the cornea; `place` is where it stands, such as `biometry.`."""
    yield from _radii(eye.biometry, place)
    yield from _front_and_back(eye, place)
    yield from _meridian(eye.biometry, place)


def _radii(biometry: Biometry, place: str) -> Iterator[Finding]:
    for quantity in ("posterior_flat_radius_mm", "posterior_steep_radius_mm"):
        measured = getattr(biometry, quantity)
        if measured is None:
            continue
        finding = limit_finding("posterior_radius_mm", measured.value, f"{place}{quantity}")
        if finding is not None:
            yield finding
    flat, steep = biometry.posterior_flat_radius_mm, biometry.posterior_steep_radius_mm
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


def _meridian(biometry: Biometry, place: str) -> Iterator[Finding]:
    flat, steep = biometry.posterior_flat_radius_mm, biometry.posterior_steep_radius_mm
    meridian_deg, where = biometry.posterior_steep_meridian_deg, f"{place}posterior_steep_meridian_deg"
    if flat is None or steep is None:
        if meridian_deg is not None:
            yield note(
                "back-meridian-alone",
                f"The steep meridian of the back of the cornea ({meridian_deg:g} degrees) is given without "
                "its two radii. It is not used.",
                where,
            )
        return
    if min(flat.value, steep.value) <= 0:
        return
    cylinder_dpt = _cylinder_dpt(flat.value, steep.value)
    if meridian_deg is None and flat.value - steep.value > _ROUNDED_RADIUS_MM:
        yield note(
            "back-direction-missing",
            f"The back of the cornea has a cylinder of {cylinder_dpt:.2f} D, and the meridian of its shorter "
            "radius is not recorded. The measured back cannot be used for astigmatism.",
            where,
        )
    elif meridian_deg is not None and cylinder_dpt >= BACK_CYLINDER_WITH_A_DIRECTION_DPT - _ROUNDING:
        yield from _lying(meridian_deg, cylinder_dpt, where)


def _lying(meridian_deg: float, cylinder_dpt: float, where: str) -> Iterator[Finding]:
    from_upright_deg = abs(meridian_deg % HALF_TURN_DEG - VERTICAL_DEG)
    if from_upright_deg > UPRIGHT_WITHIN_DEG + _ROUNDING:
        yield note(
            "back-not-upright",
            f"The back of the cornea is steep at {meridian_deg:g} degrees with {cylinder_dpt:.2f} D, "
            f"{from_upright_deg:.0f} degrees from upright. Most backs are steep upright: 97.6 of 100 in one "
            "large series, 86.6 of 100 in another (koch-2012, from memory). Make sure that it is the "
            "meridian of the shorter radius.",
            where,
            "hu-2020",
        )


def _cylinder_dpt(flat_radius_mm: float, steep_radius_mm: float) -> float:
    """Cylinder of the back surface, without sign."""
    flat_dpt, steep_dpt = (
        surface_power_dpt(radius_mm, CORNEAL_INDEX, AQUEOUS_INDEX)
        for radius_mm in (flat_radius_mm, steep_radius_mm)
    )
    return abs(float(steep_dpt - flat_dpt))
