"""The plain table of lens power formulas.

To add one: a file of its own with a kernel, one row here, its reference values under
`tests/reference/`, and its entry in `docs/sources.md`. CONTRIBUTING.md walks through an example.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, NamedTuple

from zonule.science.arrays import Numbers
from zonule.science.lens_power import haigis, hoffer_q, holladay_1, srk_t, thin_lens
from zonule.science.lens_power.constants import (
    haigis_from_a,
    p_acd_from_a_mm,
    surgeon_factor_from_a_mm,
)


class EyeNumbers(NamedTuple):
    """What the formulas read of an eye; each field one number or an array over eyes or draws."""

    axial_length_mm: Numbers
    mean_k_dpt: Numbers
    """On the 1.3375 scale."""
    anterior_chamber_depth_mm: Numbers
    """From the epithelium; nan where it was not measured, as for everything below."""
    lens_thickness_mm: Numbers = math.nan
    corneal_thickness_mm: Numbers = math.nan
    posterior_radius_mm: Numbers = math.nan
    """Mean radius of the back of the cornea."""
    mean_k_before_dpt: Numbers = math.nan
    """Mean corneal power before surgery on the cornea, on the 1.3375 scale."""
    treated_at_cornea_dpt: Numbers = math.nan
    """Refractive change that surgery achieved, at the cornea; minus for a myopic treatment."""


class Family(StrEnum):
    """What kind of eye a formula was made for."""

    UNTOUCHED = "untouched"
    """An ordinary cornea, measured in front."""
    LONG_EYE = "long_eye"
    """The same with the length adjusted."""
    AFTER_SURGERY = "after_surgery"
    """A cornea reshaped by laser or cuts."""
    ANATOMICAL = "anatomical"
    """Both surfaces of the cornea and the place of the lens as measured, nothing tuned."""


class Optics(NamedTuple):
    """How an eye, as a formula sees it, turns a lens power into a refraction and back."""

    lens_power_dpt: Callable[..., Numbers]
    refraction_dpt: Callable[..., Numbers]
    inside_the_eye: Callable[[Any], Any]
    """The same eye, flagged and without an answer where the lens would lie outside it."""


THIN_LENS = Optics(thin_lens.lens_power_dpt, thin_lens.refraction_dpt, thin_lens.inside_the_eye)


@dataclass(frozen=True, slots=True)
class Formula:
    """One row of the table."""

    key: str
    name: str
    constant_names: tuple[str, ...]
    """Names of its constants; the first is the one that is optimised to zero the mean error."""
    reads: tuple[str, ...]
    """Fields of `EyeNumbers` that the kernel takes before the constants, in its order."""
    kernel: Callable[..., Any]
    """Gives the eye as the formula sees it."""
    first_guess: Callable[[float], tuple[float, ...]]
    """The constants that an A-constant suggests."""
    converted_fit_for_odds: bool
    """Whether constants converted from A may enter odds and medians."""
    source: str
    """Key in docs/sources.md."""
    status: str
    """What has been checked against the paper, in words for the surgeon."""
    optics: Optics = THIN_LENS
    family: Family = Family.UNTOUCHED
    corneas: tuple[str, ...] = ("none",)
    """Which corneas it may be used on, in the words of `corneal_surgery` in an eye file."""
    may_lack: tuple[str, ...] = ()
    """Those of `reads` that the kernel replaces, and flags, where they are not known."""
    takes_total_power: bool = False
    """Whether it wants the power of the whole cornea where the others want that of its front."""
    lengths_from_mm: float = 0.0
    """It is for eyes longer than this."""


_LENGTH_AND_CORNEA = ("axial_length_mm", "mean_k_dpt")

FORMULAS: dict[str, Formula] = {
    formula.key: formula
    for formula in (
        Formula(
            key="srk_t",
            name="SRK/T",
            constant_names=("a_constant",),
            reads=_LENGTH_AND_CORNEA,
            kernel=srk_t.thin_lens_eye,
            first_guess=lambda a_constant: (a_constant,),
            converted_fit_for_odds=True,
            source="retzlaff-1990",
            status="from memory, confirmed by a published number",
        ),
        Formula(
            key="holladay_1",
            name="Holladay 1",
            constant_names=("surgeon_factor",),
            reads=_LENGTH_AND_CORNEA,
            kernel=holladay_1.thin_lens_eye,
            first_guess=lambda a_constant: (float(surgeon_factor_from_a_mm(a_constant)),),
            converted_fit_for_odds=True,
            source="holladay-1988",
            status="from memory, confirmed by agreement with other formulas",
        ),
        Formula(
            key="hoffer_q",
            name="Hoffer Q",
            constant_names=("p_acd",),
            reads=_LENGTH_AND_CORNEA,
            kernel=hoffer_q.thin_lens_eye,
            first_guess=lambda a_constant: (float(p_acd_from_a_mm(a_constant)),),
            converted_fit_for_odds=True,
            source="hoffer-1993",
            status="from memory, not yet checked against the paper",
        ),
        Formula(
            key="haigis",
            name="Haigis",
            constant_names=("a0", "a1", "a2"),
            reads=(*_LENGTH_AND_CORNEA, "anterior_chamber_depth_mm"),
            kernel=haigis.thin_lens_eye,
            first_guess=haigis_from_a,
            converted_fit_for_odds=False,
            source="haigis-2000",
            status="from memory, confirmed by agreement with other formulas",
        ),
    )
}

UNTOUCHED = {key: formula for key, formula in FORMULAS.items() if formula.family is Family.UNTOUCHED}


def missing(formula: Formula, eye: EyeNumbers) -> tuple[str, ...]:
    """The numbers that `formula` needs and this one eye lacks.

    Parameters
    ----------
    formula
        A row of `FORMULAS`.
    eye
        Numbers of one eye.

    Returns
    -------
    tuple of str
        Names of fields of `EyeNumbers`.

    Examples
    --------
    >>> missing(FORMULAS["haigis"], EyeNumbers(23.5, 43.5, math.nan))
    ('anterior_chamber_depth_mm',)
    """
    needed = (name for name in formula.reads if name not in formula.may_lack)
    return tuple(name for name in needed if math.isnan(float(getattr(eye, name))))


def seen_eye(formula: Formula, eye: EyeNumbers, constants: Sequence[Numbers]) -> Any:
    """The eye as `formula` sees it, flagged and without a lens position where the lens would lie outside it.

    Parameters
    ----------
    formula
        A row of `FORMULAS`.
    eye
        Numbers of one eye, or of many; fields broadcast.
    constants
        Values in the order of `formula.constant_names`.

    Returns
    -------
    Any
        What the functions of `formula.optics` take, broadcast over eyes: a `ThinLensEye` for the classical
        formulas. Its `flags` are bits of `FormulaFlag`.

    Examples
    --------
    >>> eye = seen_eye(FORMULAS["srk_t"], EyeNumbers(23.5, 43.5, 3.1), [118.4])
    >>> round(float(eye.lens_position_mm), 4)
    5.0942
    """
    read = [getattr(eye, name) for name in formula.reads]
    return formula.optics.inside_the_eye(formula.kernel(*read, *constants))
