"""Why a cylinder is left: what the lens's place and everything else each add, as vectors that sum up."""

from __future__ import annotations

from typing import NamedTuple

from zonule.science.arrays import Numbers
from zonule.science.astigmatism.rotation import best_rotation
from zonule.science.astigmatism.toric_lens import residual
from zonule.science.astigmatism.vectors import Astigmatism, Plane, SpheroCylinder, steep


class Parts(NamedTuple):
    """The residual that was seen, in parts that add up to it."""

    planned: Astigmatism
    """What was to be left if all had gone as planned."""
    turned: Astigmatism
    """What the lens adds by lying elsewhere than planned: ``2 T sin(turn)`` in size."""
    rest: Astigmatism
    """Everything else: cornea model, measurement, incision, lens label and lens position."""


class PartsWithoutPlan(NamedTuple):
    """What can be told when nobody knows the plan; both add up to the residual that was seen."""

    place: Astigmatism
    """What the lens adds by not lying where it would leave least: a turn takes it away."""
    strength: Astigmatism
    """What it leaves by being weaker or stronger than what it has to meet: no turn takes it away."""


def parts_of_residual(
    seen: Astigmatism,
    planned_cornea: Astigmatism,
    lens_at_cornea_dpt: Numbers,
    planned_meridian_deg: Numbers,
    lens_meridian_deg: Numbers,
) -> Parts:
    """The residual that was seen, split by what made it.

    Parameters
    ----------
    seen
        Cylinder of the refraction after surgery, at the cornea (`vectors.SpheroCylinder.correcting`).
    planned_cornea
        Total corneal astigmatism after the incision, as it was planned on.
    lens_at_cornea_dpt
        Cylinder of the lens at the cornea, dioptres.
    planned_meridian_deg, lens_meridian_deg
        Where its marks were to lie, and where they lie, degrees.

    Returns
    -------
    Parts
        Vectors at the cornea; their sum is `seen`.

    Raises
    ------
    InconsistentRecordError
        When a vector is not at the cornea.

    Notes
    -----
    With the residual ``A - T``: planned ``A' - T'``, turned ``T' - T``, rest ``A - A'`` (holladay-1998; the
    split is derived here).

    Examples
    --------
    >>> cornea = steep(2.0, 90.0, Plane.CORNEA)
    >>> seen = residual(cornea, 2.0, 100.0)
    >>> parts = parts_of_residual(seen, cornea, 2.0, 90.0, 100.0)
    >>> round(float(parts.turned.magnitude_dpt), 3), round(float(parts.rest.magnitude_dpt), 9)
    (0.695, 0.0)
    """
    planned = residual(planned_cornea, lens_at_cornea_dpt, planned_meridian_deg)
    here = steep(lens_at_cornea_dpt, lens_meridian_deg, Plane.CORNEA)
    turned = steep(lens_at_cornea_dpt, planned_meridian_deg, Plane.CORNEA).minus(here)
    return Parts(planned, turned, seen.minus(planned).minus(turned))


def parts_without_plan(
    seen: SpheroCylinder, lens_at_cornea_dpt: Numbers, lens_meridian_deg: Numbers
) -> PartsWithoutPlan:
    """The residual that was seen, split by what a turn can take away and what it cannot.

    Parameters
    ----------
    seen
        Refraction after surgery, at the cornea.
    lens_at_cornea_dpt
        Cylinder of the lens at the cornea, dioptres.
    lens_meridian_deg
        Where its marks lie, degrees.

    Returns
    -------
    PartsWithoutPlan
        Vectors at the cornea; their sum is the cylinder of `seen`.

    Raises
    ------
    InconsistentRecordError
        When the refraction is not at the cornea.

    Notes
    -----
    ``(A - T) = [T* - T] + [A - T*]`` with the lens at its best as ``T*``; the first is ``2 T sin(turn)`` in
    size, the second ``||A| - T|`` (holladay-1998, felipe-2011; the split is derived here).

    Examples
    --------
    >>> from zonule.science.astigmatism.vectors import sphero_cylinder
    >>> parts = parts_without_plan(sphero_cylinder(0.50, -1.00, 40.0, Plane.CORNEA), 2.0, 95.0)
    >>> round(float(parts.place.magnitude_dpt), 3), round(float(parts.strength.magnitude_dpt), 3)
    (0.759, 0.524)
    """
    strength = best_rotation(seen, lens_at_cornea_dpt, lens_meridian_deg).best.correcting
    return PartsWithoutPlan(seen.correcting.minus(strength), strength)
