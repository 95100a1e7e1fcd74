"""Rows of the methods that take the eye as it was measured, with no constant but the place of the lens."""

from __future__ import annotations

from dataclasses import replace

from zonule.science.lens_power import four_surface_lens, ray_traced
from zonule.science.lens_power.formula import Family, Formula, Optics

GENERIC_C = 0.39
"""Share of the old lens's thickness at which a bag lens lies, 0.38 to 0.40 from memory (olsen-2014)."""

FOUR_SURFACE = Formula(
    key="four_surface",
    name="Four surfaces",
    constant_names=("c_constant",),
    reads=(
        "axial_length_mm",
        "mean_k_dpt",
        "anterior_chamber_depth_mm",
        "lens_thickness_mm",
        "corneal_thickness_mm",
        "posterior_radius_mm",
    ),
    kernel=four_surface_lens.four_surface_eye,
    first_guess=lambda _a_constant: (GENERIC_C,),
    converted_fit_for_odds=False,
    source="langenbucher-2021",
    status="optics of any textbook, confirmed by thick-lens matrices; C from memory",
    optics=Optics(
        four_surface_lens.lens_power_dpt, four_surface_lens.refraction_dpt, four_surface_lens.inside_the_eye
    ),
    family=Family.ANATOMICAL,
    corneas=("none", "myopic_laser", "hyperopic_laser", "radial_keratotomy", "keratoconus", "graft"),
)

RAY_TRACED = replace(
    FOUR_SURFACE,
    key="ray_traced",
    name="Ray traced",
    kernel=ray_traced.ray_traced_eye,
    source="olsen-2012",
    status="exact rays, confirmed by an independent ray-tracing library; C and lens shape from memory",
    optics=Optics(ray_traced.lens_power_dpt, ray_traced.refraction_dpt, ray_traced.inside_the_eye),
    scatters_as=FOUR_SURFACE.key,
)

ANATOMICAL_ROWS = (FOUR_SURFACE, RAY_TRACED)
