"""The glasses that fit a bundle of rays best, and the pupil the rays come through.

The merit is the least root mean square of the wavefront over the pupil. Where aberrations are small, as they
are behind a pupil of 3 mm, that focus has the brightest image of a point (marechal-1947). The slopes of a
wavefront are its rays, so the rays alone say which glasses these are: see `slope_weight`.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from zonule.science.arrays import Flags, Numbers, flag, select
from zonule.science.units import MM_PER_M

_HALF_LOG_10 = 0.5 * math.log(10.0)

EVEN_BELOW = 1e-4
"""Light that falls off by less than this counts as even: the difference is under 1e-5 D."""

NO_END = 1
"""Flag: at least one ray of the pupil has no way out of the eye, and the eye has no refraction here."""


class Pupil(NamedTuple):
    """The pupil as a clinic measures it, through the cornea; fields broadcast against the eye."""

    diameter_mm: Numbers = 3.0
    stiles_crawford_per_mm2: Numbers = 0.0
    """rho of the Stiles-Crawford effect: light at radius r counts ``10^(-rho r^2)``; 0 counts all alike."""


USUAL_PUPIL = Pupil()
"""3 mm, all light alike: an older eye in good light."""


class PupilGrid(NamedTuple):
    """Points of a pupil of radius 1, one array each, and their weights."""

    x_share: NDArray[np.float64]
    y_share: NDArray[np.float64]
    weight: NDArray[np.float64]


class Moments(NamedTuple):
    """Weighted sums over the rays that leave an eye: places x, y in the glasses, mm, and slopes u, v."""

    weight: Numbers
    x_mm: Numbers
    y_mm: Numbers
    u_rad: Numbers
    v_rad: Numbers
    xx_mm2: Numbers
    xy_mm2: Numbers
    yy_mm2: Numbers
    xu_mm: Numbers
    xv_mm: Numbers
    yu_mm: Numbers
    yv_mm: Numbers


class Refraction(NamedTuple):
    """The glasses an eye needs for far, at the spectacle plane."""

    spherical_equivalent_dpt: Numbers
    j0_dpt: Numbers
    j45_dpt: Numbers
    """Cross cylinders (thibos-1997): J0 is plus where the glasses are stronger across than up and down."""
    flags: Flags
    """`NO_END`, or 0."""


def pupil_grid(rings: int, spokes: int) -> PupilGrid:
    """Points that stand for a round pupil.

    Parameters
    ----------
    rings
        Number of radii.
    spokes
        Number of directions on each.

    Returns
    -------
    PupilGrid
        Points, in pupil radii, and weights that sum to 1.

    Notes
    -----
    Gauss and Legendre's nodes in the square of the radius, so that equal weights are equal areas; even
    directions. Textbook quadrature.

    Examples
    --------
    >>> grid = pupil_grid(2, 1)
    >>> grid.x_share.round(4), grid.weight
    (array([0.4597, 0.8881]), array([0.5, 0.5]))
    """
    nodes, weights = np.polynomial.legendre.leggauss(rings)
    radius = np.repeat(np.sqrt(0.5 * (1.0 + nodes)), spokes)
    angle = np.tile(2.0 * np.pi * np.arange(spokes) / spokes, rings)
    weight = np.repeat(0.5 * weights / spokes, spokes)
    return PupilGrid(radius * np.cos(angle), radius * np.sin(angle), weight)


def fall_off(pupil: Pupil) -> Numbers:
    """How much weaker the light at the rim of the pupil counts.

    Parameters
    ----------
    pupil
        Its diameter and rho.

    Returns
    -------
    Numbers
        k of the amplitude ``exp(-k r^2)``, r in pupil radii.

    Notes
    -----
    Sensitivity ``10^(-rho r^2)`` (stiles-crawford-1933); the mean square of a wavefront is weighed by the
    amplitude, which is its root.

    Examples
    --------
    >>> round(fall_off(Pupil(6.0, 0.05)), 3)
    0.518
    """
    radius_mm = 0.5 * pupil.diameter_mm
    return _HALF_LOG_10 * pupil.stiles_crawford_per_mm2 * radius_mm * radius_mm


def slope_weight(radius_share2: Numbers, fall_off: Numbers) -> Numbers:
    """By how much a slope counts, so that the best fit to slopes is the best fit to the wavefront.

    Parameters
    ----------
    radius_share2
        Square of the radius, in pupil radii, above 0 to 1.
    fall_off
        Exponent k of the amplitude ``exp(-k r^2)`` at the rim; 0 for even light.

    Returns
    -------
    Numbers
        Weight, apart from a factor: ``1 - r^2`` for even light.

    Notes
    -----
    The least mean square of ``W - a r^2 - c`` takes a from ``int W A (r^2 - m) r dr``. Integrated by parts
    this is ``int W' r g r dr`` with ``r^2 g = -int_0^r A (s^2 - m) s ds``, m the mean of ``r^2``; the same g
    serves both cross cylinders when light is even. Derived here. Below k of 1e-4 the even weight is used.

    Examples
    --------
    >>> float(slope_weight(0.25, 0.0)), round(float(slope_weight(0.25, 1e-3)), 3)
    (0.75, 0.75)
    """
    even = np.less(fall_off, EVEN_BELOW)
    return select(even, 1.0 - radius_share2, falling_weight(radius_share2, select(even, 1.0, fall_off)))


def falling_weight(radius_share2: Numbers, fall_off: Numbers) -> Numbers:
    """The same weight where light falls off.

    Parameters
    ----------
    radius_share2
        Square of the radius, in pupil radii, above 0 to 1.
    fall_off
        Exponent k at the rim, above 0.

    Returns
    -------
    Numbers
        Weight.

    Notes
    -----
    ``(2 / k) (exp(-k r^2) - (1 - exp(-k r^2)) / (r^2 (exp k - 1)))``, derived here.

    Examples
    --------
    >>> round(float(falling_weight(0.25, 0.5)), 3)
    0.632
    """
    light = np.exp(-fall_off * radius_share2)
    weight: Numbers = 2.0 / fall_off * (light - (1.0 - light) / (radius_share2 * (np.exp(fall_off) - 1.0)))
    return weight


def full_circle(spoke: Moments) -> Moments:
    """The sums over a whole pupil from those over one spoke along x of a round eye.

    Parameters
    ----------
    spoke
        Sums over the spoke.

    Returns
    -------
    Moments
        What the spoke gives when it is turned through every direction.

    Examples
    --------
    >>> whole = full_circle(Moments(1.0, 0.5, 0, 0.1, 0, 0.3, 0, 0, 0.2, 0, 0, 0))
    >>> whole.x_mm, whole.xx_mm2, whole.yy_mm2, whole.yv_mm
    (0.0, 0.15, 0.15, 0.1)
    """
    half_mm2, half_mm = 0.5 * spoke.xx_mm2, 0.5 * spoke.xu_mm
    none = 0.0 * spoke.x_mm
    return Moments(
        spoke.weight, none, none, none, none, half_mm2, none, half_mm2, half_mm, none, none, half_mm
    )


def fitted(sums: Moments) -> Refraction:
    """The glasses that fit the weighted slopes of the rays best.

    Parameters
    ----------
    sums
        Sums over the rays of a whole pupil.

    Returns
    -------
    Refraction
        The glasses; nan and flagged where a sum is nan.

    Notes
    -----
    Slopes ``F r`` with a symmetric matrix F, about the weighted means: three normal equations, solved here in
    closed form. ``M = (Fxx + Fyy) / 2``, ``J0 = (Fxx - Fyy) / 2``, ``J45 = Fxy`` (thibos-1997).

    Examples
    --------
    >>> parallel_plus_one = Moments(1.0, 0, 0, 0, 0, 1.0, 0, 1.0, 0.001, 0, 0, 0.001)
    >>> fitted(parallel_plus_one).spherical_equivalent_dpt
    1.0
    """
    w, x, y, u, v = sums[:5]
    xx, xy, yy = sums.xx_mm2 - x * x / w, sums.xy_mm2 - x * y / w, sums.yy_mm2 - y * y / w
    xu, yv = sums.xu_mm - x * u / w, sums.yv_mm - y * v / w
    skew = sums.yu_mm - y * u / w + sums.xv_mm - x * v / w
    f_xy = (skew - xy * (xu / xx + yv / yy)) / (xx + yy - xy * xy / xx - xy * xy / yy)
    f_xx, f_yy = (xu - f_xy * xy) / xx, (yv - f_xy * xy) / yy
    return Refraction(
        0.5 * MM_PER_M * (f_xx + f_yy),
        0.5 * MM_PER_M * (f_xx - f_yy),
        MM_PER_M * f_xy,
        flag(np.isnan(f_xx), NO_END),
    )
