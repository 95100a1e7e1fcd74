"""Lenses for other places than the bag, invented for tests."""

from __future__ import annotations

from typing import Any

from fakes.examples import ordinary_lens
from zonule.case.lens import Focus, Haptic, LensModel
from zonule.science.lens_power.formulas import EyeNumbers

METHODS = ("srk_t", "holladay_1", "hoffer_q")


def numbers_of(
    length_mm: float = 23.5, mean_k_dpt: float = 43.5, depth_mm: float = 3.1
) -> dict[str, EyeNumbers]:
    """An average eye, as each of three methods reads it."""
    return dict.fromkeys(METHODS, EyeNumbers(length_mm, mean_k_dpt, depth_mm))


def single_piece(name: str = "Meadow One", a_constant: float | None = 118.4, **changes: Any) -> LensModel:
    """The planned lens of most tests."""
    return _lens(name, a_constant, Haptic.SINGLE_PIECE, changes)


def three_piece(name: str = "Meadow Three", a_constant: float | None = 118.4, **changes: Any) -> LensModel:
    """A lens for the sulcus."""
    return _lens(name, a_constant, Haptic.THREE_PIECE, changes)


def chamber_lens(name: str = "Meadow Gate", a_constant: float | None = 115.2, **changes: Any) -> LensModel:
    """An angle-supported lens for the anterior chamber."""
    return _lens(name, a_constant, Haptic.ANGLE_SUPPORTED, changes)


def _lens(name: str, a_constant: float | None, haptic: Haptic, changes: dict[str, Any]) -> LensModel:
    return ordinary_lens(name, a_constant, **{"focus": Focus.SINGLE, "haptic": haptic, **changes})
