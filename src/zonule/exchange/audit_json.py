"""An audit and an import report by the contract, ready for JSON."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from zonule.case.finding import Finding
from zonule.case.learned import Audit, Excluded, MethodOutcome
from zonule.exchange.plan_json import findings_as_dict


def audit_as_dict(audit: Audit, findings: Iterable[Finding]) -> dict[str, Any]:
    """Unrounded; a figure that is not defined is left out."""
    answer: dict[str, Any] = {
        "zonule": 1,
        "findings": findings_as_dict(findings),
        "eyes": audit.eyes,
        "patients": audit.patients,
        "excluded": [_excluded(one) for one in audit.excluded],
        "methods": [_method(one) for one in audit.methods],
    }
    if audit.by_lens:
        answer["lenses"] = [
            {"lens_model": name, "methods": [_method(one) for one in methods]}
            for name, methods in audit.by_lens.items()
        ]
    return answer


def intake_as_dict(
    added: Iterable[str], unchanged: Iterable[str], findings: Iterable[Finding]
) -> dict[str, Any]:
    """What an import did."""
    return {
        "zonule": 1,
        "findings": findings_as_dict(findings),
        "added": list(added),
        "unchanged": list(unchanged),
    }


def catalogue_as_dict(
    added: Iterable[str], changed: Iterable[str], unchanged: Iterable[str], findings: Iterable[Finding]
) -> dict[str, Any]:
    """What bringing in a catalogue of lenses did, by their names."""
    return {**intake_as_dict(added, unchanged, findings), "changed": list(changed)}


def _excluded(one: Excluded) -> dict[str, Any]:
    return {"reason": one.reason, "eyes": one.eyes}


def _method(one: MethodOutcome) -> dict[str, Any]:
    summary = one.summary
    answer: dict[str, Any] = {
        "method": one.method,
        "eyes": summary.eyes,
        "mean_error_dpt": summary.mean_error_dpt,
        "sd_dpt": summary.sd_dpt,
        "mae_dpt": summary.mae_dpt,
        "median_ae_dpt": summary.median_ae_dpt,
        "within": dict(summary.within),
        "constant_for_zero_mean": one.constant_for_zero_mean,
    }
    return {name: value for name, value in answer.items() if value is not None}
