"""The lenses to have ready as JSON, unrounded and without a null (docs/reference/plan-json.md)."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from zonule.case.backup import Backup, BackupLens, NotOffered
from zonule.case.finding import Finding
from zonule.exchange.method_keys import method_key


def backup_as_dict(backup: Backup) -> dict[str, Any]:
    """The part `backup` of the answer of `zonule plan --json`.

    Parameters
    ----------
    backup
        What to have ready.

    Returns
    -------
    dict
        Plain values. A key that does not apply to a lens is left out, as is the model of an orientation.
        Findings stand with what they are about; they stop no plan.
    """
    written = {
        "planned_model": backup.planned_model,
        "planned_power_dpt": backup.planned_power_dpt,
        "target_refraction_dpt": backup.target_refraction_dpt,
        "lenses": [_lens(one) for one in backup.lenses],
        "not_offered": [_not_offered(one) for one in backup.not_offered],
        "findings": _findings(backup.findings),
    }
    return _without_none(written)


def _lens(found: BackupLens) -> dict[str, Any]:
    plain = asdict(found)
    lowest_dpt, highest_dpt = plain.pop("power_range_dpt")
    return _without_none(
        {
            **plain,
            "position": found.position.value,
            "methods": [method_key(method) for method in found.methods],
            "power_range_dpt": {"lowest": lowest_dpt, "highest": highest_dpt},
            "findings": _findings(found.findings),
        }
    )


def _not_offered(lens: NotOffered) -> dict[str, Any]:
    return {
        "model": lens.model,
        "position": lens.position.value,
        "findings": _findings(lens.findings),
    }


def _findings(findings: tuple[Finding, ...]) -> list[dict[str, Any]]:
    return [{**asdict(finding), "severity": finding.severity.value} for finding in findings]


def _without_none(written: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in written.items() if value is not None}
