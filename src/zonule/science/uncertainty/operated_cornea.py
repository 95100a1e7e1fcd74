"""How refractions scatter after surgery on the cornea.

The law is as heavy-tailed as that of untouched corneas (Student's t with 3.4 degrees of freedom); only its
scale is another. It is taken from published shares and quartiles, not from standard deviations: a deviation
hides the tails, and one surgeon's series is kinder than a second surgeon's patients.
"""

from __future__ import annotations

from zonule.science.uncertainty.spread import DEGREES_OF_FREEDOM

AFTER_LASER_WITHIN_HALF = 0.55
"""Share within half a dioptre to expect without history: series have 0.47 to 0.61 (after-laser-series)."""
AFTER_KERATOTOMY_QUARTILES_APART_DPT = 1.1
"""Distance of the quartiles of 19 eyes after keratotomy, planned with Haigis (radial-keratotomy-2022)."""


def scale_of_share_dpt(within: float, limit_dpt: float) -> float:
    """The scale of the t law that has this share within a limit.

    Parameters
    ----------
    within
        Fraction of eyes, above 0 and below 1.
    limit_dpt
        Half-width of the band, dioptres, above 0.

    Returns
    -------
    float
        Scale, dioptres.

    Examples
    --------
    >>> round(scale_of_share_dpt(AFTER_LASER_WITHIN_HALF, 0.5), 3)
    0.587
    """
    from scipy.special import stdtrit

    return limit_dpt / float(stdtrit(DEGREES_OF_FREEDOM, (1.0 + within) / 2.0))


AFTER_LASER_SCALE_DPT = scale_of_share_dpt(AFTER_LASER_WITHIN_HALF, 0.5)
"""It has 82 % within 1 D; series have 78 to 84 % (after-laser-series)."""
AFTER_KERATOTOMY_SCALE_DPT = scale_of_share_dpt(0.5, AFTER_KERATOTOMY_QUARTILES_APART_DPT / 2.0)
"""It has 46 % within 0.5 D and 75 % within 1 D; series have 33 to 73 % and 53 to 88 %
(radial-keratotomy-2022, radial-keratotomy-2015), their own mean errors included."""
