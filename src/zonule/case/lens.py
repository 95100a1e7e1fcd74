"""Intraocular lens models, as the clinic's own catalogue describes them."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal

from zonule.case.biometry import LengthConvention
from zonule.errors import OutOfRangeError


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
class LensConstants:
    """Constants of a lens for each formula that has its own; the rest are first guesses from A."""

    a_constant: float | None = None
    surgeon_factor: float | None = None
    p_acd: float | None = None
    haigis: tuple[float, float, float] | None = None

    def own(self, method: str) -> tuple[float, ...] | None:
        """The constants stated for this method itself, when there are any."""
        stated: dict[str, tuple[float | None, ...]] = {
            "srk_t": (self.a_constant,),
            "holladay_1": (self.surgeon_factor,),
            "hoffer_q": (self.p_acd,),
            "haigis": self.haigis or (None,),
        }
        values = stated.get(method, (None,))
        known = tuple(value for value in values if value is not None)
        return known if len(known) == len(values) else None


@dataclass(frozen=True, slots=True)
class LensModel:
    """A lens that the clinic can order."""

    name: str
    powers: PowerRange
    constants: LensConstants = field(default_factory=LensConstants)
    optic_mm: float | None = None
    material: str = ""
    constants_from: str = ""
    """Where the constants came from, in the clinic's words."""
    constants_lane_m: float | None = None
    """Lane of the refractions the constants were found with; absent counts as 6 m and is said."""
    constants_length: LengthConvention | None = None
    """Length convention the constants were found with."""
