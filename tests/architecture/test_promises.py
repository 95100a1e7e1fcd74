"""Small promises that nothing else holds."""

import ast
import os
import subprocess
import sys
from pathlib import Path

import pytest

from architecture.source_tree import ROOT, Function, files_under, told, tree_of

TESTS = ROOT / "tests"


@pytest.mark.parametrize("path", sorted(ROOT.glob("*.lock")), ids=told)
def test_a_lock_file_records_no_address(path: Path) -> None:
    assert "://" not in path.read_text(encoding="utf-8")


def test_there_are_lock_files() -> None:
    assert len(list(ROOT.glob("*.lock"))) == 3


LEFT_OUT = {
    "test_at_run_time": "import pytest\n\ndef test_it():\n    pytest.skip('no tool')\n",
    "test_by_a_mark": "import pytest\n\n@pytest.mark.skipif(True, reason='no tool')\ndef test_it(): ...\n",
    "test_as_a_file": "import pytest\n\npytest.skip('no tool', allow_module_level=True)\n",
}


@pytest.mark.parametrize(
    ("ci", "told_as"), [("true", ("1 failed", "2 errors")), ("", ("1 passed", "3 skipped"))]
)
def test_leaving_a_test_out_fails_under_ci_only(tmp_path: Path, ci: str, told_as: tuple[str, str]) -> None:
    own_rules = (TESTS / "conftest.py").read_text(encoding="utf-8")
    files = {"conftest": own_rules, "test_done": "def test_it(): ...\n", **LEFT_OUT}
    for name, text in files.items():
        (tmp_path / f"{name}.py").write_text(text, encoding="utf-8")
    command = [sys.executable, "-m", "pytest", "-q", "--continue-on-collection-errors", str(tmp_path)]
    environment = {**os.environ, "CI": ci}
    run = subprocess.run(command, cwd=tmp_path, env=environment, capture_output=True, check=False)  # noqa: S603 - our own words
    summary = run.stdout.decode().splitlines()[-1]
    assert all(words in summary for words in told_as), run.stdout.decode()
    assert (run.returncode != 0) is bool(ci)


@pytest.mark.parametrize("path", files_under(TESTS), ids=told)
def test_the_name_of_a_test_is_a_sentence(path: Path) -> None:
    tests = [
        node.name
        for node in ast.walk(tree_of(path))
        if isinstance(node, Function) and node.name.startswith("test_")
    ]
    assert [name for name in tests if name.count("_") < 3] == []
