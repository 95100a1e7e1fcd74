"""What was measured of one eye."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from zonule.case.measured import Measured
from zonule.science.astigmatism.corneal import anterior_astigmatism
from zonule.science.astigmatism.vectors import HALF_TURN_DEG, Astigmatism
from zonule.science.optics.keratometry import corneal_power_dpt, corneal_radius_mm


class Method(StrEnum):
    """How the length was measured."""

    OPTICAL = "optical"
    IMMERSION = "immersion"
    CONTACT = "contact"


class LengthConvention(StrEnum):
    """Whether the length was computed with one index for the eye or one for each part."""

    COMPOSITE = "composite"
    SEGMENTAL = "segmental"


class CorneaKind(StrEnum):
    """What the keratometry describes."""

    ANTERIOR = "anterior"
    TOTAL = "total"


class ChamberFrom(StrEnum):
    """Where the chamber depth starts."""

    EPITHELIUM = "epithelium"
    ENDOTHELIUM = "endothelium"


class LensStatus(StrEnum):
    """The lens now in the eye."""

    CATARACT = "cataract"
    CLEAR = "clear"
    PSEUDOPHAKIC = "pseudophakic"
    APHAKIC = "aphakic"


class Vitreous(StrEnum):
    """What fills the eye behind the lens."""

    NATURAL = "natural"
    VITRECTOMISED = "vitrectomised"
    SILICONE_OIL = "silicone_oil"
    GAS = "gas"


@dataclass(frozen=True, slots=True)
class Meridian:
    """One principal meridian of a cornea, as the device gave it: a radius, a power, or both."""

    radius_mm: Measured | None = None
    power_dpt: Measured | None = None

    @property
    def is_measured(self) -> bool:
        """Whether there is anything to go by."""
        return self.radius_mm is not None or self.power_dpt is not None


_SMALLEST_RADIUS_MM = 1e-3
"""Nothing smaller is a radius in millimetres, and its power could not be computed with."""


def _as_radius(radius_mm: float) -> float | None:
    return radius_mm if radius_mm >= _SMALLEST_RADIUS_MM else None


@dataclass(frozen=True, slots=True)
class Keratometry:
    """The two principal meridians of the anterior cornea; they travel together."""

    flat: Meridian
    steep: Meridian
    steep_meridian_deg: float | None = None
    keratometric_index: float | None = None
    """The index by which the device made dioptres; needed for powers given without a radius."""
    kind: CorneaKind = CorneaKind.ANTERIOR

    def radius_mm(self, meridian: Meridian) -> float | None:
        """The radius of a meridian: as measured, or from power and index; radius is primary.

        None for one that is not above zero, which no surface has; it gets no power either.
        """
        if meridian.radius_mm is not None:
            return _as_radius(meridian.radius_mm.value)
        if meridian.power_dpt is None or self.keratometric_index is None or meridian.power_dpt.value <= 0:
            return None
        return _as_radius(float(corneal_radius_mm(meridian.power_dpt.value, self.keratometric_index)))

    @property
    def radii_mm(self) -> tuple[float, float] | None:
        """Flat and steep radius, when both can be had."""
        flat, steep = self.radius_mm(self.flat), self.radius_mm(self.steep)
        return None if flat is None or steep is None else (flat, steep)

    @property
    def powers_dpt(self) -> tuple[float, float] | None:
        """Flat and steep power on the 1.3375 scale, from radii."""
        radii = self.radii_mm
        if radii is None:
            return None
        return float(corneal_power_dpt(radii[0])), float(corneal_power_dpt(radii[1]))

    @property
    def mean_k_dpt(self) -> float | None:
        """Mean of the two dioptres on the 1.3375 scale (docs/explanation/conventions.md)."""
        powers = self.powers_dpt
        return None if powers is None else (powers[0] + powers[1]) / 2.0

    @property
    def astigmatism(self) -> Astigmatism | None:
        """The reading as a vector, on the 1.3375 scale; None without both powers and a steep meridian.

        A round cornea needs no meridian.
        """
        powers, meridian_deg = self.powers_dpt, self.steep_meridian_deg
        if powers is None or (meridian_deg is None and powers[0] != powers[1]):
            return None
        return anterior_astigmatism(*powers, HALF_TURN_DEG if meridian_deg is None else meridian_deg)

    def change_to(self, after: Keratometry | None) -> Astigmatism | None:
        """What a later reading has more than this; None unless both are of one kind and can be vectors."""
        if after is None or after.kind is not self.kind:
            return None
        was, is_now = self.astigmatism, after.astigmatism
        return None if was is None or is_now is None else is_now.minus(was)


@dataclass(frozen=True, slots=True)
class OtherCornea:
    """What another device read of the same cornea; nothing is planned from it."""

    keratometry: Keratometry
    device: str = ""
    measured_on: date | None = None


@dataclass(frozen=True, slots=True)
class Biometry:
    """One visit's measurements of one eye; what was not measured is absent."""

    keratometry: Keratometry
    axial_length_mm: Measured | None = None
    anterior_chamber_depth_mm: Measured | None = None
    chamber_from: ChamberFrom | None = None
    lens_thickness_mm: Measured | None = None
    corneal_thickness_um: Measured | None = None
    white_to_white_mm: Measured | None = None
    posterior_flat_radius_mm: Measured | None = None
    posterior_steep_radius_mm: Measured | None = None
    posterior_steep_meridian_deg: float | None = None
    """Meridian of the shorter radius of the back."""
    measured_on: date | None = None
    device: str = ""
    method: Method | None = None
    length_convention: LengthConvention | None = None
    lens_status: LensStatus | None = None
    vitreous: Vitreous | None = None
    repeats: dict[str, tuple[float, ...]] | None = None
    """Single readings by the name of their quantity."""
    other_corneas: tuple[OtherCornea, ...] = ()
    """The same cornea by other devices, to compare with the keratometry."""

    def measured(self, quantity: str) -> Measured | None:
        """The measurement of this name, such as `axial_length_mm` or `flat_power_dpt`, if there is one."""
        meridians = {"flat": self.keratometry.flat, "steep": self.keratometry.steep}
        name, _, rest = quantity.partition("_")
        found = getattr(meridians.get(name), rest, None) or getattr(self, quantity, None)
        return found if isinstance(found, Measured) else None

    @property
    def cornea_device(self) -> str:
        """The device of the keratometry, which may have come from another file than the length."""
        flat = self.keratometry.flat
        cornea = flat.radius_mm or flat.power_dpt
        return self.device if cornea is None else cornea.device or self.device

    @property
    def cornea_measured_on(self) -> date | None:
        """The day of the keratometry."""
        flat = self.keratometry.flat
        cornea = flat.radius_mm or flat.power_dpt
        return self.measured_on if cornea is None else cornea.on or self.measured_on

    @property
    def chamber_from_epithelium_mm(self) -> float | None:
        """Chamber depth from the epithelium; an aqueous depth needs the corneal thickness to become one."""
        depth = self.anterior_chamber_depth_mm
        if depth is None or self.chamber_from is None:
            return None
        if self.chamber_from is ChamberFrom.EPITHELIUM:
            return depth.value
        if self.corneal_thickness_um is None:
            return None
        return depth.value + self.corneal_thickness_um.value / 1000.0

    @property
    def posterior_radius_mm(self) -> float | None:
        """Radius of the back of the cornea whose power is the mean of its two meridians."""
        flat, steep = self.posterior_flat_radius_mm, self.posterior_steep_radius_mm
        if flat is None or steep is None or min(flat.value, steep.value) <= 0:
            return None
        return 2.0 / (1.0 / flat.value + 1.0 / steep.value)
