"""The plain table of lens power formulas.

To add one: a file of its own with a `thin_lens_eye`, one row here, its reference values under
`tests/reference/`, and its entry in `docs/sources.md`. CONTRIBUTING.md walks through an example.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from zonule.science.arrays import Numbers
from zonule.science.lens_power import haigis, hoffer_q, holladay_1, srk_t
from zonule.science.lens_power.constants import (
    haigis_from_a,
    p_acd_from_a_mm,
    surgeon_factor_from_a_mm,
)
from zonule.science.lens_power.thin_lens import ThinLensEye, inside_the_eye


class EyeNumbers(NamedTuple):
    """What the formulas read of an eye; each field one number or an array over eyes or draws."""

    axial_length_mm: Numbers
    mean_k_dpt: Numbers
    """On the 1.3375 scale."""
    anterior_chamber_depth_mm: Numbers
    """From the epithelium; nan where it was not measured."""


@dataclass(frozen=True, slots=True)
class Formula:
    """One row of the table."""

    key: str
    name: str
    constant_names: tuple[str, ...]
    """Names of its constants; the first is the one that is optimised to zero the mean error."""
    needs_chamber_depth: bool
    kernel: Callable[..., ThinLensEye]
    first_guess: Callable[[float], tuple[float, ...]]
    """The constants that an A-constant suggests."""
    converted_fit_for_odds: bool
    """Whether constants converted from A may enter odds and medians."""
    source: str
    """Key in docs/sources.md."""
    status: str
    """What has been checked against the paper, in words for the surgeon."""


FORMULAS: dict[str, Formula] = {
    formula.key: formula
    for formula in (
        Formula(
            key="srk_t",
            name="SRK/T",
            constant_names=("a_constant",),
            needs_chamber_depth=False,
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
            needs_chamber_depth=False,
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
            needs_chamber_depth=False,
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
            needs_chamber_depth=True,
            kernel=haigis.thin_lens_eye,
            first_guess=haigis_from_a,
            converted_fit_for_odds=False,
            source="haigis-2000",
            status="from memory, confirmed by agreement with other formulas",
        ),
    )
}


def thin_lens_eye(formula: Formula, eye: EyeNumbers, constants: Sequence[Numbers]) -> ThinLensEye:
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
    ThinLensEye
        Broadcast over eyes; flags are bits of `FormulaFlag`.

    Examples
    --------
    >>> eye = thin_lens_eye(FORMULAS["srk_t"], EyeNumbers(23.5, 43.5, 3.1), [118.4])
    >>> round(float(eye.lens_position_mm), 4)
    5.0942
    """
    depth = (eye.anterior_chamber_depth_mm,) if formula.needs_chamber_depth else ()
    return inside_the_eye(formula.kernel(eye.axial_length_mm, eye.mean_k_dpt, *depth, *constants))
