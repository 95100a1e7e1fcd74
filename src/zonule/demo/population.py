"""Invented pairs of eyes, drawn from published figures of a population.

Means, standard deviations and the four correlations of chamber depth are those of 28,709 right eyes
(population-pmc8045194; a population with many high myopes). Correlations that the reference does not give
are drawn as zero. How alike two fellow eyes are, the shape of the cylinder's distribution, its meridians
and the back of the cornea are our choice.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaincinv, ndtr


class Figure(NamedTuple):
    """One published figure, what this clinic finds plausible, and how alike two eyes of a person are."""

    mean: float
    sd: float
    plausible: tuple[float, float]
    fellow_correlation: float


FIGURES = {
    "axial_length_mm": Figure(24.17, 2.47, (20.8, 29.0), 0.997),
    "mean_k_dpt": Figure(44.26, 1.70, (39.5, 48.5), 0.97),
    "chamber_depth_mm": Figure(3.02, 0.45, (2.1, 4.2), 0.97),
    "lens_thickness_mm": Figure(4.52, 0.45, (3.4, 5.8), 0.97),
    "corneal_thickness_mm": Figure(0.534, 0.04, (0.43, 0.64), 0.97),
    "white_to_white_mm": Figure(11.64, 0.46, (10.4, 13.0), 0.95),
    "age_years": Figure(68.6, 11.0, (42.0, 94.0), 1.0),
}
CHAMBER_CORRELATIONS = {
    "axial_length_mm": 0.544,
    "lens_thickness_mm": -0.660,
    "white_to_white_mm": 0.300,
    "age_years": -0.285,
}

CYLINDER_MEAN_DPT, CYLINDER_SD_DPT = 1.06, 0.96
_LARGEST_CYLINDER_DPT = 4.0
_CYLINDER_FELLOW_CORRELATION = 0.7
_POSTERIOR_RATIO_MEAN, _POSTERIOR_RATIO_SD = 0.8237, 0.012
"""Mean of the eye of liou-1997; the scatter is our choice."""
_MERIDIAN_SD_DEG = 18.0


@dataclass(frozen=True, slots=True)
class TrueEye:
    """What an eye really is, which no planner is told."""

    axial_length_mm: float
    mean_k_dpt: float
    cylinder_dpt: float
    steep_meridian_deg: float
    chamber_depth_mm: float
    lens_thickness_mm: float
    corneal_thickness_mm: float
    white_to_white_mm: float
    posterior_ratio: float
    """Back radius of the cornea over its front radius."""


@dataclass(frozen=True, slots=True)
class Pair:
    """Both eyes of one person."""

    age_years: float
    right: TrueEye
    left: TrueEye


def correlation_matrix() -> NDArray[np.float64]:
    """Correlations of the figures, in their order.

    Examples
    --------
    >>> bool(np.linalg.eigvalsh(correlation_matrix()).min() > 0)
    True
    """
    names = list(FIGURES)
    matrix = np.eye(len(names))
    chamber = names.index("chamber_depth_mm")
    for name, correlation in CHAMBER_CORRELATIONS.items():
        matrix[chamber, names.index(name)] = matrix[names.index(name), chamber] = correlation
    return matrix


def drawn_figures(rng: np.random.Generator, people: int) -> dict[str, NDArray[np.float64]]:
    """The figures of people's right and left eyes, before anything implausible is left out.

    Parameters
    ----------
    rng
        Source of chance.
    people
        How many people.

    Returns
    -------
    dict
        For each figure an array of shape ``(2, people)``, right eyes first.
    """
    root = np.linalg.cholesky(correlation_matrix())
    shared = rng.standard_normal((people, len(FIGURES))) @ root.T
    own = rng.standard_normal((2, people, len(FIGURES))) @ root.T
    alike = np.array([figure.fellow_correlation for figure in FIGURES.values()])
    normal = np.sqrt(alike) * shared + np.sqrt(1.0 - alike) * own
    return {
        name: figure.mean + figure.sd * normal[..., column]
        for column, (name, figure) in enumerate(FIGURES.items())
    }


def plausible_pairs(rng: np.random.Generator, people: int) -> list[Pair]:
    """Pairs of eyes inside the plausible ranges; whoever falls outside is drawn again.

    Parameters
    ----------
    rng
        Source of chance.
    people
        How many pairs.

    Returns
    -------
    list of Pair
        Leaving the implausible out makes the spread a little smaller than published.
    """
    pairs: list[Pair] = []
    while len(pairs) < people:
        figures = drawn_figures(rng, people)
        cylinders = _drawn_cylinders_dpt(rng, people)
        meridians = _drawn_meridians_deg(rng, people)
        ratios = rng.normal(_POSTERIOR_RATIO_MEAN, _POSTERIOR_RATIO_SD, people)
        ages = figures.pop("age_years")[0]
        fits = _is_plausible(figures) & _inside("age_years", ages)
        for person in np.flatnonzero(fits):
            right, left = (
                TrueEye(
                    **{name: float(values[side, person]) for name, values in figures.items()},
                    cylinder_dpt=float(cylinders[side, person]),
                    steep_meridian_deg=float(meridians[side, person]),
                    posterior_ratio=float(ratios[person]),
                )
                for side in (0, 1)
            )
            pairs.append(Pair(float(ages[person]), right, left))
    return pairs[:people]


def _inside(name: str, values: NDArray[np.float64]) -> NDArray[np.bool_]:
    low, high = FIGURES[name].plausible
    return (values >= low) & (values <= high)


def _is_plausible(figures: dict[str, NDArray[np.float64]]) -> NDArray[np.bool_]:
    plausible: NDArray[np.bool_] = np.logical_and.reduce(
        [_inside(name, values).all(axis=0) for name, values in figures.items()]
    )
    return plausible


def _drawn_cylinders_dpt(rng: np.random.Generator, people: int) -> NDArray[np.float64]:
    # A gamma law of the published mean and SD: a cylinder cannot be negative. The law is our choice.
    shared, own = rng.standard_normal(people), rng.standard_normal((2, people))
    alike = _CYLINDER_FELLOW_CORRELATION
    fraction = ndtr(np.sqrt(alike) * shared + np.sqrt(1.0 - alike) * own)
    shape = (CYLINDER_MEAN_DPT / CYLINDER_SD_DPT) ** 2
    cylinders = gammaincinv(shape, fraction) * CYLINDER_MEAN_DPT / shape
    limited: NDArray[np.float64] = np.minimum(cylinders, _LARGEST_CYLINDER_DPT)
    return limited


def _drawn_meridians_deg(rng: np.random.Generator, people: int) -> NDArray[np.float64]:
    # Half of these corneas are steep near 90 degrees, half near 180; the left eye mirrors the right.
    centre = rng.choice([90.0, 180.0], people)
    right = centre + rng.normal(0.0, _MERIDIAN_SD_DEG, people)
    left = 180.0 - right + rng.normal(0.0, _MERIDIAN_SD_DEG / 3.0, people)
    return 180.0 - np.stack([right, left]) % 180.0
