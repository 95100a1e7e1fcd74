"""Scalars and arrays alike: the type of a number in a kernel, and how a kernel chooses."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Numbers: TypeAlias = float | NDArray[np.float64]
"""One number or an array of them; kernels broadcast."""

Flags: TypeAlias = int | NDArray[np.int64]
"""Bits that say what a kernel had to do to answer; zero means nothing unusual."""

Condition: TypeAlias = bool | np.bool_ | NDArray[np.bool_]


def select(condition: Condition, yes: Numbers, no: Numbers) -> Numbers:
    """The value of `yes` where `condition` holds, else of `no`.

    Kernels use this instead of `np.where` so that `lens_power.compiled` can give it a scalar meaning.

    Examples
    --------
    >>> float(select(2 > 1, 5.0, 7.0))
    5.0
    """
    chosen: NDArray[np.float64] = np.where(condition, yes, no)
    return chosen


def flag(condition: Condition, bit: int) -> Flags:
    """The flag `bit` where `condition` holds, else zero.

    Examples
    --------
    >>> int(flag(True, 4)), int(flag(False, 4))
    (4, 0)
    """
    bits: NDArray[np.int64] = np.where(condition, bit, 0)
    return bits
