"""The astigmatism of the whole cornea, by every model that may speak of this one, side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from zonule.case.biometry import Biometry, CorneaKind
from zonule.case.eye import CornealSurgery, Eye
from zonule.case.operated_cornea import untouched_only
from zonule.case.toric import CorneaModelName, ModelNotUsed
from zonule.science.arrays import select
from zonule.science.astigmatism.corneal import (
    ADJUSTMENTS,
    Adjustment,
    Status,
    Takes,
    ToricSurface,
    anterior_astigmatism,
    total_from_reading,
    total_from_surfaces,
)
from zonule.science.astigmatism.toric_odds import BACK_SD_DPT, FRONT_ALONE_SD_DPT, KERATOMETRY_SDS_DPT
from zonule.science.astigmatism.vectors import Astigmatism, Plane
from zonule.science.units import um_to_mm

AS_GIVEN = CorneaModelName.TOTAL
FRONT_ALONE = CorneaModelName.ANTERIOR
MEASURED_BACK = CorneaModelName.MEASURED_POSTERIOR
USUAL = CorneaModelName.ABULAFIA_KOCH_2016
"""What is planned on where nobody chose and no back was measured; the plan says so."""

BY_PREFERENCE = (AS_GIVEN, MEASURED_BACK, USUAL, FRONT_ALONE)

AS_GIVEN_WORDS = "Total, as the device gives it"


@dataclass(frozen=True, slots=True)
class Totals:
    """Whole corneas before the incision by model key, and the models that cannot speak."""

    by_model: dict[CorneaModelName, Astigmatism]
    not_used: tuple[ModelNotUsed, ...]

    @property
    def preferred(self) -> CorneaModelName:
        """The model to plan on where nobody chose."""
        return next(key for key in BY_PREFERENCE if key in self.by_model)

    @property
    def counting(self) -> tuple[CorneaModelName, ...]:
        """Models over which odds are taken: what was measured, else those that allow for the back."""
        for measured in (AS_GIVEN, MEASURED_BACK):
            if measured in self.by_model:
                return (measured,)
        front = self.by_model[FRONT_ALONE]
        adjusted = tuple(key for key, one in self.by_model.items() if _differ(one, front))
        return adjusted or (FRONT_ALONE,)

    @property
    def open_sd_dpt(self) -> float:
        """What these models leave open in each component of one cornea."""
        if {AS_GIVEN, MEASURED_BACK} & set(self.counting):
            return 0.0
        return FRONT_ALONE_SD_DPT if self.counting == (FRONT_ALONE,) else BACK_SD_DPT


def _differ(one: Astigmatism, other: Astigmatism) -> bool:
    """Whether a model changed the reading; one that leaves it alone says nothing of the back."""
    return float(one.minus(other).magnitude_dpt) > _ROUNDING_DPT


_ROUNDING_DPT = 1e-9


def reading_sds_dpt(biometry: Biometry) -> tuple[float, float]:
    """How far components x and y of the reading may be off: published, or by this eye's repeats if worse."""
    repeats = biometry.repeats or {}
    flat, steep, meridian = (repeats.get(name, ()) for name in _REPEATED)
    if not len(flat) == len(steep) == len(meridian) >= _ENOUGH_REPEATS:
        return KERATOMETRY_SDS_DPT
    each = anterior_astigmatism(np.array(flat), np.array(steep), np.array(meridian))
    published_x, published_y = KERATOMETRY_SDS_DPT
    return max(published_x, float(np.std(each.x_dpt, ddof=1))), max(
        published_y, float(np.std(each.y_dpt, ddof=1))
    )


_REPEATED = ("flat_power_dpt", "steep_power_dpt", "steep_meridian_deg")
_ENOUGH_REPEATS = 3
"""Two readings say next to nothing of a spread (our choice)."""


def model_words(key: CorneaModelName) -> str:
    """A cornea model in words."""
    return AS_GIVEN_WORDS if key == AS_GIVEN else ADJUSTMENTS[key].words


MODEL_WORDS = {key: model_words(key) for key in CorneaModelName}
"""Every cornea model that can be chosen, in words."""


def model_source(key: CorneaModelName) -> tuple[str, str]:
    """Where a cornea model comes from, and how far it was checked."""
    if key == AS_GIVEN:
        return "wang-2011-total", Status.ARITHMETIC
    row = ADJUSTMENTS[key]
    return row.source, row.status


def totals(eye: Eye, reading: Astigmatism, lens_cylinder_dpt: float) -> Totals:
    """The whole cornea by each model, before the incision.

    Parameters
    ----------
    eye
        Whose cornea; what is known of its back and its history decides which models may speak.
    reading
        Its keratometry as a vector (`Keratometry.astigmatism`).
    lens_cylinder_dpt
        Cylinder at the lens that the reading as it is would ask for: one model depends on it.
    """
    if eye.biometry.keratometry.kind is CorneaKind.TOTAL:
        barred = (ModelNotUsed(key, row.words, _TOTAL_ALREADY) for key, row in _ADJUSTMENTS.items())
        return Totals({AS_GIVEN: reading}, tuple(barred))
    by_model: dict[CorneaModelName, Astigmatism] = {}
    not_used: list[ModelNotUsed] = []
    for key, row in _ADJUSTMENTS.items():
        answer = _whole(row, eye, reading, lens_cylinder_dpt)
        if isinstance(answer, str):
            not_used.append(ModelNotUsed(key, row.words, answer))
        else:
            by_model[key] = answer
    return Totals(by_model, tuple(not_used))


def totals_of_many(
    eyes: Sequence[Eye], readings: Astigmatism, lens_cylinders_dpt: NDArray[np.float64]
) -> dict[CorneaModelName, Astigmatism]:
    """The same for many eyes at once: one vector an eye by each model, nan where it cannot speak of it."""
    given_total = np.array([eye.biometry.keratometry.kind is CorneaKind.TOTAL for eye in eyes], dtype=bool)
    touched = np.array([untouched_only(eye) is not None for eye in eyes], dtype=bool)
    found = {AS_GIVEN: _only(given_total, readings)}
    for key, row in _ADJUSTMENTS.items():
        if row.takes is Takes.BOTH_SURFACES:
            found[key] = _only(~given_total, _measured_backs(eyes))
            continue
        speaks = ~given_total & np.asarray(row.applies(readings), dtype=bool)
        if key != FRONT_ALONE:
            speaks &= ~touched
        found[key] = _only(speaks, total_from_reading(row, readings, lens_cylinders_dpt))
    return found


def _only(speaks: NDArray[np.bool_], vectors: Astigmatism) -> Astigmatism:
    x_dpt, y_dpt = (select(speaks, each, np.nan) for each in (vectors.x_dpt, vectors.y_dpt))
    return Astigmatism(x_dpt, y_dpt, vectors.plane)


def _measured_backs(eyes: Sequence[Eye]) -> Astigmatism:
    rows = np.full((len(eyes), 2), np.nan)
    for row, eye in enumerate(eyes):
        whole = _from_both_surfaces(eye.biometry)
        if not isinstance(whole, str):
            rows[row] = float(whole.x_dpt), float(whole.y_dpt)
    return Astigmatism(rows[:, 0], rows[:, 1], Plane.CORNEA)


_ADJUSTMENTS = {CorneaModelName(key): row for key, row in ADJUSTMENTS.items()}
_TOTAL_ALREADY = "The device gave the whole cornea; its back would be counted twice."
_UNTOUCHED = "It was fitted to untouched corneas."


def _whole(row: Adjustment, eye: Eye, reading: Astigmatism, lens_cylinder_dpt: float) -> Astigmatism | str:
    """What a model makes of this cornea, or why it cannot."""
    if row.takes is Takes.BOTH_SURFACES:
        return _from_both_surfaces(eye.biometry)
    if row is not ADJUSTMENTS[FRONT_ALONE] and untouched_only(eye) is not None:
        return _UNTOUCHED
    if not bool(row.applies(reading)):
        if float(reading.magnitude_dpt) == 0.0:
            return "It needs a cylinder to start from."
        return "It gives no figure for an oblique cylinder."
    whole = total_from_reading(row, reading, lens_cylinder_dpt)
    return whole if np.isfinite(float(whole.x_dpt)) else "It needs a lens position, which no method gives."


def _from_both_surfaces(biometry: Biometry) -> Astigmatism | str:
    radii, meridian_deg = biometry.keratometry.radii_mm, biometry.keratometry.steep_meridian_deg
    flat, steep = biometry.posterior_flat_radius_mm, biometry.posterior_steep_radius_mm
    thickness, back_deg = biometry.corneal_thickness_um, biometry.posterior_steep_meridian_deg
    lacking = [
        words
        for words, one in (
            ("the two back radii", flat and steep),
            ("the meridian of the steeper back", back_deg),
            ("the corneal thickness", thickness),
        )
        if one is None
    ]
    if lacking:
        return f"It needs {' and '.join(lacking)}, measured."
    if radii is None or meridian_deg is None or flat is None or steep is None or thickness is None:
        return "It needs both surfaces, measured."
    assert back_deg is not None  # noqa: S101 - it is among what may be lacking
    return total_from_surfaces(
        ToricSurface(radii[0], radii[1], meridian_deg),
        ToricSurface(flat.value, steep.value, back_deg),
        um_to_mm(thickness.value),
    )


def is_irregular(eye: Eye) -> bool:
    """Whether two principal meridians cannot describe this cornea."""
    return eye.history.corneal_surgery in {CornealSurgery.KERATOCONUS, CornealSurgery.GRAFT}
