"""Three invented lenses: what their makers print, and what they really are.

Names, constants and designs are made up and resemble no product.
"""

from __future__ import annotations

from dataclasses import dataclass

from zonule.case.biometry import LengthConvention
from zonule.case.lens import LensConstants, LensModel, PowerRange
from zonule.science.optics.four_surface import ThickLens, symmetric_thick_lens

_FROM = "invented for the demo clinic"
_CENTRE_THICKNESS_MM = 0.55
_THICKER_MM_PER_DPT = 0.015


@dataclass(frozen=True, slots=True)
class Design:
    """What the planner is not told about a lens."""

    refractive_index: float
    vault_mm: float
    """How far behind the place the anatomy foretells this lens comes to rest; minus is in front of it."""

    def lens(self, lens_power_dpt: float) -> ThickLens:
        """The lens of this design with an equivalent power of `lens_power_dpt`."""
        thickness_mm = _CENTRE_THICKNESS_MM + _THICKER_MM_PER_DPT * abs(lens_power_dpt)
        return symmetric_thick_lens(lens_power_dpt, thickness_mm, self.refractive_index)


def _model(
    name: str, material: str, optic_mm: float, powers: PowerRange, constants: LensConstants
) -> LensModel:
    return LensModel(
        name=name,
        powers=powers,
        constants=constants,
        optic_mm=optic_mm,
        material=material,
        constants_from=_FROM,
        constants_lane_m=6.0,
        constants_length=LengthConvention.COMPOSITE,
    )


HAREBELL = _model(
    "Harebell Flint",
    "hydrophobic acrylic",
    6.0,
    PowerRange(4.0, 34.0, 0.5),
    LensConstants(a_constant=118.7, surgeon_factor=1.62, p_acd=5.37, haigis=(1.3, 0.4, 0.1)),
)
SPEEDWELL = _model(
    "Speedwell Chalk",
    "hydrophilic acrylic",
    6.0,
    PowerRange(0.0, 32.0, 0.5),
    LensConstants(a_constant=118.5),
)
TEASEL = _model(
    "Teasel Slate",
    "hydrophobic acrylic",
    6.5,
    PowerRange(5.0, 30.0, 0.5),
    LensConstants(a_constant=119.1, surgeon_factor=1.85),
)

LENSES = (HAREBELL, SPEEDWELL, TEASEL)
DESIGNS = {
    HAREBELL.name: Design(refractive_index=1.47, vault_mm=-0.2),
    SPEEDWELL.name: Design(refractive_index=1.46, vault_mm=-0.3),
    TEASEL.name: Design(refractive_index=1.52, vault_mm=-0.1),
}
