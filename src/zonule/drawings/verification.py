"""A verification report in words and rows, for the screen and for paper."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal

from zonule.checks.report import Check, VerificationReport
from zonule.checks.rows import Row, Status
from zonule.drawings.numbers import MINUS, plain_text

STATUS_MEANS = {
    Status.PUBLISHED: "a number, or an equation with its coefficients, read in the source",
    Status.INDEPENDENT: "computed by an independent library or by independent algebra",
    Status.FROM_MEMORY: "computed from equations or numbers that were written from memory",
}
_MOST_DECIMALS = 12
PASSED, FAILED = "passed", "FAILED"


@dataclass(frozen=True, slots=True)
class Line:
    """One check as it is told."""

    words: str
    figure: str
    expected: str
    verdict: str


@dataclass(frozen=True, slots=True)
class Group:
    """Checks that stand on the same place of the same source, with the same tolerance."""

    source: str
    """Key of docs/sources.md."""
    table: str
    status: str
    tolerance: str
    lines: tuple[Line, ...]


def verdict_sentence(report: VerificationReport) -> str:
    """How it went, in one sentence."""
    total, failed = len(report.checks), len(report.failed)
    if failed:
        verb = "fails" if failed == 1 else "fail"
        return f"{failed} of {total} checks {verb}. Plan no eye here until the reason is known."
    return f"All {total} checks pass on this installation."


def installation_text(report: VerificationReport) -> str:
    """What was asked."""
    on = report.installation
    return (
        f"zonule {on.software_version}, Python {on.python}, NumPy {on.numpy}, SciPy {on.scipy}, {on.platform}"
    )


def status_rows(report: VerificationReport) -> tuple[tuple[str, str, str, str], ...]:
    """Each status, what it means, how many checks have it and how many of them passed."""
    counted = ((status, *report.count(status)) for status in Status)
    return tuple(
        (str(status), STATUS_MEANS[status], str(total), str(passed)) for status, passed, total in counted
    )


def groups(report: VerificationReport) -> tuple[Group, ...]:
    """Every check under the source and the tolerance that it shares with others; what is worth most first."""
    order = list(Status)
    gathered: dict[tuple[str, ...], list[Check]] = {}
    for check in sorted(report.checks, key=lambda check: order.index(check.row.status)):
        gathered.setdefault(_shared(check), []).append(check)
    return tuple(_group(tuple(checks)) for checks in gathered.values())


def _shared(check: Check) -> tuple[str, ...]:
    row = check.row
    return row.source, row.table, row.status, row.tolerance_text, row.unit, row.reason


def _group(checks: tuple[Check, ...]) -> Group:
    row = checks[0].row
    return Group(row.source, row.table, str(row.status), tolerance_text(row), tuple(map(line_of, checks)))


def line_of(check: Check) -> Line:
    """One check in words and numbers."""
    row = check.row
    figure = check.trouble if check.figure is None else plain_text(check.figure, _decimals(row))
    verdict = PASSED if check.passed else FAILED
    return Line(
        _with_true_minus(check.words), figure, plain_text(row.expected, _places(row.expected_text)), verdict
    )


def _with_true_minus(words: str) -> str:
    """A minus before a number is a minus; a hyphen between words stays one.

    Examples
    --------
    >>> _with_true_minus("double-K for -2.0 D")
    'double-K for \u22122.0 D'
    """
    return re.sub(r"(?<![\w.])-(?=\d)", MINUS, words)


def tolerance_text(row: Row) -> str:
    """The tolerance with its unit, and why."""
    return f"{Decimal(row.tolerance_text):f} {row.unit}: {row.reason}"


def _decimals(row: Row) -> int:
    """Enough to see where in its tolerance a figure lies."""
    return min(max(_places(row.expected_text), _places(row.tolerance_text) + 1), _MOST_DECIMALS)


def _places(text: str) -> int:
    exponent = Decimal(text).as_tuple().exponent
    return max(-exponent, 0) if isinstance(exponent, int) else 0
