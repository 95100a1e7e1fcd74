"""Exact rays as anybody would first write them in vectorised NumPy: what compiled rays are compared with."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


class Row(NamedTuple):
    """A surface that each eye has for itself; the last axis runs over eyes."""

    vertex: Array
    """Shape ``(3, eyes)``."""
    curvature: Array
    """In the two meridians and along the axis, shape ``(3, eyes)``."""
    into: Array
    """Rotation into the frame of the surface, shape ``(3, 3, eyes)``."""
    before: float
    after: float


def through_conics(rays: Array, rows: list[tuple[float, float, float, float, float]]) -> Array:
    """Place, direction and path of rays, seven rows, behind centred conics.

    Each surface is its vertex, radius, Q, index before and after.
    """
    x, y, z, l, m, n = rays  # noqa: E741 - direction cosines
    path = np.zeros_like(x)
    for vertex, radius, conic, before, after in rows:
        c, along, mu = 1.0 / radius, (1.0 + conic) / radius, before / after
        from_vertex = z - vertex
        a = c * (l * l + m * m) + along * n * n
        b = c * (x * l + y * m) + along * from_vertex * n - n
        rest = c * (x * x + y * y) + along * from_vertex * from_vertex - 2.0 * from_vertex
        way = rest / (np.sqrt(b * b - a * rest) - b)
        x, y, z, path = x + way * l, y + way * m, z + way * n, path + before * way
        l, m, n = _bent(l, m, n, -c * x, -c * y, 1.0 - along * (z - vertex), mu)  # noqa: E741 - as above
    return np.stack([x, y, z, l, m, n, path])


def through_tilted_tori(rays: Array, rows: list[Row]) -> tuple[Array, ...]:
    """Place, direction and path of rays, shape ``(eyes, rays)``, behind surfaces of each eye's own."""
    place, towards = rays[:3], rays[3:]
    path = np.zeros_like(place[0])
    for row in rows:
        c = row.curvature[:, :, np.newaxis]
        p = np.einsum("ije,jer->ier", row.into, place - row.vertex[:, :, np.newaxis])
        d = np.einsum("ije,jer->ier", row.into, towards)
        a, b = np.sum(c * d * d, axis=0), np.sum(c * p * d, axis=0) - d[2]
        rest = np.sum(c * p * p, axis=0) - 2.0 * p[2]
        way = rest / (np.sqrt(b * b - a * rest) - b)
        p, path = p + way * d, path + row.before * way
        gradient = (-c[0] * p[0], -c[1] * p[1], 1.0 - c[2] * p[2])
        bent = np.stack(_bent(d[0], d[1], d[2], *gradient, row.before / row.after))
        place = np.einsum("jie,jer->ier", row.into, p) + row.vertex[:, :, np.newaxis]
        towards = np.einsum("jie,jer->ier", row.into, bent)
    return (*place, *towards, path)


def _bent(
    l: Array,  # noqa: E741 - direction cosines
    m: Array,
    n: Array,
    gx: Array,
    gy: Array,
    gz: Array,
    mu: float,
) -> tuple[Array, Array, Array]:
    size = np.sqrt(gx * gx + gy * gy + gz * gz)
    gx, gy, gz = gx / size, gy / size, gz / size
    cosine = l * gx + m * gy + n * gz
    bend = np.sqrt(1.0 - mu * mu * (1.0 - cosine * cosine)) - mu * cosine
    return mu * l + bend * gx, mu * m + bend * gy, mu * n + bend * gz
