"""What a formula had to do to answer, as bits, so that no array element is odd in silence."""

from __future__ import annotations

from enum import IntFlag


class FormulaFlag(IntFlag):
    """One bit for each way in which a formula leaves its ordinary course."""

    NONE = 0
    IMAGINARY_ROOT = 1
    """SRK/T: no real corneal height exists; the root is set to zero (Aramberri 2005, repair a)."""
    NEAR_IMAGINARY_ROOT = 2
    """SRK/T: the radicand is under 4 mm2, where lens position runs away with corneal power."""
    LENGTH_BEYOND_TURN = 4
    """SRK/T: axial length over 36 mm, where the corrected length falls as the eye grows."""
    RADIUS_CLAMPED = 8
    """Holladay 1: corneal radius under 7 mm is taken as 7 mm for lens position."""
    WIDTH_CLAMPED = 16
    """Holladay 1: beyond 25.33 mm every eye gets the same anterior segment width."""
    LENGTH_CLAMPED = 32
    """Hoffer Q: length outside 18.5 to 31 mm is clamped for lens position."""
    LENS_OUTSIDE_EYE = 64
    """The lens position is not inside the eye: no power is defined."""
    BEFORE_ASSUMED = 128
    """Double-K: nobody knows the cornea before surgery; 43.5 D is assumed for the place of the lens."""
    LONG_EYE_STEP = 256
    """The length is near, or short of, the one from which the adjustment for long eyes is published."""


# Plain integers, because compiled kernels read them as constants.
IMAGINARY_ROOT = int(FormulaFlag.IMAGINARY_ROOT)
NEAR_IMAGINARY_ROOT = int(FormulaFlag.NEAR_IMAGINARY_ROOT)
LENGTH_BEYOND_TURN = int(FormulaFlag.LENGTH_BEYOND_TURN)
RADIUS_CLAMPED = int(FormulaFlag.RADIUS_CLAMPED)
WIDTH_CLAMPED = int(FormulaFlag.WIDTH_CLAMPED)
LENGTH_CLAMPED = int(FormulaFlag.LENGTH_CLAMPED)
LENS_OUTSIDE_EYE = int(FormulaFlag.LENS_OUTSIDE_EYE)
BEFORE_ASSUMED = int(FormulaFlag.BEFORE_ASSUMED)
LONG_EYE_STEP = int(FormulaFlag.LONG_EYE_STEP)
