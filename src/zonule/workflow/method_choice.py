"""Which methods are asked about an eye, and which must not be."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import isnan

from zonule.case.biometry import CorneaKind
from zonule.case.eye import CornealSurgery, Eye
from zonule.case.finding import Finding, note
from zonule.case.operated_cornea import untouched_only
from zonule.case.plan import Refused
from zonule.case.quantity import QUANTITIES
from zonule.science.lens_power.formulas import (
    FORMULAS,
    UNTOUCHED,
    EyeNumbers,
    Family,
    Formula,
    formulas_for,
    missing,
)
from zonule.science.uncertainty.operated_cornea import AFTER_KERATOTOMY_SCALE_DPT, AFTER_LASER_SCALE_DPT
from zonule.science.uncertainty.spread import ROUTINE_SCALE_DPT

_HISTORY = {"mean_k_before_dpt", "treated_at_cornea_dpt"}


@dataclass(frozen=True, slots=True)
class Choice:
    """The methods to ask, and those refused with their reason."""

    asked: tuple[Formula, ...]
    refused: tuple[Refused, ...]


def method_choice(eye: Eye, numbers: EyeNumbers) -> Choice:
    """Which methods suit this cornea, this length and what was measured."""
    asked: list[Formula] = []
    refused: list[Refused] = []
    for formula in FORMULAS.values():
        if not _concerns(formula, eye, numbers):
            continue
        finding = _why_refused(formula, eye, numbers)
        if finding is None:
            asked.append(formula)
        else:
            refused.append(Refused(formula.key, (finding,)))
    return Choice(tuple(asked), tuple(refused))


def methods_concerned(eye: Eye) -> tuple[str, ...]:
    """Keys of the methods that a plan of this eye would speak of, whatever was measured."""
    made_for = formulas_for(_surgery(eye)).values()
    return (*UNTOUCHED, *(one.key for one in made_for if one.family is Family.AFTER_SURGERY))


def suits(formula: Formula, eye: Eye) -> bool:
    """Whether what a method says may stand for this eye at all, apart from its constants and flags.

    A variant for long eyes stands beside its formula, not in its place; and lens constants are found with the
    power of the front of the cornea, not of the whole.
    """
    return formula.family is not Family.LONG_EYE and not _is_total(eye)


def published_scale_dpt(eye: Eye) -> float:
    """The scale of the published law for corneas like this one."""
    return _SCALES_DPT.get(eye.history.corneal_surgery, ROUTINE_SCALE_DPT)


_SCALES_DPT = {
    CornealSurgery.MYOPIC_LASER: AFTER_LASER_SCALE_DPT,
    CornealSurgery.HYPEROPIC_LASER: AFTER_LASER_SCALE_DPT,
    CornealSurgery.RADIAL_KERATOTOMY: AFTER_KERATOTOMY_SCALE_DPT,
}


def _surgery(eye: Eye) -> str:
    """Unknown surgery is planned as none, which a warning says."""
    surgery = eye.history.corneal_surgery
    return CornealSurgery.NONE if surgery is CornealSurgery.UNKNOWN else surgery


def _concerns(formula: Formula, eye: Eye, numbers: EyeNumbers) -> bool:
    """Whether a method is worth a word: made for this cornea, or usual and to be refused aloud.

    Few ordinary corneas have their back measured; nothing is lost where one has not.
    """
    if formula.family is Family.UNTOUCHED:
        return True
    if (
        formula.family is Family.ANATOMICAL
        and untouched_only(eye) is None
        and isnan(float(numbers.posterior_radius_mm))
    ):
        return False
    return _surgery(eye) in formula.corneas and float(numbers.axial_length_mm) > formula.lengths_from_mm


def _is_total(eye: Eye) -> bool:
    """Whether the keratometry is that of the whole cornea."""
    return eye.biometry.keratometry.kind is CorneaKind.TOTAL


def _why_refused(formula: Formula, eye: Eye, numbers: EyeNumbers) -> Finding | None:
    return next(_reasons(formula, eye, numbers), None)


def _reasons(formula: Formula, eye: Eye, numbers: EyeNumbers) -> Iterator[Finding]:
    where = f"methods.{formula.method}"
    touched = untouched_only(eye)
    if touched is not None and _surgery(eye) not in formula.corneas:
        yield touched
    if formula.family is Family.AFTER_SURGERY and _is_total(eye):
        yield note(
            "corrected-twice",
            f"{formula.name} corrects a reading of the front of the cornea. The power given is that of the "
            "whole cornea already; correcting it again would count one error twice.",
            where,
            "wang-2011-total",
        )
    if formula.family is Family.ANATOMICAL and _is_total(eye):
        yield note(
            "needs-front-radius",
            f"{formula.name} needs the radius of the front of the cornea. The power given is that of the "
            "whole cornea.",
            where,
            "wang-2011-total",
        )
    convention = eye.biometry.length_convention
    if formula.length_convention and convention is not None and convention != formula.length_convention:
        yield note(
            "length-adjusted-twice",
            f"{formula.name} adjusts lengths computed with one index for the eye. This length was computed "
            "part by part and must not be adjusted again.",
            where,
            formula.source,
        )
    lacking = missing(formula, numbers)
    if not lacking:
        return
    named = " and ".join(f"the {QUANTITIES[name].words}" for name in lacking)
    needs = f"{formula.name} needs {named}, which is missing or unclear."
    if "anterior_chamber_depth_mm" in lacking:
        yield note("needs-chamber-depth", needs, where, formula.source)
    elif _HISTORY & set(lacking):
        yield note("needs-history", needs, where, formula.source)
    else:
        yield note("needs-measurement", needs, where, formula.source)
