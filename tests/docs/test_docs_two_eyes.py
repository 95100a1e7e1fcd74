"""Figures on the pages about the second eye and about two targets are what the code gives."""

import json
import math
import re
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from docs.manual import blocks, section, table_rows, text_of
from fakes.pairs import ordinary_pair, ordinary_second_eye
from zonule.case.pair import STARTING_TARGETS
from zonule.case.review import STABLE_AFTER_DAYS
from zonule.case.second_eye_rules import LIKE_CORNEAS_DPT, LIKE_DEPTHS_MM, LIKE_LENGTHS_MM
from zonule.exchange.fellow_outcome import FellowOutcomeForm, fellow_outcome_record
from zonule.exchange.pair_json import pair_as_dict, second_eye_as_dict
from zonule.exchange.pair_wishes import PairWishesForm, pair_wishes_record
from zonule.exchange.validation import filled
from zonule.science.lens_power import srk_t
from zonule.science.lens_power.thin_lens import lens_power_dpt, refraction_dpt
from zonule.science.optics.working_distance import clear_distance_m
from zonule.science.statistics.fellow_eye import (
    PRIOR_PAIRS,
    PUBLISHED_WEIGHT,
    fellow_error_dpt,
    variance_left,
)
from zonule.science.uncertainty.pair import PairLaw, achieved_law, fraction_apart, fraction_both_within
from zonule.science.uncertainty.spread import ROUTINE_SCALE_DPT, ErrorLaw, error_law, fraction_within
from zonule.workflow.second_eye import MOST_LENS_POWER_DPT, SURPRISE_DPT

SECOND, TARGETS = "docs/how-to/plan-the-second-eye.md", "docs/how-to/two-targets.md"
AVERAGE = error_law(ROUTINE_SCALE_DPT, 0.0185, 0.0185)
A_CONSTANT = 118.4


def numbers(cell: str) -> list[float]:
    return [float(one) for one in re.findall(r"[+-]?\d+(?:\.\d+)?", cell)]


def rows(page: str, heading: str) -> dict[str, list[str]]:
    return {cells[0]: cells[1:] for cells in table_rows(page, heading)}


def read(form: Any, page: str, label: str) -> Any:
    (block,) = blocks(page, "json", label)
    return filled(form, json.loads(block))


def test_the_worked_second_eye_is_what_srk_t_gives() -> None:
    table = rows(SECOND, "What is done")
    (first_mm, first_k), (this_mm, this_k) = (numbers(cell) for cell in table["length, mean cornea"])
    went_in, *_ = numbers(table["lens of A 118.4"][0].replace("118.4", ""))
    first = srk_t.thin_lens_eye(first_mm, first_k, A_CONSTANT)
    this = srk_t.thin_lens_eye(this_mm, this_k, A_CONSTANT)
    (predicted,), (achieved,), (error,) = (
        numbers(table[one][0]) for one in ("predicted", "achieved", "error")
    )
    assert predicted == pytest.approx(float(refraction_dpt(first, went_in)), abs=0.005)
    assert achieved - predicted == pytest.approx(error)
    (shift,) = numbers(table["error"][1])
    assert shift == pytest.approx(float(fellow_error_dpt(error)))
    before, aim = numbers(table["lens of A 118.4"][1])
    assert before == pytest.approx(float(lens_power_dpt(this, aim)), abs=0.005)
    (after,) = numbers(table["lens after the correction"][1])
    assert after == pytest.approx(float(lens_power_dpt(this, aim - shift)), abs=0.005)


def test_the_sentence_with_one_dioptre_is_right() -> None:
    said = " ".join(section(SECOND, "What is done").split())
    found = re.search(
        r"ended \+([\d.]+) D .*? Half, \+([\d.]+) D, .*? makes ([\d.]+) D .*? raised by ([\d.]+) D", said
    )
    assert found is not None
    error, shift, gain, raised = (float(one) for one in found.groups())
    assert shift == PUBLISHED_WEIGHT * error
    assert raised == pytest.approx(shift / gain, abs=0.005)


def test_the_rules_on_the_page_are_those_that_are_checked() -> None:
    table = rows(SECOND, "When the first eye is not used")
    assert numbers(table["settled refraction"][0]) == [STABLE_AFTER_DAYS]
    assert numbers(table["alike in length"][0]) == [LIKE_LENGTHS_MM]
    assert numbers(table["alike in mean cornea"][0]) == [LIKE_CORNEAS_DPT]
    assert numbers(table["alike in chamber depth"][0]) == [LIKE_DEPTHS_MM]
    said = section(SECOND, "Limits of it")
    assert (MOST_LENS_POWER_DPT, SURPRISE_DPT) == (1.0, 1.0)
    assert f"counts for {PRIOR_PAIRS:g}" in " ".join(said.split())
    weight = (63 * 0.3 + PRIOR_PAIRS * PUBLISHED_WEIGHT) / (63 + PRIOR_PAIRS)
    assert weight == pytest.approx(0.40)


def test_what_the_first_eye_buys_is_what_the_laws_give() -> None:
    left = AVERAGE.residual_variance_dpt2 * float(variance_left(PUBLISHED_WEIGHT))
    laws = {
        "first eye": AVERAGE,
        "second eye, first one used": replace(AVERAGE, residual_variance_dpt2=left),
    }
    table = rows(SECOND, "How much it buys")
    assert table.keys() == laws.keys()
    for name, law in laws.items():
        sd, *shares = (numbers(cell)[0] for cell in table[name])
        assert sd == pytest.approx(float(law.sd_dpt), abs=0.005)
        for limit, share in zip((0.25, 0.5, 1.0), shares, strict=True):
            assert share == pytest.approx(100.0 * float(fraction_within(limit, 0.0, 0.0, law)), abs=0.05)
    gain = 1.0 - float(laws["second eye, first one used"].sd_dpt) / float(AVERAGE.sd_dpt)
    said = section(SECOND, "How much it buys")
    assert f"{100.0 * gain:.1f} %" in said
    assert f"{100.0 * (1.0 - math.sqrt(float(variance_left(0.5)))):.1f} %" in said


def test_the_starting_aims_are_those_in_use() -> None:
    table = {
        name: [numbers(cell)[0] for cell in cells] for name, cells in rows(TARGETS, "Three ways").items()
    }
    assert table == {one.strategy.value: [one.dominant_dpt, one.other_dpt] for one in STARTING_TARGETS}
    assert f"{float(achieved_law().sd_dpt):.2f} D" in section(TARGETS, "Three ways")


def test_the_distances_in_focus_are_those_of_the_dioptre() -> None:
    for refraction, (distance,) in rows(TARGETS, "The distance in focus").items():
        wanted = 100.0 * float(clear_distance_m(numbers(refraction)[0]))
        assert numbers(distance)[0] == pytest.approx(wanted, abs=0.5)


def test_the_odds_of_ending_apart_are_what_the_laws_give() -> None:
    together, alone = PairLaw(AVERAGE, AVERAGE, 0.5), PairLaw(AVERAGE, AVERAGE, 0.0)
    for aims, cells in rows(TARGETS, "How far apart they end").items():
        (apart,) = numbers(aims)
        wanted = [
            100.0 * float(fraction_apart(limit, apart, pair))
            for limit, pair in ((1.5, alone), (1.5, together), (2.0, together))
        ]
        assert [numbers(cell)[0] for cell in cells] == pytest.approx(wanted, abs=0.05)
    said = " ".join(section(TARGETS, "How far apart they end").split())
    both = 100.0 * float(fraction_both_within(0.5, 0.0, 0.0, together))
    each = 100.0 * float(fraction_within(0.5, 0.0, 0.0, AVERAGE))
    assert f"in {both:.1f} of 100 patients, though each eye alone does in {each:.1f}" in said


def test_whole_errors_of_two_eyes_correlate_as_the_module_says() -> None:
    """The correlation of whole errors, stated as 0.47 where only the residuals correlate at 0.5."""
    law: ErrorLaw = AVERAGE
    whole = 0.5 * law.residual_variance_dpt2 / float(np.asarray(law.sd_dpt)) ** 2
    assert whole == pytest.approx(0.47, abs=0.005)


def test_the_examples_of_the_eye_file_are_taken() -> None:
    outcome, findings = fellow_outcome_record(read(FellowOutcomeForm, SECOND, "outcome"))
    assert findings == ()
    assert outcome.days_after == 35
    wishes = pair_wishes_record(read(PairWishesForm, TARGETS, "wishes"))
    assert wishes.tolerated_anisometropia_dpt == 1.5


def test_both_pages_say_how_far_the_papers_were_read() -> None:
    assert "not read by us" in text_of(SECOND)
    assert "common practice, no source" in text_of(TARGETS)


def keys_on_page(part: str) -> set[str]:
    """Every key named in the table of a part of a plan."""
    rows = table_rows("docs/reference/plan-json.md", f"The part `{part}` of a plan")
    return {word for cells in rows for cell in cells for word in re.findall(r"`([a-z0-9_]+)`", cell)}


def keys_in(value: Any, *, without: tuple[str, ...] = ()) -> set[str]:
    """Every key of an answer, however deep."""
    if isinstance(value, list):
        return {key for one in value for key in keys_in(one, without=without)}
    if not isinstance(value, dict):
        return set()
    inner = (keys_in(one, without=without) for key, one in value.items() if key not in without)
    return set(value).union(*inner)


def test_the_keys_of_both_parts_of_a_plan_are_on_their_page_and_none_is_invented() -> None:
    second, pair = second_eye_as_dict(ordinary_second_eye()), pair_as_dict(ordinary_pair())
    by_method = ("first_eye_errors_dpt", "shifts_dpt", "findings")
    assert keys_on_page("second_eye") == keys_in(second, without=by_method)
    assert keys_on_page("pair") - {"strategy", "reason"} == keys_in(pair, without=("wishes", "findings")) - {
        "strategy"
    }
