"""Ray matrices of textbook optics: a second way through the same surfaces, sharing no line with the first.

A ray is its height and its reduced angle; a surface or a gap is two rows of two numbers. Powers in dioptres,
lengths in millimetres.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Matrix = NDArray[np.float64]


def surface(power_dpt: float) -> Matrix:
    """A surface or a thin lens."""
    return np.array([[1.0, 0.0], [-power_dpt / 1000.0, 1.0]])


def gap(distance_mm: float, index: float) -> Matrix:
    """A stretch of one medium."""
    return np.array([[1.0, distance_mm / index], [0.0, 1.0]])


def in_order(parts: Sequence[Matrix]) -> Matrix:
    """The parts that light meets one after the other."""
    whole = np.eye(2)
    for part in parts:
        whole = part @ whole
    return whole


def equivalent_power_dpt(parts: Sequence[Matrix]) -> float:
    """The equivalent power of a system."""
    return float(-1000.0 * in_order(parts)[1, 0])


def glasses_dpt(to_retina: Sequence[Matrix], vertex_mm: float) -> float:
    """The thin glasses that bring parallel light to one point at the end of the system."""
    from_glasses = in_order([gap(vertex_mm, 1.0), *to_retina])
    # Height at the retina must not depend on height at the glasses: A + B * (-P / 1000) = 0.
    return float(1000.0 * from_glasses[0, 0] / from_glasses[0, 1])
