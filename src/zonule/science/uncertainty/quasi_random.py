"""Quasi-random draws that are the same whenever the input is the same."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

_PRIMES = (2, 3, 5, 19, 131, 97, 373, 61, 17, 353, 307, 29, 73, 137, 283, 41)
"""Not in order of size: the roots of 7 and 19, for one, march together for 256 points. After 5 each was
chosen, among those below 400 that fill the line evenly, as the one whose worst pair with those before fills
the square most evenly (docs/decisions/0002)."""
SHIFTS = 16
"""Independent random shifts; their disagreement is the standard error of the simulation."""


def shifted_normal_draws(draws: int, dimensions: int, seed: int, shifts: int = SHIFTS) -> NDArray[np.float64]:
    """Standard normal draws from randomly shifted Richtmyer sequences.

    Parameters
    ----------
    draws
        How many in all, a multiple of `shifts`.
    dimensions
        How many independent normal variables, 1 to 16; from six on they are hardly more even than random
        numbers (docs/decisions/0002).
    seed
        Any integer of 0 or more; the same seed gives the same draws on every machine.
    shifts
        How many independently shifted copies of the sequence make up the draws.

    Returns
    -------
    ndarray of float64
        Shape ``(dimensions, shifts, draws // shifts)``.

    Notes
    -----
    Points ``frac(i sqrt(p_j) + u_j)`` (richtmyer-1951), shifted after cranley-1976, and mapped by the
    inverse normal distribution. `scipy.stats.qmc` was left aside because importing it takes longer than a
    whole plan (docs/decisions).

    Examples
    --------
    >>> shifted_normal_draws(4096, 3, seed=7).shape
    (3, 16, 256)
    """
    roots = np.sqrt(np.array(_PRIMES[:dimensions], dtype=np.float64))
    steps = np.arange(1, draws // shifts + 1, dtype=np.float64)
    offsets = np.random.Generator(np.random.PCG64(seed)).random((dimensions, shifts))
    points = (roots[:, None, None] * steps + offsets[:, :, None]) % 1.0
    tiny = np.finfo(np.float64).tiny
    normal: NDArray[np.float64] = ndtri(np.maximum(points, tiny))
    return normal
