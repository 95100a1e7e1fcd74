"""The pages of the manual, taken apart: code blocks, links, tables."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"
PAGES = sorted([*ROOT.glob("*.md"), *DOCS.rglob("*.md")])

_BLOCK = re.compile(r"^```(\S*) ?([^\n]*)\n(.*?)^```$", flags=re.MULTILINE | re.DOTALL)
_LINK = re.compile(r"!?\[[^\]]*\]\(([^)\s]+)\)")


@dataclass(frozen=True, slots=True)
class Block:
    """A fenced block: its language, what is said after it, and its text."""

    language: str
    label: str
    text: str


def told(path: Path) -> str:
    """A page as tests name it."""
    return path.relative_to(ROOT).as_posix()


def text_of(name: str) -> str:
    """A page by its path from the root."""
    return (ROOT / name).read_text(encoding="utf-8")


def blocks(name: str, language: str, label: str | None = None) -> list[str]:
    """The blocks of a language on a page, in order; with a label, only those that carry it."""
    found = (Block(*match.groups()) for match in _BLOCK.finditer(text_of(name)))
    return [one.text for one in found if one.language == language and label in {None, one.label}]


def prose(name: str) -> str:
    """A page without its fenced blocks."""
    return _BLOCK.sub("", text_of(name))


def links(name: str) -> list[str]:
    """Where the links and pictures of a page point."""
    return _LINK.findall(prose(name))


def table_rows(name: str, heading: str = "") -> Iterator[list[str]]:
    """Cells of every table row on a page, or in the section under a heading; header rows are left out."""
    lines = section(name, heading).splitlines() if heading else text_of(name).splitlines()
    for line, following in zip(lines, [*lines[1:], ""], strict=True):
        is_row = line.startswith("|") and not line.startswith("|---")
        if is_row and not following.startswith("|---"):
            yield [cell.strip() for cell in line.strip().strip("|").split("|")]


def section(name: str, heading: str) -> str:
    """The text under a heading, up to the next one."""
    _, found, rest = text_of(name).partition(f"\n## {heading}\n")
    assert found, f"{name} has no section {heading}"
    return rest.partition("\n## ")[0]


def code_words(cell: str) -> list[str]:
    """The words of a cell that are set as code."""
    return re.findall(r"`([^`]+)`", cell)
