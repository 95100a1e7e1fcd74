"""Exact rays through conic and toric surfaces, in plain vectorised NumPy.

Snell's law in vector form at quadrics, with no small-angle approximation. Nothing is tuned. For some thousand
rays and more `ray_trace_compiled` does the same faster; it is held to the answers of this file.
"""

from __future__ import annotations

from collections.abc import Sequence
from enum import IntFlag
from typing import NamedTuple

import numpy as np

from zonule.science.arrays import Flags, Numbers, flag, select
from zonule.science.optics.surfaces import Quadric, Surface, quadric


class RayFlag(IntFlag):
    """Why a ray has no end."""

    NONE = 0
    MISSED = 1
    """It passes a surface by, or meets only the far side of it."""
    TOTAL_REFLECTION = 2
    """It meets a surface too obliquely to leave the denser side."""


MISSED = int(RayFlag.MISSED)
TOTAL_REFLECTION = int(RayFlag.TOTAL_REFLECTION)


class Rays(NamedTuple):
    """Rays, each by a point on it and its direction; fields broadcast."""

    x_mm: Numbers
    y_mm: Numbers
    z_mm: Numbers
    cosine_x: Numbers
    cosine_y: Numbers
    cosine_z: Numbers
    """Direction cosines: the three squares sum to 1, and light travels towards +z."""
    path_mm: Numbers = 0.0
    """Optical path so far."""
    flags: Flags = 0
    """Bits of `RayFlag`; a ray with one is nan from there on."""


def trace(rays: Rays, surfaces: Sequence[Surface], index_before: Numbers) -> Rays:
    """Rays after the last surface.

    Parameters
    ----------
    rays
        Rays to start with; fields broadcast against those of the surfaces.
    surfaces
        Surfaces in the order in which light meets them. A screen is a surface with the same index on both
        sides.
    index_before
        Refractive index where the rays start.

    Returns
    -------
    Rays
        Points on the last surface, directions behind it, optical path from the start, flags.

    Notes
    -----
    Textbook ray tracing, derived here for quadrics; agrees with an open-source ray tracer
    (zonule-regression-eye). A vertex lies on its surface at the near side; only that sheet counts.

    Examples
    --------
    >>> from zonule.science.optics.surfaces import Surface
    >>> screen = Surface(29.18, np.inf, 1.376)
    >>> end = trace(Rays(1.0, 0.0, -1.0, 0.0, 0.0, 1.0), [Surface(0.0, 8.0, 1.376), screen], 1.0)
    >>> round(float(end.x_mm), 4), int(end.flags)
    (-0.0008, 0)
    """
    index = index_before
    for surface in surfaces:
        rays = refracted(rays, quadric(surface), index, surface.index_after)
        index = surface.index_after
    return rays


def refracted(rays: Rays, met: Quadric, index_before: Numbers, index_after: Numbers) -> Rays:
    """Rays where they meet a surface, with their directions behind it.

    Parameters
    ----------
    rays
        Rays in front of the surface.
    met
        The surface.
    index_before, index_after
        Refractive indices in front of it and behind it.

    Returns
    -------
    Rays
        Points on the surface, new directions, longer paths.

    Notes
    -----
    The nearer root of ``A s^2 + 2 B s + C = 0`` as ``s = C / (sqrt(B^2 - A C) - B)``, which holds for a plane
    too; then ``d' = mu d + G g`` with the gradient ``g``, never normalised, for which ``d . g`` is that very
    root. Derived here.

    Examples
    --------
    >>> from zonule.science.optics.surfaces import Surface
    >>> wide = refracted(Rays(9.0, 0.0, -1.0, 0.0, 0.0, 1.0), quadric(Surface(0.0, 8.0, 1.376)), 1.0, 1.376)
    >>> float(wide.x_mm), RayFlag(int(wide.flags)).name
    (nan, 'MISSED')
    """
    l, m, n = rays.cosine_x, rays.cosine_y, rays.cosine_z  # noqa: E741 - direction cosines have these names everywhere
    x, y, z = rays.x_mm - met.x_mm, rays.y_mm - met.y_mm, rays.z_mm - met.z_mm
    along = _times_matrix(met, l, m, n)
    at = _times_matrix(met, x, y, z)
    a = l * along[0] + m * along[1] + n * along[2]
    b = l * at[0] + m * at[1] + n * at[2] - (met.axis_x * l + met.axis_y * m + met.axis_z * n)
    c = x * at[0] + y * at[1] + z * at[2] - 2.0 * (met.axis_x * x + met.axis_y * y + met.axis_z * z)
    radicand = b * b - a * c
    root = np.sqrt(select(radicand >= 0.0, radicand, np.nan))
    way: Numbers = c / (root - b)
    gx = met.axis_x - (at[0] + way * along[0])
    gy = met.axis_y - (at[1] + way * along[1])
    gz = met.axis_z - (at[2] + way * along[2])
    on_sheet = met.axis_x * gx + met.axis_y * gy + met.axis_z * gz > 0.0
    way = select(on_sheet, way, np.nan)
    mu = index_before / index_after
    square: Numbers = gx * gx + gy * gy + gz * gz
    bent = mu * mu * radicand + (1.0 - mu * mu) * square
    bend = (np.sqrt(select(bent >= 0.0, bent, np.nan)) - mu * root) / square
    clean = np.equal(rays.flags, 0)
    missed = flag(clean & np.logical_not(on_sheet), MISSED)
    reflected = flag(clean & on_sheet & (bent < 0.0), TOTAL_REFLECTION)
    # A ray that is turned back has an end on the surface but no direction: it is nan as a whole.
    way = select(bent >= 0.0, way, np.nan)
    return Rays(
        rays.x_mm + way * l,
        rays.y_mm + way * m,
        rays.z_mm + way * n,
        mu * l + bend * gx,
        mu * m + bend * gy,
        mu * n + bend * gz,
        rays.path_mm + index_before * way,
        rays.flags | missed | reflected,
    )


def _times_matrix(met: Quadric, x: Numbers, y: Numbers, z: Numbers) -> tuple[Numbers, Numbers, Numbers]:
    return (
        met.xx_per_mm * x + met.xy_per_mm * y + met.xz_per_mm * z,
        met.xy_per_mm * x + met.yy_per_mm * y + met.yz_per_mm * z,
        met.xz_per_mm * x + met.yz_per_mm * y + met.zz_per_mm * z,
    )
