"""A lens by the keys of the files that may hold one."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from zonule.case.lens import CONSTANTS, ConstantsAccount, LensModel


def lens_as_dict(lens: LensModel) -> dict[str, Any]:
    """A lens by the keys of a catalogue file, absent ones included."""
    powers = lens.powers
    return {
        "model": lens.name,
        "powers_dpt": {"from": powers.from_dpt, "to": powers.to_dpt, "step": powers.step_dpt},
        **asdict(lens.constants),
        "constants_from": lens.constants_from,
        "constants_lane_m": lens.constants_lane_m,
        "constants_length_convention": lens.constants_length,
        "biometer_family": lens.biometer_family,
        "constants_notes": {name: _account(getattr(lens.constants_notes, name)) for name in CONSTANTS},
        "optic_mm": lens.optic_mm,
        "overall_mm": lens.overall_mm,
        "haptic": lens.haptic,
        "material": lens.material,
        "focus": lens.focus,
        "cylinders_dpt": lens.cylinders_dpt,
        "geometry": lens.geometry and asdict(lens.geometry),
    }


def _account(account: ConstantsAccount | None) -> dict[str, Any] | None:
    if account is None:
        return None
    return {
        "constants_from": account.constants_from,
        "lane_m": account.lane_m,
        "length_convention": account.length,
        "biometer_family": account.biometer_family,
    }
