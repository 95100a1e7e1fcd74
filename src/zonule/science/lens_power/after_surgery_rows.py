"""Rows of the methods for corneas after laser or radial keratotomy.

Double-K is one method for three kinds of surgery, but what is done to the reading differs, so that each kind
has a row and a key of its own.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from zonule.science.lens_power import double_k, haigis_after_laser, masket, shammas
from zonule.science.lens_power.corrected_cornea import HYPEROPIC_LASER, MYOPIC_LASER
from zonule.science.lens_power.formula import Family, Formula
from zonule.science.lens_power.thin_lens import ThinLensEye
from zonule.science.lens_power.untouched_rows import HAIGIS, HOFFER_Q, HOLLADAY_1, SRK_T

RADIAL_KERATOTOMY = "radial_keratotomy"
_BEFORE = "mean_k_before_dpt"
_TREATED = "treated_at_cornea_dpt"
_FROM_MEMORY = "from memory, not yet checked against the paper"


def _operated(
    plain: Formula,
    key: str,
    name: str,
    kernel: Callable[..., ThinLensEye],
    cornea: str,
    source: str,
    status: str,
    also_reads: tuple[str, ...] = (),
) -> Formula:
    """A method that takes the constants of `plain`, and reads what it does and more."""
    return replace(
        plain,
        key=key,
        name=name,
        kernel=kernel,
        reads=(*plain.reads, *also_reads),
        source=source,
        status=status,
        family=Family.AFTER_SURGERY,
        corneas=(cornea,),
        may_lack=tuple(name for name in also_reads if name == _BEFORE),
    )


def _double_k(plain: Formula, kernel: Callable[..., ThinLensEye], cornea: str, ending: str = "") -> Formula:
    method, name = f"{plain.key}_double_k", f"{plain.name}, double-K"
    status = f"method read in the abstract; {plain.name} {plain.status}"
    row = _operated(plain, method + ending, name, kernel, cornea, "aramberri-2003", status, (_BEFORE,))
    return replace(row, told_as=method if ending else "")


AFTER_MYOPIC_LASER_ROWS = (
    _double_k(SRK_T, double_k.srk_t_after_myopic_laser, MYOPIC_LASER),
    _double_k(HOLLADAY_1, double_k.holladay_1_after_myopic_laser, MYOPIC_LASER),
    _double_k(HOFFER_Q, double_k.hoffer_q_after_myopic_laser, MYOPIC_LASER),
    _operated(
        SRK_T,
        "shammas_pl",
        "Shammas-PL",
        shammas.after_myopic_laser,
        MYOPIC_LASER,
        "shammas-2007",
        "corneal power read in the published text; the rest from memory",
    ),
    _operated(
        HAIGIS,
        "haigis_l_myopic",
        "Haigis-L",
        haigis_after_laser.haigis_l_myopic,
        MYOPIC_LASER,
        "haigis-l-2008",
        "from memory, meets the corneal power of Shammas within 0.26 D from 36 to 42 D",
    ),
    _operated(
        HAIGIS,
        "haigis_shammas_k",
        "Haigis with Shammas K",
        haigis_after_laser.haigis_shammas_k,
        MYOPIC_LASER,
        "wu-2017",
        "corneal power read in the published text; Haigis from memory, confirmed by agreement",
    ),
    _operated(
        SRK_T,
        "masket",
        "Masket",
        masket.masket_after_myopic_laser,
        MYOPIC_LASER,
        "masket-2006",
        _FROM_MEMORY,
        (_TREATED,),
    ),
    _operated(
        HOLLADAY_1,
        "modified_masket",
        "modified Masket",
        masket.modified_masket_after_laser,
        MYOPIC_LASER,
        "wang-2010",
        _FROM_MEMORY,
        (_TREATED,),
    ),
)

AFTER_HYPEROPIC_LASER_ROWS = (
    _double_k(SRK_T, double_k.srk_t_after_hyperopic_laser, HYPEROPIC_LASER, "_hyperopic"),
    _double_k(HOLLADAY_1, double_k.holladay_1_after_hyperopic_laser, HYPEROPIC_LASER, "_hyperopic"),
    _double_k(HOFFER_Q, double_k.hoffer_q_after_hyperopic_laser, HYPEROPIC_LASER, "_hyperopic"),
    _operated(
        SRK_T,
        "shammas_phl",
        "Shammas-PHL",
        shammas.after_hyperopic_laser,
        HYPEROPIC_LASER,
        "shammas-2013",
        "corneal power read in the published text; the rest from memory",
    ),
    _operated(
        HOFFER_Q,
        "masket_hyperopic",
        "Masket, hyperopic",
        masket.masket_after_hyperopic_laser,
        HYPEROPIC_LASER,
        "masket-2006",
        _FROM_MEMORY,
        (_TREATED,),
    ),
)

AFTER_RADIAL_KERATOTOMY_ROWS = (
    _double_k(SRK_T, double_k.srk_t_after_radial_keratotomy, RADIAL_KERATOTOMY, "_radial"),
    _double_k(HOLLADAY_1, double_k.holladay_1_after_radial_keratotomy, RADIAL_KERATOTOMY, "_radial"),
    _double_k(HOFFER_Q, double_k.hoffer_q_after_radial_keratotomy, RADIAL_KERATOTOMY, "_radial"),
)

AFTER_SURGERY_ROWS = (
    *AFTER_MYOPIC_LASER_ROWS,
    *AFTER_HYPEROPIC_LASER_ROWS,
    *AFTER_RADIAL_KERATOTOMY_ROWS,
)
