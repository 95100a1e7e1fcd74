"""From the text of a cell to its value: nothing is guessed, and what is wrong is said with what to do."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from enum import StrEnum
from typing import Any

from zonule.case.finding import Finding
from zonule.case.patient import Side
from zonule.exchange.form_base import iso_day
from zonule.exchange.refusal import problem, shown
from zonule.exchange.table import Row, Table, row_place

Cell = Callable[[str, str], object]
"""Reads the text of a cell with this decimal mark; a `ValueError` says what is wrong."""

_NUMBER = re.compile(r"[+-]?(\d{1,9}(\.\d{0,15})?|\.\d{1,15})", re.ASCII)
_WITH_UNIT = re.compile(r"[+-]?[\d.,]+\s*[^\W\d_].*|[+-]?[\d.,]+\s*[^\w\s.,+-]+.*")
_LONGEST_TEXT = 200


def text(cell: str, _mark: str) -> str:
    """Words, on one line."""
    if not cell.isprintable():
        raise ValueError("This cell holds a line break or another character that cannot be printed.")
    if len(cell) > _LONGEST_TEXT:
        raise ValueError(f"This cell holds more than {_LONGEST_TEXT} characters.")
    return cell


def number(cell: str, mark: str) -> float:
    """A plain decimal number.

    Examples
    --------
    >>> number("23.5", "."), number("-0,75", ",")
    (23.5, -0.75)
    """
    plain = cell.replace(",", ".") if mark == "," and "." not in cell else cell
    if _NUMBER.fullmatch(plain):
        return float(plain)
    if _WITH_UNIT.fullmatch(cell):
        raise ValueError(f"{shown(cell)} holds a unit. The header says the unit; write the number alone.")
    raise ValueError(f"{shown(cell)} is not a number. Write it with digits and a decimal {_name(mark)}.")


def _name(mark: str) -> str:
    return "comma" if mark == "," else "point"


def day(cell: str, _mark: str) -> object:
    """A date written as 2026-11-02."""
    return iso_day(cell)


def word(words: type[StrEnum]) -> Cell:
    """A reader of one of these words."""

    def read(cell: str, _mark: str) -> StrEnum:
        try:
            return words(cell.casefold())
        except ValueError:
            known = ", ".join(words)
            raise ValueError(f"{shown(cell)} is not one of the words known here: {known}.") from None

    return read


def read_cells(table: Table, row: Row, columns: Mapping[str, Cell]) -> tuple[dict[str, Any], list[Finding]]:
    """Values of the cells that are not empty, and a finding for each that cannot be read."""
    values: dict[str, Any] = {}
    findings: list[Finding] = []
    for header, cell in row.cells.items():
        try:
            values[header] = columns[header](cell, table.decimal_mark)
        except ValueError as error:
            where = row_place(table.file, row.number, header)
            findings.append(problem("unreadable-cell", f"{error} The row is not taken.", where))
    return values, findings


def absent_keys(table: Table, row: Row, needed: Iterable[str]) -> list[Finding]:
    """A finding for each cell that must not be empty and is."""
    return [
        problem(
            "missing-cell",
            f"{name} is empty, so nobody can tell whose eye this is. Fill it in. The row is not taken.",
            row_place(table.file, row.number, name),
        )
        for name in needed
        if name not in row.cells
    ]


def eyes_given_twice(table: Table, owners: Mapping[int, tuple[str, Side]]) -> dict[int, Finding]:
    """A finding for every row of an eye that has more than one; nobody can tell which is right."""
    rows_of: defaultdict[tuple[str, Side], list[int]] = defaultdict(list)
    for row_number, owner in owners.items():
        rows_of[owner].append(row_number)
    return {
        row_number: _twice(table, row_number, owner, numbers)
        for owner, numbers in rows_of.items()
        if len(numbers) > 1
        for row_number in numbers
    }


def _twice(table: Table, row_number: int, owner: tuple[str, Side], numbers: list[int]) -> Finding:
    key, side = owner
    sentence = (
        f"The {side} eye of {shown(key)} stands in rows {in_words(numbers)}. Keep the right one and delete "
        "the rest. None of them is taken."
    )
    return problem("eye-given-twice", sentence, row_place(table.file, row_number, "eye"))


def in_words(numbers: Iterable[int]) -> str:
    """Row numbers for a sentence, the first ten of them.

    Examples
    --------
    >>> in_words([2, 5, 9])
    '2, 5 and 9'
    """
    most = 10
    words = [str(one) for one in numbers]
    if len(words) > most:
        return f"{', '.join(words[:most])} and {len(words) - most} more"
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)
