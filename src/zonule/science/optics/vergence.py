"""How a refraction changes with the plane and the distance at which it is measured."""

from __future__ import annotations

from zonule.science.arrays import Numbers
from zonule.science.units import MM_PER_M, REPORTED_LANE_M, SPECTACLE_VERTEX_MM


def refraction_at_cornea_dpt(refraction_dpt: Numbers, vertex_mm: Numbers = SPECTACLE_VERTEX_MM) -> Numbers:
    """The refraction at the corneal plane of one measured at spectacle distance.

    Parameters
    ----------
    refraction_dpt
        Spherical equivalent or meridional power at the spectacle plane, dioptres, plus for hyperopia.
    vertex_mm
        Distance from the back of the glasses to the cornea, millimetres, 0 or more. Default 12 mm,
        the ISO spectacle distance that all four classical formulas assume.

    Returns
    -------
    Numbers
        Refraction at the cornea, dioptres, in the broadcast shape of the inputs.

    Notes
    -----
    Exact vertex transfer, textbook optics: ``Rc = Rx / (1 - 0.001 V Rx)``.

    Examples
    --------
    >>> round(refraction_at_cornea_dpt(-10.0), 4)
    -8.9286
    """
    return refraction_dpt / (1.0 - vertex_mm / MM_PER_M * refraction_dpt)


def refraction_at_spectacles_dpt(at_cornea_dpt: Numbers, vertex_mm: Numbers = SPECTACLE_VERTEX_MM) -> Numbers:
    """The refraction at spectacle distance of one known at the corneal plane.

    Parameters
    ----------
    at_cornea_dpt
        Refraction at the corneal plane, dioptres.
    vertex_mm
        Vertex distance, millimetres. Default 12 mm.

    Returns
    -------
    Numbers
        Refraction at the spectacle plane, dioptres: the inverse of `refraction_at_cornea_dpt`.

    Notes
    -----
    Exact vertex transfer, textbook optics: ``Rx = Rc / (1 + 0.001 V Rc)``.

    Examples
    --------
    >>> round(refraction_at_spectacles_dpt(refraction_at_cornea_dpt(-10.0)), 10)
    -10.0
    """
    return at_cornea_dpt / (1.0 + vertex_mm / MM_PER_M * at_cornea_dpt)


def refraction_in_reported_lane_dpt(refraction_dpt: Numbers, lane_m: Numbers) -> Numbers:
    """The spherical equivalent that a 6 m lane would have given.

    Parameters
    ----------
    refraction_dpt
        Spherical equivalent found in the lane, dioptres.
    lane_m
        Length of the lane in which it was found, metres, above 0.

    Returns
    -------
    Numbers
        Spherical equivalent in a 6 m lane, dioptres.

    Notes
    -----
    ``SE_6m = SE_lane - 1/lane + 1/6`` (simpson-2014). A lane is corrected once, and only when it differs.

    Examples
    --------
    >>> round(refraction_in_reported_lane_dpt(0.0, 4.0), 4)
    -0.0833
    """
    return refraction_dpt - 1.0 / lane_m + 1.0 / REPORTED_LANE_M
