"""What the manual shows can be done: commands, data, the walk through a new formula, the demo."""

import csv
import doctest
import importlib.util
import json
import math
import os
import re
import shutil
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from docs.manual import PAGES, ROOT, blocks, table_rows, text_of, told
from zonule import wiring
from zonule.cli.output import BLOCKED, DONE, WRONG_CALL
from zonule.exchange.audit_json import intake_as_dict
from zonule.science.lens_power.flags import FormulaFlag
from zonule.science.lens_power.formulas import FORMULAS, EyeNumbers, Formula, seen_eye
from zonule.science.lens_power.thin_lens import lens_power_dpt
from zonule.workflow.audit import audit_record
from zonule.workflow.forecast import plan_eye

JSON_PAGE = "docs/reference/plan-json.md"
STARTS_A_SERVER = ("zonule serve", "make ")
WITH_COMMANDS = [page for page in PAGES if blocks(told(page), "sh")]


@pytest.fixture(scope="module")
def demo_clinic(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A demo clinic, made once by the demo script itself, run twice."""
    tree = tmp_path_factory.mktemp("tree")
    (tree / "tools").mkdir()
    shutil.copy(ROOT / "tools" / "demo.sh", tree / "tools")
    shutil.copytree(ROOT / "examples", tree / "examples")
    (tree / ".venv").symlink_to(Path(sys.prefix))
    for _ in range(2):
        done = subprocess.run(
            ["bash", "tools/demo.sh", "0"],  # noqa: S607 - the shell that make uses
            cwd=tree,
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, done.stdout + done.stderr
        assert "lands within half a dioptre" in done.stdout
        assert "Theatre sheet: out/theatre-sheet.pdf" in done.stdout
        assert (tree / "out" / "theatre-sheet.pdf").read_bytes().startswith(b"%PDF")
    return tree / "out" / "demo-clinic.sqlite3"


@pytest.fixture
def scratch(tmp_path: Path, demo_clinic: Path) -> Path:
    """A folder with what the manual takes for granted: examples, a record at home, an outcome table."""
    shutil.copytree(ROOT / "examples", tmp_path / "examples")
    for place in (tmp_path / "out" / "demo-clinic.sqlite3", tmp_path / "zonule" / "record.sqlite3"):
        place.parent.mkdir()
        shutil.copy(demo_clinic, place)
    (table,) = blocks(JSON_PAGE, "csv", "outcomes.csv")
    (tmp_path / "outcomes.csv").write_text(table, encoding="utf-8")
    _take_in_the_case_of_the_help_texts(tmp_path)
    return tmp_path


def _take_in_the_case_of_the_help_texts(folder: Path) -> None:
    """The case demo-0042-right: the first eye of the example table, for a person who is on record already."""
    with (folder / "examples" / "clinic.csv").open(encoding="utf-8", newline="") as file:
        first = next(csv.DictReader(file))
    row = first | {"patient_key": "demo-0042", "name": "", "born_on": "", "lens_model": "Harebell Flint"}
    with (folder / "one.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(row))
        writer.writeheader()
        writer.writerow(row)
    done = run("zonule import one.csv", folder)
    assert "demo-0042-right" in done.stdout, done.stdout + done.stderr


def run(line: str, folder: Path) -> subprocess.CompletedProcess[str]:
    search = f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"
    environment = {**os.environ, "PATH": search, "HOME": str(folder)}
    command = ["bash", "-o", "pipefail", "-c", line]
    return subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True, check=False)  # noqa: S603 - lines of our own manual


@pytest.mark.parametrize("page", WITH_COMMANDS, ids=told)
def test_every_command_on_a_page_runs(page: Path, scratch: Path) -> None:
    lines = [line for block in blocks(told(page), "sh") for line in block.splitlines()]
    for line in lines:
        if line.startswith(STARTS_A_SERVER):
            continue
        done = run(line, scratch)
        assert done.returncode in {DONE, BLOCKED}, (line, done.returncode, done.stderr)


def test_the_people_of_the_tutorial_are_on_the_list_of_the_day(demo_clinic: Path) -> None:
    named = set(re.findall(r"[Oo]pen \*\*([A-Z]\w+ [A-Z]\w+)", text_of("docs/tutorial.md")))
    first = re.search(
        r"^An eye to look at first: (\S+)$",
        (demo_clinic.parent / "demo-clinic.txt").read_text(),
        re.MULTILINE,
    )
    with wiring.open_record(demo_clinic) as record:
        assert first is not None
        case = record.case(first.group(1))
        today = {listing.patient.name for listing in record.listings(case.listed_on)}
        lenses = {lens.name for lens in record.lenses()}
    assert len(named) == 2
    assert named <= today
    assert case.patient.name in named
    assert "Teasel Slate" in lenses


def test_the_conflicting_cornea_ends_with_the_status_the_page_says(scratch: Path) -> None:
    assert run("zonule plan examples/conflicting-cornea.json", scratch).returncode == BLOCKED


def test_every_example_eye_is_on_the_page_and_none_is_invented() -> None:
    listed = {cells[0].strip("`") for cells in table_rows("docs/how-to/plan-from-the-command-line.md")}
    assert listed == {path.name for path in (ROOT / "examples").glob("*.json")}


def planned(example: str) -> dict[str, Any]:
    _, request, _ = wiring.read_eye_request(str(ROOT / "examples" / example))
    return wiring.plan_as_dict(plan_eye(request, wiring.today()))


def shown(label: str) -> Any:
    (block,) = blocks(JSON_PAGE, "json", label)
    return json.loads(block)


def without(answer: dict[str, Any], *keys: str) -> dict[str, Any]:
    return {name: value for name, value in answer.items() if name not in keys}


def close(found: Any) -> Any:
    """The same data, with room for the last digits of another machine."""
    if isinstance(found, dict):
        return {name: close(value) for name, value in found.items()}
    if isinstance(found, float):
        return pytest.approx(found, rel=1e-6, abs=1e-9)
    return found


def test_the_examples_of_a_plan_are_what_a_plan_prints() -> None:
    plan = planned("ordinary-eye.json")
    first = plan["methods"][0]
    assert shown("method") == close(without(first, "predictions", "findings"))
    (at,) = (one for one in first["predictions"] if one["lens_power_dpt"] == 20.5)
    assert shown("prediction") == close(at)
    odds, said = without(plan["odds"], "predictions"), shown("odds")
    assert without(said, "standard_error") == close(without(odds, "standard_error"))
    assert said["standard_error"] == pytest.approx(odds["standard_error"], rel=0.01)
    conflict = planned("conflicting-cornea.json")
    assert shown("finding") in conflict["findings"]
    assert shown("withheld") == conflict["odds"]
    assert [close(shown("cornea"))] == planned("after-hyperopic-laser.json")["corneas"]


@pytest.fixture(scope="module")
def every_plan() -> list[dict[str, Any]]:
    """The plans of all examples."""
    return [planned(path.name) for path in sorted((ROOT / "examples").glob("*.json"))]


def keys_of(*entries: dict[str, Any]) -> set[str]:
    return {name for one in entries for name in one}


def documented_keys(heading: str) -> set[str]:
    return {name for cells in table_rows(JSON_PAGE, heading) for name in re.findall(r"`([^`]+)`", cells[0])}


def test_every_key_of_a_plan_is_on_the_page_and_none_is_invented(every_plan: list[dict[str, Any]]) -> None:
    odds = [plan["odds"] for plan in every_plan]
    methods = [one for plan in every_plan for one in plan["methods"]]
    assert documented_keys("zonule plan FILE --json") == keys_of(*every_plan, *methods, *odds)
    predicted = [keys_of(*one["predictions"]) for one in odds if "predictions" in one]
    assert predicted
    assert all(one == set(shown("prediction")) for one in predicted)


def test_every_key_of_the_parts_of_a_plan_is_on_the_page(every_plan: list[dict[str, Any]]) -> None:
    def part(name: str) -> list[dict[str, Any]]:
        return [plan[name] for plan in every_plan if name in plan]

    corneas = [one for plan in every_plan for one in plan.get("corneas", ())]
    assert documented_keys("The part `corneas` of a plan") == keys_of(*corneas)
    inputs = [one for worth in part("worth_repeating") for one in worth["inputs"]]
    repeated = [one for single in inputs for one in single["repeated"]]
    worth_keys = keys_of(*part("worth_repeating"), *inputs, *repeated)
    assert documented_keys("The part `worth_repeating` of a plan") == worth_keys
    assert documented_keys("The part `agreement` of a plan") == keys_of(*part("agreement"))
    (described,) = (cells[1] for cells in table_rows(JSON_PAGE) if cells[0] == "`drivers`")
    drivers = [one for agreement in part("agreement") for one in agreement["drivers"]]
    assert set(re.findall(r"`([^`]+)`", described)) == keys_of(*drivers)


def test_the_example_of_a_refusal_is_what_is_printed(scratch: Path) -> None:
    done = run("echo '{\"zonule\": 1}' | zonule plan - --json", scratch)
    assert done.returncode == WRONG_CALL
    assert json.loads(done.stdout) == shown("refusal")


def test_the_example_of_an_audit_is_what_is_printed(scratch: Path) -> None:
    answer = json.loads(run("zonule audit outcomes.csv --json", scratch).stdout)
    first = {**without(answer, "findings"), "methods": answer["methods"][:1]}
    said = shown("audit")
    assert without(said, "methods") == without(first, "methods")
    assert said["methods"][0] == close(first["methods"][0])


def test_every_key_of_an_audit_and_an_import_is_on_the_page(demo_clinic: Path) -> None:
    with wiring.open_record(demo_clinic) as record:
        answer = wiring.audit_as_dict(audit_record(record), ())
    rows = {cells[0].strip("`") for cells in table_rows(JSON_PAGE, "zonule audit [FILE] --json")}
    single_lens = {name for methods in answer["lenses"] for one in methods["methods"] for name in one}
    assert rows == {*answer, *single_lens}
    rows = {cells[0].strip("`") for cells in table_rows(JSON_PAGE, "zonule import FILE --json")}
    assert rows == set(intake_as_dict((), (), ()))


def example_formula(tmp_path: Path) -> tuple[Any, Formula]:
    """The module and the row of the walk through a new formula, as CONTRIBUTING.md has them."""
    (source,) = blocks("CONTRIBUTING.md", "python", "srk_1980.py")
    path = tmp_path / "srk_1980.py"
    path.write_text(source, encoding="utf-8")
    spec = importlib.util.spec_from_file_location("srk_1980", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    (row,) = blocks("CONTRIBUTING.md", "python", "row")
    return module, eval(row, {"Formula": Formula, "srk_1980": module})  # noqa: S307 - a block of our own page


def test_the_walk_through_a_new_formula_works_as_the_page_says(tmp_path: Path) -> None:
    module, formula = example_formula(tmp_path)
    assert doctest.testmod(module).attempted > 0
    assert doctest.testmod(module).failed == 0
    names = {"FORMULA": formula, "math": math, "EyeNumbers": EyeNumbers, "FormulaFlag": FormulaFlag}
    names |= {"seen_eye": seen_eye, "lens_power_dpt": lens_power_dpt}
    checks = blocks("CONTRIBUTING.md", "python", "check")
    assert len(checks) == 2
    for check in checks:
        exec(check, dict(names))  # noqa: S102 - same


def test_a_new_row_of_the_table_is_all_a_plan_needs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    _, formula = example_formula(tmp_path)
    monkeypatch.setitem(FORMULAS, formula.key, replace(formula, source="retzlaff-1990"))
    _, request, _ = wiring.read_eye_request(str(ROOT / "examples" / "ordinary-eye.json"))
    plan = plan_eye(request, wiring.today())
    (added,) = (one for one in plan.methods if one.method == formula.key)
    assert added.power_for_target_dpt == pytest.approx(20.50, abs=0.01)
    assert plan.odds is not None
    assert formula.key in plan.odds.methods


def test_the_example_formula_is_not_shipped() -> None:
    assert "srk_1980" not in FORMULAS
