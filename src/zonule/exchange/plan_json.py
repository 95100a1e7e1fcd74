"""A plan as JSON, unrounded and without a null (docs/reference/plan-json.md)."""

from __future__ import annotations

import math
from dataclasses import asdict
from datetime import date

from zonule.case.agreement import Agreement
from zonule.case.finding import Finding
from zonule.case.lesson import LessonUse
from zonule.case.plan import MethodResult, Odds, Plan, Prediction, Refused
from zonule.case.worth import Worth
from zonule.drawings.worth_sentences import worth_sentence
from zonule.errors import NotDefinedError, ZonuleError
from zonule.exchange.backup_json import backup_as_dict
from zonule.exchange.findings_json import Json, findings_as_dict, known
from zonule.exchange.form_base import CONTRACT_VERSION
from zonule.exchange.method_keys import method_key
from zonule.exchange.pair_json import pair_as_dict, second_eye_as_dict
from zonule.exchange.refusal import RefusedFileError, problem
from zonule.exchange.toric_json import toric_as_dict
from zonule.science.lens_power.formulas import FORMULAS


def plan_as_dict(plan: Plan) -> Json:
    """The answer of `zonule plan --json`.

    Parameters
    ----------
    plan
        What was computed.

    Returns
    -------
    dict
        Plain values. A key that does not apply to this plan is left out.

    Raises
    ------
    NotDefinedError
        When a number in the plan is not finite; a plan must not hold one.
    """
    written = {
        "zonule": CONTRACT_VERSION,
        "findings": findings_as_dict(all_findings(plan)),
        "methods": [_method(method) for method in plan.methods],
        "refused": [_refused(method) for method in plan.refused],
        "odds": _odds(plan.odds, plan.no_odds_because),
        "lessons": [_lesson(use) for use in plan.lessons],
        "seed": plan.seed,
        "software_version": plan.software_version,
    }
    written |= _parts(plan)
    if plan.aim_difference_dpt is not None:
        written["aim_difference_dpt"] = plan.aim_difference_dpt
    _must_be_finite(written, "plan")
    return written


def _parts(plan: Plan) -> Json:
    """What not every plan has."""
    parts = {
        "corneas": [asdict(one) for one in plan.corneas] or None,
        "second_eye": plan.second_eye and second_eye_as_dict(plan.second_eye),
        "worth_repeating": plan.worth and _worth(plan.worth),
        "agreement": plan.agreement and _agreement(plan.agreement),
        "backup": plan.backup and backup_as_dict(plan.backup),
        "pair": plan.pair and pair_as_dict(plan.pair),
        "toric": plan.toric and toric_as_dict(plan.toric),
    }
    return known(parts)


def _worth(worth: Worth) -> Json:
    return {**asdict(worth), "sentence": worth_sentence(worth)}


def _agreement(agreement: Agreement) -> Json:
    extremes = {name: method_key(getattr(agreement, name)) for name in ("most_myopic", "most_hyperopic")}
    return {**asdict(agreement), **extremes, "agrees": agreement.agrees}


def all_findings(plan: Plan) -> tuple[Finding, ...]:
    """Findings of the plan and of each of its methods, each once, in order."""
    of_methods = (finding for method in plan.methods for finding in method.findings)
    of_refused = (finding for method in plan.refused for finding in method.findings)
    return tuple(dict.fromkeys((*plan.findings, *of_methods, *of_refused)))


def error_as_dict(error: ZonuleError) -> Json:
    """The answer to input that was refused."""
    if isinstance(error, RefusedFileError):
        findings: tuple[Finding, ...] = error.findings
    else:
        findings = (problem("refused", str(error), getattr(error, "where", "") or "input"),)
    return {"zonule": CONTRACT_VERSION, "findings": findings_as_dict(findings)}


def _method(method: MethodResult) -> Json:
    names = FORMULAS[method.method].constant_names
    return {
        "method": method_key(method.method),
        "constant": dict(zip(names, method.constants, strict=True)),
        "first_guess": method.first_guess,
        "counts_in_odds": method.counts,
        "fit": method.fit,
        "offset_dpt": method.offset_dpt,
        "second_eye_dpt": method.second_eye_dpt,
        "power_for_target_dpt": method.power_for_target_dpt,
        "predictions": [_prediction(prediction) for prediction in method.predictions],
        "findings": findings_as_dict(method.findings),
    }


def _prediction(prediction: Prediction) -> Json:
    spread = {} if prediction.spread is None else asdict(prediction.spread)
    return {
        "lens_power_dpt": prediction.lens_power_dpt,
        "refraction_dpt": prediction.refraction_dpt,
        **spread,
    }


def _refused(method: Refused) -> Json:
    return {"method": method_key(method.method), "findings": findings_as_dict(method.findings)}


def _odds(odds: Odds | None, reason: str) -> Json:
    if odds is None:
        return {"withheld": reason}
    return {
        "methods": [method_key(method) for method in odds.methods],
        "predictions": [_prediction(prediction) for prediction in odds.predictions],
        "best_power_dpt": odds.best_power_dpt,
        "draws": odds.draws,
        "standard_error": odds.standard_error,
        "measurement_sd_dpt": odds.measurement_sd_dpt,
        "lane_m": odds.lane_m,
    }


def _lesson(use: LessonUse) -> Json:
    plain = {name: _plain(value) for name, value in asdict(use.lesson).items()}
    return {**plain, "used": use.used, "reason": use.reason}


def _plain(value: object) -> object:
    if isinstance(value, date):
        return value.isoformat()
    return list(value) if isinstance(value, tuple) else value


def _must_be_finite(value: object, where: str) -> None:
    if isinstance(value, float) and not math.isfinite(value):
        raise NotDefinedError(f"The plan holds no number at {where}. It is not written.")
    if isinstance(value, dict):
        for name, inner in value.items():
            _must_be_finite(inner, f"{where}.{name}")
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            _must_be_finite(inner, f"{where}.{index}")
