"""The same rays, compiled, for many of them at once.

`trace` follows many rays through one row of surfaces, `refraction` a pupil of rays through each of many
eyes. Both say what `ray_trace` and `pseudophakic_eye` say; tests hold them to it. Rays are taken in blocks
that stay in the nearest cache, surface after surface. Every operation is the strict one of double precision,
so that a missed ray stays nan.

numba is imported at the first call and compiles then. Nothing is kept on disk between runs: a cache that
outlived an upgrade could give the old version's numbers.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from zonule.science.arrays import Numbers
from zonule.science.optics import ray_trace
from zonule.science.optics.best_glasses import (
    USUAL_PUPIL,
    Moments,
    Pupil,
    PupilGrid,
    Refraction,
    fall_off,
    fitted,
    full_circle,
)
from zonule.science.optics.pseudophakic_eye import (
    PseudophakicEye,
    is_round,
    is_surface_round,
    launch_slope,
    usual_grid,
)
from zonule.science.optics.ray_kernels import compiled_loops
from zonule.science.optics.ray_trace import Rays
from zonule.science.optics.surfaces import Surface, mirrored, quadric
from zonule.science.units import SPECTACLE_VERTEX_MM

EYES_AT_ONCE = 2_500
"""Eyes that a core takes at a time: their surfaces, 0.8 MB, stay in its second-level cache."""

_SURFACE_FIELDS = len(Surface._fields)
_ROUND_FIELDS = 4
"""Vertex, radius, index and conic say all of a surface of revolution about the axis."""
_SUMS = len(Moments._fields)


def trace(rays: Rays, surfaces: Sequence[Surface], index_before: float) -> Rays:
    """Rays after the last surface, as `ray_trace.trace` gives them.

    Parameters
    ----------
    rays
        Rays to start with; fields are numbers or broadcast to one array over rays.
    surfaces
        Surfaces of one eye in the order of the light; each field one number.
    index_before
        Refractive index where the rays start.

    Returns
    -------
    Rays
        Points, directions, paths and flags.

    Examples
    --------
    >>> end = trace(Rays(1.0, 0.0, -1.0, 0.0, 0.0, 1.0), [Surface(0.0, 8.0, 1.376)], 1.0)
    >>> round(float(end.z_mm), 4), int(end.flags)
    (0.0627, 0)
    """
    shape = np.broadcast_shapes(*(np.shape(field) for field in rays))
    count = int(np.prod(shape))
    starts = tuple(_column(field, shape) for field in rays[:7])
    rows = _rows_of(surfaces, index_before)
    ends = np.empty((7, count))
    lost = np.empty(count, dtype=np.int64)
    follow = compiled_loops()[0]
    _on_all_cores(count, count, lambda first, last: follow(first, last, starts, rows, ends, lost))
    if np.any(lost):
        _say_why(np.flatnonzero(lost), rays, surfaces, index_before, shape, ends, lost)
    x, y, z, cosine_x, cosine_y, cosine_z, path = (end.reshape(shape) for end in ends)
    return Rays(x, y, z, cosine_x, cosine_y, cosine_z, path, lost.reshape(shape))


def refraction(
    eye: PseudophakicEye, pupil: Pupil = USUAL_PUPIL, vertex_mm: float = SPECTACLE_VERTEX_MM
) -> Refraction:
    """The glasses that each of many eyes needs for far, as `pseudophakic_eye.refraction` gives them.

    Parameters
    ----------
    eye
        Many eyes; fields broadcast.
    pupil
        Diameter and weights; fields broadcast against the eyes.
    vertex_mm
        Vertex distance, millimetres. Default 12 mm.

    Returns
    -------
    Refraction
        Glasses and flags, in the broadcast shape of the eyes.

    Examples
    --------
    >>> from zonule.science.optics.lens_design import shape_for_power
    >>> from zonule.science.optics.pseudophakic_eye import pseudophakic_eye
    >>> lengths = np.array([23.0, 23.5])
    >>> eyes = pseudophakic_eye(7.7, 6.4, 0.54, shape_for_power(21.0), 5.0, lengths)
    >>> refraction(eyes).spherical_equivalent_dpt.round(2)
    array([1.48, 0.09])
    """
    sums = moments(eye, pupil, usual_grid(eye), vertex_mm)
    return fitted(full_circle(sums) if is_round(eye) else sums)


def _say_why(
    which: NDArray[np.intp],
    rays: Rays,
    surfaces: Sequence[Surface],
    index_before: float,
    shape: tuple[int, ...],
    ends: NDArray[np.float64],
    flags: NDArray[np.int64],
) -> None:
    """Trace the few rays that were lost once more where every loss is told by its kind."""
    again = Rays(*(np.broadcast_to(field, shape).reshape(-1)[which] for field in rays))
    *numbers, why = ray_trace.trace(again, surfaces, index_before)
    for end, number in zip(ends, numbers, strict=True):
        end[which] = number
    flags[which] = why


def moments(
    eye: PseudophakicEye, pupil: Pupil, grid: PupilGrid, vertex_mm: float = SPECTACLE_VERTEX_MM
) -> Moments:
    """Sums over the rays that leave each eye, as `pseudophakic_eye.moments` gives them.

    Parameters
    ----------
    eye
        Many eyes; fields broadcast.
    pupil
        Diameter and weights; fields broadcast against the eyes.
    grid
        Points of the pupil, at most `BLOCK`.
    vertex_mm
        Vertex distance, millimetres. Default 12 mm.

    Returns
    -------
    Moments
        Sums, in the broadcast shape of the eyes.

    Examples
    --------
    >>> from zonule.science.optics.lens_design import shape_for_power
    >>> from zonule.science.optics.best_glasses import pupil_grid
    >>> from zonule.science.optics.pseudophakic_eye import pseudophakic_eye
    >>> eyes = pseudophakic_eye(7.7, 6.4, 0.54, shape_for_power(21.0), 5.0, np.array([23.0, 23.5]))
    >>> moments(eyes, Pupil(), pupil_grid(4, 16)).weight.round(9)
    array([0.5, 0.5])
    """
    fields = [field for surface in eye.surfaces for field in surface if field is not None]
    shape = np.broadcast_shapes(*(np.shape(field) for field in (*fields, eye.axial_length_mm, *pupil)))
    flat = _each(eye, lambda value: _flat(value, shape))
    flat_pupil = Pupil(_flat(pupil.diameter_mm, shape), _flat(pupil.stiles_crawford_per_mm2, shape))
    count = int(np.prod(shape))
    sums = np.empty((count, _SUMS))
    send_out = compiled_loops()[1]

    def work(first: int, last: int) -> None:
        part = slice(first, last)
        eyes = _each(flat, lambda value: _cut(value, part))
        pupils = Pupil(*(_cut(value, part) for value in flat_pupil))
        starts, leaning, table = _laid_out(eyes, pupils, vertex_mm, last - first)
        send_out(starts, grid, leaning, table, sums[part])

    _on_all_cores(count, EYES_AT_ONCE, work)
    return Moments(*(one.reshape(shape) for one in sums.T))


def _laid_out(
    eye: PseudophakicEye, pupil: Pupil, vertex_mm: float, count: int
) -> tuple[NDArray[np.float64], NDArray[np.bool_], NDArray[np.float64]]:
    """How rays start in each eye, which surfaces lean, and all of them in the order in which light leaves."""
    way_out, index = mirrored(eye.surfaces, 1.0, eye.axial_length_mm)
    leaning = np.array([not is_surface_round(surface) for surface in way_out])
    table = np.empty((len(way_out), _SURFACE_FIELDS, count))
    for rows, surface, leans in zip(table, way_out, leaning, strict=True):
        across = surface.radius_mm if surface.other_radius_mm is None else surface.other_radius_mm
        needed = surface._replace(other_radius_mm=across)[: None if leans else _ROUND_FIELDS]
        for row, value in zip(rows, needed, strict=False):
            row[:] = value
    starts = np.empty((4, count))
    given = (launch_slope(eye, pupil), fall_off(pupil), index, eye.axial_length_mm + vertex_mm)
    for row, value in zip(starts, given, strict=True):
        row[:] = value
    return starts, leaning, table


def _flat(value: Numbers, shape: tuple[int, ...]) -> Numbers:
    return value if np.ndim(value) == 0 else np.broadcast_to(value, shape).ravel()


def _each(eye: PseudophakicEye, change: Callable[[Numbers], Numbers]) -> PseudophakicEye:
    """The eye with every number of it changed."""
    cornea_front, cornea_back, lens_front, lens_back = (
        surface._replace(
            **{name: change(value) for name, value in surface._asdict().items() if value is not None}
        )
        for surface in eye.surfaces
    )
    return PseudophakicEye(cornea_front, cornea_back, lens_front, lens_back, change(eye.axial_length_mm))


def _cut(value: Numbers, part: slice) -> Numbers:
    return value if np.ndim(value) == 0 else np.asarray(value)[part]


def _column(value: Any, shape: tuple[int, ...]) -> NDArray[np.float64]:
    """One number for all rays, or one for each; read-only, so that all columns are of one type."""
    whole = np.full(1, value) if np.ndim(value) == 0 else np.broadcast_to(value, shape)
    column = np.ascontiguousarray(whole, dtype=np.float64).reshape(-1).view()
    column.flags.writeable = False
    return column


def _rows_of(surfaces: Sequence[Surface], index_before: float) -> NDArray[np.float64]:
    """A surface a row: its quadric, ratio of indices, index in front, whether it is a centred conic."""
    rows, index = [], index_before
    for surface in surfaces:
        centred = is_surface_round(surface)
        rows.append((*quadric(surface), index / surface.index_after, index, float(centred)))
        index = float(surface.index_after)
    return np.array(rows, dtype=np.float64)


def _on_all_cores(count: int, largest: int, work: Callable[[int, int], None]) -> None:
    """Do the work in parts, at least one for each core and none above the largest."""
    parts = max(-(-count // largest), _cores())
    edges = np.linspace(0, count, parts + 1).astype(int)
    running = [_workers().submit(work, first, last) for first, last in pairwise(edges) if last > first]
    for part in running:
        part.result()


def _cores() -> int:
    return os.cpu_count() or 1


@cache
def _workers() -> ThreadPoolExecutor:
    return ThreadPoolExecutor(_cores(), thread_name_prefix="rays")
