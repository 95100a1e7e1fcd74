"""Science is numbers in, numbers out: numpy, scipy, the standard library; numba only where it is called."""

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from architecture.source_tree import SCIENCE, files_under, told, tree_of

ALWAYS = {"numpy", "scipy"}
ON_USE = {"numba"}
OWN = ("zonule.science", "zonule.errors")
OUTSIDE_WORLD = {"datetime", "pathlib", "random", "socket", "sqlite3", "subprocess", "time", "urllib"}
"""Clock, files, chance and network come in as arguments."""


def imported_by(nodes: list[ast.AST]) -> Iterator[str]:
    for node in nodes:
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield node.module or ""


def is_allowed(module: str, also: set[str]) -> bool:
    top = module.split(".", maxsplit=1)[0]
    if module.startswith(OWN):
        return True
    return top in ALWAYS | also or (top in sys.stdlib_module_names and top not in OUTSIDE_WORLD)


@pytest.mark.parametrize("path", files_under(SCIENCE), ids=told)
def test_science_imports_only_what_is_on_the_list(path: Path) -> None:
    tree = tree_of(path)
    at_top = [module for module in imported_by(list(tree.body)) if not is_allowed(module, set())]
    anywhere = [module for module in imported_by(list(ast.walk(tree))) if not is_allowed(module, ON_USE)]
    assert (at_top, anywhere) == ([], [])


def test_no_stage_of_the_planner_can_read_the_truth_of_the_demo() -> None:
    for layer in ("case", "science", "workflow", "drawings"):
        for path in files_under(SCIENCE.parent / layer):
            demo = [m for m in imported_by(list(ast.walk(tree_of(path)))) if m.startswith("zonule.demo")]
            assert demo == [], told(path)
