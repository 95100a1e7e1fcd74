"""What the astigmatism of many eyes says together: centroid, spread, ellipses, a test against none.

Eyes are averaged as vectors. The mean of their magnitudes is another number, and a much larger one where they
point in different directions: it says how much astigmatism the eyes have, not where it tends.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from zonule.errors import MissingMeasurementError, NotDefinedError, OutOfRangeError
from zonule.science.astigmatism.vectors import Astigmatism

STEPS_DPT = tuple(0.25 * step for step in range(1, 9))
"""Quarters of a dioptre up to 2 D (holladay-2022)."""

LEFT_OUT = 0.05
"""What a region of 95 % leaves out."""

LEAST_FOR_REGION = 3
"""Two points have no ellipse."""
_ROUNDING_DPT = 1e-9
_FLAT = 1e-9
"""With variances in this ratio or a smaller one, eyes lie on a line but for rounding."""


@dataclass(frozen=True, slots=True)
class Aggregate:
    """The usual figures for a group of eyes."""

    eyes: int
    centroid: Astigmatism
    """The mean vector."""
    total_sd_dpt: float | None
    """Root of the sum of both variances, with n - 1; absent for a single eye."""
    mean_magnitude_dpt: float
    """Mean of the magnitudes. It is not the magnitude of the centroid, and no plan may use it as one."""
    within: dict[str, float]
    """Fraction of eyes with a magnitude at or under each step of a quarter dioptre."""


@dataclass(frozen=True, slots=True)
class Ellipse:
    """An ellipse in the double-angle plot."""

    centre: Astigmatism
    semi_major_dpt: float
    semi_minor_dpt: float
    plot_angle_deg: float
    """Direction of its long axis as drawn in the plot, 0 up to 180; half of it is the meridian."""

    def outline(self, points: int) -> Astigmatism:
        """So many points on it, counter-clockwise in the plot."""
        round_rad = np.linspace(0.0, 2.0 * np.pi, points, endpoint=False)
        along_dpt = self.semi_major_dpt * np.cos(round_rad)
        across_dpt = self.semi_minor_dpt * np.sin(round_rad)
        cosine, sine = np.cos(np.deg2rad(self.plot_angle_deg)), np.sin(np.deg2rad(self.plot_angle_deg))
        return Astigmatism(
            self.centre.x_dpt + along_dpt * cosine - across_dpt * sine,
            self.centre.y_dpt + along_dpt * sine + across_dpt * cosine,
            self.centre.plane,
        )


@dataclass(frozen=True, slots=True)
class HotellingTest:
    """Whether a group of eyes could have no astigmatism on average."""

    t_squared: float
    p_value: float
    """How often eyes without any would give a centroid as far from zero, or farther."""


def aggregate(eyes: Astigmatism) -> Aggregate:
    """The usual figures for the astigmatism of a group of eyes.

    Parameters
    ----------
    eyes
        Vectors of one plane, shape ``(eyes,)``, at least one, all finite.

    Returns
    -------
    Aggregate
        Centroid, total vector SD, mean magnitude, fractions in steps of 0.25 D.

    Raises
    ------
    MissingMeasurementError
        If there is no eye.
    OutOfRangeError
        If a vector is not finite.

    Notes
    -----
    Total vector SD is the root of the trace of the covariance. Fractions in quarters of a dioptre after
    holladay-2022 (from memory).

    Examples
    --------
    >>> from zonule.science.astigmatism.vectors import Plane, steep
    >>> two = aggregate(steep(np.ones(2), np.array([90.0, 180.0]), Plane.CORNEA))
    >>> round(float(two.centroid.magnitude_dpt), 9), round(two.mean_magnitude_dpt, 9)
    (0.0, 1.0)
    """
    points = points_dpt(eyes, 1)
    sizes_dpt = np.hypot(points[:, 0], points[:, 1])
    count = len(points)
    return Aggregate(
        eyes=count,
        centroid=centroid(eyes),
        total_sd_dpt=float(np.sqrt(points.var(axis=0, ddof=1).sum())) if count > 1 else None,
        mean_magnitude_dpt=float(sizes_dpt.mean()),
        within={f"{step:.2f}": float(np.mean(sizes_dpt <= step + _ROUNDING_DPT)) for step in STEPS_DPT},
    )


def centroid(eyes: Astigmatism) -> Astigmatism:
    """The mean vector of a group of eyes.

    Parameters
    ----------
    eyes
        Vectors of one plane, shape ``(eyes,)``, at least one, all finite.

    Returns
    -------
    Astigmatism
        One vector, in the plane of the eyes.

    Notes
    -----
    holladay-1998.

    Examples
    --------
    >>> from zonule.science.astigmatism.vectors import Plane
    >>> middle = centroid(Astigmatism(np.array([0.5, -0.1]), np.array([0.2, 0.0]), Plane.CORNEA))
    >>> float(middle.x_dpt), float(middle.y_dpt)
    (0.2, 0.1)
    """
    x_dpt, y_dpt = points_dpt(eyes, 1).mean(axis=0)
    return Astigmatism(float(x_dpt), float(y_dpt), eyes.plane)


def covariance_dpt2(eyes: Astigmatism) -> NDArray[np.float64]:
    """How the two components of a group of eyes vary, and vary together.

    Parameters
    ----------
    eyes
        Vectors of one plane, shape ``(eyes,)``, at least two, all finite.

    Returns
    -------
    ndarray
        Square dioptres, shape ``(2, 2)``, with n - 1.

    Examples
    --------
    >>> from zonule.science.astigmatism.vectors import Plane
    >>> eyes = Astigmatism(np.array([0.5, -0.5]), np.array([0.25, -0.25]), Plane.CORNEA)
    >>> covariance_dpt2(eyes).tolist()
    [[0.5, 0.25], [0.25, 0.125]]
    """
    covariance: NDArray[np.float64] = np.cov(points_dpt(eyes, 2), rowvar=False)
    return covariance


def data_ellipse(eyes: Astigmatism) -> Ellipse:
    """Where the next eye will lie, 95 times in 100, if vectors are normally distributed.

    Parameters
    ----------
    eyes
        Vectors of one plane, shape ``(eyes,)``, at least three that do not lie on one line, all finite.

    Returns
    -------
    Ellipse
        About the centroid.

    Notes
    -----
    ``c = 2 (n - 1) (n + 1) / (n (n - 2)) F(0.95; 2, n - 2)``, semi-axes ``sqrt(c lambda)``, with the
    eigenvalues of the covariance. It allows for how little few eyes tell of mean and spread.

    Examples
    --------
    >>> from zonule.science.astigmatism.vectors import Plane
    >>> x, y = np.array([-0.3, 0.2, 0.45, -0.1]), np.array([0.1, -0.05, 0.2, -0.25])
    >>> found = data_ellipse(Astigmatism(x, y, Plane.CORNEA))
    >>> round(found.semi_major_dpt, 3), round(found.semi_minor_dpt, 3)
    (2.886, 1.471)
    """
    count = len(points_dpt(eyes, LEAST_FOR_REGION))
    return _ellipse(eyes, (count + 1.0) * _hotelling_factor(count) * _f_quantile(count))


def data_ellipse_of_many(eyes: Astigmatism) -> Ellipse:
    """The same in the limit of many eyes, as if mean and spread were known.

    Parameters
    ----------
    eyes
        Vectors of one plane, shape ``(eyes,)``, at least three that do not lie on one line, all finite.

    Returns
    -------
    Ellipse
        About the centroid; too small where eyes are few.

    Notes
    -----
    ``c = -2 ln 0.05 = 5.991``, the 95 % point of chi-square with two degrees of freedom.

    Examples
    --------
    >>> from zonule.science.astigmatism.vectors import Plane
    >>> x, y = np.array([-0.3, 0.2, 0.45, -0.1]), np.array([0.1, -0.05, 0.2, -0.25])
    >>> found = data_ellipse_of_many(Astigmatism(x, y, Plane.CORNEA))
    >>> round(found.semi_major_dpt, 3), round(found.semi_minor_dpt, 3)
    (0.837, 0.427)
    """
    return _ellipse(eyes, -2.0 * float(np.log(LEFT_OUT)))


def centroid_ellipse(eyes: Astigmatism) -> Ellipse:
    """Where the true mean vector lies, with a confidence of 95 %.

    Parameters
    ----------
    eyes
        Vectors of one plane, shape ``(eyes,)``, at least three that do not lie on one line, all finite.

    Returns
    -------
    Ellipse
        About the centroid. It leaves out zero exactly when `hotelling_test` has p under 0.05.

    Notes
    -----
    ``c = 2 (n - 1) / (n (n - 2)) F(0.95; 2, n - 2)``: `hotelling_test` turned round.

    Examples
    --------
    >>> from zonule.science.astigmatism.vectors import Plane
    >>> x, y = np.array([-0.3, 0.2, 0.45, -0.1]), np.array([0.1, -0.05, 0.2, -0.25])
    >>> found = centroid_ellipse(Astigmatism(x, y, Plane.CORNEA))
    >>> round(found.semi_major_dpt, 3), round(found.semi_minor_dpt, 3)
    (1.291, 0.658)
    """
    count = len(points_dpt(eyes, LEAST_FOR_REGION))
    return _ellipse(eyes, _hotelling_factor(count) * _f_quantile(count))


def hotelling_test(eyes: Astigmatism) -> HotellingTest:
    """Whether the centroid of a group of eyes differs from no astigmatism.

    Parameters
    ----------
    eyes
        Vectors of one plane, shape ``(eyes,)``, at least three that do not lie on one line, all finite. Two
        eyes of one patient are not independent: with both in the group, p is too small.

    Returns
    -------
    HotellingTest
        T squared and p.

    Notes
    -----
    ``T2 = n m' S^-1 m``; ``T2 (n - 2) / (2 (n - 1))`` follows F(2, n - 2) (hotelling-1931, from memory).
    The upper tail of F(2, n - 2) is ``(1 + 2 f / (n - 2))^(-(n - 2) / 2)``, which with that f is
    ``(1 + T2 / (n - 1))^(-(n - 2) / 2)``.

    Examples
    --------
    >>> from zonule.science.astigmatism.vectors import Plane
    >>> x, y = np.array([-0.3, 0.2, 0.45, -0.1]), np.array([0.1, -0.05, 0.2, -0.25])
    >>> round(hotelling_test(Astigmatism(x, y, Plane.CORNEA)).p_value, 3)
    0.947
    """
    points = points_dpt(eyes, LEAST_FOR_REGION)
    _spread_of(eyes)
    count, mean_dpt = len(points), points.mean(axis=0)
    t_squared = float(count * mean_dpt @ np.linalg.solve(covariance_dpt2(eyes), mean_dpt))
    p_value = (1.0 + t_squared / (count - 1)) ** (-(count - 2) / 2.0)
    return HotellingTest(t_squared, float(p_value))


def points_dpt(eyes: Astigmatism, least: int) -> NDArray[np.float64]:
    """Components x and y of many eyes, one row for each.

    Parameters
    ----------
    eyes
        Vectors of one plane; components broadcast.
    least
        How few eyes are too few.

    Returns
    -------
    ndarray
        Dioptres, shape ``(eyes, 2)``.

    Raises
    ------
    MissingMeasurementError
        If there are fewer eyes.
    OutOfRangeError
        If a vector is not finite.

    Examples
    --------
    >>> from zonule.science.astigmatism.vectors import Plane
    >>> points_dpt(Astigmatism(np.array([0.5, -0.5]), 0.25, Plane.CORNEA), 1).tolist()
    [[0.5, 0.25], [-0.5, 0.25]]
    """
    x_dpt, y_dpt = np.broadcast_arrays(np.atleast_1d(eyes.x_dpt), np.atleast_1d(eyes.y_dpt))
    points = np.column_stack([x_dpt, y_dpt]).astype(np.float64)
    if len(points) < least:
        raise MissingMeasurementError(f"This needs {least} or more eyes; there are {len(points)}.")
    if not np.isfinite(points).all():
        raise OutOfRangeError("An eye's astigmatism is not a finite number. Leave that eye out, and say so.")
    return points


def _spread_of(eyes: Astigmatism) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Eigenvalues, the smaller first, and the direction of each in a column."""
    variances, directions = np.linalg.eigh(covariance_dpt2(eyes))
    if variances[0] <= _FLAT * variances[1]:
        raise NotDefinedError("These eyes lie on one line of the double-angle plot: no ellipse holds them.")
    return variances, directions


def _ellipse(eyes: Astigmatism, scale: float) -> Ellipse:
    points_dpt(eyes, LEAST_FOR_REGION)
    variances, directions = _spread_of(eyes)
    angle_deg = float(np.rad2deg(np.arctan2(directions[1, 1], directions[0, 1])))
    minor_dpt, major_dpt = np.sqrt(scale * variances)
    return Ellipse(centroid(eyes), float(major_dpt), float(minor_dpt), angle_deg % 180.0)


def _hotelling_factor(count: int) -> float:
    return 2.0 * (count - 1.0) / (count * (count - 2.0))


def _f_quantile(count: int) -> float:
    """The 95 % point of F(2, n - 2), in closed form because the first number is 2."""
    freedom = count - 2.0
    return float(freedom / 2.0 * (LEFT_OUT ** (-2.0 / freedom) - 1.0))
