"""A plan as JSON, in the form of the contract."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from fakes.examples import ordinary_lesson, ordinary_request
from zonule.case.finding import Finding, note, warning
from zonule.case.lesson import LessonUse
from zonule.case.plan import MethodResult, Odds, Plan, Prediction, Refused, Spread
from zonule.errors import ExchangeError, MissingMeasurementError, NotDefinedError
from zonule.exchange.findings_json import findings_as_dict
from zonule.exchange.plan_json import all_findings, error_as_dict, plan_as_dict
from zonule.exchange.refusal import RefusedFileError, refused
from zonule.science.lens_power.formulas import FORMULAS

SPREAD = Spread(
    sd_dpt=0.5,
    within_0_25=0.4,
    within_0_50=0.72,
    within_0_75=0.86,
    within_1_00=0.93,
    beyond_feared=0.14,
    measurement_sd_dpt=0.2,
    residual_degrees_of_freedom=3.1,
)
LONG_DECIMALS = 20.563712345678901
OF_A_METHOD = warning("of-a-method", "One method has a doubt.", "biometry.axial_length_mm", "haigis-2000")
OF_THE_EYE = note("of-the-eye", "The eye has a doubt.", "biometry.device")


def method(key: str = "srk_t", constants: tuple[float, ...] = (118.4,), **changes: Any) -> MethodResult:
    """Invented numbers; nothing was computed for them."""
    result = MethodResult(
        method=key,
        constants=constants,
        first_guess=False,
        counts=True,
        fit=True,
        offset_dpt=0.0,
        power_for_target_dpt=LONG_DECIMALS,
        predictions=(Prediction(20.5, 0.0445, SPREAD), Prediction(21.0, -0.31)),
    )
    return replace(result, **changes)


def plan(**changes: Any) -> Plan:
    ordinary = Plan(
        request=ordinary_request(),
        methods=(method(),),
        refused=(),
        findings=(),
        seed=42,
        asked=42,
        software_version="0.1.0",
        computed_on=date(2026, 11, 2),
        odds=Odds(("srk_t",), (Prediction(20.5, 0.0445, SPREAD),), 20.5, 4096, 0.002, 0.2),
    )
    return replace(ordinary, **changes)


def test_a_method_is_told_in_the_words_of_the_contract() -> None:
    (written,) = plan_as_dict(plan())["methods"]
    assert written["method"] == "srk_t"
    assert written["constant"] == {"a_constant": 118.4}
    assert (written["counts_in_odds"], written["fit"]) == (True, True)
    assert written["first_guess"] is False
    assert set(written["predictions"][0]) >= {
        "lens_power_dpt",
        "refraction_dpt",
        "sd_dpt",
        "within_0_25",
        "within_0_50",
        "within_0_75",
        "within_1_00",
        "beyond_feared",
        "measurement_sd_dpt",
        "residual_degrees_of_freedom",
    }


def test_numbers_are_not_rounded() -> None:
    (written,) = json.loads(json.dumps(plan_as_dict(plan())))["methods"]
    assert written["power_for_target_dpt"] == LONG_DECIMALS


@pytest.mark.parametrize("key", FORMULAS)
def test_every_constant_has_its_name(key: str) -> None:
    names = FORMULAS[key].constant_names
    values = tuple(float(index) for index, _ in enumerate(names))
    (written,) = plan_as_dict(plan(methods=(method(key, values),)))["methods"]
    assert written["constant"] == dict(zip(names, values, strict=True))


def test_a_power_without_an_honest_spread_has_no_odds() -> None:
    (written,) = plan_as_dict(plan())["methods"]
    assert written["predictions"][1] == {"lens_power_dpt": 21.0, "refraction_dpt": -0.31}


def test_findings_of_each_method_stand_at_the_top_too_and_once() -> None:
    doubtful = plan(
        methods=(method(findings=(OF_A_METHOD,)), method("holladay_1", (1.6,), findings=(OF_A_METHOD,))),
        findings=(OF_THE_EYE,),
    )
    written = plan_as_dict(doubtful)
    assert written["findings"] == findings_as_dict([OF_THE_EYE, OF_A_METHOD])
    assert written["methods"][0]["findings"] == findings_as_dict([OF_A_METHOD])


def test_a_refused_method_shows_no_number() -> None:
    written = plan_as_dict(plan(refused=(Refused("haigis", (OF_A_METHOD,)),)))
    assert written["refused"] == [{"method": "haigis", "findings": findings_as_dict([OF_A_METHOD])}]
    assert [one["method"] for one in written["methods"]] == ["srk_t"]
    assert findings_as_dict([OF_A_METHOD])[0] in written["findings"]


def test_withheld_odds_give_their_reason_and_no_number() -> None:
    written = plan_as_dict(plan(odds=None, no_odds_because="The cornea is not known."))
    assert written["odds"] == {"withheld": "The cornea is not known."}


def test_a_lesson_says_whether_it_was_used_and_why() -> None:
    use = LessonUse(ordinary_lesson(), used=False, reason="Learned with another constant.")
    (written,) = plan_as_dict(plan(lessons=(use,)))["lessons"]
    assert (written["used"], written["reason"]) == (False, "Learned with another constant.")
    assert (written["constants"], written["first_on"]) == ([118.4], "2026-01-12")


def test_there_is_no_null_in_a_plan() -> None:
    text = json.dumps(plan_as_dict(plan()), allow_nan=False)
    assert "null" not in text
    assert "aim_difference_dpt" not in text
    assert plan_as_dict(plan(aim_difference_dpt=-1.5))["aim_difference_dpt"] == -1.5


@pytest.mark.parametrize("number", [math.nan, math.inf])
def test_a_plan_with_a_number_that_is_none_is_not_written(number: float) -> None:
    with pytest.raises(NotDefinedError, match="power_for_target_dpt"):
        plan_as_dict(plan(methods=(method(power_for_target_dpt=number),)))


def test_top_level_carries_version_seed_and_software() -> None:
    written = plan_as_dict(plan())
    assert (written["zonule"], written["seed"], written["software_version"]) == (1, 42, "0.1.0")
    assert all_findings(plan()) == ()


def test_a_refusal_is_answered_with_its_findings() -> None:
    error = refused("unknown-key", "The key is not known.", "biometry.axial")
    assert error_as_dict(error) == {
        "zonule": 1,
        "findings": [
            {
                "severity": "blocking",
                "code": "unknown-key",
                "sentence": "The key is not known.",
                "where": "biometry.axial",
                "source": "zonule-contracts",
            }
        ],
    }


@pytest.mark.parametrize(
    ("error", "where"),
    [(MissingMeasurementError("No length."), "input"), (ExchangeError("Torn.", where="row 3"), "row 3")],
)
def test_any_other_error_is_answered_in_the_same_form(error: MissingMeasurementError, where: str) -> None:
    (finding,) = error_as_dict(error)["findings"]
    assert (finding["sentence"], finding["where"]) == (str(error), where)


def test_a_refusal_tells_all_of_its_findings_in_its_message() -> None:
    findings: tuple[Finding, ...] = (OF_THE_EYE, OF_A_METHOD)
    assert str(RefusedFileError(findings)).splitlines() == [
        "biometry.device: The eye has a doubt.",
        "biometry.axial_length_mm: One method has a doubt.",
    ]
