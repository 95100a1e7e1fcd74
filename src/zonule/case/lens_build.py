"""Can a lens be built as described? A radius with the wrong sign bends light the wrong way."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from zonule.case.finding import COMMON_PRACTICE, Finding, blocking
from zonule.case.lens import LensGeometry, LensModel
from zonule.case.limits import OWN_RANGE

LABEL_TOLERANCE_DPT = 0.25
"""How far the power of a stated shape may lie from the label: half a usual step, a range of this project."""
MAX_CYLINDER_DPT = 20.0

_POSSIBLE = {
    "refractive_index": ("A refractive index of a lens", "", (1.40, 1.60)),
    "thickness_mm": ("The thickness of a lens on its axis", " mm", (0.1, 3.0)),
    "front_conic": ("A conic constant", "", (-50.0, 50.0)),
    "back_conic": ("A conic constant", "", (-50.0, 50.0)),
}
SHORTEST_RADIUS_MM = 3.0
FLAT_RADIUS_MM = 1e6
"""Written for a surface without curvature."""


def build_problems(lens: LensModel) -> Iterator[Finding]:
    """What cannot be about the size, cylinders and shape of a lens."""
    yield from _width("An optic", "optic_mm", lens.optic_mm, (4.0, 8.0))
    yield from _width("A lens from haptic to haptic", "overall_mm", lens.overall_mm, (8.0, 15.0))
    yield from _cylinders(lens.cylinders_dpt)
    if lens.geometry is not None:
        yield from _geometry(lens.geometry, lens)


def _width(words: str, name: str, value: float | None, made: tuple[float, float]) -> Iterator[Finding]:
    if value is not None and not made[0] <= value <= made[1]:
        yield blocking(
            "impossible-width",
            f"{words} is {made[0]:g} to {made[1]:g} mm wide. Check the unit.",
            f"lens.{name}",
            COMMON_PRACTICE,
        )


def _cylinders(cylinders_dpt: tuple[float, ...]) -> Iterator[Finding]:
    rising = all(lower < higher for lower, higher in pairwise(cylinders_dpt))
    if not rising or not all(0.0 < one <= MAX_CYLINDER_DPT for one in cylinders_dpt):
        yield blocking(
            "impossible-cylinders",
            f"Cylinders of a lens are written without sign, above 0 and up to {MAX_CYLINDER_DPT:g} D, each "
            "once, the lowest first.",
            "lens.cylinders_dpt",
            OWN_RANGE,
        )


def _geometry(shape: LensGeometry, lens: LensModel) -> Iterator[Finding]:
    wrong = [*_impossible_parts(shape), *_power_not_made(shape, lens)]
    yield from wrong
    if wrong:
        return
    off_dpt = shape.power_dpt - shape.at_power_dpt
    if abs(off_dpt) > LABEL_TOLERANCE_DPT:
        yield blocking(
            "shape-power-conflict",
            f"A lens of this shape has {shape.power_dpt:.2f} D in the eye, and its label says "
            f"{shape.at_power_dpt:.2f} D. Check radii, their signs, index and thickness.",
            "lens.geometry",
            OWN_RANGE,
        )


def _impossible_parts(shape: LensGeometry) -> Iterator[Finding]:
    for name in ("front_radius_mm", "back_radius_mm"):
        if not SHORTEST_RADIUS_MM <= abs(getattr(shape, name)) <= FLAT_RADIUS_MM:
            yield _impossible(
                name,
                f"A radius of a lens is {SHORTEST_RADIUS_MM:g} to {FLAT_RADIUS_MM:.0f} mm, plus where the "
                "centre lies behind the surface; a flat surface is written with the largest.",
            )
    for name, (words, unit, (low, high)) in _POSSIBLE.items():
        if not low <= getattr(shape, name) <= high:
            yield _impossible(name, f"{words} lies between {low:g} and {high:g}{unit}.")


def _power_not_made(shape: LensGeometry, lens: LensModel) -> Iterator[Finding]:
    powers = lens.powers
    if not powers.from_dpt <= shape.at_power_dpt <= powers.to_dpt:
        yield _impossible(
            "at_power_dpt",
            f"The shape is that of {shape.at_power_dpt:g} D, and the lens is made from {powers.from_dpt:g} "
            f"to {powers.to_dpt:g} D.",
        )


def _impossible(name: str, sentence: str) -> Finding:
    return blocking("impossible-shape", sentence, f"lens.geometry.{name}", OWN_RANGE)
