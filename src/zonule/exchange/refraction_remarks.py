"""What a table leaves unsaid about its refractions, told once for all of its rows."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
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


def refraction_remarks(refractions: Mapping[int, Written], words: Words, file: str) -> Iterator[Finding]:
    """What was taken for granted about the refractions of a table.

    Parameters
    ----------
    refractions
        What each row that was taken says, by the number of the row; rows without a sphere have none.
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
    seen = {number: one for number, one in refractions.items() if one["sphere_dpt"] is not None}
    no_vertex = [number for number, one in seen.items() if one["vertex_mm"] is None]
    if no_vertex:
        yield note(
            "vertex-not-given",
            f"{words.what} without a vertex distance are taken to stand at 12 mm: rows "
            f"{in_words(no_vertex)}.",
            f"{file}, {words.prefix}vertex_mm",
            FORMAT,
        )
    no_cylinder = [number for number, one in seen.items() if one["cylinder_dpt"] is None]
    if no_cylinder:
        yield note(
            "cylinder-not-given",
            f"{words.what} without a cylinder are taken to have none; 0 would say so: rows "
            f"{in_words(no_cylinder)}.",
            f"{file}, {words.prefix}cylinder_dpt",
            FORMAT,
        )
    yield from _mixed_signs({number: one["cylinder_dpt"] or 0.0 for number, one in seen.items()}, words, file)


def _mixed_signs(cylinders_dpt: Mapping[int, float], words: Words, file: str) -> Iterator[Finding]:
    """Plus and minus cylinders in one column: both are right, unless a sign was lost."""
    plus = [number for number, one in cylinders_dpt.items() if one > 0.0]
    minus = [number for number, one in cylinders_dpt.items() if one < 0.0]
    if not plus or not minus:
        return
    rarer, sign = (plus, "plus") if len(plus) <= len(minus) else (minus, "minus")
    yield warning(
        "cylinder-signs-mixed",
        f"{words.what} with plus cylinders ({len(plus)}) and with minus cylinders ({len(minus)}) stand in "
        "one file. Each was taken as written: either sign can give the same refraction, but a sign that was "
        f"lost would not be noticed. Look at the {sign} ones: rows {in_words(rarer)}.",
        f"{file}, {words.prefix}cylinder_dpt",
        FORMAT,
    )
