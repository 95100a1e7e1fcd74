"""Axial length adjusted in long eyes (Wang & Koch 2011 and 2018), for each formula its own.

Sources: Wang L, Shirayama M, Ma XJ, Kohnen T, Koch DD. J Cataract Refract Surg 2011;37:2018-2027; Wang L,
Koch DD. J Cataract Refract Surg 2018;44:1396-1397. Coefficients from memory; that there are two sets, and
that SRK/T and Holladay 1 have a newer one, was read. They belong to composite optical lengths and optimised
constants. Each has a step where it sets in.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, NamedTuple

from zonule.science.arrays import Condition, Flags, Numbers, flag
from zonule.science.lens_power.flags import LONG_EYE_STEP
from zonule.science.lens_power.haigis import thin_lens_eye as seen_by_haigis
from zonule.science.lens_power.hoffer_q import thin_lens_eye as seen_by_hoffer_q
from zonule.science.lens_power.holladay_1 import thin_lens_eye as seen_by_holladay_1
from zonule.science.lens_power.srk_t import thin_lens_eye as seen_by_srk_t
from zonule.science.lens_power.thin_lens import ThinLensEye

NEAR_STEP_MM = 0.5
"""How far beyond the step the plain and the adjusted answer are called undecided (ours)."""


def _holladay_1_of_2011_mm(axial_length_mm: Numbers) -> Numbers:
    return 0.8289 * axial_length_mm + 4.2663


def _haigis_of_2011_mm(axial_length_mm: Numbers) -> Numbers:
    return 0.9286 * axial_length_mm + 1.562


def _srk_t_of_2011_mm(axial_length_mm: Numbers) -> Numbers:
    return 0.8544 * axial_length_mm + 3.7222


def _hoffer_q_of_2011_mm(axial_length_mm: Numbers) -> Numbers:
    return 0.8530 * axial_length_mm + 3.5794


def _holladay_1_of_2018_mm(axial_length_mm: Numbers) -> Numbers:
    return 0.8170 * axial_length_mm + 4.7013


def _srk_t_of_2018_mm(axial_length_mm: Numbers) -> Numbers:
    return 0.8453 * axial_length_mm + 4.0773


@dataclass(frozen=True, slots=True)
class LengthAdjustment:
    """A published line from the measured length to the one that a formula should read."""

    lengths_from_mm: float
    """It is for eyes longer than this."""
    adjusted_mm: Callable[[Numbers], Numbers]
    source: str
    """Key in docs/sources.md."""


ADJUSTMENTS: dict[str, LengthAdjustment] = {
    "holladay_1_long_eye_2011": LengthAdjustment(25.0, _holladay_1_of_2011_mm, "wang-2011"),
    "haigis_long_eye_2011": LengthAdjustment(25.0, _haigis_of_2011_mm, "wang-2011"),
    "srk_t_long_eye_2011": LengthAdjustment(25.0, _srk_t_of_2011_mm, "wang-2011"),
    "hoffer_q_long_eye_2011": LengthAdjustment(25.0, _hoffer_q_of_2011_mm, "wang-2011"),
    "holladay_1_long_eye_2018": LengthAdjustment(26.5, _holladay_1_of_2018_mm, "wang-2018"),
    "srk_t_long_eye_2018": LengthAdjustment(27.0, _srk_t_of_2018_mm, "wang-2018"),
}
"""By the key of the row that uses it."""


class BothLengths(NamedTuple):
    """The length as measured and as adjusted, to be shown side by side near the step."""

    measured_mm: Numbers
    adjusted_mm: Numbers
    near_step: Condition
    """Whether the eye is not clearly beyond the length from which the adjustment holds."""


def both_lengths(adjustment: LengthAdjustment, axial_length_mm: Numbers) -> BothLengths:
    """The length that plain formula and adjusted formula read.

    Parameters
    ----------
    adjustment
        One of `ADJUSTMENTS`.
    axial_length_mm
        Composite axial length, millimetres.

    Returns
    -------
    BothLengths
        Their difference at the threshold is the step of the published line.

    Examples
    --------
    >>> both = both_lengths(ADJUSTMENTS["haigis_long_eye_2011"], 25.0)
    >>> round(both.adjusted_mm - both.measured_mm, 2), both.near_step
    (-0.22, True)
    """
    near_step = axial_length_mm < adjustment.lengths_from_mm + NEAR_STEP_MM
    return BothLengths(axial_length_mm, adjustment.adjusted_mm(axial_length_mm), near_step)


def _two_measure_kernel(key: str, plain: Callable[..., ThinLensEye]) -> Callable[..., ThinLensEye]:
    adjusted, step_end_mm = ADJUSTMENTS[key].adjusted_mm, _step_end_mm(key)

    def kernel(axial_length_mm: Numbers, mean_k_dpt: Numbers, constant: Numbers) -> ThinLensEye:
        seen = plain(adjusted(axial_length_mm), mean_k_dpt, constant)
        return _marked(seen, flag(axial_length_mm < step_end_mm, LONG_EYE_STEP))

    return kernel


def _haigis_kernel(key: str) -> Callable[..., ThinLensEye]:
    adjusted, step_end_mm = ADJUSTMENTS[key].adjusted_mm, _step_end_mm(key)

    def kernel(
        axial_length_mm: Numbers,
        mean_k_dpt: Numbers,
        anterior_chamber_depth_mm: Numbers,
        a0_mm: Numbers,
        a1: Numbers,
        a2: Numbers,
    ) -> ThinLensEye:
        length_mm = adjusted(axial_length_mm)
        seen = seen_by_haigis(length_mm, mean_k_dpt, anterior_chamber_depth_mm, a0_mm, a1, a2)
        return _marked(seen, flag(axial_length_mm < step_end_mm, LONG_EYE_STEP))

    return kernel


def _step_end_mm(key: str) -> float:
    return ADJUSTMENTS[key].lengths_from_mm + NEAR_STEP_MM


def _marked(seen: ThinLensEye, flags: Flags) -> ThinLensEye:
    return ThinLensEye(
        seen.corneal_power_dpt,
        seen.optical_length_mm,
        seen.lens_position_mm,
        seen.flags | flags,
        seen.refraction_gain,
        seen.power_shift_dpt,
    )


KERNELS: dict[str, Callable[..., Any]] = {
    "srk_t_long_eye_2011": _two_measure_kernel("srk_t_long_eye_2011", seen_by_srk_t),
    "srk_t_long_eye_2018": _two_measure_kernel("srk_t_long_eye_2018", seen_by_srk_t),
    "holladay_1_long_eye_2011": _two_measure_kernel("holladay_1_long_eye_2011", seen_by_holladay_1),
    "holladay_1_long_eye_2018": _two_measure_kernel("holladay_1_long_eye_2018", seen_by_holladay_1),
    "hoffer_q_long_eye_2011": _two_measure_kernel("hoffer_q_long_eye_2011", seen_by_hoffer_q),
    "haigis_long_eye_2011": _haigis_kernel("haigis_long_eye_2011"),
}
"""Kernels of the rows: they adjust every length they get, and flag one short of the step or near it."""
