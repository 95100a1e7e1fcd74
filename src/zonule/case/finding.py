"""Doubts about a case, in the user's words."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

COMMON_PRACTICE = "common practice, no source"


class Severity(StrEnum):
    """How much a finding matters."""

    NOTE = "note"
    """Worth knowing; nothing to do."""
    WARNING = "warning"
    """Look again before acting."""
    BLOCKING = "blocking"
    """Must be resolved first."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One doubt: what is odd, where, and on whose authority."""

    severity: Severity
    code: str
    """Words in hyphens; stable, so that tests and other programs can rely on it."""
    sentence: str
    where: str
    source: str = COMMON_PRACTICE
    """A key of docs/sources.md, or common practice."""


def note(code: str, sentence: str, where: str, source: str = COMMON_PRACTICE) -> Finding:
    """A finding that is worth knowing."""
    return Finding(Severity.NOTE, code, sentence, where, source)


def warning(code: str, sentence: str, where: str, source: str = COMMON_PRACTICE) -> Finding:
    """A finding to look at before acting."""
    return Finding(Severity.WARNING, code, sentence, where, source)


def blocking(code: str, sentence: str, where: str, source: str = COMMON_PRACTICE) -> Finding:
    """A finding that must be resolved first."""
    return Finding(Severity.BLOCKING, code, sentence, where, source)


def is_blocked(findings: tuple[Finding, ...] | list[Finding]) -> bool:
    """Whether any of these must be resolved first."""
    return any(finding.severity is Severity.BLOCKING for finding in findings)


def gravest_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Every finding once: what blocks, then warnings, then notes."""
    order = tuple(reversed(Severity))
    return tuple(sorted(dict.fromkeys(findings), key=lambda finding: order.index(finding.severity)))
