"""Where a formula puts the lens: the part of it that double-K gives another cornea than the optics."""

from __future__ import annotations

from typing import NamedTuple

from zonule.science.arrays import Flags, Numbers


class LensPlace(NamedTuple):
    """The place of the thin lens behind a formula's corneal plane."""

    position_mm: Numbers
    flags: Flags
    """Bits of `zonule.science.lens_power.flags` that were raised on the way."""
