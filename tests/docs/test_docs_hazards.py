"""The hazard log names a test for each control, and every test it names exists."""

import ast
from functools import cache

import pytest

from docs.manual import ROOT, code_words, table_rows

PAGE = "docs/hazards.md"
ROWS = {cells[0]: cells for cells in table_rows(PAGE)}


@cache
def names_in(file: str) -> frozenset[str]:
    """Names of the tests in a file."""
    tree = ast.parse((ROOT / file).read_text(encoding="utf-8"))
    return frozenset(
        node.name
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test_")
    )


@pytest.mark.parametrize("hazard", sorted(ROWS))
def test_a_hazard_is_told_whole(hazard: str) -> None:
    cells = ROWS[hazard]
    assert len(cells) == 7
    assert all(cells)


@pytest.mark.parametrize("hazard", sorted(ROWS))
def test_every_test_that_a_hazard_names_exists(hazard: str) -> None:
    named = code_words(ROWS[hazard][5])
    assert named
    for one in named:
        file, _, name = one.partition("::")
        assert (ROOT / file).is_file(), one
        assert names_in(file), one
        assert not name or name in names_in(file), one


def test_hazards_are_numbered_through() -> None:
    assert list(ROWS) == [f"H{number:02d}" for number in range(1, len(ROWS) + 1)]
