"""An audit and an import report by the contract, ready for JSON."""

from __future__ import annotations

from collections.abc import Iterable

from zonule.case.finding import Finding
from zonule.case.learned import Audit, Excluded, MethodOutcome
from zonule.exchange.findings_json import Json, findings_as_dict, known
from zonule.exchange.form_base import CONTRACT_VERSION


def audit_as_dict(audit: Audit, findings: Iterable[Finding]) -> Json:
    """Unrounded; a figure that is not defined is left out."""
    answer: Json = {
        "zonule": CONTRACT_VERSION,
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


def intake_as_dict(added: Iterable[str], unchanged: Iterable[str], findings: Iterable[Finding]) -> Json:
    """What an import did."""
    return {
        "zonule": CONTRACT_VERSION,
        "findings": findings_as_dict(findings),
        "added": list(added),
        "unchanged": list(unchanged),
    }


def catalogue_as_dict(
    added: Iterable[str], changed: Iterable[str], unchanged: Iterable[str], findings: Iterable[Finding]
) -> Json:
    """What bringing in a catalogue of lenses did, by their names."""
    return {**intake_as_dict(added, unchanged, findings), "changed": list(changed)}


def _excluded(one: Excluded) -> Json:
    return {"reason": one.reason, "eyes": one.eyes}


def _method(one: MethodOutcome) -> Json:
    summary = one.summary
    answer: Json = {
        "method": one.method,
        "eyes": summary.eyes,
        "mean_error_dpt": summary.mean_error_dpt,
        "sd_dpt": summary.sd_dpt,
        "mae_dpt": summary.mae_dpt,
        "median_ae_dpt": summary.median_ae_dpt,
        "within": dict(summary.within),
        "constant_for_zero_mean": one.constant_for_zero_mean,
    }
    return known(answer)
