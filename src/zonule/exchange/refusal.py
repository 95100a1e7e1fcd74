"""A refused file: one error that carries everything that was found wrong with it."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence

from zonule.case.finding import Finding, blocking
from zonule.errors import ExchangeError

FORMAT = "zonule-contracts"
"""Authority for what a file may hold: the reference pages of the file formats."""

_SHOWN_LENGTH = 40


class RefusedFileError(ExchangeError):
    """The file cannot be used as it is.

    Parameters
    ----------
    findings
        Everything that is wrong with it, at least one.
    """

    def __init__(self, findings: Sequence[Finding]) -> None:
        lines = (f"{finding.where}: {finding.sentence}" for finding in findings)
        super().__init__("\n".join(lines), where=findings[0].where)
        self.findings = tuple(findings)


def problem(code: str, sentence: str, where: str) -> Finding:
    """A reason not to take a file, a row or a field."""
    return blocking(code, sentence, where, FORMAT)


def refused(code: str, sentence: str, where: str) -> RefusedFileError:
    """The error for a file with one thing wrong."""
    return RefusedFileError((problem(code, sentence, where),))


def shown(value: object) -> str:
    """A value from a file, safe and short enough to stand in a sentence.

    Examples
    --------
    >>> shown("23.5 mm"), shown(True), shown(7.25)
    ('"23.5 mm"', 'true', '7.25')
    """
    if isinstance(value, bool) or value is None:
        return {True: "true", False: "false", None: "null"}[value]
    if isinstance(value, dict):
        return "a group of keys"
    if isinstance(value, list | tuple):
        return "a list"
    text = ascii(value)[1:-1] if isinstance(value, str) and not value.isprintable() else str(value)
    cut = text if len(text) <= _SHOWN_LENGTH else f"{text[:_SHOWN_LENGTH]}..."
    return f'"{cut}"' if isinstance(value, str) else cut


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """A suggestion to add to a sentence about an unknown word; empty when nothing is near.

    Examples
    --------
    >>> did_you_mean("axial_lenght_mm", ["axial_length_mm", "eye"])
    ' Did you mean "axial_length_mm"?'
    """
    near = difflib.get_close_matches(word[:_SHOWN_LENGTH], list(known), n=1, cutoff=0.7)
    return f' Did you mean "{near[0]}"?' if near else ""


def file_name(file: str) -> str:
    """A file's name without its folder."""
    return file.replace("\\", "/").rsplit("/", 1)[-1] or file
