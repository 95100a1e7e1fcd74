"""What an operation was meant to do to the astigmatism, what it did, and what is missing.

Each of these figures alone can mislead (koch-2020): small targets give huge ratios, and an error of angle
means little where the cylinder is small. The double-angle plot of the difference comes first.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from zonule.science.arrays import Condition, Flags, Numbers, flag, select
from zonule.science.astigmatism.vectors import Astigmatism

NO_TARGET = 1
"""No change was wanted: ratios to the target and the angle from it are not defined."""

NO_CHANGE = 2
"""Nothing changed: what was done has no angle."""

_NONE_DPT = 1e-9
"""Under this a vector is what rounding leaves of zero."""


class SurgicalVectors(NamedTuple):
    """One operation's target, its effect and how they compare; fields broadcast."""

    target: Astigmatism
    """Target-induced: wanted minus before."""
    induced: Astigmatism
    """Surgically induced: after minus before."""
    difference: Astigmatism
    """Target minus induced: what is still to be done."""
    magnitude_error_dpt: Numbers
    """Induced minus target; plus where too much was done."""
    angle_error_deg: Numbers
    """From target to induced in true degrees, -90 to 90, plus counter-clockwise."""
    correction_index: Numbers
    """Induced over target; 1 is ideal."""
    index_of_success: Numbers
    """Difference over target; 0 is ideal."""
    flattening_effect_dpt: Numbers
    """The part of what was done that lies along the target."""
    flattening_index: Numbers
    """That part over the target."""
    flags: Flags
    """`NO_TARGET`, `NO_CHANGE`."""


def surgical_vectors(before: Astigmatism, wanted: Astigmatism, after: Astigmatism) -> SurgicalVectors:
    """Target, effect and difference of an operation, with the indices made of them.

    Parameters
    ----------
    before, wanted, after
        Astigmatism before the operation, as it was to be and as it was found; one plane.

    Returns
    -------
    SurgicalVectors
        Ratios are nan with `NO_TARGET` where no change was wanted; the angle also with `NO_CHANGE`.

    Raises
    ------
    InconsistentRecordError
        If the three are not of one plane.

    Notes
    -----
    alpins-1993, alpins-2001 (from memory). The flattening effect ``|SIA| cos 2 AE`` is computed as the
    component of the induced vector along the target: zero, not undefined, where nothing was done.

    Examples
    --------
    >>> from zonule.science.astigmatism.vectors import Plane, steep
    >>> none, cornea = steep(0.0, 0.0, Plane.CORNEA), Plane.CORNEA
    >>> found = surgical_vectors(none, steep(1.58, 90.0, cornea), steep(1.78, 95.0, cornea))
    >>> round(float(found.correction_index), 3), round(float(found.angle_error_deg), 3)
    (1.127, 5.0)
    >>> round(float(found.difference.magnitude_dpt), 3)
    0.354
    """
    target, induced = wanted.minus(before), after.minus(before)
    difference = target.minus(induced)
    wished_dpt, done_dpt = target.magnitude_dpt, induced.magnitude_dpt
    no_target, no_change = wished_dpt < _NONE_DPT, done_dpt < _NONE_DPT
    along_dpt2 = target.x_dpt * induced.x_dpt + target.y_dpt * induced.y_dpt
    across_dpt2 = target.x_dpt * induced.y_dpt - target.y_dpt * induced.x_dpt
    angle_deg = np.rad2deg(np.arctan2(across_dpt2, along_dpt2)) / 2.0
    along_dpt = _ratio(along_dpt2, wished_dpt, no_target)
    return SurgicalVectors(
        target=target,
        induced=induced,
        difference=difference,
        magnitude_error_dpt=done_dpt - wished_dpt,
        angle_error_deg=select(no_target | no_change, np.nan, angle_deg),
        correction_index=_ratio(done_dpt, wished_dpt, no_target),
        index_of_success=_ratio(difference.magnitude_dpt, wished_dpt, no_target),
        flattening_effect_dpt=along_dpt,
        flattening_index=_ratio(along_dpt, wished_dpt, no_target),
        flags=flag(no_target, NO_TARGET) | flag(no_change, NO_CHANGE),
    )


def _ratio(part: Numbers, whole: Numbers, undefined: Condition) -> Numbers:
    return select(undefined, np.nan, part / select(undefined, 1.0, whole))
