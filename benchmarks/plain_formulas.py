"""The four formulas for one eye, written plainly with nothing but `math`: what the other way would use."""

from __future__ import annotations

import math

A_CONSTANT, SURGEON_FACTOR, P_ACD = 118.4, 1.44992, 5.198688
HAIGIS = (1.526928, 0.4, 0.1)


CLASSICAL = ("srk_t", "holladay_1", "hoffer_q", "haigis")
"""Keys of the formulas written out plainly here, in the order of `seen_by_each`."""


def seen_by_each(length_mm: float, k_dpt: float, depth_mm: float) -> list[tuple[float, float, float]]:
    """Corneal power, optical length and lens position of SRK/T, Holladay 1, Hoffer Q and Haigis."""
    radius = 337.5 / k_dpt
    a0, a1, a2 = HAIGIS
    retina = 0.65696 - 0.02029 * length_mm
    return [
        (333.0 / radius, length_mm + retina, _srk_t_mm(length_mm, k_dpt, radius)),
        (1000.0 / 3.0 / radius, length_mm + 0.2, _holladay_1_mm(length_mm, radius)),
        (k_dpt, length_mm, _hoffer_q_mm(length_mm, k_dpt)),
        (331.5 / radius, length_mm, a0 + a1 * depth_mm + a2 * length_mm),
    ]


def refraction_dpt(corneal_dpt: float, length_mm: float, position_mm: float, power_dpt: float) -> float:
    """The closed form for the refraction that a lens leaves."""
    before = 1336.0 / (length_mm - position_mm) - power_dpt
    at_cornea = 1336.0 * before / (1336.0 + position_mm * before) - corneal_dpt
    return at_cornea / (1.0 + 0.012 * at_cornea)


def _srk_t_mm(length_mm: float, k_dpt: float, radius: float) -> float:
    corrected = length_mm if length_mm <= 24.2 else -3.446 + 1.716 * length_mm - 0.0237 * length_mm**2
    width = -5.41 + 0.58412 * corrected + 0.098 * k_dpt
    height = radius - math.sqrt(max(radius**2 - width**2 / 4.0, 0.0))
    return height + 0.62467 * A_CONSTANT - 68.747 - 3.336


def _holladay_1_mm(length_mm: float, radius: float) -> float:
    clamped = max(radius, 7.0)
    width = min(12.5 * length_mm / 23.45, 13.5)
    return 0.56 + clamped - math.sqrt(clamped**2 - width**2 / 4.0) + SURGEON_FACTOR


def _hoffer_q_mm(length_mm: float, k_dpt: float) -> float:
    clamped = min(max(length_mm, 18.5), 31.0)
    m, g = (1.0, 28.0) if clamped <= 23.0 else (-1.0, 23.5)
    tangent = math.tan(math.radians(0.1 * (g - clamped) ** 2))
    depth = P_ACD + 0.3 * (clamped - 23.5) + math.tan(math.radians(k_dpt)) ** 2
    return depth + 0.1 * m * (23.5 - clamped) ** 2 * tangent - 0.99166 + 0.05
