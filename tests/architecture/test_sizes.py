"""Files and functions stay small enough to be read at one sitting; limits only tighten."""

import ast
import statistics
from pathlib import Path

import pytest

from architecture.source_tree import PACKAGE, Function, files_under, functions_of, told

LARGEST_FILE = 400
LARGEST_FUNCTION = 50
LARGEST_MEDIAN = 10


def length_of(function: Function) -> int:
    """Lines of a function's body, its docstring left out."""
    body = function.body
    if ast.get_docstring(function) is not None:
        body = body[1:]
    if not body:
        return 0
    return (body[-1].end_lineno or 0) - body[0].lineno + 1


@pytest.mark.parametrize("path", files_under(PACKAGE), ids=told)
def test_a_file_can_be_read_at_one_sitting(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) <= LARGEST_FILE


@pytest.mark.parametrize("path", files_under(PACKAGE), ids=told)
def test_a_function_fits_on_a_screen(path: Path) -> None:
    long = {
        function.name: length_of(function)
        for function in functions_of(path)
        if length_of(function) > LARGEST_FUNCTION
    }
    assert long == {}


def test_the_median_function_has_few_lines() -> None:
    lengths = [length_of(function) for path in files_under(PACKAGE) for function in functions_of(path)]
    median = statistics.median(lengths)
    print(f"{len(lengths)} functions, median {median:g} lines, longest {max(lengths)}")  # noqa: T201 - the figure is wanted in the report
    assert median <= LARGEST_MEDIAN


def test_folders_are_at_most_three_deep() -> None:
    depths = {told(path): len(path.relative_to(PACKAGE).parts) - 1 for path in files_under(PACKAGE)}
    assert max(depths.values()) <= 3
