"""A lens, and the parts of one, from the form it came in."""

from __future__ import annotations

from typing import Any

from zonule.case.lens import (
    CONSTANTS,
    ConstantsAccount,
    ConstantsNotes,
    LensConstants,
    LensGeometry,
    LensModel,
    Material,
    PowerRange,
)
from zonule.exchange.lens_forms import (
    AccountForm,
    AccountsForm,
    CatalogueLensForm,
    LensForm,
    PowersForm,
    ShapeForm,
)


def lens_record(
    form: LensForm | CatalogueLensForm, powers: PowersForm, material: Material | None, constants_from: str
) -> LensModel:
    """The lens that a form describes; the two files differ in what they demand and in what they fill in."""
    return LensModel(
        name=form.model or "",
        powers=powers_record(powers),
        constants=LensConstants(**own_constants(form)),
        optic_mm=form.optic_mm,
        material=material,
        constants_from=constants_from,
        constants_lane_m=form.constants_lane_m,
        constants_length=form.constants_length_convention,
        biometer_family=form.biometer_family or "",
        constants_notes=notes_record(form.constants_notes),
        overall_mm=form.overall_mm,
        haptic=form.haptic,
        focus=form.focus,
        cylinders_dpt=tuple(form.cylinders_dpt or ()),
        geometry=geometry_record(form.geometry),
    )


def own_constants(form: LensForm | CatalogueLensForm) -> dict[str, Any]:
    """The constants that a form states, by name."""
    given = {name: getattr(form, name) for name in CONSTANTS}
    return {
        name: tuple(value) if isinstance(value, list) else value
        for name, value in given.items()
        if value is not None
    }


def powers_record(form: PowersForm) -> PowerRange:
    """The powers that a lens is made in."""
    return PowerRange(form.from_dpt, form.to_dpt, form.step_dpt)


def geometry_record(form: ShapeForm | None) -> LensGeometry | None:
    """The shape of a lens, if it is told."""
    return None if form is None else LensGeometry(**dict(form))


def notes_record(form: AccountsForm | None) -> ConstantsNotes:
    """Where single constants came from; an account that says nothing is none."""
    if form is None:
        return ConstantsNotes()
    return ConstantsNotes(**{name: _account(getattr(form, name)) for name in CONSTANTS})


def _account(form: AccountForm | None) -> ConstantsAccount | None:
    if form is None:
        return None
    account = ConstantsAccount(form.constants_from, form.lane_m, form.length_convention, form.biometer_family)
    return None if account == ConstantsAccount() else account
