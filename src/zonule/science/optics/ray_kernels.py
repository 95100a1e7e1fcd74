"""The loops of `ray_trace_compiled`: plain functions that numba compiles.

A block of rays is rows of numbers in a single piece of memory, so that the compiler can prove that one row
does not reach into another, and works on several rays at once.
"""

from __future__ import annotations

from functools import cache
from math import sqrt
from threading import Lock
from typing import Any

import numpy as np
from numpy.typing import NDArray

from zonule.science.optics import surfaces as surface_shapes
from zonule.science.optics.best_glasses import EVEN_BELOW, PupilGrid, falling_weight
from zonule.science.optics.surfaces import Quadric, Surface

BLOCK = 512
"""Rays in a block: the seven numbers of each take 28 kB, which a first-level cache of 48 kB holds."""

_ROW = BLOCK + 8
"""Rows that lay a whole number of pages apart would fight for the same place in the cache."""

_X, _Y, _Z, _L, _M, _N, _PATH, _WEIGHT = (number * _ROW for number in range(8))
_QUADRIC_FIELDS = len(Quadric._fields)
_FUSED = {"contract"}
"""Multiply and add in one step, rounded once: an eighth faster. Nothing that lets the compiler forget nan."""
_IN_ANY_ORDER = {"reassoc"}
"""For sums: adding strictly in one row, each addition would wait for the last."""
_NO_PATH = 0.0
"""In place of the index where nobody asks for the optical path."""
_PREPARING = Lock()


def compiled_loops() -> tuple[Any, Any]:
    """The two loops, compiled at the first call.

    Returns
    -------
    tuple
        ``follow(first, last, starts, rows, ends, lost)`` takes rays through the surfaces of one eye;
        ``send_out(starts, grid, leaning, table, sums)`` takes a pupil of rays out of each of many eyes.

    Examples
    --------
    >>> len(compiled_loops())
    2
    """
    with _PREPARING:
        return _compile()


def are_compiled() -> bool:
    """Whether this process has compiled the loops already, so that they cost no more than their work.

    Returns
    -------
    bool
        True after the first call of `compiled_loops`.

    Examples
    --------
    >>> isinstance(are_compiled(), bool)
    True
    """
    return _compile.cache_info().currsize > 0


@cache
def _compile() -> tuple[Any, Any]:
    import numba
    from numba.extending import register_jitable

    for inner in (
        surface_shapes.curvatures_per_mm,
        surface_shapes.axis_of,
        surface_shapes.quadric,
        _bent,
        _through_conic,
        _through_quadric,
        falling_weight,
        _through,
        _weigh,
        _launch,
    ):
        register_jitable(error_model="numpy", fastmath=_FUSED)(inner)
    register_jitable(error_model="numpy", fastmath=_FUSED | _IN_ANY_ORDER)(_add_up)
    return numba.njit(_follow, nogil=True, error_model="numpy", fastmath=_FUSED), numba.njit(
        _send_out, nogil=True, error_model="numpy", fastmath=_FUSED
    )


def _bent(
    l: float,  # noqa: E741 - direction cosines
    m: float,
    n: float,
    gx: float,
    gy: float,
    gz: float,
    squared: float,
    root: float,
    mu: float,
) -> tuple[float, float, float]:
    """The direction behind a surface; nan where light is reflected.

    `root` is what the gradient measures along the ray, `squared` its square.
    """
    square = gx * gx + gy * gy + gz * gz
    bend = (sqrt(mu * mu * squared + (1.0 - mu * mu) * square) - mu * root) / square
    return mu * l + bend * gx, mu * m + bend * gy, mu * n + bend * gz


def _through_conic(
    b: NDArray[np.float64], count: int, vertex: float, c: float, along: float, mu: float, index: float
) -> None:
    """A centred conic: a diagonal matrix, and z the axis. A lost ray has no direction after it."""
    for i in range(count):
        x, y, z = b[_X + i], b[_Y + i], b[_Z + i] - vertex
        l, m, n = b[_L + i], b[_M + i], b[_N + i]  # noqa: E741 - direction cosines
        deep = along * z
        quadratic = c + (along - c) * (n * n)
        linear = c * (l * x + m * y) + n * (deep - 1.0)
        constant = c * (x * x + y * y) + z * (deep - 2.0)
        squared = linear * linear - quadratic * constant
        root = sqrt(squared)
        way = constant / (root - linear)
        x, y, z = x + way * l, y + way * m, z + way * n
        gx, gy, gz = -c * x, -c * y, 1.0 - along * z
        gz = gz if gz > 0.0 else np.nan
        b[_X + i], b[_Y + i], b[_Z + i] = x, y, z + vertex
        b[_L + i], b[_M + i], b[_N + i] = _bent(l, m, n, gx, gy, gz, squared, root, mu)
        if index > 0.0:
            b[_PATH + i] += index * way


def _through_quadric(b: NDArray[np.float64], count: int, met: Quadric, mu: float, index: float) -> None:
    """A toric, tilted or decentred surface. A lost ray has no direction after it."""
    vx, vy, vz, bx, by, bz, xx, yy, zz, xy, xz, yz = met
    for i in range(count):
        x, y, z = b[_X + i] - vx, b[_Y + i] - vy, b[_Z + i] - vz
        l, m, n = b[_L + i], b[_M + i], b[_N + i]  # noqa: E741 - direction cosines
        ax, ay, az = xx * l + xy * m + xz * n, xy * l + yy * m + yz * n, xz * l + yz * m + zz * n
        # The gradient where the ray starts, its sign turned.
        px, py, pz = (
            xx * x + xy * y + xz * z - bx,
            xy * x + yy * y + yz * z - by,
            xz * x + yz * y + zz * z - bz,
        )
        quadratic = l * ax + m * ay + n * az
        linear = l * px + m * py + n * pz
        constant = x * (px - bx) + y * (py - by) + z * (pz - bz)
        squared = linear * linear - quadratic * constant
        root = sqrt(squared)
        way = constant / (root - linear)
        gx, gy, gz = -(px + way * ax), -(py + way * ay), -(pz + way * az)
        gz = gz if bx * gx + by * gy + bz * gz > 0.0 else np.nan
        b[_X + i], b[_Y + i], b[_Z + i] = x + way * l + vx, y + way * m + vy, z + way * n + vz
        b[_L + i], b[_M + i], b[_N + i] = _bent(l, m, n, gx, gy, gz, squared, root, mu)
        if index > 0.0:
            b[_PATH + i] += index * way


def _follow(
    first: int,
    last: int,
    starts: tuple[NDArray[np.float64], ...],
    rows: NDArray[np.float64],
    ends: NDArray[np.float64],
    lost: NDArray[np.int64],
) -> None:
    """Rays first to last through the surfaces of one eye."""
    b = np.empty(7 * _ROW)
    for start in range(first, last, BLOCK):
        count = min(BLOCK, last - start)
        for row in range(7):
            given = starts[row]
            # A number for all rays is a column of one.
            step = 1 if given.size > 1 else 0
            for i in range(count):
                b[row * _ROW + i] = given[step * (start + i)]
        for s in range(rows.shape[0]):
            _through(b, count, rows[s])
        for row in range(7):
            for i in range(count):
                ends[row, start + i] = b[row * _ROW + i]
        for i in range(count):
            lost[start + i] = 0 if b[_N + i] == b[_N + i] else 1


def _through(b: NDArray[np.float64], count: int, at: NDArray[np.float64]) -> None:
    mu, index, centred = at[_QUADRIC_FIELDS], at[_QUADRIC_FIELDS + 1], at[_QUADRIC_FIELDS + 2]
    if centred == 1.0:
        _through_conic(b, count, at[2], at[6], at[8], mu, index)
    else:
        met = Quadric(at[0], at[1], at[2], at[3], at[4], at[5], at[6], at[7], at[8], at[9], at[10], at[11])
        _through_quadric(b, count, met, mu, index)


def _send_out(
    starts: NDArray[np.float64],
    grid: PupilGrid,
    leaning: NDArray[np.bool_],
    table: NDArray[np.float64],
    sums: NDArray[np.float64],
) -> None:
    """A pupil of rays out of each eye; only surfaces that lean in some eye have all their numbers."""
    b = np.empty(8 * _ROW)
    count = grid.weight.size
    weighed_for = -1.0
    for eye in range(sums.shape[0]):
        if starts[1, eye] != weighed_for:
            weighed_for = starts[1, eye]
            _weigh(b, grid, weighed_for)
        _launch(b, grid, starts[0, eye])
        index = starts[2, eye]
        for s in range(table.shape[0]):
            at = table[s, :, eye]
            mu = index / at[2]
            if leaning[s]:
                shape = Surface(at[0], at[1], at[2], at[3], at[4], at[5], at[6], at[7], at[8], at[9])
                _through_quadric(b, count, surface_shapes.quadric(shape), mu, _NO_PATH)
            else:
                c = 1.0 / at[1]
                _through_conic(b, count, at[0], c, (1.0 + at[3]) * c, mu, _NO_PATH)
            index = at[2]
        _add_up(b, count, starts[3, eye], sums[eye])


def _weigh(b: NDArray[np.float64], grid: PupilGrid, fall: float) -> None:
    for i in range(grid.weight.size):
        share2 = grid.x_share[i] * grid.x_share[i] + grid.y_share[i] * grid.y_share[i]
        b[_WEIGHT + i] = grid.weight[i] * (
            1.0 - share2 if fall < EVEN_BELOW else falling_weight(share2, fall)
        )


def _launch(b: NDArray[np.float64], grid: PupilGrid, slope: float) -> None:
    for i in range(grid.weight.size):
        slope_x, slope_y = slope * grid.x_share[i], slope * grid.y_share[i]
        along = 1.0 / sqrt(1.0 + slope_x * slope_x + slope_y * slope_y)
        b[_X + i], b[_Y + i], b[_Z + i], b[_PATH + i] = 0.0, 0.0, 0.0, 0.0
        b[_L + i], b[_M + i], b[_N + i] = slope_x * along, slope_y * along, along


def _add_up(b: NDArray[np.float64], count: int, glasses: float, sums: NDArray[np.float64]) -> None:
    """Weighted sums over the pupil; compiled so that the order of adding may change."""
    s0 = s1 = s2 = s3 = s4 = s5 = s6 = s7 = s8 = s9 = s10 = s11 = 0.0
    for i in range(count):
        w = b[_WEIGHT + i]
        per_n = 1.0 / b[_N + i]
        u, v = b[_L + i] * per_n, b[_M + i] * per_n
        way = glasses - b[_Z + i]
        x, y = b[_X + i] + way * u, b[_Y + i] + way * v
        wx, wy = w * x, w * y
        s0 += w
        s1 += wx
        s2 += wy
        s3 += w * u
        s4 += w * v
        s5 += wx * x
        s6 += wx * y
        s7 += wy * y
        s8 += wx * u
        s9 += wx * v
        s10 += wy * u
        s11 += wy * v
    sums[0], sums[1], sums[2], sums[3] = s0, s1, s2, s3
    sums[4], sums[5], sums[6], sums[7] = s4, s5, s6, s7
    sums[8], sums[9], sums[10], sums[11] = s8, s9, s10, s11
