"""A verification report by the contract, ready for JSON."""

from __future__ import annotations

from zonule.checks.report import Check, VerificationReport
from zonule.exchange.findings_json import Json, findings_as_dict
from zonule.exchange.form_base import CONTRACT_VERSION


def verification_as_dict(report: VerificationReport) -> Json:
    """Unrounded; a check without an answer has no figure and says why."""
    on = report.installation
    return {
        "zonule": CONTRACT_VERSION,
        "findings": findings_as_dict(report.findings),
        "checked_on": report.checked_at.isoformat(timespec="seconds"),
        "software_version": on.software_version,
        "python": on.python,
        "numpy": on.numpy,
        "scipy": on.scipy,
        "platform": on.platform,
        "checks": [_check(check) for check in report.checks],
        "passed": len(report.checks) - len(report.failed),
        "failed": len(report.failed),
    }


def _check(check: Check) -> Json:
    row = check.row
    answer = {"figure": check.figure} if check.figure is not None else {"trouble": check.trouble}
    return {
        "check": check.words,
        "source": row.source,
        "table": row.table,
        "status": str(row.status),
        **answer,
        "unit": row.unit,
        "expected": row.expected,
        "tolerance": row.tolerance,
        "passed": check.passed,
        "reason": row.reason,
        "provenance": row.provenance,
        "where": row.where,
    }
