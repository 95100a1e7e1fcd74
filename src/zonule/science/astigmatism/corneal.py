"""The astigmatism of the whole cornea: from both surfaces as measured, or from the front reading adjusted.

A keratometer reads the front and takes the back for a copy of it. The back usually adds some against the
rule (koch-2012). An adjustment is fitted to front readings: on a cornea that is already total it would count
the back twice.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

import numpy as np

from zonule.errors import InconsistentRecordError, MissingMeasurementError
from zonule.science.arrays import Condition, Numbers, select
from zonule.science.astigmatism.vectors import Astigmatism, Plane, steep
from zonule.science.optics.four_surface import surface_power_dpt
from zonule.science.units import AQUEOUS_INDEX, CORNEAL_INDEX, MM_PER_M

OBLIQUE_BEYOND_DEG = 30.0
"""A steep meridian up to this far from 90 is with the rule, from 180 against it: common practice, no
source."""

VERTICAL_DEG = 90.0

GOGGIN_LENS_LIMIT_DPT = 2.0
"""Toric lenses stronger than this, at the lens plane, were planned on the reading as it is (goggin-2015)."""


class Status(StrEnum):
    """What somebody has checked of the numbers of a row."""

    CONFIRMED = "confirmed"
    FROM_MEMORY = "from memory"
    ARITHMETIC = "arithmetic"
    """Nothing fitted, so nothing to check but the algebra."""


class Takes(StrEnum):
    """What a row of `ADJUSTMENTS` starts from. None starts from a cornea given as total."""

    ANTERIOR_READING = "anterior reading"
    BOTH_SURFACES = "both surfaces"


class ToricSurface(NamedTuple):
    """One surface of the cornea by its principal radii; fields broadcast."""

    flat_radius_mm: Numbers
    steep_radius_mm: Numbers
    """The shorter one."""
    steep_meridian_deg: Numbers
    """Meridian of the shorter radius; of the back too, whose power there is the more negative."""


@dataclass(frozen=True, slots=True)
class Adjustment:
    """One way from what was measured to the astigmatism of the whole cornea."""

    words: str
    takes: Takes
    from_reading: Callable[[Astigmatism], Astigmatism] | None
    """The published equation; None where both surfaces are needed (`total_from_surfaces`)."""
    applies: Callable[[Astigmatism], Condition]
    """Where the equation is defined; elsewhere it gives nan."""
    source: str
    """Key of docs/sources.md, or common practice."""
    status: Status
    lens_cylinder_limit_dpt: float = math.inf
    """Beyond this toric power at the lens plane the publication leaves the reading alone; infinite for
    none."""


def anterior_astigmatism(
    flat_power_dpt: Numbers, steep_power_dpt: Numbers, steep_meridian_deg: Numbers
) -> Astigmatism:
    """What a keratometer reads, as a vector.

    Parameters
    ----------
    flat_power_dpt, steep_power_dpt
        Principal powers on one keratometric scale, dioptres. Where they are exchanged, the vector shows it:
        its steep meridian is the one with more power.
    steep_meridian_deg
        Meridian of the steep power, degrees; the flat one lies square to it.

    Returns
    -------
    Astigmatism
        At the cornea, on the scale of the powers.

    Examples
    --------
    >>> reading = anterior_astigmatism(43.0, 44.0, 95.0)
    >>> float(reading.magnitude_dpt), round(float(reading.steep_meridian_deg), 9)
    (1.0, 95.0)
    """
    return steep(steep_power_dpt - flat_power_dpt, steep_meridian_deg, Plane.CORNEA)


def total_from_surfaces(
    anterior: ToricSurface, posterior: ToricSurface, corneal_thickness_mm: Numbers
) -> Astigmatism:
    """The astigmatism of a cornea of which both surfaces were measured.

    Parameters
    ----------
    anterior, posterior
        Principal radii and steep meridian of each surface; the meridians of the two may differ.
    corneal_thickness_mm
        Central thickness, millimetres, about 0.55.

    Returns
    -------
    Astigmatism
        That of the equivalent power of the thick cornea, at the cornea.

    Notes
    -----
    Thick-lens power ``F1 + F2 - (t/n) F1 F2`` with each power a mean and a vector. The astigmatic part is
    ``C1 (1 - t M2 / n) + C2 (1 - t M1 / n)``, M the mean powers, exact where the meridians agree; where
    they cross, the symmetric part of the product is taken (textbook-optics). Indices 1.376 and 1.336.

    Examples
    --------
    >>> front, back = ToricSurface(7.8, 7.6, 90.0), ToricSurface(6.6, 6.2, 90.0)
    >>> round(float(total_from_surfaces(front, back, 0.55).magnitude_dpt), 2)
    0.89
    """
    front_mean_dpt, front = _power(anterior, 1.0, CORNEAL_INDEX)
    back_mean_dpt, back = _power(posterior, CORNEAL_INDEX, AQUEOUS_INDEX)
    reduced_m = corneal_thickness_mm / MM_PER_M / CORNEAL_INDEX
    return front.times(1.0 - reduced_m * back_mean_dpt).plus(back.times(1.0 - reduced_m * front_mean_dpt))


def unadjusted(reading: Astigmatism) -> Astigmatism:
    """The front reading as it is: the back taken for a copy of the front.

    Parameters
    ----------
    reading
        Anterior astigmatism at the cornea.

    Returns
    -------
    Astigmatism
        The same.

    Examples
    --------
    >>> float(unadjusted(steep(1.0, 180.0, Plane.CORNEA)).magnitude_dpt)
    1.0
    """
    return _of_the_cornea(reading)


def abulafia_koch_2016(reading: Astigmatism) -> Astigmatism:
    """Total from anterior astigmatism by the regression of Abulafia, Koch and others.

    Parameters
    ----------
    reading
        Anterior astigmatism at the cornea.

    Returns
    -------
    Astigmatism
        Estimated total astigmatism.

    Notes
    -----
    ``X = 0.508 + 0.926 x``, ``Y = 0.009 + 0.932 y`` (abulafia-2016), from memory. The 0.009 D are not
    mirrored between right and left eyes in what we remember of it.

    Examples
    --------
    >>> total = abulafia_koch_2016(steep(1.0, 90.0, Plane.CORNEA))
    >>> round(float(total.magnitude_dpt), 3), round(float(total.steep_meridian_deg), 1)
    (0.418, 89.4)
    """
    _of_the_cornea(reading)
    return Astigmatism(0.508 + 0.926 * reading.x_dpt, 0.009 + 0.932 * reading.y_dpt, Plane.CORNEA)


def savini_naeser(reading: Astigmatism) -> Astigmatism:
    """Total from anterior astigmatism by the optimised keratometry of Savini and Næser.

    Parameters
    ----------
    reading
        Anterior astigmatism at the cornea.

    Returns
    -------
    Astigmatism
        Estimated total astigmatism on the same meridian; a small one with the rule is carried past zero and
        comes out against it. nan where the reading has no cylinder, and so no meridian.

    Notes
    -----
    ``m' = 0.103 + 0.836 m + 0.457 cos 2a``, a the steep meridian (savini-naeser), from memory.

    Examples
    --------
    >>> round(float(savini_naeser(steep(1.0, 180.0, Plane.CORNEA)).magnitude_dpt), 3)
    1.396
    """
    size_dpt = _size_or_nan_dpt(_of_the_cornea(reading))
    new_dpt = 0.103 + 0.836 * size_dpt + 0.457 * reading.x_dpt / size_dpt
    return reading.times(new_dpt / size_dpt)


def regression_2017(reading: Astigmatism) -> Astigmatism:
    """Total from anterior astigmatism, the back estimated from 928 eyes.

    Parameters
    ----------
    reading
        Anterior astigmatism at the cornea.

    Returns
    -------
    Astigmatism
        Reading and estimated back together. nan where the reading has no cylinder, and so belongs to no
        group.

    Notes
    -----
    The back is minus ``(0.15 m + 0.22)`` at 90 with the rule, ``(0.05 m + 0.27)`` oblique, ``0.27`` against
    it (posterior-regression-2017). Where the groups part is ours: `OBLIQUE_BEYOND_DEG`; the answer jumps
    there.

    Examples
    --------
    >>> round(float(regression_2017(steep(1.0, 90.0, Plane.CORNEA)).magnitude_dpt), 2)
    0.63
    """
    size_dpt = _size_or_nan_dpt(_of_the_cornea(reading))
    beside_dpt = select(_against_the_rule(reading), 0.27, 0.05 * size_dpt + 0.27)
    back_dpt = select(_with_the_rule(reading), 0.15 * size_dpt + 0.22, beside_dpt)
    return reading.plus(steep(-back_dpt + 0.0 * size_dpt, VERTICAL_DEG, Plane.CORNEA))


def goggin_2015(reading: Astigmatism) -> Astigmatism:
    """The corneal cylinder times the factor of Goggin and others, for toric lenses up to 2 D.

    Parameters
    ----------
    reading
        Anterior astigmatism at the cornea.

    Returns
    -------
    Astigmatism
        The same meridian; nan for an oblique cylinder, for which no factor was published. For stronger lenses
        the reading stays as it is: `total_from_reading` sees to that.

    Notes
    -----
    Times 0.75 with the rule, times 1.41 against it (goggin-2015). Where the groups part is ours.

    Examples
    --------
    >>> float(goggin_2015(steep(2.0, 90.0, Plane.CORNEA)).magnitude_dpt)
    1.5
    """
    _of_the_cornea(reading)
    beside = select(_against_the_rule(reading), 1.41, math.nan)
    return reading.times(select(_with_the_rule(reading), 0.75, beside))


def total_from_reading(
    adjustment: Adjustment, reading: Astigmatism, lens_cylinder_dpt: Numbers = math.nan
) -> Astigmatism:
    """The astigmatism of the whole cornea by one row of `ADJUSTMENTS`, only where its rule applies.

    Parameters
    ----------
    adjustment
        A row that takes an anterior reading.
    reading
        Anterior astigmatism at the cornea, never a total one.
    lens_cylinder_dpt
        Toric power at the lens plane that the reading as it is would ask for, dioptres; nan where not known.

    Returns
    -------
    Astigmatism
        Estimated total. Beyond the row's limit of lens cylinder the reading as it is; nan where the row has
        a limit and the lens cylinder is not known, and where the row does not apply.

    Examples
    --------
    >>> row = ADJUSTMENTS["goggin_2015"]
    >>> reading = steep(1.0, 90.0, Plane.CORNEA)
    >>> [float(total_from_reading(row, reading, lens).magnitude_dpt) for lens in (1.5, 3.0)]
    [0.75, 1.0]
    """
    if adjustment.from_reading is None:
        raise MissingMeasurementError(f"{adjustment.words} needs both surfaces of the cornea, measured.")
    total = adjustment.from_reading(reading)
    if math.isinf(adjustment.lens_cylinder_limit_dpt):
        return total
    unknown = np.isnan(lens_cylinder_dpt)
    beyond = lens_cylinder_dpt > adjustment.lens_cylinder_limit_dpt
    pairs = ((total.x_dpt, reading.x_dpt), (total.y_dpt, reading.y_dpt))
    x_dpt, y_dpt = (select(unknown, math.nan, select(beyond, as_read, new)) for new, as_read in pairs)
    return Astigmatism(x_dpt, y_dpt, Plane.CORNEA)


def _everywhere(reading: Astigmatism) -> Condition:
    return np.isfinite(reading.magnitude_dpt)


def _with_cylinder(reading: Astigmatism) -> Condition:
    return np.greater(reading.magnitude_dpt, 0.0)


def _not_oblique(reading: Astigmatism) -> Condition:
    return np.logical_or(_with_the_rule(reading), _against_the_rule(reading))


def _with_the_rule(reading: Astigmatism) -> Condition:
    return np.less_equal(reading.x_dpt, -_edge_dpt(reading))


def _against_the_rule(reading: Astigmatism) -> Condition:
    return np.greater_equal(reading.x_dpt, _edge_dpt(reading))


def _edge_dpt(reading: Astigmatism) -> Numbers:
    """How far to the side a cylinder of this size lies where it starts to be oblique."""
    return reading.magnitude_dpt * math.cos(math.radians(2.0 * OBLIQUE_BEYOND_DEG))


def _size_or_nan_dpt(reading: Astigmatism) -> Numbers:
    size_dpt = reading.magnitude_dpt
    return select(size_dpt == 0.0, math.nan, size_dpt)


def _of_the_cornea(reading: Astigmatism) -> Astigmatism:
    if reading.plane is not Plane.CORNEA:
        raise InconsistentRecordError(
            f"A corneal reading was expected, not a cylinder at the {reading.plane}."
        )
    return reading


def _power(surface: ToricSurface, index_before: float, index_after: float) -> tuple[Numbers, Astigmatism]:
    """Mean power of a surface and its astigmatism."""
    flat_dpt = surface_power_dpt(surface.flat_radius_mm, index_before, index_after)
    steep_dpt = surface_power_dpt(surface.steep_radius_mm, index_before, index_after)
    return (flat_dpt + steep_dpt) / 2.0, steep(steep_dpt - flat_dpt, surface.steep_meridian_deg, Plane.CORNEA)


_READING, _CONFIRMED, _MEMORY = Takes.ANTERIOR_READING, Status.CONFIRMED, Status.FROM_MEMORY

ADJUSTMENTS = {
    "anterior": Adjustment(
        "Front reading as it is",
        _READING,
        unadjusted,
        _everywhere,
        "common practice, no source",
        Status.ARITHMETIC,
    ),
    "abulafia_koch_2016": Adjustment(
        "Abulafia and Koch 2016", _READING, abulafia_koch_2016, _everywhere, "abulafia-2016", _MEMORY
    ),
    "savini_naeser": Adjustment(
        "Savini and Næser", _READING, savini_naeser, _with_cylinder, "savini-naeser", _MEMORY
    ),
    "regression_2017": Adjustment(
        "Regression of 928 eyes, 2017",
        _READING,
        regression_2017,
        _with_cylinder,
        "posterior-regression-2017",
        _CONFIRMED,
    ),
    "goggin_2015": Adjustment(
        "Goggin 2015", _READING, goggin_2015, _not_oblique, "goggin-2015", _CONFIRMED, GOGGIN_LENS_LIMIT_DPT
    ),
    "measured_posterior": Adjustment(
        "Both surfaces as measured",
        Takes.BOTH_SURFACES,
        None,
        _everywhere,
        "textbook-optics",
        Status.ARITHMETIC,
    ),
}
"""By the name of `toric.cornea_model` in an eye file."""
