"""How far the marks of a lens end from where they were meant: marking, torsion of the eye, later rotation.

Each is a scatter about zero. An average torsion is never taken off the axis: it is small against its spread,
and nobody can foretell its direction in one eye.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from zonule.science.astigmatism.corneal import Status

TORSION_SD_DEG = 4.85
"""Turn of the eye between sitting and lying, 107 cataract eyes (cyclotorsion-2020)."""

ROTATION_SD_DEG = 4.0
"""Turn of the lens after the operation.

Between the two loop-haptic lenses of lee-2018, whose mean turns of 2.7 and 3.8 degrees are those of a
normal law of 3.4 and 4.8; from memory.
"""


def rms_deg(mean_absolute_deg: float, sd_deg: float) -> float:
    """The root mean square of an error told by its mean size and the spread of its size.

    Parameters
    ----------
    mean_absolute_deg, sd_deg
        Mean and standard deviation of the absolute error, degrees, each 0 or more.

    Returns
    -------
    float
        Degrees: the standard deviation of the error about zero.

    Notes
    -----
    ``E[x^2] = E[|x|]^2 + Var[|x|]``, exact for any law.

    Examples
    --------
    >>> rms_deg(3.0, 4.0)
    5.0
    """
    return math.hypot(mean_absolute_deg, sd_deg)


AXIS_SD_DEG = rms_deg(3.3, 2.0)
"""Ink at the lens's meridian, counted off from the reference (visser-2011, from memory)."""
PLACEMENT_SD_DEG = rms_deg(2.6, 2.6)
"""Turning the lens to its marks (visser-2011, from memory)."""


@dataclass(frozen=True, slots=True)
class Marking:
    """One way of finding the meridian on the eye."""

    words: str
    sd_deg: float
    """From the planned meridian to the marks of the lens at the end of the operation, without torsion."""
    removes_torsion: bool
    """Whether the reference was made with the patient upright, or the eye was registered."""
    source: str
    status: Status


def _with_placement_deg(*parts_deg: float) -> float:
    return math.hypot(*parts_deg, PLACEMENT_SD_DEG)


_MEMORY = Status.FROM_MEMORY

MARKINGS = {
    "upright_ink": Marking(
        "ink, patient upright, then a ring",
        rms_deg(4.9, 2.1),
        removes_torsion=True,
        source="visser-2011",
        status=_MEMORY,
    ),
    "upright_pendulum": Marking(
        "pendulum marker, patient upright, then a ring",
        _with_placement_deg(1.8 * math.sqrt(math.pi / 2.0), AXIS_SD_DEG),
        removes_torsion=True,
        source="popp-2012",
        status=_MEMORY,
    ),
    "upright_bubble": Marking(
        "bubble marker, patient upright, then a ring",
        _with_placement_deg(2.9 * math.sqrt(math.pi / 2.0), AXIS_SD_DEG),
        removes_torsion=True,
        source="popp-2012",
        status=_MEMORY,
    ),
    "slit_beam": Marking(
        "slit beam turned to the meridian, patient upright",
        _with_placement_deg(rms_deg(2.03, 1.44)),
        removes_torsion=True,
        source="slit-beam-series",
        status=Status.CONFIRMED,
    ),
    # The published misalignment was found at a later visit, so the lens had turned: that is taken off.
    "registration": Marking(
        "registration of the eye to an upright picture",
        math.sqrt(rms_deg(4.03, 2.99) ** 2 - ROTATION_SD_DEG**2),
        removes_torsion=True,
        source="kodavoor-2020",
        status=Status.CONFIRMED,
    ),
    "lying": Marking(
        "counted off a ring with the patient lying, without an upright mark",
        _with_placement_deg(AXIS_SD_DEG),
        removes_torsion=False,
        source="visser-2011",
        status=_MEMORY,
    ),
}
"""By the name of `toric.marking` in an eye file."""

WIDEST = "lying"
"""What is taken where nobody said: the one whose meridian is least certain."""
