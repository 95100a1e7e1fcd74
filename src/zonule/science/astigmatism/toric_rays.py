"""What the cylinder of a lens is worth at the cornea, by exact rays through the eye as it was measured."""

from __future__ import annotations

from zonule.science.arrays import Numbers
from zonule.science.astigmatism.vectors import Astigmatism, Plane, SpheroCylinder, at_cornea
from zonule.science.lens_power.ray_traced import RayTracedEye, with_lens
from zonule.science.optics import pseudophakic_eye
from zonule.science.optics.four_surface import surface_power_dpt
from zonule.science.optics.pseudophakic_eye import PseudophakicEye
from zonule.science.units import AQUEOUS_INDEX, MM_PER_M

_TWO_CROSS_CYLINDERS = 2.0


def cylinder_at_cornea_by_rays(
    eye: RayTracedEye, lens_cylinder_dpt: Numbers, power_dpt: Numbers
) -> Astigmatism:
    """The cylinder that a toric lens makes at a round cornea of this eye.

    Parameters
    ----------
    eye
        The eye with its lens's place; its mean corneal radii are taken for both meridians.
    lens_cylinder_dpt
        Cylinder of the lens as labelled, dioptres, 0 or more; broadcasts.
    power_dpt
        Spherical equivalent of the lens as labelled, dioptres.

    Returns
    -------
    Astigmatism
        Plus cylinder of the glasses at the cornea for a lens with its marks at 180; its magnitude is what the
        lens takes away from a cornea steep along the marks.

    Notes
    -----
    Half of the cylinder is put on each side of the lens, so that the thick lens has ``P - T/2`` along its
    marks and ``P + T/2`` across; then the best glasses of exact rays through a pupil of 3 mm are taken
    (derived here). A label does not say which side is toric: all on the front is worth 2 to 5 % more than
    this, all on the back as much less. Meridional analysis with one effective lens position
    (`toric_lens.cylinder_at_cornea_dpt`) differs by what a thin lens behind a thin cornea leaves out.

    Examples
    --------
    >>> from zonule.science.lens_power.ray_traced import ray_traced_eye
    >>> eye = ray_traced_eye(23.5, 43.5, 3.1, 4.5, 0.54, 6.4, 0.39)
    >>> made = cylinder_at_cornea_by_rays(eye, 3.0, 21.0)
    >>> round(float(made.magnitude_dpt), 2), round(float(made.steep_meridian_deg), 6)
    (2.16, 90.0)
    """
    whole = _toric(with_lens(eye, power_dpt), lens_cylinder_dpt)
    seen = pseudophakic_eye.refraction(whole, eye.pupil)
    # J0 is plus where the glasses are stronger across: their plus cylinder then has its axis upright.
    glasses = Astigmatism(
        -_TWO_CROSS_CYLINDERS * seen.j0_dpt, -_TWO_CROSS_CYLINDERS * seen.j45_dpt, Plane.SPECTACLES
    )
    return at_cornea(SpheroCylinder(seen.spherical_equivalent_dpt, glasses)).correcting


def _toric(whole: PseudophakicEye, lens_cylinder_dpt: Numbers) -> PseudophakicEye:
    along, across = (_sides_mm(whole, sign * 0.5 * lens_cylinder_dpt) for sign in (-1.0, 1.0))
    front, back = (
        side._replace(radius_mm=radius_mm, other_radius_mm=other_mm, meridian_deg=180.0)
        for side, radius_mm, other_mm in zip((whole.lens_front, whole.lens_back), along, across, strict=True)
    )
    return whole._replace(lens_front=front, lens_back=back)


def _sides_mm(whole: PseudophakicEye, more_dpt: Numbers) -> tuple[Numbers, Numbers]:
    """Radii of front and back with which the lens is so much stronger, half of it by its front."""
    front, back = whole.lens_front, whole.lens_back
    index = front.index_after
    reduced_m = (back.vertex_mm - front.vertex_mm) / MM_PER_M / index
    front_dpt = surface_power_dpt(front.radius_mm, AQUEOUS_INDEX, index)
    back_dpt = surface_power_dpt(back.radius_mm, index, AQUEOUS_INDEX)
    whole_dpt = front_dpt + back_dpt - reduced_m * front_dpt * back_dpt + more_dpt
    front_dpt = front_dpt + 0.5 * more_dpt / (1.0 - reduced_m * back_dpt)
    back_dpt = (whole_dpt - front_dpt) / (1.0 - reduced_m * front_dpt)
    step_mm = MM_PER_M * (index - AQUEOUS_INDEX)
    return step_mm / front_dpt, -step_mm / back_dpt
