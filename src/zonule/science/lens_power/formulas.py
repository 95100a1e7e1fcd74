"""The plain table of lens power formulas.

To add one: a file of its own with a kernel, one row in the file of its family, its reference values in
`checks/values/`, its page in `docs/methods/` and its entry in `docs/sources.md`. CONTRIBUTING.md walks
through an example.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from zonule.science.arrays import Numbers
from zonule.science.lens_power.after_surgery_rows import AFTER_SURGERY_ROWS
from zonule.science.lens_power.anatomical_rows import ANATOMICAL_ROWS
from zonule.science.lens_power.formula import THIN_LENS, EyeNumbers, Family, Formula, Optics
from zonule.science.lens_power.long_eye_rows import LONG_EYE_ROWS
from zonule.science.lens_power.untouched_rows import UNTOUCHED_ROWS

__all__ = [
    "FORMULAS",
    "THIN_LENS",
    "UNTOUCHED",
    "EyeNumbers",
    "Family",
    "Formula",
    "Optics",
    "formulas_for",
    "missing",
    "seen_eye",
]

UNTOUCHED: dict[str, Formula] = {row.key: row for row in UNTOUCHED_ROWS}
"""The formulas for untouched corneas and lengths as measured."""

FORMULAS: dict[str, Formula] = {
    row.key: row for row in (*UNTOUCHED_ROWS, *LONG_EYE_ROWS, *AFTER_SURGERY_ROWS, *ANATOMICAL_ROWS)
}
"""Every row. Double-K has one for each kind of surgery: no key stands for two corrections."""


def formulas_for(cornea: str) -> dict[str, Formula]:
    """The rows that may be used on a cornea, by the key of their method.

    Parameters
    ----------
    cornea
        What has been done to it, in the words of `corneal_surgery` in an eye file.

    Returns
    -------
    dict
        Empty where nothing published can be used.

    Examples
    --------
    >>> list(formulas_for("keratoconus"))
    ['four_surface', 'ray_traced']
    """
    return {row.method: row for row in FORMULAS.values() if cornea in row.corneas}


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
