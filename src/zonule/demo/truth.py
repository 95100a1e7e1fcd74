"""What an operation really gives: optics of thick surfaces, a lens placed by anatomy, and surprises.

The lens comes to rest where the anatomy of the natural lens says, ``ACD + C LT`` with C 0.39 (concept of
olsen-2014; the value from memory), which none of the
classical formulas assumes. No formula is right by construction.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from zonule.case.operation import Fixation
from zonule.case.refraction import Refraction
from zonule.demo.lenses import DESIGNS
from zonule.demo.population import TrueEye
from zonule.science.astigmatism.vectors import Astigmatism, Plane, SpheroCylinder, at_spectacles, steep
from zonule.science.optics.four_surface import Cornea, thick_lens_refraction_dpt, thin_lens_refraction_dpt
from zonule.science.optics.keratometry import corneal_radius_mm
from zonule.science.optics.vergence import refraction_at_cornea_dpt
from zonule.science.units import REPORTED_LANE_M

_SHARE_OF_LENS = 0.39
_FORWARD_MM = {Fixation.SULCUS: 0.6, Fixation.SULCUS_CAPTURED: 0.2}
"""How much further forward a lens outside the bag comes to rest: our choice."""
_TAIL = 3.4
"""Degrees of freedom of the surprises: as heavy-tailed as the published spread (lundstrom-2018)."""
_POSITION_SCALE_MM = 0.11
_READING_SCALE_DPT = 0.16
_LABEL_SD_DPT = 0.1
_POSTERIOR_CYLINDER_DPT = 0.3
"""The back of the cornea adds this much against the rule: its usual size, from memory."""
_CYLINDER_READING_SD_DPT = 0.15
_NATURAL_LENS_DPT, _NATURAL_LENS_SD_DPT = 19.5, 0.8
_NATURAL_SHARE = 0.55
"""A thin stand-in for the natural lens, only so that glasses before surgery have a size: our choice."""


@dataclass(frozen=True, slots=True)
class Surprise:
    """What chance adds to one operation."""

    position_mm: float
    reading_dpt: float
    label_dpt: float
    cylinder_dpt: tuple[float, float]
    """Scatter of the refracted cylinder, along 0/90 and 45/135."""


def drawn_surprise(rng: np.random.Generator) -> Surprise:
    """What chance adds to one operation: heavy-tailed in place and in reading."""
    return Surprise(
        position_mm=float(_POSITION_SCALE_MM * rng.standard_t(_TAIL)),
        reading_dpt=float(_READING_SCALE_DPT * rng.standard_t(_TAIL)),
        label_dpt=float(rng.normal(0.0, _LABEL_SD_DPT)),
        cylinder_dpt=(
            float(rng.normal(0.0, _CYLINDER_READING_SD_DPT)),
            float(rng.normal(0.0, _CYLINDER_READING_SD_DPT)),
        ),
    )


@dataclass(frozen=True, slots=True)
class Truth:
    """Everything that decides what one eye sees after its operation."""

    eye: TrueEye
    lens_model: str
    fixation: Fixation
    surprise: Surprise
    cornea: Astigmatism | None = None
    """Whole cornea after the operation; that of `usual_cornea` where nothing else is given."""

    def exact_equivalent_dpt(self, lens_power_dpt: float) -> float:
        """Spherical equivalent in a 6 m lane that a lens of this label leaves, unrounded."""
        design = DESIGNS[self.lens_model]
        lens = design.lens(lens_power_dpt + self.surprise.label_dpt)
        centre_mm = (
            self.eye.chamber_depth_mm
            + _SHARE_OF_LENS * self.eye.lens_thickness_mm
            + design.vault_mm
            + self.surprise.position_mm
            - _FORWARD_MM.get(self.fixation, 0.0)
        )
        front_mm = centre_mm - float(lens.thickness_mm) / 2.0
        far = thick_lens_refraction_dpt(true_cornea(self.eye), self.eye.axial_length_mm, front_mm, lens)
        return float(far) + 1.0 / REPORTED_LANE_M + self.surprise.reading_dpt

    def refraction_with(
        self, lens_power_dpt: float, lens_cylinder_dpt: float = 0.0, lens_meridian_deg: float = 180.0
    ) -> Refraction:
        """The refraction found in a 6 m lane after a lens of this label that lies so, as it is written."""
        equivalent = self.exact_equivalent_dpt(lens_power_dpt)
        worth_dpt = self._cylinder_at_cornea_dpt(lens_power_dpt, lens_cylinder_dpt)
        cornea = usual_cornea(self.eye) if self.cornea is None else self.cornea
        left = cornea.minus(steep(worth_dpt, lens_meridian_deg, Plane.CORNEA))
        at_cornea = SpheroCylinder(refraction_at_cornea_dpt(equivalent), left)
        cylinder_dpt, axis_deg = _written(at_spectacles(at_cornea).correcting, self.surprise)
        sphere_dpt = _to_quarters(equivalent - cylinder_dpt / 2.0)
        return Refraction(
            sphere_dpt, cylinder_dpt, axis_deg if cylinder_dpt else None, lane_m=REPORTED_LANE_M
        )

    def _cylinder_at_cornea_dpt(self, lens_power_dpt: float, lens_cylinder_dpt: float) -> float:
        """What the cylinder of a lens is worth: each of its two powers through the same thick eye."""
        low_dpt, high_dpt = (
            float(refraction_at_cornea_dpt(self.exact_equivalent_dpt(lens_power_dpt + side)))
            for side in (-lens_cylinder_dpt / 2.0, lens_cylinder_dpt / 2.0)
        )
        return low_dpt - high_dpt


def true_cornea(eye: TrueEye) -> Cornea:
    """The cornea of an eye, with its mean front radius."""
    radius_mm = float(corneal_radius_mm(eye.mean_k_dpt))
    return Cornea(radius_mm, eye.posterior_ratio * radius_mm, eye.corneal_thickness_mm)


def drawn_natural_lens_dpt(rng: np.random.Generator) -> float:
    """The power of a stand-in for a person's natural lenses, alike in both eyes."""
    return float(rng.normal(_NATURAL_LENS_DPT, _NATURAL_LENS_SD_DPT))


def glasses_before_surgery(rng: np.random.Generator, eye: TrueEye, natural_lens_dpt: float) -> Refraction:
    """The glasses a person brings, from a stand-in for the natural lens."""
    position_mm = eye.chamber_depth_mm + _NATURAL_SHARE * eye.lens_thickness_mm
    sphere = thin_lens_refraction_dpt(true_cornea(eye), eye.axial_length_mm, position_mm, natural_lens_dpt)
    cylinder_dpt, axis_deg = _written(usual_cornea(eye), drawn_surprise(rng))
    return Refraction(
        _to_quarters(float(sphere) - cylinder_dpt / 2.0), cylinder_dpt, axis_deg if cylinder_dpt else None
    )


def usual_cornea(eye: TrueEye) -> Astigmatism:
    """The whole cornea with a back of the usual size, where nothing else is known of it."""
    front = steep(eye.cylinder_dpt, eye.steep_meridian_deg, Plane.CORNEA)
    return front.plus(steep(_POSTERIOR_CYLINDER_DPT, 180.0, Plane.CORNEA))


def _written(correcting: Astigmatism, surprise: Surprise) -> tuple[float, float]:
    """Minus cylinder and axis of the glasses that correct this, in written steps."""
    along_dpt, across_dpt = surprise.cylinder_dpt
    seen = correcting.plus(Astigmatism(along_dpt, across_dpt, correcting.plane))
    axis_deg = 5.0 * round((float(seen.steep_meridian_deg) + 90.0) / 5.0) % 180.0 or 180.0
    return -_to_quarters(float(seen.magnitude_dpt)), axis_deg


def _to_quarters(value_dpt: float) -> float:
    return round(value_dpt * 4.0) / 4.0
