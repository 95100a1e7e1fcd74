"""The shape of a lens implant of which only the labelled power is known, or that of one known power.

A label states the paraxial power of the thick lens in aqueous. It does not state the shape, and two lenses
of one label whose shapes differ put their principal planes, and the focus, at different places. Where the
catalogue gives radii, index and thickness at one power, `rescaled` is used; otherwise the generic design.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from zonule.science.arrays import Numbers, select
from zonule.science.optics.four_surface import ThickLens, equivalent_lens_power_dpt, surface_power_dpt
from zonule.science.units import AQUEOUS_INDEX, MM_PER_M

THICKNESS_STEPS = 12
"""Each step gains more than two digits, so twelve reach the last one from any power."""


FLAT_PER_MM = 1e-12
"""A side flatter than this is a plane."""


class LensShape(NamedTuple):
    """A lens implant as light sees it; fields broadcast."""

    front_radius_mm: Numbers
    back_radius_mm: Numbers
    """Minus where the back bulges towards the retina, as in every biconvex lens."""
    thickness_mm: Numbers
    refractive_index: Numbers
    front_conic: Numbers = 0.0
    back_conic: Numbers = 0.0


class LensDesign(NamedTuple):
    """A rule that gives a shape for every power."""

    refractive_index: float
    optic_mm: float
    """Diameter of the optic."""
    edge_mm: float
    """Thickness at the edge of a plus lens, and in the middle of a minus lens."""
    shape_factor: float
    """``(c1 + c2) / (c1 - c2)`` of the curvatures: 0 for equal sides, 1 for a plane back."""
    front_conic: float
    back_conic: float


GENERIC_DESIGN = LensDesign(
    refractive_index=1.46, optic_mm=6.0, edge_mm=0.3, shape_factor=0.0, front_conic=0.0, back_conic=0.0
)
"""Equally biconvex, spherical sides, 6.0 mm wide, 0.3 mm thick at the edge, index 1.46 (ours: no product's).

A lens of another shape lands elsewhere: docs/explanation/the-ray-traced-eye.md says by how much.
"""


def labelled_power_dpt(shape: LensShape) -> Numbers:
    """The power that the label of this lens states.

    Parameters
    ----------
    shape
        Radii, thickness and index; fields broadcast.

    Returns
    -------
    Numbers
        Paraxial power in aqueous of index 1.336, dioptres.

    Notes
    -----
    ``P = P1 + P2 - (t / n) P1 P2``, textbook optics.

    Examples
    --------
    >>> round(labelled_power_dpt(LensShape(12.0, -11.0, 0.9, 1.46)), 4)
    21.5343
    """
    return equivalent_lens_power_dpt(
        ThickLens(
            surface_power_dpt(shape.front_radius_mm, AQUEOUS_INDEX, shape.refractive_index),
            surface_power_dpt(shape.back_radius_mm, shape.refractive_index, AQUEOUS_INDEX),
            shape.thickness_mm,
            shape.refractive_index,
        )
    )


def shape_for_power(power_dpt: Numbers, design: LensDesign = GENERIC_DESIGN) -> LensShape:
    """The shape that a design takes for a labelled power.

    Parameters
    ----------
    power_dpt
        Labelled power, dioptres, -20 to 45; a lens of no power is a plane-parallel plate.
    design
        The rule. Default `GENERIC_DESIGN`.

    Returns
    -------
    LensShape
        Its labelled power is `power_dpt` to the last digits; nan where a side would be rounder than the optic
        is wide.

    Notes
    -----
    Sides of power ``s (1 + X)`` and ``s (1 - X)`` with ``P = 2 s - (t / n) (1 - X^2) s^2``, smaller root; the
    thickness is edge plus both sags of a plus lens at the rim, and follows by fixed point. Derived here.

    Examples
    --------
    >>> lens = shape_for_power(20.0)
    >>> round(float(lens.front_radius_mm), 3), round(float(lens.thickness_mm), 3)
    (12.356, 1.039)
    """
    thickness_mm: Numbers = design.edge_mm + 0.0 * power_dpt
    for _ in range(THICKNESS_STEPS):
        front, back = _curvatures_per_mm(power_dpt, thickness_mm, design)
        sag_mm = _sag_mm(front, design.front_conic, design) - _sag_mm(back, design.back_conic, design)
        thickness_mm = design.edge_mm + np.maximum(sag_mm, 0.0)
    front, back = _curvatures_per_mm(power_dpt, thickness_mm, design)
    return LensShape(
        _radius_mm(front),
        _radius_mm(back),
        thickness_mm,
        design.refractive_index,
        design.front_conic,
        design.back_conic,
    )


def _curvatures_per_mm(
    power_dpt: Numbers, thickness_mm: Numbers, design: LensDesign
) -> tuple[Numbers, Numbers]:
    both = 1.0 - design.shape_factor * design.shape_factor
    reduced_m = thickness_mm / (MM_PER_M * design.refractive_index)
    half_dpt = power_dpt / (1.0 + np.sqrt(1.0 - power_dpt * reduced_m * both))
    per_curvature_dpt = MM_PER_M * (design.refractive_index - AQUEOUS_INDEX)
    front = half_dpt * (1.0 + design.shape_factor) / per_curvature_dpt
    return front, -half_dpt * (1.0 - design.shape_factor) / per_curvature_dpt


def _sag_mm(curvature_per_mm: Numbers, conic: float, design: LensDesign) -> Numbers:
    rim_mm2 = 0.25 * design.optic_mm * design.optic_mm
    radicand = 1.0 - (1.0 + conic) * curvature_per_mm * curvature_per_mm * rim_mm2
    root = np.sqrt(select(radicand >= 0.0, radicand, np.nan))
    return curvature_per_mm * rim_mm2 / (1.0 + root)


def _radius_mm(curvature_per_mm: Numbers) -> Numbers:
    """A radius; infinite for a plane, without the warning of a division by zero."""
    flat = np.abs(curvature_per_mm) < FLAT_PER_MM
    return select(flat, np.inf, 1.0 / select(flat, 1.0, curvature_per_mm))


def rescaled(shape: LensShape, power_dpt: Numbers) -> LensShape:
    """A known lens as its maker would have to bend it for another power, as far as anybody outside can tell.

    Parameters
    ----------
    shape
        The lens at one power, which is not 0.
    power_dpt
        Labelled power wanted, dioptres; fields broadcast against it.

    Returns
    -------
    LensShape
        Both curvatures multiplied by one factor; index, conics and thickness as they were.

    Notes
    -----
    ``P = k (P1 + P2) - k^2 (t / n) P1 P2``, smaller root for the factor k. Derived here. The thickness stays
    because nothing is known about the maker's rule.

    Examples
    --------
    >>> lens = rescaled(LensShape(12.0, -11.0, 0.9, 1.46), 15.0)
    >>> round(float(labelled_power_dpt(lens)), 9), round(float(lens.front_radius_mm), 2)
    (15.0, 17.24)
    """
    front_dpt = surface_power_dpt(shape.front_radius_mm, AQUEOUS_INDEX, shape.refractive_index)
    back_dpt = surface_power_dpt(shape.back_radius_mm, shape.refractive_index, AQUEOUS_INDEX)
    sum_dpt = front_dpt + back_dpt
    product_dpt = front_dpt * back_dpt * shape.thickness_mm / (MM_PER_M * shape.refractive_index)
    root = np.sqrt(1.0 - 4.0 * product_dpt * power_dpt / (sum_dpt * sum_dpt))
    factor = 2.0 * power_dpt / (sum_dpt * (1.0 + root))
    return shape._replace(
        front_radius_mm=_radius_mm(factor / shape.front_radius_mm),
        back_radius_mm=_radius_mm(factor / shape.back_radius_mm),
    )
