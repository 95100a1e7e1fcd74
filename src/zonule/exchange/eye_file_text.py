"""The eye file written back: what was read, in the same keys."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from zonule.case.biometry import Biometry, Keratometry, OtherCornea
from zonule.case.eye import Eye, History
from zonule.case.measured import Measured
from zonule.case.patient import Patient
from zonule.case.plan import PlanRequest
from zonule.case.refraction import Refraction
from zonule.exchange.fellow_outcome import fellow_outcome_as_dict
from zonule.exchange.form_base import CONTRACT_VERSION
from zonule.exchange.json_text import plain_value
from zonule.exchange.lens_text import lens_as_dict
from zonule.exchange.pair_wishes import pair_wishes_as_dict
from zonule.exchange.toric_wishes import incision_as_dict, toric_wishes_as_dict

_QUANTITIES = (
    "axial_length_mm",
    "anterior_chamber_depth_mm",
    "lens_thickness_mm",
    "corneal_thickness_um",
    "white_to_white_mm",
    "posterior_flat_radius_mm",
    "posterior_steep_radius_mm",
)


def eye_as_dict(patient: Patient, request: PlanRequest) -> dict[str, Any]:
    """The eye file for a patient and a request; reading it gives them back.

    One device and one date are written for each eye. A value that came from another device or day than
    the eye's other values keeps its spread, and loses its own device and day. Of a cornea by another device
    the single readings are not written.

    Returns
    -------
    dict
        Keys of an eye file (docs/reference/eye-file.md); what is absent from the record is left out.
    """
    fellow = request.fellow
    outcome = request.fellow_outcome and fellow_outcome_as_dict(request.fellow_outcome)
    written = {
        "zonule": CONTRACT_VERSION,
        "eye": request.eye.side,
        "patient": asdict(patient),
        **_eye(request.eye),
        "target_refraction_dpt": request.target_refraction_dpt,
        "lens": request.lens and lens_as_dict(request.lens),
        "feared_side": request.feared_side,
        "surgeon": request.surgeon,
        "lessons": [asdict(lesson) for lesson in request.lessons],
        "fellow": fellow and {"eye": fellow.side, **_eye(fellow), "outcome": outcome},
        "pair": request.pair and pair_wishes_as_dict(request.pair),
        "incision": request.incision and incision_as_dict(request.incision),
        "toric": request.toric and toric_wishes_as_dict(request.toric),
    }
    plain: dict[str, Any] = plain_value(written)
    return plain


def _eye(eye: Eye) -> dict[str, Any]:
    return {
        "biometry": _biometry(eye.biometry),
        "history": _history(eye.history),
        "readiness": asdict(eye.readiness),
    }


def _biometry(biometry: Biometry) -> dict[str, Any]:
    measured = _measured_by_name(biometry)
    repeats = biometry.repeats or {}
    return {
        "measured_on": biometry.measured_on,
        "device": biometry.device,
        "method": biometry.method,
        "length_convention": biometry.length_convention,
        **{name: one.value for name, one in measured.items()},
        **_about_cornea(biometry.keratometry),
        "posterior_steep_meridian_deg": biometry.posterior_steep_meridian_deg,
        "chamber_from": biometry.chamber_from,
        "lens_status": biometry.lens_status,
        "vitreous": biometry.vitreous,
        "repeats": repeats,
        "spreads": {name: _spread(one) for name, one in measured.items() if _tells(one, name, repeats)},
        "other_corneas": [_other_cornea(one) for one in biometry.other_corneas],
    }


def _other_cornea(other: OtherCornea) -> dict[str, Any]:
    return {
        "measured_on": other.measured_on,
        "device": other.device,
        **{name: one and one.value for name, one in _principal(other.keratometry).items()},
        **_about_cornea(other.keratometry),
    }


def _about_cornea(cornea: Keratometry) -> dict[str, Any]:
    return {
        "steep_meridian_deg": cornea.steep_meridian_deg,
        "keratometric_index": cornea.keratometric_index,
        "cornea_kind": cornea.kind,
    }


def _principal(cornea: Keratometry) -> dict[str, Measured | None]:
    return {
        "flat_radius_mm": cornea.flat.radius_mm,
        "flat_power_dpt": cornea.flat.power_dpt,
        "steep_radius_mm": cornea.steep.radius_mm,
        "steep_power_dpt": cornea.steep.power_dpt,
    }


def _measured_by_name(biometry: Biometry) -> dict[str, Measured]:
    quantities = {name: getattr(biometry, name) for name in _QUANTITIES}
    named = {**_principal(biometry.keratometry), **quantities}
    return {name: measured for name, measured in named.items() if measured is not None}


def _tells(measured: Measured, name: str, repeats: dict[str, tuple[float, ...]]) -> bool:
    """Whether a value has a spread that no single readings account for."""
    return name not in repeats and (measured.sd is not None or measured.n > 1)


def _spread(measured: Measured) -> dict[str, Any]:
    return {"sd": measured.sd, "n": measured.n}


def _history(history: History) -> dict[str, Any]:
    glasses = history.glasses
    return {
        "corneal_surgery": history.corneal_surgery,
        "treated_at_cornea_dpt": history.treated_at_cornea_dpt,
        "flat_power_before_dpt": history.flat_power_before_dpt,
        "steep_power_before_dpt": history.steep_power_before_dpt,
        "glasses": glasses and _glasses(glasses),
    }


def _glasses(glasses: Refraction) -> dict[str, Any]:
    return {
        "sphere_dpt": glasses.sphere_dpt,
        "cylinder_dpt": glasses.cylinder_dpt,
        "axis_deg": glasses.axis_deg,
        "vertex_mm": glasses.vertex_mm,
    }
