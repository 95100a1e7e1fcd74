"""The papers' own algebra, written from the equations with nothing but `math`, one eye at a time.

It shares no line with the code under test: the papers write one long fraction each, the code one engine.
"""

import math
from collections.abc import Callable
from typing import NamedTuple


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


def t2_geometry(length_mm: float, k_dpt: float, a_constant: float) -> tuple[float, float, float, float]:
    """Optical length, position, radius and q of T2: SRK/T with another corneal height."""
    optical_length, _, radius, q = srk_t_geometry(length_mm, k_dpt, a_constant)
    height = 0.13533 * k_dpt + 0.32630 * length_mm - 10.326
    return optical_length, height + (0.62467 * a_constant - 68.747 - 3.336), radius, q


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
    if method == "t2":
        return long_fraction_power_dpt(*t2_geometry(length_mm, k_dpt, constants[0]), refraction_dpt)
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
    if method == "t2":
        return long_fraction_refraction_dpt(*t2_geometry(length_mm, k_dpt, constants[0]), power_dpt)
    if method == "holladay_1":
        return long_fraction_refraction_dpt(*holladay_1_geometry(length_mm, k_dpt, constants[0]), power_dpt)
    if method == "hoffer_q":
        return hoffer_q_refraction_dpt(length_mm, k_dpt, constants[0], power_dpt)
    return haigis_refraction_dpt(length_mm, k_dpt, depth_mm, constants, power_dpt)


class TouchedEye(NamedTuple):
    """One eye after surgery on the cornea, as the papers read it."""

    length_mm: float
    k_dpt: float
    depth_mm: float
    k_before_dpt: float
    treated_dpt: float
    """Refractive change achieved, at the cornea; minus for a myopic treatment."""


def double_k_power_dpt(
    method: str, eye: TouchedEye, k_optics_dpt: float, constant: float, refraction_dpt: float
) -> float:
    """Aramberri's double-K: geometry from the cornea before, light bent by `k_optics_dpt`."""
    if method == "hoffer_q":
        depth = hoffer_q_depth_mm(eye.length_mm, eye.k_before_dpt, constant) + 0.05
        r = refraction_dpt / (1.0 - 0.012 * refraction_dpt)
        behind = 1.0 / (1.0 / (k_optics_dpt + r) - depth / 1336.0)
        return 1336.0 / (eye.length_mm - depth) - behind
    geometry = srk_t_geometry if method == "srk_t" else holladay_1_geometry
    length, position, _, q = geometry(eye.length_mm, eye.k_before_dpt, constant)
    return long_fraction_power_dpt(length, position, 337.5 / k_optics_dpt, q, refraction_dpt)


def shammas_k_dpt(k_dpt: float) -> float:
    """Corneal power of Shammas 2003, without history."""
    return 1.14 * k_dpt - 6.8


def shammas_hyperopic_k_dpt(k_dpt: float) -> float:
    """Corneal power of Shammas 2013."""
    return 1.0457 * k_dpt - 1.9538


def shammas_power_dpt(length_mm: float, kc_dpt: float, a_constant: float, refraction_dpt: float) -> float:
    """The stand-alone formula of Shammas, as its papers print it."""
    c = 0.5835 * a_constant - 64.40
    lc = length_mm - 0.1 * (length_mm - 23.0)
    rc = refraction_dpt / (1.0 - 0.012 * refraction_dpt)
    return 1336.0 / (lc - (c + 0.05)) - 1.0 / (1.0125 / (kc_dpt + rc) - (c + 0.05) / 1336.0)


def haigis_of_radius_power_dpt(
    eye: TouchedEye, radius_mm: float, constants: tuple[float, ...], refraction_dpt: float
) -> float:
    """Haigis with a radius that was corrected beforehand."""
    return haigis_power_dpt(eye.length_mm, 337.5 / radius_mm, eye.depth_mm, constants, refraction_dpt)


def haigis_l_radius_mm(k_dpt: float) -> float:
    """The corrected radius of Haigis-L."""
    return 331.5 / (-5.1625 * (337.5 / k_dpt) + 82.2603 - 0.35)


def at_spectacles_dpt(at_cornea_dpt: float) -> float:
    """A refraction at 12 mm from one at the cornea, by focal lengths."""
    return 0.0 if at_cornea_dpt == 0.0 else 1000.0 / (1000.0 / at_cornea_dpt + 12.0)


def masket_power_dpt(method: str, eye: TouchedEye, constant: float, refraction_dpt: float) -> float:
    """Masket 2006 on SRK/T or Hoffer Q, and its modification on Holladay 1."""
    plain = paper_power_dpt(method, eye.length_mm, eye.k_dpt, eye.depth_mm, (constant,), refraction_dpt)
    lse = at_spectacles_dpt(eye.treated_dpt)
    return plain + (0.0295 - 0.4385 * lse if method == "holladay_1" else 0.101 - 0.326 * lse)


LONG_EYE_LINES = {
    "holladay_1_long_eye_2011": (0.8289, 4.2663),
    "haigis_long_eye_2011": (0.9286, 1.562),
    "srk_t_long_eye_2011": (0.8544, 3.7222),
    "hoffer_q_long_eye_2011": (0.8530, 3.5794),
    "holladay_1_long_eye_2018": (0.8170, 4.7013),
    "srk_t_long_eye_2018": (0.8453, 4.0773),
}
"""Slope and intercept of the adjusted length, millimetres."""


def long_eye_power_dpt(
    key: str,
    length_mm: float,
    k_dpt: float,
    depth_mm: float,
    constants: tuple[float, ...],
    refraction_dpt: float,
) -> float:
    """A formula that reads the adjusted length everywhere."""
    slope, intercept = LONG_EYE_LINES[key]
    method = key.partition("_long_eye")[0]
    return paper_power_dpt(method, slope * length_mm + intercept, k_dpt, depth_mm, constants, refraction_dpt)


def touched_power_dpt(
    key: str, cornea: str, eye: TouchedEye, constants: tuple[float, ...], refraction_dpt: float
) -> float:
    """What the papers give for a cornea after surgery, by the method's key and the kind of surgery."""
    first = constants[0]
    if key.endswith("_double_k"):
        as_measured: dict[str, Callable[[float], float]] = {
            "myopic_laser": shammas_k_dpt,
            "hyperopic_laser": shammas_hyperopic_k_dpt,
            "radial_keratotomy": lambda k_dpt: k_dpt,
        }
        method = key.removesuffix("_double_k")
        return double_k_power_dpt(method, eye, as_measured[cornea](eye.k_dpt), first, refraction_dpt)
    if key in ("masket", "masket_hyperopic"):
        method = "hoffer_q" if cornea == "hyperopic_laser" else "srk_t"
        return masket_power_dpt(method, eye, first, refraction_dpt)
    if key == "haigis":
        return haigis_power_dpt(eye.length_mm, eye.k_dpt, eye.depth_mm, constants, refraction_dpt)
    others: dict[str, Callable[[], float]] = {
        "modified_masket": lambda: masket_power_dpt("holladay_1", eye, first, refraction_dpt),
        "shammas_pl": lambda: shammas_power_dpt(
            eye.length_mm, shammas_k_dpt(eye.k_dpt), first, refraction_dpt
        ),
        "shammas_phl": lambda: shammas_power_dpt(
            eye.length_mm, shammas_hyperopic_k_dpt(eye.k_dpt), first, refraction_dpt
        ),
        "haigis_l_myopic": lambda: haigis_of_radius_power_dpt(
            eye, haigis_l_radius_mm(eye.k_dpt), constants, refraction_dpt
        ),
        "haigis_shammas_k": lambda: haigis_of_radius_power_dpt(
            eye, 337.5 / shammas_k_dpt(eye.k_dpt), constants, refraction_dpt
        ),
    }
    return others[key]()
