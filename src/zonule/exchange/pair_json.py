"""The second eye and both eyes together as JSON, unrounded, no null (docs/reference/plan-json.md)."""

from __future__ import annotations

from math import isfinite

from zonule.case.pair import EyeOutlook, PairOutlook, StrategyOutlook
from zonule.case.second_eye import SecondEye
from zonule.drawings.pair_sentences import pair_sentence, second_eye_sentence, strategy_sentence
from zonule.exchange.findings_json import Json, findings_as_dict, known
from zonule.exchange.method_keys import method_key
from zonule.exchange.pair_wishes import pair_wishes_as_dict


def second_eye_as_dict(second: SecondEye) -> Json:
    """The part `second_eye` of the answer of `zonule plan --json`.

    Parameters
    ----------
    second
        What the first eye adds to this plan.

    Returns
    -------
    dict
        Plain values. A first eye that is not used has reasons and no errors.
    """
    return known(
        {
            "used": second.used,
            "weight": second.weight,
            "own_pairs": second.pairs,
            "first_eye_errors_dpt": _by_method(second.errors_dpt),
            "first_eye_error_dpt": second.error_dpt,
            "shifts_dpt": _by_method(second.shifts_dpt),
            "shift_dpt": second.shift_dpt,
            "capped": second.capped,
            "best_power_before_dpt": second.best_before_dpt,
            "best_power_after_dpt": second.best_after_dpt,
            "reasons": list(second.reasons),
            "sentence": second_eye_sentence(second),
            "findings": findings_as_dict(second.findings),
        }
    )


def _by_method(values: tuple[tuple[str, float], ...]) -> Json | None:
    return {method_key(row): value for row, value in values} or None


def pair_as_dict(pair: PairOutlook) -> Json:
    """The part `pair` of the answer of `zonule plan --json`.

    Parameters
    ----------
    pair
        Both eyes together.

    Returns
    -------
    dict
        Plain values. What was not asked of the patient, and what follows from it, is left out.
    """
    tolerated = pair.wishes.tolerated_anisometropia_dpt
    return {
        "wishes": pair_wishes_as_dict(pair.wishes),
        "correlation": pair.correlation,
        "sentence": pair_sentence(pair),
        "strategies": [_strategy(one, tolerated) for one in pair.strategies],
        "not_shown": [{"strategy": one.value, "reason": why} for one, why in pair.not_shown],
        "findings": findings_as_dict(pair.findings),
    }


def _strategy(one: StrategyOutlook, tolerated_dpt: float | None) -> Json:
    return known(
        {
            "strategy": one.strategy.value,
            "right": _eye(one.right),
            "left": _eye(one.left),
            "difference_dpt": one.difference_dpt,
            "difference_sd_dpt": one.difference_sd_dpt,
            "both_within_0_50": one.both_within_half,
            "beyond_tolerated": one.beyond_tolerated,
            "sentence": strategy_sentence(one, tolerated_dpt),
        }
    )


def _eye(eye: EyeOutlook) -> Json:
    distance = eye.clear_distance_m
    return known(
        {
            "operated": eye.lens_power_dpt is None,
            "target_refraction_dpt": eye.target_dpt,
            "lens_power_dpt": eye.lens_power_dpt,
            "refraction_dpt": eye.refraction_dpt,
            "sd_dpt": eye.sd_dpt,
            "within_0_50": eye.within_half,
            "clear_distance_m": distance if isfinite(distance) else None,
        }
    )
