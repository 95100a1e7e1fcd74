"""One lens of the catalogue as a form: what is on record, typed out, and what was typed, as a lens."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import asdict

from zonule.case.biometry import LengthConvention
from zonule.case.lens import (
    CONSTANTS,
    HAIGIS_NAMES,
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
from zonule.errors import InputError
from zonule.web import forms

NOTED = {
    "a_constant": "A-constant",
    "surgeon_factor": "Surgeon factor",
    "p_acd": "pACD",
    "haigis": "Haigis",
    "c_constant": "C-constant",
}
_ACCOUNT = ("constants_from", "lane_m", "length", "biometer_family")
_SHAPE = {
    "front_radius_mm": "the front radius",
    "back_radius_mm": "the back radius",
    "refractive_index": "the refractive index",
    "thickness_mm": "the thickness",
    "at_power_dpt": "the power that has this shape",
}
_CONICS = {"front_conic": "the front conic constant", "back_conic": "the back conic constant"}
_TWO_OR_ONE = re.compile(r"\d{1,2},\d{1,2}")
FIELDS = (
    *("name", "from_dpt", "to_dpt", "step_dpt"),
    *("haptic", "material", "focus", "optic_mm", "overall_mm", "cylinders_dpt"),
    *("a_constant", "surgeon_factor", "p_acd", *HAIGIS_NAMES, "c_constant"),
    *("constants_from", "constants_lane_m", "constants_length", "biometer_family"),
    *(f"{name}-{part}" for name in NOTED for part in _ACCOUNT),
    *_SHAPE,
    *_CONICS,
)


def as_typed(lens: LensModel) -> dict[str, str]:
    """What somebody would have typed to get this lens."""
    shape = {} if lens.geometry is None else asdict(lens.geometry)
    held: dict[str, object] = {
        "name": lens.name,
        **asdict(lens.powers),
        **{name: getattr(lens, name) for name in ("haptic", "focus", "optic_mm", "overall_mm")},
        "material": lens.known_material,
        "cylinders_dpt": "  ".join(f"{one:g}" for one in lens.cylinders_dpt),
        **{name: getattr(lens.constants, name) for name in CONSTANTS if name != "haigis"},
        **dict(zip(HAIGIS_NAMES, lens.constants.haigis or (None, None, None), strict=True)),
        "constants_from": lens.constants_from,
        "constants_lane_m": lens.constants_lane_m,
        "constants_length": lens.constants_length,
        "biometer_family": lens.biometer_family,
        **_notes_as_typed(lens.constants_notes),
        **shape,
    }
    return {name: "" if value is None else str(value) for name, value in held.items()}


def typed_lens(form: Mapping[str, str]) -> LensModel:
    """The lens that was typed; an `InputError` says what to correct."""
    return LensModel(
        name=forms.needed_text(form, "name", "the name of the lens"),
        powers=PowerRange(
            forms.needed_number(form, "from_dpt", "the lowest power"),
            forms.needed_number(form, "to_dpt", "the highest power"),
            forms.needed_number(form, "step_dpt", "the step between powers"),
        ),
        constants=_constants(form),
        optic_mm=forms.number(form, "optic_mm", "the width of the optic"),
        material=forms.choice(form, "material", Material, "the material"),
        constants_from=forms.needed_text(form, "constants_from", "where the constants come from"),
        constants_lane_m=forms.number(form, "constants_lane_m", "the lane of the constants"),
        constants_length=forms.choice(form, "constants_length", LengthConvention, "the kind of length"),
        biometer_family=forms.text(form, "biometer_family"),
        constants_notes=ConstantsNotes(**{name: _account(form, name) for name in NOTED}),
        overall_mm=forms.number(form, "overall_mm", "the width from haptic to haptic"),
        haptic=forms.choice(form, "haptic", Haptic, "the haptic"),
        focus=forms.choice(form, "focus", Focus, "the focus"),
        cylinders_dpt=_cylinders(form),
        geometry=_shape(form),
    )


def _notes_as_typed(notes: ConstantsNotes) -> dict[str, object]:
    accounts = {name: getattr(notes, name) for name in NOTED}
    return {
        f"{name}-{part}": getattr(account, part)
        for name, account in accounts.items()
        if account is not None
        for part in _ACCOUNT
    }


def _constants(form: Mapping[str, str]) -> LensConstants:
    haigis = [forms.number(form, name, f"the Haigis constant {name}") for name in HAIGIS_NAMES]
    known = [value for value in haigis if value is not None]
    if len(known) not in {0, 3}:
        raise InputError("The three Haigis constants are valid only together: enter all of them, or none.")
    return LensConstants(
        a_constant=forms.number(form, "a_constant", "the A-constant"),
        surgeon_factor=forms.number(form, "surgeon_factor", "the surgeon factor"),
        p_acd=forms.number(form, "p_acd", "the pACD"),
        haigis=(known[0], known[1], known[2]) if known else None,
        c_constant=forms.number(form, "c_constant", "the C-constant"),
    )


def _account(form: Mapping[str, str], name: str) -> ConstantsAccount | None:
    """Where this constant came from, when anything was said of it alone."""
    words = NOTED[name]
    account = ConstantsAccount(
        forms.text(form, f"{name}-constants_from"),
        forms.number(form, f"{name}-lane_m", f"the lane beside {words}"),
        forms.choice(form, f"{name}-length", LengthConvention, f"the kind of length beside {words}"),
        forms.text(form, f"{name}-biometer_family"),
    )
    return None if account == ConstantsAccount() else account


def _cylinders(form: Mapping[str, str]) -> tuple[float, ...]:
    """Numbers with spaces or semicolons between them; a comma is a decimal one unless a space follows it.

    A comma that stands alone could part two cylinders as well as whole and decimals, and is asked.
    """
    text = forms.text(form, "cylinders_dpt")
    if _TWO_OR_ONE.fullmatch(text):
        first, second = text.split(",")
        raise InputError(
            f"{text} could be one cylinder of {first}.{second} D or two, {first} and {second} D. Write "
            f"{first}.{second}, or {first} {second} with a space between them."
        )
    typed = [one.rstrip(",") for one in re.split(r"[;\s]+", text) if one]
    values = (forms.number({"one": one}, "one", "the cylinders") for one in typed)
    return tuple(value for value in values if value is not None)


def _shape(form: Mapping[str, str]) -> LensGeometry | None:
    """The shape, when any of it was typed; then all of it is needed except the conic constants."""
    if not any(forms.text(form, name) for name in (*_SHAPE, *_CONICS)):
        return None
    needed = {name: forms.needed_number(form, name, words) for name, words in _SHAPE.items()}
    conics = {name: forms.number(form, name, words) or 0.0 for name, words in _CONICS.items()}
    return LensGeometry(**needed, **conics)
