"""The dated report: what was asked of this installation, what it answered, and what that does not mean."""

from __future__ import annotations

import math
import platform
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from importlib.metadata import version

from zonule import __version__
from zonule.case.finding import Finding, blocking
from zonule.checks.questions import QUESTIONS
from zonule.checks.rows import Row, Status, all_rows
from zonule.errors import ConfigurationError, ZonuleError

WHAT_GREEN_DOES_NOT_MEAN = (
    "When every check passes, this installation computes what the equations say, and meets the outside "
    "numbers listed here within the tolerances stated. It does not mean that an equation written from memory "
    "is the one its paper printed, that a measurement fed into it is right, or that any patient will get the "
    "refraction predicted. Checks marked from memory show only that the code and those who wrote the values "
    "down agree."
)


@dataclass(frozen=True, slots=True)
class Check:
    """One question, answered now by this installation."""

    row: Row
    words: str
    """What is checked, in plain words."""
    figure: float | None
    """What this installation computed; None where it gave no number."""
    trouble: str
    """Why there is no figure; empty when there is one."""

    @property
    def passed(self) -> bool:
        """Whether the figure is within its tolerance, limit included."""
        return self.figure is not None and abs(self.figure - self.row.expected) <= self.row.tolerance


@dataclass(frozen=True, slots=True)
class Installation:
    """What was asked: versions, and the kind of machine."""

    software_version: str
    python: str
    numpy: str
    scipy: str
    platform: str


@dataclass(frozen=True, slots=True)
class VerificationReport:
    """Every check against the outside, run on one installation at one moment."""

    checked_at: datetime
    installation: Installation
    checks: tuple[Check, ...]

    @property
    def failed(self) -> tuple[Check, ...]:
        """Those that missed their tolerance or gave no number."""
        return tuple(check for check in self.checks if not check.passed)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """One that blocks for each check that failed."""
        return tuple(_finding(check) for check in self.failed)

    def count(self, status: Status) -> tuple[int, int]:
        """How many checks of this status passed, and of how many."""
        of_status = [check for check in self.checks if check.row.status is status]
        return sum(check.passed for check in of_status), len(of_status)


def verify(at: datetime, rows: Iterable[Row] | None = None) -> VerificationReport:
    """Run every check, or those of these rows, on this installation."""
    chosen = all_rows() if rows is None else rows
    return VerificationReport(at, installation(), tuple(run(row) for row in chosen))


def run(row: Row) -> Check:
    """Ask one question; a question that cannot be answered is a check that failed."""
    words = in_words(row)
    try:
        figure = float(QUESTIONS[row.quantity].answer(row))
    except (ZonuleError, ArithmeticError, ValueError, LookupError, TypeError) as error:
        return Check(row, words, None, f"no answer: {error}")
    if not math.isfinite(figure):
        return Check(row, words, None, "the answer is no number")
    return Check(row, words, figure, "")


def in_words(row: Row) -> str:
    """What a row checks, as a sentence without its full stop."""
    from zonule.science.lens_power.formulas import FORMULAS

    said = dict(row.inputs)
    if said.get("formula") in FORMULAS:
        said["formula"] = FORMULAS[said["formula"]].name
    try:
        words = QUESTIONS[row.quantity].words.format_map(said)
    except KeyError as error:
        raise ConfigurationError(f"{row.where}: {row.quantity} cannot be asked without {error}.") from None
    return words.replace("_", " ")


def installation() -> Installation:
    """What this process runs on."""
    return Installation(
        software_version=__version__,
        python=platform.python_version(),
        numpy=version("numpy"),
        scipy=version("scipy"),
        platform=f"{platform.system()} on {platform.machine()}",
    )


def _finding(check: Check) -> Finding:
    row = check.row
    found = check.trouble or f"this installation gives {check.figure:.10g} {row.unit}"
    return blocking(
        "check-failed",
        f"{check.words}: {found}; expected {row.expected_text} within {row.tolerance_text} {row.unit}. "
        "Plan no eye with this installation until the reason is known.",
        row.where,
        row.source,
    )
