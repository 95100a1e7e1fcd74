"""The four papers' own algebra, written from the equations with nothing but `math`, one eye at a time.

It shares no line with the code under test: the papers write one long fraction each, the code one engine.
"""

import math


def long_fraction_power_dpt(
    length_mm: float, position_mm: float, radius_mm: float, q: float, refraction_dpt: float
) -> float:
    """SRK/T's and Holladay's expression for the power, vertex 12 mm."""
    na, vertex_mm = 1.336, 12.0
    u = na * radius_mm - q * length_mm
    w = na * radius_mm - q * position_mm
    above = 1000.0 * na * (u - 0.001 * refraction_dpt * (vertex_mm * u + length_mm * radius_mm))
    below = (length_mm - position_mm) * (
        w - 0.001 * refraction_dpt * (vertex_mm * w + position_mm * radius_mm)
    )
    return above / below


def long_fraction_refraction_dpt(
    length_mm: float, position_mm: float, radius_mm: float, q: float, power_dpt: float
) -> float:
    """SRK/T's and Holladay's expression for the refraction, vertex 12 mm."""
    na, vertex_mm = 1.336, 12.0
    u = na * radius_mm - q * length_mm
    w = na * radius_mm - q * position_mm
    gap_mm = length_mm - position_mm
    above = 1000.0 * na * u - power_dpt * gap_mm * w
    below = na * (vertex_mm * u + length_mm * radius_mm) - 0.001 * power_dpt * gap_mm * (
        vertex_mm * w + position_mm * radius_mm
    )
    return above / below


def srk_t_geometry(length_mm: float, k_dpt: float, a_constant: float) -> tuple[float, float, float, float]:
    """Optical length, position, radius and q of SRK/T."""
    radius = 337.5 / k_dpt
    corrected = length_mm if length_mm <= 24.2 else -3.446 + 1.716 * length_mm - 0.0237 * length_mm**2
    width = -5.41 + 0.58412 * corrected + 0.098 * k_dpt
    height = radius - math.sqrt(max(radius**2 - width**2 / 4.0, 0.0))
    position = height + (0.62467 * a_constant - 68.747) - 3.336
    return length_mm + 0.65696 - 0.02029 * length_mm, position, radius, 0.333


def holladay_1_geometry(
    length_mm: float, k_dpt: float, surgeon_factor: float
) -> tuple[float, float, float, float]:
    """Optical length, position, radius and q of Holladay 1."""
    radius = 337.5 / k_dpt
    clamped = max(radius, 7.0)
    width = min(12.5 * length_mm / 23.45, 13.5)
    position = 0.56 + clamped - math.sqrt(clamped**2 - width**2 / 4.0) + surgeon_factor
    return length_mm + 0.200, position, radius, 1.0 / 3.0


def hoffer_q_depth_mm(length_mm: float, k_dpt: float, p_acd: float) -> float:
    """The depth that Hoffer Q predicts, before its 0.05 mm."""
    clamped = min(max(length_mm, 18.5), 31.0)
    m, g = (1.0, 28.0) if clamped <= 23.0 else (-1.0, 23.5)
    return (
        p_acd
        + 0.3 * (clamped - 23.5)
        + math.tan(math.radians(k_dpt)) ** 2
        + 0.1 * m * (23.5 - clamped) ** 2 * math.tan(math.radians(0.1 * (g - clamped) ** 2))
        - 0.99166
    )


def hoffer_q_power_dpt(length_mm: float, k_dpt: float, p_acd: float, refraction_dpt: float) -> float:
    """The power of Hoffer Q."""
    depth = hoffer_q_depth_mm(length_mm, k_dpt, p_acd)
    r = refraction_dpt / (1.0 - 0.012 * refraction_dpt)
    return 1336.0 / (length_mm - depth - 0.05) - 1.336 / (1.336 / (k_dpt + r) - (depth + 0.05) / 1000.0)


def hoffer_q_refraction_dpt(length_mm: float, k_dpt: float, p_acd: float, power_dpt: float) -> float:
    """The refraction of Hoffer Q."""
    depth = hoffer_q_depth_mm(length_mm, k_dpt, p_acd)
    before = 1336.0 / (length_mm - depth - 0.05) - power_dpt
    r = 1.336 / (1.336 / before + (depth + 0.05) / 1000.0) - k_dpt
    return r / (1.0 + 0.012 * r)


def haigis_power_dpt(
    length_mm: float, k_dpt: float, depth_mm: float, constants: tuple[float, ...], refraction_dpt: float
) -> float:
    """The power of Haigis."""
    a0, a1, a2 = constants
    d = a0 + a1 * depth_mm + a2 * length_mm
    radius = 337.5 / k_dpt
    z = 331.5 / radius + refraction_dpt / (1.0 - 0.012 * refraction_dpt)
    return 1336.0 / (length_mm - d) - 1336.0 / (1336.0 / z - d)


def haigis_refraction_dpt(
    length_mm: float, k_dpt: float, depth_mm: float, constants: tuple[float, ...], power_dpt: float
) -> float:
    """The refraction of Haigis, its power equation solved for z by hand."""
    a0, a1, a2 = constants
    d = a0 + a1 * depth_mm + a2 * length_mm
    z = 1336.0 / (1336.0 / (1336.0 / (length_mm - d) - power_dpt) + d)
    r = z - 331.5 / (337.5 / k_dpt)
    return r / (1.0 + 0.012 * r)


def paper_power_dpt(
    method: str,
    length_mm: float,
    k_dpt: float,
    depth_mm: float,
    constants: tuple[float, ...],
    refraction_dpt: float,
) -> float:
    """What the paper of `method` gives for a wanted refraction."""
    if method == "srk_t":
        return long_fraction_power_dpt(*srk_t_geometry(length_mm, k_dpt, constants[0]), refraction_dpt)
    if method == "holladay_1":
        return long_fraction_power_dpt(*holladay_1_geometry(length_mm, k_dpt, constants[0]), refraction_dpt)
    if method == "hoffer_q":
        return hoffer_q_power_dpt(length_mm, k_dpt, constants[0], refraction_dpt)
    return haigis_power_dpt(length_mm, k_dpt, depth_mm, constants, refraction_dpt)


def paper_refraction_dpt(
    method: str,
    length_mm: float,
    k_dpt: float,
    depth_mm: float,
    constants: tuple[float, ...],
    power_dpt: float,
) -> float:
    """What the paper of `method` predicts for a lens."""
    if method == "srk_t":
        return long_fraction_refraction_dpt(*srk_t_geometry(length_mm, k_dpt, constants[0]), power_dpt)
    if method == "holladay_1":
        return long_fraction_refraction_dpt(*holladay_1_geometry(length_mm, k_dpt, constants[0]), power_dpt)
    if method == "hoffer_q":
        return hoffer_q_refraction_dpt(length_mm, k_dpt, constants[0], power_dpt)
    return haigis_refraction_dpt(length_mm, k_dpt, depth_mm, constants, power_dpt)
