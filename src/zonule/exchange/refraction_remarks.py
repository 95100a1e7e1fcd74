"""What a table leaves unsaid about its refractions, told once for all of its rows."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from math import copysign
from typing import NamedTuple

from zonule.case.finding import Finding, note, warning
from zonule.exchange.cells import in_words
from zonule.exchange.refusal import FORMAT

Written = Mapping[str, float | None]
"""A refraction by the names of its numbers; a cell that was left empty is None."""


class Words(NamedTuple):
    """How a table calls its refractions."""

    what: str
    """Such as `Glasses`, at the start of a sentence."""
    prefix: str
    """What stands before `sphere_dpt` and the rest in its headers."""


def refraction_remarks(
    refractions: Iterable[tuple[int, Written]], words: Words, file: str
) -> Iterator[Finding]:
    """What was taken for granted about the refractions of a table.

    Parameters
    ----------
    refractions
        Number of each row that was taken, and what it says; a row without a sphere has no refraction.
    words
        How the table calls them.
    file
        Its name.

    Yields
    ------
    Finding
        A note for vertex distances and for cylinders that were left out; a warning for cylinders of both
        signs.
    """
    no_vertex: list[int] = []
    cylinders: dict[float | None, list[int]] = {None: [], 0.0: [], 1.0: [], -1.0: []}
    for row_number, written in refractions:
        if written["sphere_dpt"] is None:
            continue
        if written["vertex_mm"] is None:
            no_vertex.append(row_number)
        cylinder_dpt = written["cylinder_dpt"]
        cylinders[copysign(1.0, cylinder_dpt) if cylinder_dpt else cylinder_dpt].append(row_number)
    if no_vertex:
        yield note(
            "vertex-not-given",
            f"{words.what} without a vertex distance are taken to stand at 12 mm: rows "
            f"{in_words(no_vertex)}.",
            f"{file}, {words.prefix}vertex_mm",
            FORMAT,
        )
    if cylinders[None]:
        yield note(
            "cylinder-not-given",
            f"{words.what} without a cylinder are taken to have none; 0 would say so: rows "
            f"{in_words(cylinders[None])}.",
            f"{file}, {words.prefix}cylinder_dpt",
            FORMAT,
        )
    if cylinders[1.0] and cylinders[-1.0]:
        yield _mixed_signs(cylinders[1.0], cylinders[-1.0], words, file)


def _mixed_signs(plus: list[int], minus: list[int], words: Words, file: str) -> Finding:
    """Plus and minus cylinders in one column: both are right, unless a sign was lost."""
    rarer, sign = (plus, "plus") if len(plus) <= len(minus) else (minus, "minus")
    return warning(
        "cylinder-signs-mixed",
        f"{words.what} with plus cylinders ({len(plus)}) and with minus cylinders ({len(minus)}) stand in "
        "one file. Each was taken as written: either sign can give the same refraction, but a sign that was "
        f"lost would not be noticed. Look at the {sign} ones: rows {in_words(rarer)}.",
        f"{file}, {words.prefix}cylinder_dpt",
        FORMAT,
    )
