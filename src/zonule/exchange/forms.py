"""The shape of what comes in: every key of an eye file, its type and its words."""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import Field, model_validator

from zonule.case.biometry import ChamberFrom, CorneaKind, LengthConvention, LensStatus, Method, Vitreous
from zonule.case.eye import ContactLens, CornealSurgery, Look
from zonule.case.patient import Sex, Side
from zonule.case.plan import FearedSide
from zonule.case.refraction import GLASSES_SPHERES_DPT, MAX_GLASSES_CYLINDER_DPT, MAX_VERTEX_MM
from zonule.exchange.fellow_outcome import FellowOutcomeForm
from zonule.exchange.form_base import Day, Degrees, Form, Key, Number, Readings, Text, Version, Word
from zonule.exchange.lens_forms import LensForm
from zonule.exchange.pair_wishes import PairWishesForm
from zonule.exchange.toric_wishes import IncisionForm, ToricForm

_NOT_90_APART_DEG = 2.0
"""Two axes written in whole degrees may miss a right angle by one degree."""
_MOST_OTHER_CORNEAS = 20


class PatientForm(Form):
    """`patient`."""

    key: Key
    name: Text | None = None
    born_on: Day | None = None
    sex: Sex | None = Word


class RepeatsForm(Form):
    """`biometry.repeats`: single readings."""

    axial_length_mm: Readings | None = None
    flat_radius_mm: Readings | None = None
    flat_power_dpt: Readings | None = None
    steep_radius_mm: Readings | None = None
    steep_power_dpt: Readings | None = None
    steep_meridian_deg: Readings | None = None
    anterior_chamber_depth_mm: Readings | None = None
    lens_thickness_mm: Readings | None = None
    corneal_thickness_um: Readings | None = None
    white_to_white_mm: Readings | None = None
    posterior_flat_radius_mm: Readings | None = None
    posterior_steep_radius_mm: Readings | None = None


class SpreadForm(Form):
    """A spread that the device reported without its single readings."""

    sd: Annotated[Number, Field(ge=0.0)] | None = None
    n: Annotated[int, Field(ge=1, le=1000)] | None = None


class SpreadsForm(Form):
    """`biometry.spreads`."""

    axial_length_mm: SpreadForm | None = None
    flat_radius_mm: SpreadForm | None = None
    flat_power_dpt: SpreadForm | None = None
    steep_radius_mm: SpreadForm | None = None
    steep_power_dpt: SpreadForm | None = None
    anterior_chamber_depth_mm: SpreadForm | None = None
    lens_thickness_mm: SpreadForm | None = None
    corneal_thickness_um: SpreadForm | None = None
    white_to_white_mm: SpreadForm | None = None
    posterior_flat_radius_mm: SpreadForm | None = None
    posterior_steep_radius_mm: SpreadForm | None = None


class CorneaForm(Form):
    """The front of a cornea as one device read it."""

    measured_on: Day | None = None
    device: Text | None = None
    flat_power_dpt: Number | None = None
    steep_power_dpt: Number | None = None
    flat_radius_mm: Number | None = None
    steep_radius_mm: Number | None = None
    steep_meridian_deg: Degrees | None = None
    flat_meridian_deg: Degrees | None = None
    keratometric_index: Number | None = None
    cornea_kind: CorneaKind | None = Word

    @model_validator(mode="after")
    def _meridians_at_right_angles(self) -> Self:
        if self.steep_meridian_deg is None or self.flat_meridian_deg is None:
            return self
        off_deg = abs((self.steep_meridian_deg - self.flat_meridian_deg) % 180.0 - 90.0)
        if off_deg > _NOT_90_APART_DEG and not self._is_spherical:
            raise ValueError(
                f"The flat meridian at {self.flat_meridian_deg:g} and the steep one at "
                f"{self.steep_meridian_deg:g} degrees are not at right angles. Read the printout again."
            )
        return self

    @property
    def _is_spherical(self) -> bool:
        """Whether the meridians of the cornea are alike, so that their direction means nothing."""
        pairs = ((self.flat_radius_mm, self.steep_radius_mm), (self.flat_power_dpt, self.steep_power_dpt))
        known = [pair for pair in pairs if None not in pair]
        return bool(known) and all(flat == steep for flat, steep in known)


class BiometryForm(CorneaForm):
    """`biometry`."""

    method: Method | None = Word
    length_convention: LengthConvention | None = Word
    axial_length_mm: Number | None = None
    posterior_flat_radius_mm: Number | None = None
    posterior_steep_radius_mm: Number | None = None
    posterior_steep_meridian_deg: Degrees | None = None
    anterior_chamber_depth_mm: Number | None = None
    chamber_from: ChamberFrom | None = Word
    lens_thickness_mm: Number | None = None
    corneal_thickness_um: Number | None = None
    white_to_white_mm: Number | None = None
    lens_status: LensStatus | None = Word
    vitreous: Vitreous | None = Word
    repeats: RepeatsForm | None = None
    spreads: SpreadsForm | None = None
    other_corneas: Annotated[list[CorneaForm], Field(max_length=_MOST_OTHER_CORNEAS)] | None = None

    @model_validator(mode="after")
    def _one_account_of_spread(self) -> Self:
        both = _given(self.repeats) & _given(self.spreads)
        if both:
            raise ValueError(
                f"{', '.join(sorted(both))} has single readings and a reported spread. Give one of them."
            )
        return self


class GlassesForm(Form):
    """`history.glasses`."""

    sphere_dpt: Annotated[Number, Field(ge=GLASSES_SPHERES_DPT[0], le=GLASSES_SPHERES_DPT[1])] | None = None
    cylinder_dpt: (
        Annotated[Number, Field(ge=-MAX_GLASSES_CYLINDER_DPT, le=MAX_GLASSES_CYLINDER_DPT)] | None
    ) = None
    axis_deg: Degrees | None = None
    vertex_mm: Annotated[Number, Field(ge=0.0, le=MAX_VERTEX_MM)] | None = None

    @model_validator(mode="after")
    def _whole(self) -> Self:
        if self.sphere_dpt is None and _given(self):
            raise ValueError("These glasses have no sphere. Enter it; 0 for plano.")
        if self.cylinder_dpt and self.axis_deg is None:
            raise ValueError("These glasses have a cylinder but no axis. Enter the axis, or a cylinder of 0.")
        return self


class HistoryForm(Form):
    """`history`."""

    corneal_surgery: CornealSurgery | None = Word
    glasses: GlassesForm | None = None
    treated_at_cornea_dpt: Number | None = None
    flat_power_before_dpt: Number | None = None
    steep_power_before_dpt: Number | None = None


class ReadinessForm(Form):
    """`readiness`."""

    contact_lens: ContactLens | None = Word
    contact_lens_out_days: Number | None = None
    tear_film: Look | None = Word
    macula: Look | None = Word
    fundus: Look | None = Word
    pressure_mmhg: Number | None = None
    dilated_pupil_mm: Number | None = None
    answered_on: Day | None = None


class LessonForm(Form):
    """One of `lessons`; the keys of a lesson on record."""

    key: Key
    surgeon: Text
    method: Key
    lens_model: Text
    constants: Readings
    first_on: Day
    last_on: Day
    eyes: Annotated[int, Field(ge=1)]
    mean_error_dpt: Number
    weight: Annotated[Number, Field(ge=0.0, le=1.0)]
    offset_dpt: Number
    offset_sd_dpt: Annotated[Number, Field(ge=0.0)]
    scale_dpt: Annotated[Number, Field(gt=0.0)]
    learned_on: Day


class _OneEye(Form):
    """What an eye file says of either eye."""

    biometry: BiometryForm | None = None
    history: HistoryForm | None = None
    readiness: ReadinessForm | None = None
    target_refraction_dpt: Number | None = None
    lens: LensForm | None = None
    incision: IncisionForm | None = None
    toric: ToricForm | None = None
    lessons: Annotated[list[LessonForm], Field(max_length=1000)] | None = None
    feared_side: FearedSide | None = Word
    surgeon: Text | None = None


class FellowForm(_OneEye):
    """`fellow`: the other eye, in the same form without the patient."""

    zonule: Version | None = None
    eye: Side | None = Word
    outcome: FellowOutcomeForm | None = None


class EyeFileForm(_OneEye):
    """A whole eye file."""

    zonule: Version
    eye: Annotated[Side, Field(strict=False)]
    patient: PatientForm
    fellow: FellowForm | None = None
    pair: PairWishesForm | None = None


def _given(form: Form | None) -> set[str]:
    """Names of the keys that hold something."""
    return set() if form is None else {name for name, value in form if value is not None}
