"""From filled-in forms to the records of a case."""

from __future__ import annotations

import statistics
from collections.abc import Callable

from zonule.case.biometry import Biometry, CorneaKind, Keratometry, Meridian, OtherCornea
from zonule.case.eye import CornealSurgery, Eye, History, Readiness
from zonule.case.lesson import Lesson
from zonule.case.measured import Measured
from zonule.case.patient import Patient, Side
from zonule.case.refraction import Refraction
from zonule.exchange.forms import (
    BiometryForm,
    CorneaForm,
    GlassesForm,
    HistoryForm,
    LessonForm,
    PatientForm,
    ReadinessForm,
)
from zonule.science.units import SPECTACLE_VERTEX_MM

Source = Callable[[str], str]
"""Tells where a quantity stood in the file, by its name."""


def patient_record(form: PatientForm) -> Patient:
    """Who the eye belongs to."""
    return Patient(form.key, form.name or "", form.born_on, form.sex)


def eye_record(
    side: Side,
    biometry: BiometryForm | None,
    history: HistoryForm | None,
    readiness: ReadinessForm | None,
    source: Source,
) -> Eye:
    """One eye; what was not given stays absent, and unknown surgery stays unknown."""
    return Eye(
        side=side,
        biometry=biometry_record(biometry or BiometryForm(), source),
        history=history_record(history or HistoryForm()),
        readiness=Readiness(**dict(readiness or ReadinessForm())),
    )


def biometry_record(form: BiometryForm, source: Source) -> Biometry:
    """One visit's measurements, each with its spread, device, date and place in the file."""

    def measured(name: str) -> Measured | None:
        return _measured(form, name, source)

    return Biometry(
        keratometry=_keratometry(form, measured),
        axial_length_mm=measured("axial_length_mm"),
        anterior_chamber_depth_mm=measured("anterior_chamber_depth_mm"),
        chamber_from=form.chamber_from,
        lens_thickness_mm=measured("lens_thickness_mm"),
        corneal_thickness_um=measured("corneal_thickness_um"),
        white_to_white_mm=measured("white_to_white_mm"),
        posterior_flat_radius_mm=measured("posterior_flat_radius_mm"),
        posterior_steep_radius_mm=measured("posterior_steep_radius_mm"),
        posterior_steep_meridian_deg=_above_zero(form.posterior_steep_meridian_deg),
        measured_on=form.measured_on,
        device=form.device or "",
        method=form.method,
        length_convention=form.length_convention,
        lens_status=form.lens_status,
        vitreous=form.vitreous,
        repeats=_repeats(form) or None,
        other_corneas=tuple(
            _other_cornea(one, source, index) for index, one in enumerate(form.other_corneas or ())
        ),
    )


def _other_cornea(form: CorneaForm, source: Source, index: int) -> OtherCornea:
    """The same cornea by another device; single readings have no place here."""

    def measured(name: str) -> Measured | None:
        value = getattr(form, name)
        if value is None:
            return None
        where = source(f"other_corneas.{index}.{name}")
        return Measured(value, device=form.device or "", on=form.measured_on, source=where)

    return OtherCornea(_keratometry(form, measured), form.device or "", form.measured_on)


def _keratometry(form: CorneaForm, measured: Callable[[str], Measured | None]) -> Keratometry:
    return Keratometry(
        flat=Meridian(measured("flat_radius_mm"), measured("flat_power_dpt")),
        steep=Meridian(measured("steep_radius_mm"), measured("steep_power_dpt")),
        steep_meridian_deg=_steep_meridian_deg(form),
        keratometric_index=form.keratometric_index,
        kind=form.cornea_kind or CorneaKind.ANTERIOR,
    )


def _steep_meridian_deg(form: CorneaForm) -> float | None:
    """The steep meridian above 0 and up to 180, from the flat one where only that was given."""
    meridian_deg = form.steep_meridian_deg
    if meridian_deg is None and form.flat_meridian_deg is not None:
        meridian_deg = (form.flat_meridian_deg + 90.0) % 180.0
    return _above_zero(meridian_deg)


def _above_zero(meridian_deg: float | None) -> float | None:
    """0 and 180 degrees are one meridian, kept as 180."""
    return 180.0 if meridian_deg == 0.0 else meridian_deg


def _measured(form: BiometryForm, name: str, source: Source) -> Measured | None:
    value = getattr(form, name)
    if value is None:
        return None
    sd, n = _spread(form, name)
    return Measured(value, sd, n, form.device or "", form.measured_on, source(name))


def _spread(form: BiometryForm, name: str) -> tuple[float | None, int]:
    readings = getattr(form.repeats, name, None)
    if readings:
        return (statistics.stdev(readings) if len(readings) > 1 else None), len(readings)
    reported = getattr(form.spreads, name, None)
    return (None, 1) if reported is None else (reported.sd, reported.n or 1)


def _repeats(form: BiometryForm) -> dict[str, tuple[float, ...]]:
    given = [] if form.repeats is None else list(form.repeats)
    return {name: tuple(readings) for name, readings in given if readings is not None}


def history_record(form: HistoryForm) -> History:
    """What the eye brings with it; surgery that nobody spoke of is unknown."""
    return History(
        corneal_surgery=form.corneal_surgery or CornealSurgery.UNKNOWN,
        glasses=glasses_record(form.glasses),
        treated_at_cornea_dpt=form.treated_at_cornea_dpt,
        flat_power_before_dpt=form.flat_power_before_dpt,
        steep_power_before_dpt=form.steep_power_before_dpt,
    )


def glasses_record(form: GlassesForm | None) -> Refraction | None:
    """Glasses; no cylinder written is no cylinder, and 12 mm where no vertex distance was written."""
    if form is None or form.sphere_dpt is None:
        return None
    vertex_mm = SPECTACLE_VERTEX_MM if form.vertex_mm is None else form.vertex_mm
    return Refraction(form.sphere_dpt, form.cylinder_dpt or 0.0, form.axis_deg, vertex_mm)


def lesson_record(form: LessonForm) -> Lesson:
    """A lesson, as the file states it."""
    return Lesson(**{**dict(form), "constants": tuple(form.constants)})
