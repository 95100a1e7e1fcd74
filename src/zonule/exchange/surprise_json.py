"""A surprising refraction as JSON, unrounded and without a null."""

from __future__ import annotations

from dataclasses import asdict
from enum import StrEnum
from typing import Any

from zonule.case.surprise import Remedy, Surprise
from zonule.exchange.form_base import CONTRACT_VERSION
from zonule.exchange.plan_json import findings_as_dict

Json = dict[str, Any]


def surprise_as_dict(surprise: Surprise) -> Json:
    """Causes in order of rank, clues and remedies; a key that does not apply is left out.

    Parameters
    ----------
    surprise
        What was worked out for one eye.

    Returns
    -------
    dict
        Plain values, ready for JSON.
    """
    return _known(
        {
            "zonule": CONTRACT_VERSION,
            "findings": findings_as_dict(surprise.findings),
            "refraction": _known(asdict(surprise.refraction)),
            "achieved_dpt": surprise.achieved_dpt,
            "predicted_dpt": surprise.predicted_dpt,
            "error_dpt": surprise.error_dpt,
            "sd_dpt": surprise.sd_dpt,
            "is_large": surprise.is_large,
            "target_dpt": surprise.target_dpt,
            "days_after": surprise.days_after,
            "lens": {
                "model": surprise.lens_model,
                "power_dpt": surprise.lens_power_dpt,
                "label_tolerance_dpt": surprise.label_tolerance_dpt,
                "explaining_power_dpt": surprise.explaining_power_dpt,
            },
            "causes": [_plain(asdict(one)) for one in surprise.causes],
            "clues": [_plain(asdict(one)) for one in surprise.clues],
            "mix_ups": [_plain(asdict(one)) for one in surprise.mix_ups],
            "positions": [asdict(one) for one in surprise.positions],
            "room": surprise.room.value,
            "remedies": [_remedy(one) for one in surprise.remedies],
            "fellow_refraction_dpt": surprise.fellow_refraction_dpt,
            "fellow_by_glasses": surprise.fellow_by_glasses,
            "lesson_eyes": surprise.lesson_eyes,
        }
    )


def _remedy(remedy: Remedy) -> Json:
    written: Json = _plain(asdict(remedy))
    if not remedy.exchanges:
        del written["exchanges"]
    return written


def _plain(value: Any) -> Any:
    """Words for choices, lists for tuples, and nothing for what is absent."""
    if isinstance(value, dict):
        return {name: _plain(inner) for name, inner in _known(value).items()}
    if isinstance(value, list | tuple):
        return [_plain(inner) for inner in value]
    return value.value if isinstance(value, StrEnum) else value


def _known(values: Json) -> Json:
    return {name: value for name, value in values.items() if value is not None}
