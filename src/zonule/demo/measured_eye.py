"""An eye as the clinic measured it: the truth, the scatter of a biometer, and the decimals it prints."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np

from zonule.case.biometry import (
    Biometry,
    ChamberFrom,
    Keratometry,
    LengthConvention,
    LensStatus,
    Meridian,
    Method,
    Vitreous,
)
from zonule.case.eye import ContactLens, CornealSurgery, Eye, History, Look, Readiness
from zonule.case.measured import Measured
from zonule.case.patient import Side
from zonule.case.refraction import Refraction
from zonule.demo.population import TrueEye
from zonule.science.astigmatism.vectors import Astigmatism
from zonule.science.uncertainty import repeatability
from zonule.science.units import KERATOMETRIC_INDEX, UM_PER_MM

_DEVICE = "optical biometer of the demo clinic"
_READINGS = 5


def measured_eye(
    rng: np.random.Generator, true_eye: TrueEye, side: Side, measured_on: date, glasses: Refraction
) -> Eye:
    """The record of an eye, measured with the published scatter of a biometer.

    Parameters
    ----------
    rng
        Source of chance.
    true_eye
        What the eye really is.
    side
        Which eye it is.
    measured_on
        Day of the measurement.
    glasses
        Glasses before surgery.

    Returns
    -------
    Eye
        Virgin cornea, every question about readiness answered.
    """
    return Eye(
        side=side,
        biometry=_biometry(rng, true_eye, measured_on),
        history=History(corneal_surgery=CornealSurgery.NONE, glasses=glasses),
        readiness=_readiness(rng, measured_on),
    )


def keratometry_of(
    rng: np.random.Generator, mean_k_dpt: float, cylinder: Astigmatism, measured_on: date
) -> Keratometry:
    """A cornea as the biometer prints it, measured on a day.

    Parameters
    ----------
    rng
        Source of chance.
    mean_k_dpt
        The true mean of its two powers; it scatters as the biometer's does.
    cylinder
        Its front astigmatism as read, scatter included.
    measured_on
        Day of the measurement.
    """
    mean = rng.normal(mean_k_dpt, repeatability.MEAN_K_SD_DPT)
    half = float(cylinder.magnitude_dpt) / 2.0
    flat, steep = (
        Measured(round(float(mean + side), 2), device=_DEVICE, on=measured_on, source="demo")
        for side in (-half, half)
    )
    return Keratometry(
        flat=Meridian(power_dpt=flat),
        steep=Meridian(power_dpt=steep),
        steep_meridian_deg=float(round(float(cylinder.steep_meridian_deg))) or 180.0,
        keratometric_index=KERATOMETRIC_INDEX,
    )


def with_length_read_wrong(eye: Eye, by_mm: float) -> Eye:
    """The same record with an axial length that is off, as a wrong segmentation makes it."""
    length = eye.biometry.axial_length_mm
    if length is None:
        return eye
    wrong = replace(length, value=round(length.value + by_mm, 2))
    repeats = {"axial_length_mm": tuple(round(wrong.value + step, 2) for step in (-0.01, 0.0, 0.01))}
    return replace(eye, biometry=replace(eye.biometry, axial_length_mm=wrong, repeats=repeats))


def with_unknown_history(eye: Eye) -> Eye:
    """The same record before anybody asked about surgery on the cornea."""
    return replace(eye, history=replace(eye.history, corneal_surgery=CornealSurgery.UNKNOWN))


def _biometry(rng: np.random.Generator, eye: TrueEye, measured_on: date) -> Biometry:
    def read(true: float, sd: float, decimals: int, readings: int = 1) -> Measured:
        value = round(float(rng.normal(true, sd)), decimals)
        return Measured(value, sd=sd, n=readings, device=_DEVICE, on=measured_on, source="demo")

    mean_k = rng.normal(eye.mean_k_dpt, repeatability.MEAN_K_SD_DPT)
    power_sd = repeatability.MEAN_K_SD_DPT
    flat, steep = (
        Measured(round(float(mean_k + half), 2), sd=power_sd, device=_DEVICE, on=measured_on, source="demo")
        for half in (-eye.cylinder_dpt / 2.0, eye.cylinder_dpt / 2.0)
    )
    length = read(eye.axial_length_mm, repeatability.AXIAL_LENGTH_SD_MM, 2, _READINGS)
    singles = rng.normal(length.value, repeatability.AXIAL_LENGTH_SD_MM / 2.0, _READINGS)
    return Biometry(
        keratometry=Keratometry(
            flat=Meridian(power_dpt=flat),
            steep=Meridian(power_dpt=steep),
            steep_meridian_deg=float(round(eye.steep_meridian_deg)) or 180.0,
            keratometric_index=KERATOMETRIC_INDEX,
        ),
        axial_length_mm=length,
        anterior_chamber_depth_mm=read(eye.chamber_depth_mm, repeatability.ANTERIOR_CHAMBER_DEPTH_SD_MM, 2),
        chamber_from=ChamberFrom.EPITHELIUM,
        lens_thickness_mm=read(eye.lens_thickness_mm, repeatability.LENS_THICKNESS_SD_MM, 2),
        corneal_thickness_um=read(
            eye.corneal_thickness_mm * UM_PER_MM, repeatability.CORNEAL_THICKNESS_SD_UM, 0
        ),
        white_to_white_mm=read(eye.white_to_white_mm, repeatability.WHITE_TO_WHITE_SD_MM, 1),
        measured_on=measured_on,
        device=_DEVICE,
        method=Method.OPTICAL,
        length_convention=LengthConvention.COMPOSITE,
        lens_status=LensStatus.CATARACT,
        vitreous=Vitreous.NATURAL,
        repeats={"axial_length_mm": tuple(round(float(single), 2) for single in singles)},
    )


def _readiness(rng: np.random.Generator, answered_on: date) -> Readiness:
    return Readiness(
        contact_lens=ContactLens.NONE,
        tear_film=Look.GOOD,
        macula=Look.GOOD,
        fundus=Look.GOOD,
        pressure_mmhg=float(round(rng.normal(15.5, 2.5))),
        dilated_pupil_mm=round(float(np.clip(rng.normal(7.0, 0.9), 4.0, 9.0)), 1),
        answered_on=answered_on,
    )
