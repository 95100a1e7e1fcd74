"""The review file: a toric lens in an eye that was refracted (docs/reference/review-file.md)."""

from __future__ import annotations

from collections.abc import Iterator
from enum import StrEnum
from typing import Annotated, Self

from pydantic import Field, model_validator

from zonule.case.axis_looks import kept_meridian_deg
from zonule.case.biometry import Keratometry, Meridian
from zonule.case.finding import Finding, note
from zonule.case.measured import Measured
from zonule.case.pair import AIM_RANGE_DPT
from zonule.case.patient import Side
from zonule.case.refraction import MAX_CYLINDER_DPT, Refraction
from zonule.case.rotation import PlannedToric, ToricOutcome
from zonule.exchange.fellow_outcome import OutcomeRefractionForm
from zonule.exchange.form_base import Day, Degrees, Form, Number, Version, Word
from zonule.exchange.json_text import read_json_object
from zonule.exchange.refusal import FORMAT, file_name
from zonule.exchange.toric_wishes import IncisionForm, incision_record
from zonule.exchange.validation import filled
from zonule.science.astigmatism.vectors import Plane, steep
from zonule.science.units import SPECTACLE_VERTEX_MM
from zonule.workflow.incision_effect import induced_mean

LIMIT_BYTES = 100_000
_LARGEST_CYLINDER_DPT = 15.0
_SizeDpt = Annotated[Number, Field(ge=0.0, le=_LARGEST_CYLINDER_DPT)]
_LensDpt = Annotated[Number, Field(ge=0.25, le=_LARGEST_CYLINDER_DPT)]
"""Less is no toric lens (our choice)."""


class ManifestForm(OutcomeRefractionForm):
    """`refraction`; here the cylinder must be told, if only as 0."""

    cylinder_dpt: Annotated[Number, Field(ge=-MAX_CYLINDER_DPT, le=MAX_CYLINDER_DPT)]


class GivenPlane(StrEnum):
    """Where the cylinder of a lens is told."""

    CORNEA = "cornea"
    LENS = "lens"


class ImplantForm(Form):
    """`lens`."""

    cylinder_at_cornea_dpt: _LensDpt | None = None
    cylinder_at_lens_dpt: _LensDpt | None = None
    cylinder_dpt: _LensDpt | None = None
    plane: GivenPlane | None = Word
    meridian_deg: Degrees

    @property
    def at_cornea_dpt(self) -> float | None:
        """The cylinder at the cornea, if that is what was given."""
        if self.cylinder_dpt is not None and self.plane is GivenPlane.CORNEA:
            return self.cylinder_dpt
        return self.cylinder_at_cornea_dpt

    @model_validator(mode="after")
    def _told_once(self) -> Self:
        told = (self.cylinder_at_cornea_dpt, self.cylinder_at_lens_dpt, self.cylinder_dpt)
        if sum(one is not None for one in told) > 1:
            raise ValueError(
                "The cylinder of the lens is told more than once. Give cylinder_at_cornea_dpt alone."
            )
        return self

    @model_validator(mode="after")
    def _plane_known(self) -> Self:
        if self.at_cornea_dpt is not None:
            return self
        if self.cylinder_dpt is not None and self.plane is None:
            raise ValueError(
                "At which plane is this cylinder? The figure on the box is usually at the lens, where it "
                "is larger than at the cornea. Give cylinder_at_cornea_dpt; a plan of this eye tells it "
                "for each cylinder."
            )
        if self.cylinder_at_lens_dpt is not None or self.cylinder_dpt is not None:
            raise ValueError(
                "A cylinder at the lens needs the eye's own lens position to be told at the cornea. Give "
                "cylinder_at_cornea_dpt; a plan of this eye tells it for each cylinder."
            )
        raise ValueError("The cylinder of the lens is missing. Give cylinder_at_cornea_dpt.")


class VectorForm(Form):
    """A cylinder at the cornea."""

    magnitude_dpt: _SizeDpt
    steep_meridian_deg: Degrees


class PlannedForm(Form):
    """`plan`."""

    corneal: VectorForm | None = None
    lens_meridian_deg: Degrees | None = None
    target_refraction_dpt: Annotated[Number, Field(ge=AIM_RANGE_DPT[0], le=AIM_RANGE_DPT[1])] | None = None
    incision: IncisionForm | None = None

    @model_validator(mode="after")
    def _both_or_neither(self) -> Self:
        if (self.corneal is None) is not (self.lens_meridian_deg is None):
            raise ValueError(
                "A plan of cylinder and axis has both: corneal and lens_meridian_deg. Give both, or neither."
            )
        return self


class CorneaForm(Form):
    """`keratometry_before` and `keratometry_after`."""

    flat_power_dpt: Annotated[Number, Field(ge=30.0, le=65.0)]
    steep_power_dpt: Annotated[Number, Field(ge=30.0, le=65.0)]
    steep_meridian_deg: Degrees
    keratometric_index: Annotated[Number, Field(ge=1.32, le=1.345)]

    @model_validator(mode="after")
    def _steep_is_steeper(self) -> Self:
        if self.flat_power_dpt > self.steep_power_dpt:
            raise ValueError(
                "The flat meridian is steeper than the steep one. They may have been swapped, and then the "
                "axis is wrong by 90 degrees."
            )
        return self


class ReviewFileForm(Form):
    """A whole review file."""

    zonule: Version = 1
    eye: Annotated[Side, Field(strict=False)]
    refraction: ManifestForm
    refracted_on: Day | None = None
    operated_on: Day | None = None
    lens: ImplantForm
    plan: PlannedForm | None = None
    keratometry_before: CorneaForm | None = None
    keratometry_after: CorneaForm | None = None

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if self.operated_on and self.refracted_on and self.refracted_on < self.operated_on:
            raise ValueError("The eye was refracted before it was operated. Correct one of the days.")
        return self


def read_review_file(text: str | bytes, *, file: str) -> tuple[Side, ToricOutcome, tuple[Finding, ...]]:
    """The eye, what became of its toric lens, and what was taken where the file is silent.

    Parameters
    ----------
    text
        The file: JSON in UTF-8, at most 100 kB.
    file
        Its name, for messages.

    Returns
    -------
    tuple
        Side, outcome, findings.

    Raises
    ------
    RefusedFileError
        With one finding for each key that cannot be taken.
    """
    form = filled(ReviewFileForm, read_json_object(text, file=file_name(file), limit_bytes=LIMIT_BYTES))
    before, after = _keratometry(form.keratometry_before), _keratometry(form.keratometry_after)
    outcome = ToricOutcome(
        refraction=_refraction(form.refraction),
        lens_at_cornea_dpt=_at_cornea_dpt(form.lens),
        lens_meridian_deg=kept_meridian_deg(form.lens.meridian_deg),
        refracted_on=form.refracted_on,
        operated_on=form.operated_on,
        target_refraction_dpt=None if form.plan is None else form.plan.target_refraction_dpt,
        planned=_planned(form.plan, form.eye),
        corneal_change=None if before is None else before.change_to(after),
    )
    return form.eye, outcome, tuple(_taken(form))


def _refraction(form: ManifestForm) -> Refraction:
    vertex_mm = SPECTACLE_VERTEX_MM if form.vertex_mm is None else form.vertex_mm
    return Refraction(form.sphere_dpt, form.cylinder_dpt, form.axis_deg, vertex_mm, form.lane_m)


def _at_cornea_dpt(form: ImplantForm) -> float:
    if form.at_cornea_dpt is None:
        raise TypeError("a lens without its cylinder at the cornea is refused by its form")
    return form.at_cornea_dpt


def _planned(form: PlannedForm | None, eye: Side) -> PlannedToric | None:
    if form is None or form.corneal is None or form.lens_meridian_deg is None:
        return None
    corneal = steep(form.corneal.magnitude_dpt, form.corneal.steep_meridian_deg, Plane.CORNEA)
    incision = incision_record(form.incision)
    made = None if incision is None else induced_mean(incision, None, eye)
    return PlannedToric(corneal, kept_meridian_deg(form.lens_meridian_deg), made)


def _keratometry(form: CorneaForm | None) -> Keratometry | None:
    if form is None:
        return None
    return Keratometry(
        Meridian(power_dpt=Measured(form.flat_power_dpt)),
        Meridian(power_dpt=Measured(form.steep_power_dpt)),
        form.steep_meridian_deg,
        form.keratometric_index,
    )


def _taken(form: ReviewFileForm) -> Iterator[Finding]:
    if form.refraction.vertex_mm is None:
        sentence = "The refraction comes without a vertex distance; 12 mm is taken."
        yield note("vertex-not-given", sentence, "refraction.vertex_mm", FORMAT)
    if form.refraction.lane_m is None:
        sentence = "The lane of the refraction is not recorded; it moves the sphere alone, by up to 0.2 D."
        yield note("lane-missing", sentence, "refraction.lane_m", "lane-length")
    if (form.keratometry_before is None) is not (form.keratometry_after is None):
        sentence = "The cornea is given on one side of the operation only, so its change is not known."
        yield note("one-cornea-alone", sentence, "keratometry_after", FORMAT)
