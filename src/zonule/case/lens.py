"""Intraocular lens models, as the clinic's own catalogue describes them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum

from zonule.case.biometry import LengthConvention
from zonule.errors import OutOfRangeError
from zonule.science.optics.four_surface import ThickLens, equivalent_lens_power_dpt, surface_power_dpt
from zonule.science.units import AQUEOUS_INDEX


class Material(StrEnum):
    """What the optic is made of."""

    HYDROPHOBIC_ACRYLIC = "hydrophobic acrylic"
    HYDROPHILIC_ACRYLIC = "hydrophilic acrylic"
    SILICONE = "silicone"
    PMMA = "pmma"

    @classmethod
    def _missing_(cls, value: object) -> Material | None:
        """Keep another word as it was written: an old record reads back with the hash it was signed under."""
        if not isinstance(value, str):
            return None
        kept = str.__new__(cls, value)
        kept._name_, kept._value_ = "ANOTHER", value
        return kept

    @property
    def known(self) -> Material | None:
        """The material of this word, whatever its capitals; None for a word that nobody here knows."""
        word = " ".join(self.value.casefold().split())
        return next((one for one in Material if one.value == word), None)


class Haptic(StrEnum):
    """How the lens holds itself in its place."""

    SINGLE_PIECE = "single piece"
    THREE_PIECE = "three piece"
    PLATE = "plate"
    ANGLE_SUPPORTED = "angle supported"
    IRIS_FIXATED = "iris fixated"


IN_FRONT = frozenset({Haptic.ANGLE_SUPPORTED, Haptic.IRIS_FIXATED})
"""Lenses that are not made for the capsular bag."""


class Focus(StrEnum):
    """For how many distances the lens is made."""

    SINGLE = "single"
    SEVERAL = "several"
    EXTENDED = "extended"


@dataclass(frozen=True, slots=True)
class PowerRange:
    """The labelled powers a lens is made in."""

    from_dpt: float
    to_dpt: float
    step_dpt: float

    def __post_init__(self) -> None:
        if not (0 < self.step_dpt <= 5 and -20 <= self.from_dpt <= self.to_dpt <= 60):  # noqa: PLR2004 - said in the sentence
            raise OutOfRangeError(
                "Lens powers run from -20 to 60 D, lowest first, in steps above 0 and up to 5 D."
            )

    @property
    def powers_dpt(self) -> tuple[float, ...]:
        """Every power made, exact in decimals."""
        first, step = Decimal(str(self.from_dpt)), Decimal(str(self.step_dpt))
        count = int((Decimal(str(self.to_dpt)) - first) / step) + 1
        return tuple(float(first + step * index) for index in range(count))


@dataclass(frozen=True, slots=True)
class LensGeometry:
    """The shape of the lens at one labelled power, as its maker states it."""

    front_radius_mm: float
    """Plus where the centre lies behind the surface: plus for a front that bulges towards the cornea."""
    back_radius_mm: float
    """By the same rule: minus for a back that bulges towards the retina."""
    refractive_index: float
    thickness_mm: float
    """On the axis."""
    at_power_dpt: float
    """The labelled power that has this shape."""
    front_conic: float = 0.0
    """Conic constant Q: 0 for a sphere, -1 for a paraboloid."""
    back_conic: float = 0.0

    @property
    def thick_lens(self) -> ThickLens:
        """The lens lying in aqueous, paraxially."""
        return ThickLens(
            surface_power_dpt(self.front_radius_mm, AQUEOUS_INDEX, self.refractive_index),
            surface_power_dpt(self.back_radius_mm, self.refractive_index, AQUEOUS_INDEX),
            self.thickness_mm,
            self.refractive_index,
        )

    @property
    def power_dpt(self) -> float:
        """The equivalent power that this shape has in aqueous."""
        return float(equivalent_lens_power_dpt(self.thick_lens))


HAIGIS_NAMES = ("a0", "a1", "a2")


@dataclass(frozen=True, slots=True)
class LensConstants:
    """Constants of a lens for each formula that has its own; the rest are first guesses from A."""

    a_constant: float | None = None
    surgeon_factor: float | None = None
    p_acd: float | None = None
    haigis: tuple[float, float, float] | None = None
    c_constant: float | None = None
    """Where the lens comes to rest: chamber depth plus C times the thickness of the natural lens."""

    def own(self, constant_names: Sequence[str]) -> tuple[float, ...] | None:
        """The constants of these names, such as ``("a0", "a1", "a2")``, when all of them are stated."""
        values = tuple(self._named(name) for name in constant_names)
        known = tuple(value for value in values if value is not None)
        return known if known and len(known) == len(values) else None

    def _named(self, name: str) -> float | None:
        if name in HAIGIS_NAMES:
            return None if self.haigis is None else self.haigis[HAIGIS_NAMES.index(name)]
        value: float | None = getattr(self, name, None) if name in CONSTANTS else None
        return value


CONSTANTS = ("a_constant", "surgeon_factor", "p_acd", "haigis", "c_constant")


@dataclass(frozen=True, slots=True)
class ConstantsAccount:
    """Where constants came from, and with what they were found; what is absent is unknown."""

    constants_from: str = ""
    """In the clinic's words."""
    lane_m: float | None = None
    """Lane of the refractions they were found with; absent counts as 6 m and is said."""
    length: LengthConvention | None = None
    """Length convention they were found with."""
    biometer_family: str = ""
    """The kind of biometer they were found with, in the clinic's words."""


@dataclass(frozen=True, slots=True)
class ConstantsNotes:
    """Constants that did not come from where the lens's other constants did."""

    a_constant: ConstantsAccount | None = None
    surgeon_factor: ConstantsAccount | None = None
    p_acd: ConstantsAccount | None = None
    haigis: ConstantsAccount | None = None
    c_constant: ConstantsAccount | None = None


@dataclass(frozen=True, slots=True)
class LensModel:
    """A lens that the clinic can order."""

    name: str
    powers: PowerRange
    constants: LensConstants = field(default_factory=LensConstants)
    optic_mm: float | None = None
    material: Material | None = None
    constants_from: str = ""
    """Where the constants came from, in the clinic's words."""
    constants_lane_m: float | None = None
    """Lane of the refractions the constants were found with; absent counts as 6 m and is said."""
    constants_length: LengthConvention | None = None
    """Length convention the constants were found with."""
    biometer_family: str = ""
    """The kind of biometer the constants were found with, in the clinic's words."""
    constants_notes: ConstantsNotes = field(default_factory=ConstantsNotes)
    """For constants with an account of their own, which then stands alone."""
    overall_mm: float | None = None
    """From the end of one haptic to that of the other."""
    haptic: Haptic | None = None
    focus: Focus | None = None
    cylinders_dpt: tuple[float, ...] = ()
    """Cylinders the lens is made in, at the lens plane, lowest first; none for a lens without cylinder."""
    geometry: LensGeometry | None = None

    def __post_init__(self) -> None:
        if self.material is not None and not self.material.strip():
            object.__setattr__(self, "material", None)

    @property
    def known_material(self) -> Material | None:
        """The material, if it is recorded in a word that is known here."""
        return None if self.material is None else self.material.known

    def account_of(self, constant_names: Sequence[str]) -> ConstantsAccount:
        """Where the constants of a formula came from: their own account, or that of the lens."""
        first = constant_names[0]
        group = "haigis" if first in HAIGIS_NAMES else first
        own: ConstantsAccount | None = getattr(self.constants_notes, group, None)
        return own or ConstantsAccount(
            self.constants_from, self.constants_lane_m, self.constants_length, self.biometer_family
        )
