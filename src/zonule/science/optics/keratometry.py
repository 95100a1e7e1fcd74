"""From corneal radius to dioptres and back, on a stated keratometric index."""

from __future__ import annotations

from zonule.science.arrays import Numbers
from zonule.science.units import KERATOMETRIC_INDEX, MM_PER_M


def corneal_power_dpt(radius_mm: Numbers, keratometric_index: Numbers = KERATOMETRIC_INDEX) -> Numbers:
    """The keratometric power of a cornea of this anterior radius.

    Parameters
    ----------
    radius_mm
        Anterior corneal radius, millimetres, above 0.
    keratometric_index
        Index of the scale, without unit. Default 1.3375 (7.5 mm reads 45.0 D; shammas-2003).

    Returns
    -------
    Numbers
        Power, dioptres.

    Examples
    --------
    >>> round(corneal_power_dpt(7.5), 10)
    45.0
    """
    return (keratometric_index - 1.0) * MM_PER_M / radius_mm


def corneal_radius_mm(power_dpt: Numbers, keratometric_index: Numbers = KERATOMETRIC_INDEX) -> Numbers:
    """The anterior corneal radius that a keratometer of this index calls `power_dpt`.

    Parameters
    ----------
    power_dpt
        Keratometric power, dioptres, above 0.
    keratometric_index
        Index with which the device worked, without unit. Default 1.3375.

    Returns
    -------
    Numbers
        Radius, millimetres.

    Examples
    --------
    >>> round(corneal_radius_mm(45.0), 10)
    7.5
    """
    return (keratometric_index - 1.0) * MM_PER_M / power_dpt


def implied_keratometric_index(radius_mm: Numbers, power_dpt: Numbers) -> Numbers:
    """The keratometric index that a pair of radius and power was made with.

    Parameters
    ----------
    radius_mm
        Anterior corneal radius, millimetres.
    power_dpt
        Power the device printed beside it, dioptres.

    Returns
    -------
    Numbers
        Index, without unit: ``1 + r K / 1000``.

    Examples
    --------
    >>> round(implied_keratometric_index(7.70, 43.12), 4)
    1.332
    """
    return 1.0 + radius_mm * power_dpt / MM_PER_M
