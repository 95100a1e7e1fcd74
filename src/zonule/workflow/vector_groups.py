"""Vectors of many eyes with the figures that their number allows."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from zonule.case.astigmatism_results import VectorGroup
from zonule.errors import MissingMeasurementError, NotDefinedError
from zonule.science.astigmatism.aggregate import (
    Ellipse,
    HotellingTest,
    aggregate,
    centroid_ellipse,
    data_ellipse,
    hotelling_test,
)
from zonule.science.astigmatism.outline import polygon_of_most
from zonule.science.astigmatism.vectors import Astigmatism


def vector_group(
    vectors: Astigmatism, patient_keys: Sequence[str], which: NDArray[np.bool_] | None = None
) -> VectorGroup | None:
    """The group of these eyes, or of those of them that are meant and known; None without any."""
    known = np.isfinite(vectors.x_dpt) & np.isfinite(vectors.y_dpt)
    chosen = known if which is None else known & which
    if not chosen.any():
        return None
    kept = only(vectors, chosen)
    found = aggregate(kept)
    regions = _regions(kept)
    patients = len({key for key, taken in zip(patient_keys, chosen, strict=True) if taken})
    return VectorGroup(kept, patients, found, float(np.median(kept.magnitude_dpt)), *regions)


def _regions(
    eyes: Astigmatism,
) -> tuple[Ellipse, Ellipse, HotellingTest] | tuple[None, None, None]:
    try:
        return data_ellipse(eyes), centroid_ellipse(eyes), hotelling_test(eyes)
    except (MissingMeasurementError, NotDefinedError):
        return None, None, None


def only(vectors: Astigmatism, which: NDArray[np.bool_]) -> Astigmatism:
    """Those of many vectors that are meant."""
    return Astigmatism(np.asarray(vectors.x_dpt)[which], np.asarray(vectors.y_dpt)[which], vectors.plane)


def outline_of(group: VectorGroup) -> Astigmatism | None:
    """The convex outline around 95 in 100 of these eyes; None where they have none."""
    try:
        return polygon_of_most(group.vectors)
    except (MissingMeasurementError, NotDefinedError):
        return None
