"""Rows of the formulas with the length adjusted, for long eyes with untouched corneas."""

from __future__ import annotations

from dataclasses import replace

from zonule.science.lens_power.formula import Family, Formula
from zonule.science.lens_power.long_eyes import ADJUSTMENTS, KERNELS
from zonule.science.lens_power.untouched_rows import HAIGIS, HOFFER_Q, HOLLADAY_1, SRK_T


def _adjusted(plain: Formula, year: int) -> Formula:
    key = f"{plain.key}_long_eye_{year}"
    return replace(
        plain,
        key=key,
        name=f"{plain.name}, long eye ({year})",
        kernel=KERNELS[key],
        source=ADJUSTMENTS[key].source,
        status="coefficients from memory, not yet checked against the paper",
        family=Family.LONG_EYE,
        corneas=("none",),
        lengths_from_mm=ADJUSTMENTS[key].lengths_from_mm,
        length_convention="composite",
    )


LONG_EYE_ROWS = (
    _adjusted(SRK_T, 2018),
    _adjusted(HOLLADAY_1, 2018),
    _adjusted(SRK_T, 2011),
    _adjusted(HOLLADAY_1, 2011),
    _adjusted(HOFFER_Q, 2011),
    _adjusted(HAIGIS, 2011),
)
