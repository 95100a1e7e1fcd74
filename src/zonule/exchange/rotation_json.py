"""The answer of `zonule review --json`, unrounded (docs/reference/plan-json.md)."""

from __future__ import annotations

from zonule.case.finding import Finding
from zonule.case.patient import Side
from zonule.case.refraction import Refraction
from zonule.case.rotation import RotationReview
from zonule.drawings.rotation_sentences import advice_sentence, cause_sentence
from zonule.exchange.findings_json import Json, findings_as_dict, known
from zonule.exchange.form_base import CONTRACT_VERSION
from zonule.exchange.toric_json import vector_as_dict


def rotation_as_dict(eye: Side, review: RotationReview, findings: tuple[Finding, ...]) -> Json:
    """What turning the lens would bring; cylinders are at the cornea."""
    return {
        "zonule": CONTRACT_VERSION,
        "findings": findings_as_dict((*findings, *review.findings)),
        "eye": eye.value,
        "best_meridian_deg": review.best_meridian_deg,
        "rotate_deg": review.rotate_by_deg,
        "cylinder_now_dpt": float(review.seen.magnitude_dpt),
        "cylinder_after_dpt": float(review.after.magnitude_dpt),
        "gain_dpt": review.gain_dpt,
        "to_correct": vector_as_dict(review.to_correct),
        "spherical_equivalent_at_cornea_dpt": review.equivalent_at_cornea_dpt,
        "equivalent_off_aim_dpt": review.equivalent_off_dpt,
        "lens_too_weak_by_dpt": review.too_weak_by_dpt,
        "refraction_after": _refraction(review.after_at_spectacles),
        "refraction_after_at_cornea": _refraction(review.after_at_cornea),
        "odds": {
            **_within(review.chances.within),
            "now": _within(review.chances.within_now),
            "gains_0_50": review.chances.gains_half,
            "worse": review.chances.worse,
            "standard_error": review.chances.standard_error,
            "draws": review.chances.draws,
        },
        "advice": review.advice.value,
        "because": [one.value for one in review.because],
        "sentence": advice_sentence(review),
        "causes": [
            {"cause": one.kind.value, **vector_as_dict(one.part), "sentence": cause_sentence(one)}
            for one in review.causes
        ],
        "sweep": [
            {"lens_meridian_deg": meridian, "cylinder_dpt": cylinder} for meridian, cylinder in review.sweep
        ],
    } | known({"days_after": review.days_after})


def _within(shares: tuple[float, float, float, float]) -> Json:
    names = ("within_0_25", "within_0_50", "within_0_75", "within_1_00")
    return dict(zip(names, shares, strict=True))


def _refraction(refraction: Refraction) -> Json:
    return known(
        {
            "sphere_dpt": refraction.sphere_dpt,
            "cylinder_dpt": refraction.cylinder_dpt,
            "axis_deg": refraction.axis_deg,
            "vertex_mm": refraction.vertex_mm,
        }
    )
