"""What an eye file asks about incision and cylinder: `incision` and `toric`, read and written."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field

from zonule.case.axis_looks import kept_meridian_deg
from zonule.case.incision import Incision
from zonule.case.toric import CorneaModelName, MarkingName, ToricWishes
from zonule.exchange.form_base import Degrees, Form, Number, Word

_LARGEST_LENS_CYLINDER_DPT = 20.0
_Cylinder = Annotated[Number, Field(ge=0.0, le=_LARGEST_LENS_CYLINDER_DPT)]


class IncisionForm(Form):
    """`incision`."""

    meridian_deg: Degrees
    width_mm: Annotated[Number, Field(ge=0.5, le=12.0)] | None = None
    flattening_dpt: Annotated[Number, Field(ge=-1.0, le=3.0)] | None = None


class ToricForm(Form):
    """`toric`."""

    lens_cylinders_dpt: Annotated[list[_Cylinder], Field(min_length=1, max_length=100)] | None = None
    cornea_model: CorneaModelName | None = Word
    marking: MarkingName | None = Word
    lens_cylinder_dpt: _Cylinder | None = None
    lens_meridian_deg: Degrees | None = None


def incision_record(form: IncisionForm | None) -> Incision | None:
    """The incision that a file states."""
    return None if form is None else Incision(form.meridian_deg, form.width_mm, form.flattening_dpt)


def toric_wishes_record(form: ToricForm | None) -> ToricWishes | None:
    """What a file asks about cylinder."""
    if form is None:
        return None
    written_deg = form.lens_meridian_deg
    return ToricWishes(
        cylinders_dpt=tuple(form.lens_cylinders_dpt or ()),
        cornea_model=form.cornea_model,
        marking=form.marking,
        lens_cylinder_dpt=form.lens_cylinder_dpt,
        lens_meridian_deg=None if written_deg is None else kept_meridian_deg(written_deg),
    )


def incision_as_dict(incision: Incision) -> dict[str, Any]:
    """The same written back."""
    return {
        "meridian_deg": incision.meridian_deg,
        "width_mm": incision.width_mm,
        "flattening_dpt": incision.flattening_dpt,
    }


def toric_wishes_as_dict(wishes: ToricWishes) -> dict[str, Any]:
    """The same written back."""
    return {
        "lens_cylinders_dpt": list(wishes.cylinders_dpt) or None,
        "cornea_model": wishes.cornea_model,
        "marking": wishes.marking,
        "lens_cylinder_dpt": wishes.lens_cylinder_dpt,
        "lens_meridian_deg": wishes.lens_meridian_deg,
    }
