"""zonule plan: every example, the traps, and everything that cannot be read."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest

from cli.command import EXAMPLES, here, zonule

EVERY = sorted(EXAMPLES.glob("*.json"))
BLOCKED = {"conflicting-cornea.json", "laser-unknown.json"}
ORDINARY: dict[str, Any] = json.loads((EXAMPLES / "ordinary-eye.json").read_text())
METHODS = {"srk_t", "t2", "holladay_1", "hoffer_q", "haigis"}
"""Those for untouched corneas: answered or refused, they are spoken of in every plan."""


def planned(document: dict[str, Any]) -> dict[str, Any]:
    answer = here("plan", "-", "--json", given=json.dumps(document).encode())
    assert answer.status in {0, 3}, answer.err
    return answer.data


def example(name: str) -> dict[str, Any]:
    return here("plan", EXAMPLES / name, "--json").data


def codes(data: dict[str, Any], severity: str = "") -> set[str]:
    return {one["code"] for one in data["findings"] if severity in {"", one["severity"]}}


def method(data: dict[str, Any], key: str) -> dict[str, Any]:
    (found,) = [one for one in data["methods"] if one["method"] == key]
    return dict(found)


@pytest.mark.parametrize("path", EVERY, ids=lambda path: path.stem)
def test_every_example_is_answered_by_the_contract(path: Path) -> None:
    answer = zonule("plan", path, "--json")
    data = answer.data
    blocked = "blocking" in {one["severity"] for one in data["findings"]}
    assert answer.status == (3 if blocked else 0)
    assert answer.err == ""
    assert data["zonule"] == 1
    assert {"methods", "refused", "odds", "findings"} <= set(data)
    for finding in data["findings"]:
        assert set(finding) == {"severity", "code", "sentence", "where", "source"}
        assert finding["severity"] in {"note", "warning", "blocking"}
    assert {one["method"] for one in (*data["methods"], *data["refused"])} >= METHODS
    for one in data["methods"]:
        assert {"constant", "first_guess", "power_for_target_dpt", "predictions", "findings"} <= set(one)
        assert all(finding in data["findings"] for finding in one["findings"])
    keys = {one["method"] for one in (*data["methods"], *data["refused"])}
    about = [one["where"].removeprefix("methods.") for one in data["findings"] if "methods." in one["where"]]
    assert set(about) <= keys
    for one in data["refused"]:
        assert set(one) == {"method", "findings"}
        assert one["findings"]
        assert all(finding in data["findings"] for finding in one["findings"])


@pytest.mark.parametrize("path", EVERY, ids=lambda path: path.stem)
def test_every_example_is_answered_in_words(path: Path) -> None:
    answer = here("plan", path)
    assert answer.status == (3 if path.name in BLOCKED else 0)
    assert answer.err == ""
    side = json.loads(path.read_text(encoding="utf-8"))["eye"]
    assert answer.out.startswith(f"{side.upper()} EYE")
    assert not re.search(r"\bnan\b", answer.out, re.IGNORECASE)
    assert "reviewed by no regulator" in answer.out
    assert ("STOP" in answer.out) is (path.name in BLOCKED)


def in_one_line(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("name", ["ordinary-eye.json", "two-targets.json", "after-laser.json"])
def test_doubts_about_backup_lenses_and_both_eyes_are_printed_beside_their_numbers(name: str) -> None:
    said = in_one_line(here("plan", EXAMPLES / name).out)
    data = example(name)
    backup = data["backup"]
    parts = [backup, *backup["lenses"], *backup["not_offered"], data.get("pair", {"findings": []})]
    doubts = [finding["sentence"] for part in parts for finding in part["findings"]]
    assert any("from memory" in sentence for sentence in doubts)
    assert [sentence for sentence in doubts if in_one_line(sentence) not in said] == []


def test_a_way_of_aiming_both_eyes_that_cannot_be_worked_out_is_named_with_its_reason() -> None:
    document = json.loads((EXAMPLES / "two-targets.json").read_text())
    del document["pair"]["dominant_eye"]
    said = in_one_line(here("plan", "-", given=json.dumps(document).encode()).out)
    assert "arm's length: not worked out. Which eye leads is not recorded." in said


@pytest.mark.parametrize("name", ["ordinary-eye.json", "after-laser.json", "keratoconus.json"])
def test_a_plan_loads_nothing_that_is_slow_to_load(name: str) -> None:
    slow = ("numba", "scipy.stats", "scipy.optimize", "fastapi", "sqlalchemy", "typst", "pydicom")
    asks = (
        "import sys\nfrom zonule import wiring\nfrom zonule.workflow.forecast import plan_eye\n"
        f"plan_eye(wiring.read_eye_request({str(EXAMPLES / name)!r})[1], wiring.today())\n"
        f"print([one for one in {slow!r} if one in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", asks], capture_output=True, text=True, check=True)  # noqa: S603 - our own interpreter
    assert done.stdout.strip() == "[]"


def test_trap_a_the_ordinary_eye_has_the_published_answer_unrounded() -> None:
    data = example("ordinary-eye.json")
    srk_t = method(data, "srk_t")
    assert srk_t["power_for_target_dpt"] == pytest.approx(20.5637, abs=5e-5)
    (at,) = [one for one in srk_t["predictions"] if one["lens_power_dpt"] == 20.5]
    assert at["refraction_dpt"] == pytest.approx(0.0445, abs=5e-5)
    assert at["refraction_dpt"] != round(at["refraction_dpt"], 4)
    assert set(at) >= {"sd_dpt", "within_0_25", "within_0_50", "within_1_00"}
    assert [one["lens_power_dpt"] for one in srk_t["predictions"]] == [6.0 + step / 2 for step in range(49)]
    haigis = method(data, "haigis")
    assert haigis["power_for_target_dpt"] == pytest.approx(21.59, abs=5e-3)
    assert haigis["first_guess"] is True
    assert "haigis" not in data["odds"]["methods"]
    assert codes(data, "blocking") == codes(data, "warning") == set()


def test_trap_b_a_radius_and_a_power_that_disagree_stop_the_plan() -> None:
    data = example("conflicting-cornea.json")
    blocking = [one for one in data["findings"] if one["severity"] == "blocking"]
    assert any("7.7 mm" in one["sentence"] and "43.12 D" in one["sentence"] for one in blocking)
    assert data["methods"] == []


def test_trap_c_an_unknown_history_over_a_flat_cornea_gives_no_numbers() -> None:
    data = example("laser-unknown.json")
    assert data["methods"] == []
    assert {one["method"] for one in data["refused"]} == METHODS
    assert "withheld" in data["odds"]
    words = zonule("plan", EXAMPLES / "laser-unknown.json").out
    assert "power for the aim" not in words
    assert "No odds." in words


def test_trap_d_a_long_steep_eye_is_flagged_asked_about_and_given_no_odds() -> None:
    data = example("steep-cornea.json")
    srk_t = {one["code"] for one in method(data, "srk_t")["findings"]}
    assert any("imaginary" in code or "corneal-height" in code for code in srk_t), srk_t
    assert any("keratoconus" in code for code in codes(data))
    assert "withheld" in data["odds"]
    assert all("sd_dpt" not in at for one in data["methods"] for at in one["predictions"])


def test_trap_e_unequal_lengths_that_glasses_do_not_explain_are_measured_again() -> None:
    data = example("unequal-eyes.json")
    sentences = [one["sentence"].lower() for one in data["findings"] if one["severity"] != "note"]
    assert any("measure" in sentence and "again" in sentence for sentence in sentences), sentences


def test_an_unchanged_file_gives_the_very_same_answer() -> None:
    assert (
        zonule("plan", EXAMPLES / "long-eye.json", "--json").out
        == zonule("plan", EXAMPLES / "long-eye.json", "--json").out
    )


def test_a_dash_reads_standard_input() -> None:
    by_name, by_pipe = example("ordinary-eye.json"), planned(ORDINARY)
    assert (
        method(by_pipe, "srk_t")["power_for_target_dpt"] == method(by_name, "srk_t")["power_for_target_dpt"]
    )
    assert by_pipe["odds"]["best_power_dpt"] == by_name["odds"]["best_power_dpt"]


def changed(place: str, value: object) -> dict[str, Any]:
    document = deepcopy(ORDINARY)
    *groups, key = place.split(".")
    inner = document
    for group in groups:
        inner = inner[group]
    if value is None:
        del inner[key]
    else:
        inner[key] = value
    return document


@pytest.mark.parametrize(
    ("place", "value", "named"),
    [
        ("biometry.axial_lenght_mm", 23.5, "biometry.axial_lenght_mm"),
        ("biometry.axial_length_mm", "23.5", "biometry.axial_length_mm"),
        ("biometry.axial_length_mm", float("nan"), "biometry.axial_length_mm"),
        ("biometry.flat_power_dpt", float("inf"), "biometry.flat_power_dpt"),
        ("biometry.steep_meridian_deg", 400, "biometry.steep_meridian_deg"),
        ("eye", "middle", "eye"),
        ("eye", None, "eye"),
        ("patient.key", None, "patient.key"),
        ("zonule", 7, "zonule"),
        ("history.corneal_surgery", "some", "history.corneal_surgery"),
        ("lens.powers_dpt", {"from": 30, "to": 6, "step": 0.5}, "lens.powers_dpt"),
        ("lens.powers_dpt", {"from": 6, "to": 30, "step": 0}, "lens.powers_dpt"),
        ("biometry.measured_on", "2026-13-01", "biometry.measured_on"),
    ],
)
def test_what_cannot_be_taken_is_refused_by_name(place: str, value: object, named: str) -> None:
    given = json.dumps(changed(place, value)).encode()
    answer = here("plan", "-", "--json", given=given)
    assert answer.status == 2
    assert named in answer.err
    assert "Traceback" not in answer.err
    assert any(one["where"].startswith(named) for one in answer.data["findings"])
    assert set(answer.data) == {"zonule", "findings"}


@pytest.mark.parametrize(
    "given",
    [
        b"",
        b"{",
        b'{"zonule": 1,',
        b"[]",
        b"null",
        b"\x00\xff\xfe",
        b"\x89PNG\r\n",
        b'{"zonule": 1}',
        b"{}" * 2,
        b"[" * 9999,
    ],
    ids=["empty", "open", "cut", "list", "null", "binary", "picture", "bare", "twice", "deep"],
)
def test_what_is_no_eye_file_is_refused_in_a_sentence_and_as_data(given: bytes) -> None:
    answer = here("plan", "-", "--json", given=given)
    assert answer.status == 2
    assert answer.err.startswith("zonule: ")
    assert "Traceback" not in answer.err
    assert answer.data["findings"]


def test_a_file_that_is_not_there_or_is_a_folder_is_refused_with_its_name(tmp_path: Path) -> None:
    for path in (tmp_path / "absent.json", tmp_path):
        answer = here("plan", path, "--json")
        assert answer.status == 2
        assert str(path) in answer.err
        assert answer.data["findings"][0]["sentence"] in answer.err


def test_a_refusal_without_json_leaves_standard_output_empty() -> None:
    answer = zonule("plan", "-", given=b"{")
    assert (answer.status, answer.out) == (2, "")


@pytest.mark.parametrize("name", ["[red]", "[/bold]", "\u202e", "<b>", "a\nb", "{x}"])
def test_hostile_names_are_printed_or_refused_but_never_obeyed(name: str) -> None:
    document = changed("patient.name", name)
    document["lens"]["model"] = name
    answer = here("plan", "-", given=json.dumps(document).encode())
    assert answer.status in {0, 2, 3}, answer.err
    if answer.status != 2 and name.isprintable():
        assert name in answer.out
