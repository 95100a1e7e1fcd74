"""Every public function of science says what goes in, what comes out, and shows an example that runs."""

import ast
from itertools import pairwise
from pathlib import Path

import pytest

from architecture.source_tree import SCIENCE, files_under, public_functions_of, told

PUBLIC = [(path, function) for path in files_under(SCIENCE) for function in public_functions_of(path)]
SHORT = {"select", "flag", "um_to_mm", "solve"}
"""Functions of one line whose arguments the first sentence names."""


def sections_of(function: ast.FunctionDef) -> set[str]:
    lines = (ast.get_docstring(function) or "").splitlines()
    return {title.strip() for title, line in pairwise(lines) if line.strip() and set(line.strip()) == {"-"}}


@pytest.mark.parametrize(
    ("path", "function"), PUBLIC, ids=[f"{told(path)}-{function.name}" for path, function in PUBLIC]
)
def test_a_public_function_of_science_is_documented_whole(path: Path, function: ast.FunctionDef) -> None:
    text = ast.get_docstring(function) or ""
    sections = sections_of(function)
    assert "Examples" in sections, f"{told(path)}: {function.name} has no example"
    assert ">>>" in text
    if function.name in SHORT:
        return
    wanted = {"Returns"} | ({"Parameters"} if function.args.args else set())
    assert wanted <= sections, f"{told(path)}: {function.name} lacks {wanted - sections}"


@pytest.mark.parametrize(
    ("path", "function"), PUBLIC, ids=[f"{told(path)}-{function.name}" for path, function in PUBLIC]
)
def test_every_argument_is_explained(path: Path, function: ast.FunctionDef) -> None:
    if function.name in SHORT:
        return
    before_returns = (ast.get_docstring(function) or "").split("Returns\n")[0]
    unexplained = [arg.arg for arg in function.args.args if arg.arg not in before_returns]
    assert unexplained == [], f"{told(path)}: {function.name}"


@pytest.mark.parametrize("path", files_under(SCIENCE), ids=told)
def test_no_page_outside_the_project_is_cited(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert "../" not in text
    assert not [page for page in ("formulas.md", "clinical.md", "optics.md") if page in text]
