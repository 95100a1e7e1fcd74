"""Every source that code or a reference value names stands in docs/sources.md, and none stands there idle."""

import ast
import csv
import re
from collections.abc import Iterator
from functools import cache

import pytest

from architecture.source_tree import PACKAGE, ROOT, files_under, told, tree_of

PAGE = ROOT / "docs" / "sources.md"
VALUES = PACKAGE / "checks" / "values"
COMMON_PRACTICE = "common practice, no source"
BY_YEAR = re.compile(r"\b[a-z]+(?:-[a-z]+)*-(?:19|20)\d\d(?![\w-])")
SOURCE_ARGUMENT = 4
"""Place of the source among the arguments of a finding."""


@cache
def documented() -> frozenset[str]:
    rows = re.findall(r"^\| `([^`]+)` \|(.*)$", PAGE.read_text(encoding="utf-8"), flags=re.MULTILINE)
    keys = [key for key, _ in rows]
    assert len(set(keys)) == len(keys), "a key stands twice"
    return frozenset(keys)


@cache
def named_texts() -> dict[str, str]:
    """Texts that have a name at the top of some file, as `OWN_RANGE` has."""
    return {
        target.id: node.value.value
        for path in files_under(PACKAGE)
        for node in tree_of(path).body
        if isinstance(node, ast.Assign)
        and isinstance(node.value, ast.Constant)
        and isinstance(node.value.value, str)
        for target in node.targets
        if isinstance(target, ast.Name)
    }


def sources_in(call: ast.Call) -> Iterator[str]:
    name = call.func.id if isinstance(call.func, ast.Name) else getattr(call.func, "attr", "")
    given = [keyword.value for keyword in call.keywords if keyword.arg == "source"]
    if name in {"note", "warning", "blocking"}:
        given += call.args[SOURCE_ARGUMENT - 1 : SOURCE_ARGUMENT]
    elif name == "Finding":
        given += call.args[SOURCE_ARGUMENT : SOURCE_ARGUMENT + 1]
    elif name not in {"Formula", "Limits"}:
        return
    for node in given:
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.value
        elif isinstance(node, ast.Name) and node.id in named_texts():
            yield named_texts()[node.id]


def named_by_code() -> dict[str, str]:
    """Source keys, and a file that names each: in findings, in a table, or by author and year."""
    found: dict[str, str] = {}
    for path in files_under(PACKAGE):
        for node in ast.walk(tree_of(path)):
            if isinstance(node, ast.Call):
                found.update({key: told(path) for key in sources_in(node)})
        for key in BY_YEAR.findall(path.read_text(encoding="utf-8")):
            found[key] = told(path)
    found.pop(COMMON_PRACTICE, None)
    return found


def named_by_reference_values() -> set[str]:
    keys = set()
    for path in VALUES.glob("*.csv"):
        with path.open(newline="", encoding="utf-8") as file:
            keys |= {row["source"] for row in csv.DictReader(file)}
    return keys


NAMED = named_by_code()


@pytest.mark.parametrize("key", sorted(NAMED))
def test_a_source_named_by_the_code_is_documented(key: str) -> None:
    assert key in documented(), f"{NAMED[key]} names {key}"


def test_sources_of_reference_values_are_documented() -> None:
    assert named_by_reference_values() - documented() == set()


def test_no_documented_source_is_idle() -> None:
    text = "\n".join(path.read_text(encoding="utf-8") for path in files_under(PACKAGE))
    page = PAGE.read_text(encoding="utf-8")
    used = {key for key in documented() if re.search(rf"(?<![\w-]){re.escape(key)}(?![\w-])", text)}
    quoted = {key for key in documented() if page.count(f"`{key}`") > 1}
    assert documented() - used - quoted - named_by_reference_values() == set()


def test_every_source_says_how_far_it_was_checked() -> None:
    rows = re.findall(
        r"^\| `([^`]+)` \|[^|]+\|([^|]+)\|$", PAGE.read_text(encoding="utf-8"), flags=re.MULTILINE
    )
    assert len(rows) == len(documented())
    words = ("confirmed", "quoted", "from memory", "ours")
    assert [key for key, status in rows if not any(word in status for word in words)] == []
