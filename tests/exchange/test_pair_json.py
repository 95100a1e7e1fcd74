"""The second eye and both eyes, into JSON and out of an eye file."""

import json
import math
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fakes.pairs import blended_outlook, operated_outlook, ordinary_pair, ordinary_second_eye, outlook_of
from zonule.case.operation import Complication, Fixation
from zonule.case.pair import STARTING_TARGETS, Distance, Importance, PairWishes, Strategy, Task, Tried
from zonule.case.patient import Side
from zonule.case.refraction import Refraction
from zonule.case.second_eye import FellowOutcome
from zonule.exchange.fellow_outcome import FellowOutcomeForm, fellow_outcome_as_dict, fellow_outcome_record
from zonule.exchange.pair_json import pair_as_dict, second_eye_as_dict
from zonule.exchange.pair_wishes import PairWishesForm, pair_wishes_as_dict, pair_wishes_record
from zonule.exchange.refusal import RefusedFileError
from zonule.exchange.validation import filled

OUTCOME: dict[str, Any] = {
    "lens_model": "Meadow One",
    "lens_power_dpt": 21.0,
    "fixation": "bag",
    "complication": "none",
    "operated_on": "2026-09-01",
    "refracted_on": "2026-10-06",
    "refraction": {
        "sphere_dpt": 0.5,
        "cylinder_dpt": -0.5,
        "axis_deg": 90.0,
        "vertex_mm": 12.0,
        "lane_m": 6.0,
    },
}


def read(form: Any, values: dict[str, Any]) -> Any:
    return filled(form, values)


def problems(form: Any, values: dict[str, Any]) -> dict[str, str]:
    with pytest.raises(RefusedFileError) as caught:
        filled(form, values)
    return {one.where: one.code for one in caught.value.findings}


def test_an_outcome_of_the_fellow_eye_is_read_whole() -> None:
    outcome, findings = fellow_outcome_record(read(FellowOutcomeForm, OUTCOME))
    assert findings == ()
    assert (outcome.lens_model, outcome.lens_power_dpt) == ("Meadow One", 21.0)
    assert (outcome.fixation, outcome.complication) == (Fixation.BAG, Complication.NONE)
    assert outcome.operated_on == date(2026, 9, 1)
    assert outcome.days_after == 35
    assert outcome.refraction.reported_equivalent_dpt == pytest.approx(0.25)


def test_what_the_file_leaves_out_of_an_outcome_stays_unknown() -> None:
    outcome, findings = fellow_outcome_record(read(FellowOutcomeForm, {"refraction": {"sphere_dpt": 0.0}}))
    assert outcome.lens_model == ""
    unknown = (
        outcome.lens_power_dpt,
        outcome.fixation,
        outcome.complication,
        outcome.days_after,
    )
    assert unknown == (None, None, None, None)
    assert [one.code for one in findings] == ["cylinder-not-given", "vertex-not-given", "lane-missing"]


@pytest.mark.parametrize(
    ("change", "where", "code"),
    [
        ({"fixation": "floating"}, "fixation", "unknown-word"),
        ({"complication": False}, "complication", "unknown-word"),
        ({"operated_on": "1.9.2026"}, "operated_on", "impossible-value"),
        ({"refracted_on": "2026-08-01"}, "whole", "impossible-value"),
        ({"lens_power": 21.0}, "lens_power", "unknown-key"),
        ({"lens_power_dpt": "21"}, "lens_power_dpt", "wrong-type"),
        ({"refraction": {"sphere_dpt": 25.0}}, "refraction.sphere_dpt", "impossible-value"),
        ({"refraction": {"sphere_dpt": 1.0, "cylinder_dpt": -1.0}}, "refraction", "impossible-value"),
        ({"refraction": {"sphere_dpt": 1.0, "lane_m": 600.0}}, "refraction.lane_m", "impossible-value"),
        ({"refraction": {}}, "refraction.sphere_dpt", "missing-key"),
    ],
)
def test_what_cannot_be_is_refused_by_its_place(change: dict[str, Any], where: str, code: str) -> None:
    assert problems(FellowOutcomeForm, {**OUTCOME, **change}) == {where: code}


def test_an_outcome_without_a_refraction_is_none() -> None:
    values = {name: value for name, value in OUTCOME.items() if name != "refraction"}
    assert problems(FellowOutcomeForm, values) == {"refraction": "missing-key"}


def test_wishes_about_both_eyes_are_read_with_their_own_aims() -> None:
    wishes = pair_wishes_record(
        read(
            PairWishesForm,
            {
                "dominant_eye": "left",
                "tasks": [{"distance": "near", "importance": "most", "words": "sheet music"}],
                "tolerated_anisometropia_dpt": 1.25,
                "tried_blended": "yes",
                "targets": {"blended": {"dominant_dpt": -0.25, "other_dpt": -1.5}},
            },
        )
    )
    assert wishes.dominant_eye is Side.LEFT
    assert [(one.distance, one.importance, one.words) for one in wishes.tasks] == [
        (Distance.NEAR, Importance.MOST, "sheet music")
    ]
    assert (wishes.tolerated_anisometropia_dpt, wishes.tried_blended) == (1.25, Tried.YES)
    aims = {one.strategy: (one.dominant_dpt, one.other_dpt) for one in wishes.targets}
    assert aims[Strategy.BLENDED] == (-0.25, -1.5)
    assert aims[Strategy.DISTANCE] == (0.0, 0.0)


def test_wishes_that_say_nothing_were_not_asked() -> None:
    assert pair_wishes_record(read(PairWishesForm, {})) == PairWishes(targets=STARTING_TARGETS)


@pytest.mark.parametrize(
    ("values", "where"),
    [
        ({"dominant_eye": "OD"}, "dominant_eye"),
        ({"tolerated_anisometropia_dpt": -1.0}, "tolerated_anisometropia_dpt"),
        ({"targets": {"near": {"dominant_dpt": 2.5, "other_dpt": -2.5}}}, "targets.near.dominant_dpt"),
    ],
)
def test_impossible_wishes_are_refused_by_their_place(values: dict[str, Any], where: str) -> None:
    assert list(problems(PairWishesForm, values)) == [where]


@given(
    dominant=st.none() | st.sampled_from(Side),
    tolerated=st.none() | st.floats(0.0, 10.0),
    tried=st.sampled_from(Tried),
    tasks=st.lists(
        st.builds(
            Task, st.sampled_from(Distance), st.sampled_from(Importance), st.sampled_from(["", "music"])
        ),
        max_size=3,
    ),
    other=st.floats(-6.0, 2.0),
)
def test_wishes_read_back_as_they_were_written(
    dominant: Side | None, tolerated: float | None, tried: Tried, tasks: list[Task], other: float
) -> None:
    targets = tuple(replace(one, other_dpt=other) for one in STARTING_TARGETS)
    wishes = PairWishes(dominant, tuple(tasks), tolerated, tried, targets)
    assert pair_wishes_record(read(PairWishesForm, plain(pair_wishes_as_dict(wishes)))) == wishes


@given(
    cylinder=st.none() | st.floats(-10.0, 10.0).filter(bool),
    fixation=st.none() | st.sampled_from(Fixation),
    complication=st.none() | st.sampled_from(Complication),
    days=st.none() | st.integers(0, 900),
    lane=st.none() | st.floats(1.0, 10.0),
)
def test_an_outcome_reads_back_as_it_was_written(
    cylinder: float | None,
    fixation: Fixation | None,
    complication: Complication | None,
    days: int | None,
    lane: float | None,
) -> None:
    day = date(2026, 9, 1)
    outcome = FellowOutcome(
        refraction=Refraction(0.5, cylinder or 0.0, 90.0 if cylinder else None, lane_m=lane),
        lens_model="Meadow One" if fixation else "",
        lens_power_dpt=None if days is None else 21.0,
        operated_on=day,
        refracted_on=None if days is None else day + timedelta(days=days),
        fixation=fixation,
        complication=complication,
    )
    again, _ = fellow_outcome_record(read(FellowOutcomeForm, plain(fellow_outcome_as_dict(outcome))))
    assert again == outcome


def plain(value: Any) -> Any:
    """What comes back from JSON, which holds neither nan nor infinity."""
    return json.loads(json.dumps(value, allow_nan=False))


def test_a_first_eye_that_is_used_tells_errors_shifts_and_powers() -> None:
    told = plain(second_eye_as_dict(ordinary_second_eye()))
    assert told["used"] is True
    assert told["first_eye_errors_dpt"] == {"srk_t": 0.6, "holladay_1": 0.5}
    assert told["shifts_dpt"] == {"srk_t": 0.3, "holladay_1": 0.25}
    assert (told["best_power_before_dpt"], told["best_power_after_dpt"]) == (20.5, 21.0)
    assert (told["weight"], told["own_pairs"], told["capped"]) == (0.5, 0, False)


def test_a_first_eye_that_is_not_used_tells_reasons_and_no_number_of_it() -> None:
    unused = ordinary_second_eye(
        used=False,
        errors_dpt=(),
        error_dpt=None,
        shifts_dpt=(),
        shift_dpt=0.0,
        reasons=("In the sulcus.",),
        best_before_dpt=None,
        best_after_dpt=None,
    )
    told = plain(second_eye_as_dict(unused))
    assert told["reasons"] == ["In the sulcus."]
    assert not {"first_eye_errors_dpt", "first_eye_error_dpt", "shifts_dpt"} & told.keys()
    assert told["shift_dpt"] == 0.0


def test_a_pair_tells_both_eyes_and_their_odds() -> None:
    told = plain(pair_as_dict(ordinary_pair()))
    (blended,) = told["strategies"]
    assert blended["strategy"] == "blended"
    assert blended["left"]["target_refraction_dpt"] == -1.25
    assert blended["left"]["clear_distance_m"] == 0.65
    assert (blended["both_within_0_50"], blended["beyond_tolerated"]) == (0.55, 0.44)
    assert blended["difference_dpt"] == 1.42
    assert told["wishes"]["tasks"] == [{"distance": "arms_length", "importance": "most", "words": "screen"}]
    assert told["wishes"]["targets"]["blended"] == {"dominant_dpt": 0.0, "other_dpt": -1.25}


def test_what_was_not_asked_is_left_out_of_the_json() -> None:
    pair = ordinary_pair(
        wishes=PairWishes(),
        strategies=(blended_outlook(beyond_tolerated=None),),
        not_shown=((Strategy.BLENDED, "Which eye leads is not recorded."),),
    )
    told = plain(pair_as_dict(pair))
    assert "beyond_tolerated" not in told["strategies"][0]
    assert not {"dominant_eye", "tolerated_anisometropia_dpt"} & told["wishes"].keys()
    assert told["not_shown"] == [{"strategy": "blended", "reason": "Which eye leads is not recorded."}]


def test_an_operated_eye_has_no_aim_and_a_long_sighted_one_no_distance_in_json() -> None:
    far = outlook_of(Side.RIGHT, 1.0, clear_distance_m=math.inf)
    pair = ordinary_pair(strategies=(blended_outlook(right=far, left=operated_outlook()),))
    (told,) = plain(pair_as_dict(pair))["strategies"]
    assert "clear_distance_m" not in told["right"]
    assert told["left"]["operated"] is True
    assert not {"target_refraction_dpt", "lens_power_dpt", "within_0_50"} & told["left"].keys()
