"""Parts of a lens from the form it came in."""

from __future__ import annotations

from zonule.case.lens import CONSTANTS, ConstantsAccount, ConstantsNotes, LensGeometry, PowerRange
from zonule.exchange.lens_forms import AccountForm, AccountsForm, PowersForm, ShapeForm


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
