"""The lens constant that would have made a set of predictions right on average."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from zonule.science.arrays import Numbers
from zonule.science.lens_power.formulas import EyeNumbers, Formula, seen_eye

SEARCH = 3.0
"""How far from the constant in use the right one is sought, in its own unit."""


def constant_for_zero_mean(
    formula: Formula,
    constants: Sequence[float],
    eyes: EyeNumbers,
    lens_powers_dpt: NDArray[np.float64],
    achieved_dpt: NDArray[np.float64],
) -> float | None:
    """The first constant of a formula for which these eyes' mean prediction error is zero.

    Parameters
    ----------
    formula
        A row of the table; its first constant is moved, the others are kept.
    constants
        The constants in use.
    eyes
        Numbers of the operated eyes, arrays of shape ``(eyes,)``.
    lens_powers_dpt
        Power implanted in each, dioptres, shape ``(eyes,)``.
    achieved_dpt
        Spherical equivalent found afterwards, dioptres, shape ``(eyes,)``.

    Returns
    -------
    float or None
        The constant, in its own unit; None when no constant within 3 of the one in use does it.

    Notes
    -----
    Exact root of the mean error, which is monotone in the constant, by Brent's method.

    Examples
    --------
    >>> from zonule.science.lens_power.formulas import FORMULAS
    >>> eyes = EyeNumbers(np.array([23.0, 23.5, 24.0]), np.array([44.0, 43.5, 43.0]), np.full(3, 3.1))
    >>> powers = np.array([22.0, 20.5, 19.0])
    >>> seen = seen_eye(FORMULAS["srk_t"], eyes, [119.0])
    >>> achieved = FORMULAS["srk_t"].optics.refraction_dpt(seen, powers)
    >>> constant = constant_for_zero_mean(FORMULAS["srk_t"], [118.4], eyes, powers, achieved)
    >>> round(constant, 6)
    119.0
    """
    from scipy.optimize import brentq

    def mean_error(first: Numbers) -> float:
        seen = seen_eye(formula, eyes, [first, *constants[1:]])
        return float(np.mean(achieved_dpt - np.asarray(formula.optics.refraction_dpt(seen, lens_powers_dpt))))

    low, high = constants[0] - SEARCH, constants[0] + SEARCH
    if not mean_error(low) * mean_error(high) < 0.0:
        return None
    return float(brentq(mean_error, low, high, xtol=1e-9))
