"""An invented catalogue of lenses: what their makers print, and what the three of the demo year really are.

Names, constants and designs are made up and resemble no product. A constant is what a lens of its kind might
have; no number here was found with an eye.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from zonule.case.biometry import LengthConvention
from zonule.case.lens import (
    ConstantsAccount,
    ConstantsNotes,
    Focus,
    Haptic,
    LensConstants,
    LensGeometry,
    LensModel,
    Material,
    PowerRange,
)
from zonule.science.optics.four_surface import ThickLens, symmetric_thick_lens
from zonule.science.units import AQUEOUS_INDEX, MM_PER_M

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

    def printed(self, lens_power_dpt: float) -> LensGeometry:
        """Its shape as a data sheet would print it, to hundredths of a millimetre."""
        lens = self.lens(lens_power_dpt)
        radius_mm = MM_PER_M * (self.refractive_index - AQUEOUS_INDEX) / float(lens.front_power_dpt)
        return LensGeometry(
            front_radius_mm=round(radius_mm, 2),
            back_radius_mm=-round(radius_mm, 2),
            refractive_index=self.refractive_index,
            thickness_mm=round(float(lens.thickness_mm), 3),
            at_power_dpt=lens_power_dpt,
        )


_FLINT = Design(refractive_index=1.47, vault_mm=-0.2)
_CHALK = Design(refractive_index=1.46, vault_mm=-0.3)
_SLATE = Design(refractive_index=1.52, vault_mm=-0.1)


def _model(name: str, powers: PowerRange, constants: LensConstants, optic_mm: float) -> LensModel:
    return LensModel(
        name=name,
        powers=powers,
        constants=constants,
        optic_mm=optic_mm,
        constants_from=_FROM,
        constants_lane_m=6.0,
        constants_length=LengthConvention.COMPOSITE,
        biometer_family="optical, one wavelength",
        focus=Focus.SINGLE,
    )


HAREBELL = replace(
    _model(
        "Harebell Flint",
        PowerRange(4.0, 34.0, 0.5),
        LensConstants(118.7, surgeon_factor=1.62, p_acd=5.37, haigis=(1.3, 0.4, 0.1), c_constant=0.39),
        optic_mm=6.0,
    ),
    overall_mm=13.0,
    haptic=Haptic.SINGLE_PIECE,
    material=Material.HYDROPHOBIC_ACRYLIC,
    geometry=_FLINT.printed(20.0),
)
SPEEDWELL = replace(
    _model("Speedwell Chalk", PowerRange(0.0, 32.0, 0.5), LensConstants(118.5), optic_mm=6.0),
    overall_mm=11.0,
    haptic=Haptic.PLATE,
    material=Material.HYDROPHILIC_ACRYLIC,
)
TEASEL = replace(
    _model(
        "Teasel Slate", PowerRange(5.0, 30.0, 0.5), LensConstants(119.1, surgeon_factor=1.85), optic_mm=6.5
    ),
    overall_mm=13.0,
    haptic=Haptic.SINGLE_PIECE,
    material=Material.HYDROPHOBIC_ACRYLIC,
)
HAREBELL_TORIC = replace(
    HAREBELL,
    name="Harebell Flint Toric",
    powers=PowerRange(6.0, 30.0, 0.5),
    cylinders_dpt=(1.0, 1.5, 2.25, 3.0, 3.75, 4.5, 5.25, 6.0),
    geometry=None,
)
_HAREBELL_NEAR_AND_FAR = replace(
    HAREBELL,
    name="Harebell Flint Near and Far",
    powers=PowerRange(10.0, 30.0, 0.5),
    focus=Focus.SEVERAL,
    geometry=None,
)
_BRAMBLE = replace(
    _model(
        "Bramble Shale",
        PowerRange(5.0, 30.0, 0.5),
        LensConstants(118.9, surgeon_factor=1.72, p_acd=5.5, c_constant=0.4),
        optic_mm=6.5,
    ),
    constants_notes=ConstantsNotes(
        surgeon_factor=ConstantsAccount(
            "invented: the demo clinic's own eyes", 4.0, LengthConvention.SEGMENTAL, "optical, swept source"
        )
    ),
    overall_mm=13.5,
    haptic=Haptic.THREE_PIECE,
    material=Material.HYDROPHOBIC_ACRYLIC,
    geometry=_SLATE.printed(20.0),
)
_SORREL = replace(
    _model("Sorrel Marl", PowerRange(-10.0, 5.0, 1.0), LensConstants(118.6), optic_mm=6.0),
    overall_mm=13.0,
    haptic=Haptic.THREE_PIECE,
    material=Material.HYDROPHOBIC_ACRYLIC,
)
_YARROW = replace(
    _model("Yarrow Quartz", PowerRange(6.0, 30.0, 0.5), LensConstants(118.3), optic_mm=6.0),
    overall_mm=13.0,
    haptic=Haptic.THREE_PIECE,
    material=Material.SILICONE,
)
_CAMPION = replace(
    _model("Campion Basalt", PowerRange(10.0, 30.0, 0.5), LensConstants(115.3, p_acd=3.3), optic_mm=5.5),
    overall_mm=12.5,
    haptic=Haptic.ANGLE_SUPPORTED,
    material=Material.PMMA,
)

LENSES = (HAREBELL, SPEEDWELL, TEASEL)
"""The lenses of the demo year without cylinder; eyes with enough of it get `HAREBELL_TORIC`."""
CATALOGUE = (*LENSES, HAREBELL_TORIC, _HAREBELL_NEAR_AND_FAR, _BRAMBLE, _SORREL, _YARROW, _CAMPION)
"""Everything that can be ordered."""
DESIGNS = {HAREBELL.name: _FLINT, HAREBELL_TORIC.name: _FLINT, SPEEDWELL.name: _CHALK, TEASEL.name: _SLATE}
