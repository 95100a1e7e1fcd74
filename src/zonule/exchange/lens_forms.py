"""The shape of a lens, in an eye file and in a catalogue: every key, its type and its words."""

from __future__ import annotations

from collections.abc import Callable
from enum import StrEnum
from typing import Annotated, Self

from pydantic import BeforeValidator, Field, model_validator

from zonule.case.biometry import LengthConvention
from zonule.case.lens import Focus, Haptic, Material, PowerRange
from zonule.case.lens_checks import FINEST_STEP_DPT
from zonule.errors import OutOfRangeError
from zonule.exchange.form_base import Form, Key, Number, Text, Version, Word
from zonule.exchange.refusal import did_you_mean, shown

MOST_LENSES = 1000


def _one_of(words: type[StrEnum]) -> Callable[[object], object]:
    """Reads one of these words; for another, a `ValueError` that names the nearest, or all."""

    def read(value: object) -> object:
        if isinstance(value, str) and value in list(words):
            return words(value)
        meant = did_you_mean(str(value).casefold(), words) or f" Write {', '.join(words)}."
        raise ValueError(f"{shown(value)} is not known here.{meant}")

    return read


MaterialWord = Annotated[Material, BeforeValidator(_one_of(Material))]
HapticWord = Annotated[Haptic, BeforeValidator(_one_of(Haptic))]
FocusWord = Annotated[Focus, BeforeValidator(_one_of(Focus))]


class PowersForm(Form):
    """`powers_dpt`."""

    from_dpt: Number = Field(alias="from")
    to_dpt: Number = Field(alias="to")
    step_dpt: Annotated[Number, Field(ge=FINEST_STEP_DPT)] = Field(alias="step")

    @model_validator(mode="after")
    def _possible(self) -> Self:
        try:
            PowerRange(self.from_dpt, self.to_dpt, self.step_dpt)
        except OutOfRangeError as error:
            raise ValueError(str(error)) from None
        return self


class ShapeForm(Form):
    """`geometry`."""

    front_radius_mm: Number
    back_radius_mm: Number
    refractive_index: Number
    thickness_mm: Number
    at_power_dpt: Number
    front_conic: Number = 0.0
    back_conic: Number = 0.0


class AccountForm(Form):
    """Where one constant came from."""

    constants_from: Text = ""
    lane_m: Annotated[Number, Field(gt=0.0)] | None = None
    length_convention: LengthConvention | None = Word
    biometer_family: Text = ""


class AccountsForm(Form):
    """`constants_notes`: constants that did not come from where the others did."""

    a_constant: AccountForm | None = None
    surgeon_factor: AccountForm | None = None
    p_acd: AccountForm | None = None
    haigis: AccountForm | None = None
    c_constant: AccountForm | None = None


class _AnyLensForm(Form):
    """What both files say of a lens in the same way."""

    a_constant: Number | None = None
    surgeon_factor: Number | None = None
    p_acd: Number | None = None
    haigis: Annotated[list[Number], Field(min_length=3, max_length=3)] | None = None
    c_constant: Number | None = None
    constants_from: Text | None = None
    constants_lane_m: Annotated[Number, Field(gt=0.0)] | None = None
    constants_length_convention: LengthConvention | None = Word
    biometer_family: Text | None = None
    constants_notes: AccountsForm | None = None
    optic_mm: Number | None = None
    overall_mm: Number | None = None
    haptic: HapticWord | None = None
    focus: FocusWord | None = None
    cylinders_dpt: Annotated[list[Number], Field(max_length=100)] | None = None
    geometry: ShapeForm | None = None


class LensForm(_AnyLensForm):
    """`lens` of an eye file: one of the catalogue, changed or not, or one that the file describes."""

    model: Text | None = None
    powers_dpt: PowersForm | None = None
    material: Text | None = None


class CatalogueLensForm(_AnyLensForm):
    """One of `lenses`."""

    model: Key
    powers_dpt: PowersForm
    material: MaterialWord | None = None


class LensCatalogueForm(Form):
    """A whole catalogue file."""

    zonule: Version
    lenses: Annotated[list[CatalogueLensForm], Field(min_length=1, max_length=MOST_LENSES)]
