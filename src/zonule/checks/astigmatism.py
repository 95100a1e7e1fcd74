"""Questions to the astigmatism of the cornea: front reading adjusted, both surfaces measured, incision."""

from __future__ import annotations

from itertools import product
from typing import Any

import numpy as np
from numpy.typing import NDArray

from zonule.checks.question import Question
from zonule.checks.rows import Row
from zonule.errors import ConfigurationError
from zonule.science.astigmatism import incision
from zonule.science.astigmatism.corneal import (
    ADJUSTMENTS,
    Adjustment,
    ToricSurface,
    total_from_reading,
    total_from_surfaces,
)
from zonule.science.astigmatism.vectors import Astigmatism, Plane, steep

_AIR, _STROMA, _AQUEOUS = 1.0, 1.376, 1.336
_MERIDIANS_DEG = (0.0, 30.0, 75.0, 90.0, 135.0)
_RADII_MM = (((7.9, 7.6), (6.6, 6.2)), ((8.2, 7.4), (7.0, 6.1)))


def reading_of(row: Row) -> Astigmatism:
    """The cornea that a row starts from."""
    return steep(row.number("corneal_cylinder_dpt"), row.number("steep_meridian_deg"), Plane.CORNEA)


def _adjustment_of(row: Row) -> Adjustment:
    name = row.inputs.get("adjustment", "")
    if name not in ADJUSTMENTS:
        raise ConfigurationError(f"{row.where}: no adjustment is called {name}.")
    return ADJUSTMENTS[name]


def _adjusted(row: Row) -> Astigmatism:
    adjust = _adjustment_of(row).from_reading
    if adjust is None:
        raise ConfigurationError(f"{row.where}: this adjustment takes no reading.")
    return adjust(reading_of(row))


def _for_a_lens_dpt(row: Row) -> Any:
    lens_dpt = row.number("lens_cylinder_dpt")
    return total_from_reading(_adjustment_of(row), reading_of(row), lens_dpt).magnitude_dpt


def _back_dpt(row: Row) -> Any:
    """What was added, as a power at 90: minus where it works against the rule."""
    return -_adjusted(row).minus(reading_of(row)).x_dpt


def _after_incision(row: Row) -> Astigmatism:
    default = incision.published_effect(row.number("incision_meridian_deg"), incision.TEMPORAL.width_mm)
    stated = default._replace(flattening_dpt=row.number("flattening_dpt"))
    return incision.with_incision(reading_of(row), stated, row.number("incision_meridian_deg"))


def _published(row: Row) -> incision.IncisionEffect:
    return incision.published_effect(row.number("incision_meridian_deg"), row.number("width_mm"))


def _mean_size_dpt(row: Row) -> Any:
    """Mean length of a vector that scatters alike in all directions about its centroid: Rice's law."""
    from scipy.stats import rice

    effect = _published(row)
    sd_dpt = float(np.sqrt(effect.covariance_dpt2[0, 0]))
    return rice.mean(float(effect.flattening_dpt) / sd_dpt, scale=sd_dpt)


def _power_matrix(surface: ToricSurface, before: float, after: float) -> NDArray[np.float64]:
    """Power of a toric surface as a matrix of two by two, per metre."""
    turn = np.deg2rad(surface.steep_meridian_deg)
    along = np.array([np.cos(turn), np.sin(turn)])
    across = np.array([-np.sin(turn), np.cos(turn)])
    steep_dpt = 1000.0 * (after - before) / surface.steep_radius_mm
    flat_dpt = 1000.0 * (after - before) / surface.flat_radius_mm
    matrix: NDArray[np.float64] = steep_dpt * np.outer(along, along) + flat_dpt * np.outer(across, across)
    return matrix


def _by_matrices(front: ToricSurface, back: ToricSurface, thickness_mm: float) -> tuple[float, float]:
    """Astigmatism (x, y) of the thick cornea from ray matrices of four by four."""
    one, nothing = np.eye(2), np.zeros((2, 2))
    bend = [
        np.block([[one, nothing], [-power, one]])
        for power in (_power_matrix(front, _AIR, _STROMA), _power_matrix(back, _STROMA, _AQUEOUS))
    ]
    go = np.block([[one, thickness_mm / 1000.0 / _STROMA * one], [nothing, one]])
    power = -(bend[1] @ go @ bend[0])[2:, :2]
    return float(power[0, 0] - power[1, 1]), float(power[0, 1] + power[1, 0])


def _surfaces_against_matrices_dpt(_: Row) -> float:
    """The largest difference in either component."""
    differences = []
    for radii, front_deg, back_deg in product(_RADII_MM, _MERIDIANS_DEG, _MERIDIANS_DEG):
        front, back = ToricSurface(*radii[0], front_deg), ToricSurface(*radii[1], back_deg)
        ours = total_from_surfaces(front, back, 0.55)
        x_dpt, y_dpt = _by_matrices(front, back, 0.55)
        differences += [abs(float(ours.x_dpt) - x_dpt), abs(float(ours.y_dpt) - y_dpt)]
    return max(differences)


_READING = "a front reading of {corneal_cylinder_dpt} D steep at {steep_meridian_deg}"
_CUT = (
    "a cornea of {corneal_cylinder_dpt} D steep at {steep_meridian_deg} after an incision at "
    "{incision_meridian_deg} that flattens by {flattening_dpt} D"
)
_DEFAULT = "an incision of {width_mm} mm at {incision_meridian_deg}"

QUESTIONS = {
    "adjusted_cylinder_dpt": Question(
        "Cylinder of the whole cornea by {adjustment} for " + _READING,
        lambda row: _adjusted(row).magnitude_dpt,
    ),
    "adjusted_steep_meridian_deg": Question(
        "Steep meridian of the whole cornea by {adjustment} for " + _READING,
        lambda row: _adjusted(row).steep_meridian_deg,
    ),
    "adjusted_for_a_lens_dpt": Question(
        "Cylinder by {adjustment} before a lens cylinder of {lens_cylinder_dpt} D for " + _READING,
        _for_a_lens_dpt,
    ),
    "estimated_back_dpt": Question(
        "Back of the cornea at 90 by {adjustment} for " + _READING,
        _back_dpt,
    ),
    "cylinder_after_incision_dpt": Question(
        "Cylinder of " + _CUT, lambda row: _after_incision(row).magnitude_dpt
    ),
    "steep_meridian_after_incision_deg": Question(
        "Steep meridian of " + _CUT, lambda row: _after_incision(row).steep_meridian_deg
    ),
    "default_flattening_dpt": Question(
        "Flattening expected of " + _DEFAULT, lambda row: _published(row).flattening_dpt
    ),
    "default_mean_size_dpt": Question("Mean size of the change made by " + _DEFAULT, _mean_size_dpt),
    "both_surfaces_against_matrices_dpt": Question(
        "Largest difference in astigmatism between both corneal surfaces and ray matrices over 50 corneas",
        _surfaces_against_matrices_dpt,
    ),
}
