"""First guesses for the constants of a lens of which only the A-constant is known.

These join nominal constants of the ultrasound years; optimised optical constants do not satisfy them
(docs/sources.md, constant-conversion). A plan that uses one says so, and a converted Haigis set is kept out
of the odds: it runs about 1 D high in an average eye.
"""

from __future__ import annotations

from zonule.science.arrays import Numbers


def surgeon_factor_from_a_mm(a_constant: Numbers) -> Numbers:
    """The Holladay 1 surgeon factor that an A-constant suggests, millimetres.

    Parameters
    ----------
    a_constant
        SRK/T A-constant, without unit, 110 to 125.

    Returns
    -------
    Numbers
        Surgeon factor, millimetres.

    Notes
    -----
    ``SF = 0.5663 A - 65.600``, Holladay JT et al. 1988, from memory.

    Examples
    --------
    >>> round(surgeon_factor_from_a_mm(118.4), 4)
    1.4499
    """
    return 0.5663 * a_constant - 65.600


def p_acd_from_a_mm(a_constant: Numbers) -> Numbers:
    """The Hoffer Q personalised chamber depth that an A-constant suggests, millimetres.

    Parameters
    ----------
    a_constant
        SRK/T A-constant, without unit, 110 to 125.

    Returns
    -------
    Numbers
        pACD, millimetres.

    Notes
    -----
    ``pACD = 0.58357 A - 63.896``, Holladay 1988 / Hoffer 1993, from memory.

    Examples
    --------
    >>> round(p_acd_from_a_mm(118.4), 6)
    5.198688
    """
    return 0.58357 * a_constant - 63.896


def haigis_from_a(a_constant: float) -> tuple[float, float, float]:
    """The Haigis constants that an A-constant suggests: a first guess that runs about 1 D high.

    Parameters
    ----------
    a_constant
        SRK/T A-constant, without unit, 110 to 125.

    Returns
    -------
    tuple of float
        a0 in millimetres, and a1, a2 without unit.

    Notes
    -----
    ``a0 = 0.62467 A - 72.434`` with a1 0.4 and a2 0.1 (haigis-2000; confirmed numerically).

    Examples
    --------
    >>> [round(value, 4) for value in haigis_from_a(118.4)]
    [1.5269, 0.4, 0.1]
    """
    return (0.62467 * a_constant - 72.434, 0.4, 0.1)
