"""The astigmatism of a plan as JSON, unrounded (docs/reference/plan-json.md)."""

from __future__ import annotations

from zonule.case.toric import CorneaModel, IncisionEffectUsed, ToricOption, ToricPlan, TurnAccount
from zonule.exchange.findings_json import Json, known
from zonule.science.astigmatism.vectors import Astigmatism


def toric_as_dict(toric: ToricPlan) -> Json:
    """Cornea, cornea models, incision, every cylinder with its residual and odds."""
    meridian_deg = toric.meridian_deg
    return known(
        {
            "corneal": vector_as_dict(toric.corneal),
            "cornea_model": toric.planned_on,
            "reading": vector_as_dict(toric.reading),
            "models": [_model(one) for one in toric.models],
            "models_not_used": [{"model": one.key, "because": one.because} for one in toric.not_used],
            "incision": toric.incision and _incision(toric.incision),
            "without_toric": _option(toric.without, None),
            "options": [_option(one, meridian_deg) for one in toric.options],
            "best_lens_cylinder_dpt": toric.best_cylinder_dpt,
            "lens_power_dpt": toric.power_dpt,
            "scatter": {
                "keratometry_sds_dpt": list(toric.keratometry_sds_dpt),
                "cornea_model_sd_dpt": toric.model_sd_dpt,
                **_turn(toric.turn),
            },
            "draws": toric.draws,
        }
    )


def vector_as_dict(vector: Astigmatism) -> Json:
    """A cylinder at the cornea by its size and steep meridian."""
    return {
        "magnitude_dpt": float(vector.magnitude_dpt),
        "steep_meridian_deg": float(vector.steep_meridian_deg),
    }


def _model(model: CorneaModel) -> Json:
    return {
        "model": model.key,
        "before_incision": vector_as_dict(model.before),
        "after_incision": vector_as_dict(model.after),
        "counts_in_odds": model.counts,
        "source": model.source,
        "status": model.status,
    }


def _incision(used: IncisionEffectUsed) -> Json:
    return {
        "flattening_dpt": used.flattening_dpt,
        "induced": vector_as_dict(used.induced),
        "scatter_sd_dpt": used.scatter_sd_dpt,
        "origin": used.origin,
        "source": used.source,
    }


def _option(option: ToricOption, meridian_deg: float | None) -> Json:
    """One cylinder; a lens without has no meridian."""
    first, second, third, fourth = option.within
    return known(
        {
            "lens_cylinder_dpt": option.lens_cylinder_dpt,
            "cylinder_at_cornea_dpt": option.cylinder_at_cornea_dpt,
            "ray_traced_at_cornea_dpt": option.ray_traced_dpt,
            "lens_meridian_deg": meridian_deg,
            "residual_dpt": float(option.residual.magnitude_dpt),
            "residual_steep_meridian_deg": float(option.residual.steep_meridian_deg),
            "mean_residual_dpt": option.mean_residual_dpt,
            "within_0_25": first,
            "within_0_50": second,
            "within_0_75": third,
            "within_1_00": fourth,
            "standard_error": option.standard_error,
            "flipped_residual_dpt": option.flipped_dpt,
            "mirrored_residual_dpt": option.mirrored_dpt,
        }
    )


def _turn(turn: TurnAccount) -> Json:
    return {
        "marking": turn.marking_words,
        "marking_sd_deg": turn.marking_sd_deg,
        "torsion_sd_deg": turn.torsion_sd_deg,
        "rotation_sd_deg": turn.rotation_sd_deg,
        "lens_turn_sd_deg": turn.lens_turn_sd_deg,
    }
