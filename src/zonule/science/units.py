"""Physical and optical constants, each with its source, and conversions between units."""

from __future__ import annotations

AQUEOUS_INDEX = 1.336
"""Refractive index of aqueous and vitreous that the thin-lens formulas share (haigis-2009)."""

CORNEAL_INDEX = 1.376
"""Refractive index of the corneal stroma (gullstrand-1909, liou-1997)."""

KERATOMETRIC_INDEX = 1.3375
"""The index by which most keratometers turn a radius into dioptres: 7.5 mm reads 45.0 D (shammas-2003)."""

SPECTACLE_VERTEX_MM = 12.0
"""Vertex distance at which refraction is reported (ISO spectacle practice)."""

REPORTED_LANE_M = 6.0
"""Length of the refraction lane to which every refraction is converted for reporting."""

MM_PER_M = 1000.0
UM_PER_MM = 1000.0


def um_to_mm(length_um: float) -> float:
    """A length in millimetres from one in micrometres.

    Examples
    --------
    >>> um_to_mm(540.0)
    0.54
    """
    return length_um / UM_PER_MM
