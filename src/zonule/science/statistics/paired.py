"""Two ways of doing one thing to the same eyes: which of them came closer more often."""

from __future__ import annotations

from math import comb


def mcnemar_p_value(only_first: int, only_second: int) -> float:
    """How often chance alone would part two equally good ways as far, or farther.

    Parameters
    ----------
    only_first
        Eyes in which only the first way came within the limit.
    only_second
        Eyes in which only the second did. Eyes in which both did, or neither, say nothing.

    Returns
    -------
    float
        0 to 1, two-sided. Two eyes of one patient are not independent: with both in the group it is too
        small.

    Notes
    -----
    Exact: the eyes that differ are tosses of a fair coin (mcnemar-1947, from memory). Proportions within
    steps of a quarter dioptre compared so need fewer eyes than means do (holladay-2022, from memory).

    Examples
    --------
    >>> mcnemar_p_value(8, 1), mcnemar_p_value(3, 3)
    (0.0390625, 1.0)
    """
    tosses, fewer = only_first + only_second, min(only_first, only_second)
    tail = sum(comb(tosses, count) for count in range(fewer + 1))
    return float(min(1.0, 2 * tail / 2**tosses))
