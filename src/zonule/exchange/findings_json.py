"""What every answer by the contract is written with: findings, and keys left out that do not apply."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from zonule.case.finding import Finding

Json = dict[str, Any]


def findings_as_dict(findings: Iterable[Finding]) -> list[Json]:
    """Findings in the form every answer has."""
    return [
        {
            "severity": finding.severity.value,
            "code": finding.code,
            "sentence": finding.sentence,
            "where": finding.where,
            "source": finding.source,
        }
        for finding in findings
    ]


def known(values: Json) -> Json:
    """Without the keys that do not apply: an answer has no null.

    Examples
    --------
    >>> known({"step_rule_dpt": None, "power_dpt": 19.5})
    {'power_dpt': 19.5}
    """
    return {name: value for name, value in values.items() if value is not None}
