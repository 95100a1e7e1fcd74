"""What the formulas read of an eye, in words: one list for findings, sentences and tables."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Quantity:
    """One number that formulas read: what it is called, its unit, and the decimals that mean anything."""

    words: str
    """As they stand after *the* or *measuring*."""
    unit: str
    decimals: int


QUANTITIES = {
    "axial_length_mm": Quantity("axial length", "mm", 2),
    "mean_k_dpt": Quantity("corneal power", "D", 2),
    "anterior_chamber_depth_mm": Quantity("chamber depth", "mm", 2),
    "lens_thickness_mm": Quantity("lens thickness", "mm", 2),
    "corneal_thickness_mm": Quantity("corneal thickness", "mm", 3),
    "posterior_radius_mm": Quantity("back radius of the cornea", "mm", 2),
    "mean_k_before_dpt": Quantity("corneal power before surgery", "D", 2),
    "treated_at_cornea_dpt": Quantity("refractive change that surgery achieved", "D", 2),
}
"""By the names of `EyeNumbers`."""
