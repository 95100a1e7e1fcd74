"""From the composite length of most optical biometers to the sum of segments that others give.

Source: Cooke DL, Cooke TL. J Cataract Refract Surg 2019;45:351-354, from memory. A constant belongs to the
convention it was found with, and the adjustments for long eyes belong to composite lengths: a segmental
length has a type of its own, on which they fail.
"""

from __future__ import annotations

from typing import NamedTuple

from zonule.science.arrays import Numbers


class SegmentalLength(NamedTuple):
    """An axial length summed over segments, each with its own index."""

    length_mm: Numbers


def segmental_length(axial_length_mm: Numbers, lens_thickness_mm: Numbers) -> SegmentalLength:
    """The sum of segments that a composite length stands for, approximately.

    Parameters
    ----------
    axial_length_mm
        Axial length by one index for the whole eye, millimetres, 15 to 38.
    lens_thickness_mm
        Thickness of the natural lens, millimetres, 2.5 to 7.

    Returns
    -------
    SegmentalLength
        Longer than the composite length in short eyes, shorter in long ones; alike near 23.8 mm.

    Notes
    -----
    ``1.23853 + 0.95855 AL - 0.05467 LT``, cooke-2019.

    Examples
    --------
    >>> round(segmental_length(26.0, 4.5).length_mm, 3)
    25.915
    """
    return SegmentalLength(1.23853 + 0.95855 * axial_length_mm - 0.05467 * lens_thickness_mm)


def segmental_less_composite_mm(axial_length_mm: Numbers, lens_thickness_mm: Numbers) -> Numbers:
    """By how much the sum of segments is longer than a composite length.

    Parameters
    ----------
    axial_length_mm
        Axial length by one index for the whole eye, millimetres, 15 to 38.
    lens_thickness_mm
        Thickness of the natural lens, millimetres, 2.5 to 7.

    Returns
    -------
    Numbers
        Difference, millimetres: plus in short eyes, minus in long ones.

    Notes
    -----
    From `segmental_length` (cooke-2019).

    Examples
    --------
    >>> round(segmental_less_composite_mm(21.0, 4.8), 3)
    0.106
    """
    return segmental_length(axial_length_mm, lens_thickness_mm).length_mm - axial_length_mm
