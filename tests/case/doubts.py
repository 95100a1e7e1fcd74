"""What a list of findings says, in the few ways tests ask."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from zonule.case.finding import Finding, Severity

TODAY = date(2026, 11, 10)


def codes(findings: Iterable[Finding], severity: Severity | None = None) -> set[str]:
    """The codes that were raised, all of them or of one severity."""
    return {one.code for one in findings if severity in {None, one.severity}}


def the_one(findings: Iterable[Finding], code: str) -> Finding:
    """The only finding of this code."""
    found = [one for one in findings if one.code == code]
    assert len(found) == 1, [one.code for one in found]
    return found[0]


def severities(findings: Iterable[Finding]) -> set[Severity]:
    """How grave the findings are."""
    return {one.severity for one in findings}
