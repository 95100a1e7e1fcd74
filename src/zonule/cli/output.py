"""How commands answer: tables for people, JSON by the contract, sentences when something is wrong."""

from __future__ import annotations

import json
import shutil
import sys
import traceback
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from zonule.case.finding import Finding, Severity

if TYPE_CHECKING:
    from rich.console import Console

DONE, WRONG_CALL, BLOCKED, OUR_ERROR = 0, 2, 3, 70
PAGE_WIDTH = 100

_WORDS = {Severity.BLOCKING: "STOP", Severity.WARNING: "LOOK AGAIN", Severity.NOTE: "note"}


def console() -> Console:
    """Where tables for people go; wide enough to read when it is no terminal."""
    from rich.console import Console

    width = (
        None if sys.stdout.isatty() else max(PAGE_WIDTH, shutil.get_terminal_size((PAGE_WIDTH, 24)).columns)
    )
    return Console(width=width, highlight=False)


def print_json(answer: dict[str, Any]) -> None:
    """An answer by the contract; unrounded, without nan."""
    sys.stdout.write(json.dumps(answer, indent=2, allow_nan=False, ensure_ascii=False) + "\n")


def print_findings(out: Console, findings: Iterable[Finding]) -> None:
    """Every finding once, as a word of how grave it is, a sentence, where, and on whose authority."""
    from rich.markup import escape

    from zonule.drawings.doubts import doubts_of

    for doubt in doubts_of(findings):
        word = _WORDS[doubt.severity]
        marked = f"[bold]{word}[/bold]" if doubt.severity is not Severity.NOTE else word
        out.print(f"{marked}: {escape(doubt.sentence)}")
        out.print(f"  [dim]{escape(', '.join(doubt.wheres))}; {escape(doubt.source)}[/dim]")


def complain(error: Exception, *, ours: bool = False) -> None:
    """What went wrong, on standard error."""
    if ours:
        sys.stderr.write("zonule made an error of its own and stopped; nothing it printed should be used.\n")
        traceback.print_exception(error, limit=-4, file=sys.stderr)
        return
    sys.stderr.write(f"zonule: {error}\n")


def exit_status(findings: Iterable[Finding]) -> int:
    """0, or 3 when something must be resolved first."""
    return BLOCKED if any(one.severity is Severity.BLOCKING for one in findings) else DONE
