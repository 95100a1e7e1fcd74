"""Rows of the formulas for untouched corneas. Haigis has been published after radial keratotomy too."""

from __future__ import annotations

from dataclasses import replace

from zonule.science.lens_power import haigis, hoffer_q, holladay_1, srk_t, t2
from zonule.science.lens_power.constants import (
    haigis_from_a,
    p_acd_from_a_mm,
    surgeon_factor_from_a_mm,
)
from zonule.science.lens_power.formula import Formula

_LENGTH_AND_CORNEA = ("axial_length_mm", "mean_k_dpt")

SRK_T = Formula(
    key="srk_t",
    name="SRK/T",
    constant_names=("a_constant",),
    reads=_LENGTH_AND_CORNEA,
    kernel=srk_t.thin_lens_eye,
    first_guess=lambda a_constant: (a_constant,),
    converted_fit_for_odds=True,
    source="retzlaff-1990",
    status="from memory, confirmed by a published number",
)

HOLLADAY_1 = Formula(
    key="holladay_1",
    name="Holladay 1",
    constant_names=("surgeon_factor",),
    reads=_LENGTH_AND_CORNEA,
    kernel=holladay_1.thin_lens_eye,
    first_guess=lambda a_constant: (float(surgeon_factor_from_a_mm(a_constant)),),
    converted_fit_for_odds=True,
    source="holladay-1988",
    status="from memory, confirmed by agreement with other formulas",
)

HOFFER_Q = Formula(
    key="hoffer_q",
    name="Hoffer Q",
    constant_names=("p_acd",),
    reads=_LENGTH_AND_CORNEA,
    kernel=hoffer_q.thin_lens_eye,
    first_guess=lambda a_constant: (float(p_acd_from_a_mm(a_constant)),),
    converted_fit_for_odds=True,
    source="hoffer-1993",
    status="from memory, not yet checked against the paper",
)

HAIGIS = Formula(
    key="haigis",
    name="Haigis",
    constant_names=("a0", "a1", "a2"),
    reads=(*_LENGTH_AND_CORNEA, "anterior_chamber_depth_mm"),
    kernel=haigis.thin_lens_eye,
    first_guess=haigis_from_a,
    converted_fit_for_odds=False,
    source="haigis-2000",
    status="from memory, confirmed by agreement with other formulas",
    corneas=("none", "radial_keratotomy"),
)

T2 = replace(
    SRK_T,
    key="t2",
    name="T2",
    kernel=t2.thin_lens_eye,
    source="sheard-2010",
    status="from memory, not yet checked against the paper",
    repairs="srk_t",
)

UNTOUCHED_ROWS = (SRK_T, T2, HOLLADAY_1, HOFFER_Q, HAIGIS)
