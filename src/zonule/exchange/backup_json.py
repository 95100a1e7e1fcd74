"""The lenses to have ready as JSON, unrounded and without a null (docs/reference/plan-json.md)."""

from __future__ import annotations

from dataclasses import asdict

from zonule.case.backup import Backup, BackupLens, NotOffered
from zonule.exchange.findings_json import Json, findings_as_dict, known
from zonule.exchange.method_keys import method_key


def backup_as_dict(backup: Backup) -> Json:
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
        "findings": findings_as_dict(backup.findings),
    }
    return known(written)


def _lens(found: BackupLens) -> Json:
    plain = asdict(found)
    lowest_dpt, highest_dpt = plain.pop("power_range_dpt")
    return known(
        {
            **plain,
            "position": found.position.value,
            "methods": [method_key(method) for method in found.methods],
            "power_range_dpt": {"lowest": lowest_dpt, "highest": highest_dpt},
            "findings": findings_as_dict(found.findings),
        }
    )


def _not_offered(lens: NotOffered) -> Json:
    return {
        "model": lens.model,
        "position": lens.position.value,
        "findings": findings_as_dict(lens.findings),
    }
