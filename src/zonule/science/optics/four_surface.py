"""An eye with a lens implanted, surface by surface: glasses, front and back of the cornea, lens.

Paraxial vergence through every surface in turn (concept of langenbucher-2021, algebra derived here), once
with a thin lens and once with a thick one. Nothing here is tuned: the four classical formulas lump both
corneal surfaces into one keratometric index and hide the difference in a lens constant; this chain needs
the back radius and the true place of the lens instead.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from zonule.science.arrays import Numbers
from zonule.science.optics.vergence import refraction_at_cornea_dpt, refraction_at_spectacles_dpt
from zonule.science.units import AQUEOUS_INDEX, CORNEAL_INDEX, MM_PER_M, SPECTACLE_VERTEX_MM


class Cornea(NamedTuple):
    """Both surfaces of a cornea, each a sphere about the axis."""

    anterior_radius_mm: Numbers
    posterior_radius_mm: Numbers
    thickness_mm: Numbers


class ThickLens(NamedTuple):
    """A lens of two surfaces, lying in aqueous."""

    front_power_dpt: Numbers
    back_power_dpt: Numbers
    thickness_mm: Numbers
    refractive_index: Numbers


def surface_power_dpt(radius_mm: Numbers, index_before: Numbers, index_after: Numbers) -> Numbers:
    """The power of one spherical surface.

    Parameters
    ----------
    radius_mm
        Radius, millimetres, plus where the centre lies behind the surface.
    index_before, index_after
        Refractive indices on the side the light comes from and goes to, without unit.

    Returns
    -------
    Numbers
        Power, dioptres.

    Notes
    -----
    ``F = 1000 (n' - n) / r``, paraxial optics of any textbook.

    Examples
    --------
    >>> round(surface_power_dpt(7.7, 1.0, 1.376), 3)
    48.831
    """
    return MM_PER_M * (index_after - index_before) / radius_mm


def vergence_further_on_dpt(vergence_dpt: Numbers, distance_mm: Numbers, index: Numbers) -> Numbers:
    """The vergence of light after it has travelled on.

    Parameters
    ----------
    vergence_dpt
        Reduced vergence at the start, dioptres, plus for light that converges.
    distance_mm
        Distance travelled, millimetres; minus to trace the light back.
    index
        Refractive index of the medium, without unit.

    Returns
    -------
    Numbers
        Reduced vergence at the end, dioptres.

    Notes
    -----
    ``V' = V / (1 - d V / n)``, paraxial optics of any textbook.

    Examples
    --------
    >>> round(vergence_further_on_dpt(43.0, 5.0, 1.336), 3)
    51.247
    """
    return vergence_dpt / (1.0 - distance_mm * vergence_dpt / (MM_PER_M * index))


def equivalent_corneal_power_dpt(cornea: Cornea) -> Numbers:
    """The equivalent (Gaussian) power of a cornea.

    Parameters
    ----------
    cornea
        Its two surfaces and thickness; fields broadcast.

    Returns
    -------
    Numbers
        Power, dioptres.

    Notes
    -----
    ``F = F1 + F2 - (t / n) F1 F2`` (gullstrand-1909). Gullstrand's cornea has 43.05 D.

    Examples
    --------
    >>> round(equivalent_corneal_power_dpt(Cornea(7.7, 6.8, 0.5)), 3)
    43.053
    """
    front_dpt = surface_power_dpt(cornea.anterior_radius_mm, 1.0, CORNEAL_INDEX)
    back_dpt = surface_power_dpt(cornea.posterior_radius_mm, CORNEAL_INDEX, AQUEOUS_INDEX)
    reduced_m = cornea.thickness_mm / (MM_PER_M * CORNEAL_INDEX)
    return front_dpt + back_dpt - reduced_m * front_dpt * back_dpt


def vergence_behind_cornea_dpt(
    cornea: Cornea, refraction_dpt: Numbers, vertex_mm: Numbers = SPECTACLE_VERTEX_MM
) -> Numbers:
    """The vergence just behind the cornea of light that this pair of glasses lets through.

    Parameters
    ----------
    cornea
        The cornea; fields broadcast.
    refraction_dpt
        Spherical power of the glasses, dioptres.
    vertex_mm
        Vertex distance, millimetres. Default 12 mm.

    Returns
    -------
    Numbers
        Reduced vergence in aqueous, dioptres. With no glasses it is the back vertex power of the cornea.

    Notes
    -----
    The first four steps of the chain: glasses, front surface, stroma, back surface.

    Examples
    --------
    >>> round(vergence_behind_cornea_dpt(Cornea(7.7, 6.8, 0.5), 0.0), 3)
    43.831
    """
    front_dpt = surface_power_dpt(cornea.anterior_radius_mm, 1.0, CORNEAL_INDEX)
    back_dpt = surface_power_dpt(cornea.posterior_radius_mm, CORNEAL_INDEX, AQUEOUS_INDEX)
    in_stroma_dpt = refraction_at_cornea_dpt(refraction_dpt, vertex_mm) + front_dpt
    return vergence_further_on_dpt(in_stroma_dpt, cornea.thickness_mm, CORNEAL_INDEX) + back_dpt


def refraction_for_vergence_dpt(
    cornea: Cornea, behind_cornea_dpt: Numbers, vertex_mm: Numbers = SPECTACLE_VERTEX_MM
) -> Numbers:
    """The glasses that make the light behind the cornea have this vergence.

    Parameters
    ----------
    cornea
        The cornea; fields broadcast.
    behind_cornea_dpt
        Reduced vergence in aqueous, just behind the cornea, dioptres.
    vertex_mm
        Vertex distance, millimetres. Default 12 mm.

    Returns
    -------
    Numbers
        Spherical power of the glasses, dioptres: the inverse of `vergence_behind_cornea_dpt`.

    Examples
    --------
    >>> cornea = Cornea(7.7, 6.8, 0.5)
    >>> round(refraction_for_vergence_dpt(cornea, vergence_behind_cornea_dpt(cornea, -3.0)), 9)
    -3.0
    """
    front_dpt = surface_power_dpt(cornea.anterior_radius_mm, 1.0, CORNEAL_INDEX)
    back_dpt = surface_power_dpt(cornea.posterior_radius_mm, CORNEAL_INDEX, AQUEOUS_INDEX)
    in_stroma_dpt = vergence_further_on_dpt(behind_cornea_dpt - back_dpt, -cornea.thickness_mm, CORNEAL_INDEX)
    return refraction_at_spectacles_dpt(in_stroma_dpt - front_dpt, vertex_mm)


def thin_lens_power_dpt(
    cornea: Cornea,
    axial_length_mm: Numbers,
    lens_position_mm: Numbers,
    refraction_dpt: Numbers,
    vertex_mm: Numbers = SPECTACLE_VERTEX_MM,
) -> Numbers:
    """The thin lens that leaves this eye with `refraction_dpt`.

    Parameters
    ----------
    cornea
        The cornea; fields broadcast.
    axial_length_mm
        Front of the cornea to the retina, millimetres.
    lens_position_mm
        Front of the cornea to the thin lens, millimetres.
    refraction_dpt
        Wanted spherical equivalent at the spectacle plane, dioptres.
    vertex_mm
        Vertex distance, millimetres. Default 12 mm.

    Returns
    -------
    Numbers
        Power in aqueous, dioptres.

    Notes
    -----
    The whole chain: glasses, front surface, stroma, back surface, chamber, lens.

    Examples
    --------
    >>> round(thin_lens_power_dpt(Cornea(7.70, 0.84 * 7.70, 0.50), 23.5, 5.0, 0.0), 4)
    21.2087
    """
    chamber_mm = lens_position_mm - cornea.thickness_mm
    at_cornea_dpt = vergence_behind_cornea_dpt(cornea, refraction_dpt, vertex_mm)
    at_lens_dpt = vergence_further_on_dpt(at_cornea_dpt, chamber_mm, AQUEOUS_INDEX)
    return MM_PER_M * AQUEOUS_INDEX / (axial_length_mm - lens_position_mm) - at_lens_dpt


def thin_lens_refraction_dpt(
    cornea: Cornea,
    axial_length_mm: Numbers,
    lens_position_mm: Numbers,
    lens_power_dpt: Numbers,
    vertex_mm: Numbers = SPECTACLE_VERTEX_MM,
) -> Numbers:
    """The refraction that a thin lens leaves.

    Parameters
    ----------
    cornea
        The cornea; fields broadcast.
    axial_length_mm
        Front of the cornea to the retina, millimetres.
    lens_position_mm
        Front of the cornea to the thin lens, millimetres.
    lens_power_dpt
        Power of the lens in aqueous, dioptres.
    vertex_mm
        Vertex distance, millimetres. Default 12 mm.

    Returns
    -------
    Numbers
        Spherical equivalent at the spectacle plane, dioptres: the inverse of `thin_lens_power_dpt`.

    Notes
    -----
    The chain of `thin_lens_power_dpt`, walked the other way.

    Examples
    --------
    >>> cornea = Cornea(7.70, 0.84 * 7.70, 0.50)
    >>> round(abs(thin_lens_refraction_dpt(cornea, 23.5, 5.0, 21.2087)), 4)
    0.0
    """
    chamber_mm = lens_position_mm - cornea.thickness_mm
    at_lens_dpt = MM_PER_M * AQUEOUS_INDEX / (axial_length_mm - lens_position_mm) - lens_power_dpt
    at_cornea_dpt = vergence_further_on_dpt(at_lens_dpt, -chamber_mm, AQUEOUS_INDEX)
    return refraction_for_vergence_dpt(cornea, at_cornea_dpt, vertex_mm)


def equivalent_lens_power_dpt(lens: ThickLens) -> Numbers:
    """The equivalent power of a thick lens: what its label states.

    Parameters
    ----------
    lens
        The lens; fields broadcast.

    Returns
    -------
    Numbers
        Power in aqueous, dioptres.

    Notes
    -----
    ``P = P1 + P2 - (t / n) P1 P2`` (textbook optics).

    Examples
    --------
    >>> round(equivalent_lens_power_dpt(ThickLens(10.0, 10.0, 0.9, 1.46)), 3)
    19.938
    """
    reduced_m = lens.thickness_mm / (MM_PER_M * lens.refractive_index)
    return lens.front_power_dpt + lens.back_power_dpt - reduced_m * lens.front_power_dpt * lens.back_power_dpt


def symmetric_thick_lens(
    lens_power_dpt: Numbers, thickness_mm: Numbers, refractive_index: Numbers
) -> ThickLens:
    """The lens with two equal surfaces that has this equivalent power.

    Parameters
    ----------
    lens_power_dpt
        Equivalent power in aqueous, dioptres.
    thickness_mm
        Thickness on the axis, millimetres.
    refractive_index
        Index of the lens, without unit.

    Returns
    -------
    ThickLens
        The lens.

    Notes
    -----
    The smaller root of ``P = 2 p - (t / n) p^2``, in the form that keeps its precision near zero power.

    Examples
    --------
    >>> round(float(equivalent_lens_power_dpt(symmetric_thick_lens(20.0, 0.9, 1.46))), 9)
    20.0
    """
    reduced_m = thickness_mm / (MM_PER_M * refractive_index)
    surface_dpt = lens_power_dpt / (1.0 + np.sqrt(1.0 - lens_power_dpt * reduced_m))
    return ThickLens(surface_dpt, surface_dpt, thickness_mm, refractive_index)


def thick_lens_refraction_dpt(
    cornea: Cornea,
    axial_length_mm: Numbers,
    front_vertex_mm: Numbers,
    lens: ThickLens,
    vertex_mm: Numbers = SPECTACLE_VERTEX_MM,
) -> Numbers:
    """The refraction that a thick lens leaves.

    Parameters
    ----------
    cornea
        The cornea; fields broadcast.
    axial_length_mm
        Front of the cornea to the retina, millimetres.
    front_vertex_mm
        Front of the cornea to the front of the lens, millimetres.
    lens
        The lens; fields broadcast.
    vertex_mm
        Vertex distance, millimetres. Default 12 mm.

    Returns
    -------
    Numbers
        Spherical equivalent at the spectacle plane, dioptres.

    Notes
    -----
    The light is traced back from the retina through both surfaces of the lens, then as for a thin lens.

    Examples
    --------
    >>> lens = symmetric_thick_lens(21.0, 0.9, 1.46)
    >>> round(float(thick_lens_refraction_dpt(Cornea(7.7, 6.4, 0.54), 23.5, 4.6, lens)), 2)
    0.41
    """
    behind_mm = axial_length_mm - front_vertex_mm - lens.thickness_mm
    leaving_dpt = MM_PER_M * AQUEOUS_INDEX / behind_mm
    inside_dpt = vergence_further_on_dpt(
        leaving_dpt - lens.back_power_dpt, -lens.thickness_mm, lens.refractive_index
    )
    at_lens_dpt = inside_dpt - lens.front_power_dpt
    chamber_mm = front_vertex_mm - cornea.thickness_mm
    at_cornea_dpt = vergence_further_on_dpt(at_lens_dpt, -chamber_mm, AQUEOUS_INDEX)
    return refraction_for_vergence_dpt(cornea, at_cornea_dpt, vertex_mm)
