"""The lenses to have ready, as JSON."""

import json
import math
from typing import Any

from docs.manual import table_rows
from fakes.backups import chamber_lens, numbers_of, single_piece, three_piece
from zonule.case.lens import LensModel
from zonule.exchange.backup_json import backup_as_dict
from zonule.workflow.backup import backup_lenses

PAGE = "docs/reference/plan-json.md"


def written(*lenses: LensModel, power: float | None = 20.5, depth: float = 3.1) -> Any:
    backup = backup_lenses(single_piece(), power, 0.0, numbers_of(depth_mm=depth), lenses)
    return json.loads(json.dumps(backup_as_dict(backup), allow_nan=False))


def test_a_lens_is_written_unrounded_with_its_place_and_findings() -> None:
    backup = backup_lenses(single_piece(), 20.5, 0.0, numbers_of(), (three_piece(), chamber_lens()))
    sulcus, captured, chamber = written(three_piece(), chamber_lens())["lenses"]
    assert (sulcus["position"], captured["position"]) == ("sulcus", "sulcus_captured")
    assert sulcus["model"] == "Meadow Three"
    assert sulcus["power_for_target_dpt"] == backup.lenses[0].power_for_target_dpt
    assert sulcus["power_range_dpt"]["lowest"] < sulcus["power_range_dpt"]["highest"]
    assert sulcus["step_rule_dpt"] == 19.5
    assert "own_constants_power_dpt" in chamber
    assert "bag_power_dpt" not in chamber


def test_every_key_is_on_the_page_and_none_is_invented() -> None:
    answer = written(three_piece(), chamber_lens())
    keys = set(answer).union(*(set(one) for one in answer["lenses"]))
    assert {cells[0].strip("`") for cells in table_rows(PAGE, "The part `backup` of a plan")} == keys


def test_what_does_not_apply_is_left_out_and_nothing_is_null() -> None:
    for answer in (written(), written(three_piece(), power=None), written(depth=math.nan)):
        assert "null" not in json.dumps(answer)
    (first, *_) = written()["lenses"]
    assert not {"model", "power_dpt", "refraction_dpt"} & set(first)
    assert "planned_power_dpt" not in written(power=None)


def test_a_barred_lens_is_written_with_its_reason_and_without_numbers() -> None:
    (barred,) = written(three_piece(), chamber_lens())["not_offered"]
    assert set(barred) == {"model", "position", "findings"}
    assert barred["findings"][0]["code"] == "single-piece-in-sulcus"
    assert set(barred["findings"][0]) == {"severity", "code", "sentence", "where", "source"}
