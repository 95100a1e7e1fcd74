"""What the incision does to the cornea: it flattens its own meridian, more or less, and never twice alike.

An effect is a vector with a scatter. The mean of vectors goes into a plan; the mean of their sizes is
larger, because scatter has no direction but every vector has a size, and would promise flattening that does
not come.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from zonule.errors import NotDefinedError
from zonule.science.arrays import Numbers
from zonule.science.astigmatism.corneal import Status
from zonule.science.astigmatism.vectors import Astigmatism, Plane, steep

QUARTER_TURN_DEG = 90.0

CENTROID_SD_DPT = 0.10
"""How far one surgeon's mean effect lies from the published one, for each component: our choice, half of
the 0.0 to 0.2 D that is told for a temporal incision (temporal-incision-default)."""

PRIOR_EYES_FOR_SCATTER = 100.0
"""Eyes that the published scatter counts for against the surgeon's own: our choice, no source."""

WIDTHS_MM = (2.0, 2.4)
"""Widths for which the series of 2.2 mm is used: our choice, no source."""


class IncisionEffect(NamedTuple):
    """What an incision does, told from its own meridian; fields broadcast."""

    flattening_dpt: Numbers
    """Mean loss of power along the incision's meridian, gained across it."""
    torque_dpt: Numbers
    """Mean of the part that turns the cylinder; plus lies 45 degrees counter-clockwise of the meridian
    across."""
    covariance_dpt2: NDArray[np.float64]
    """Scatter of (flattening, torque) between eyes, shape ``(..., 2, 2)``."""
    centroid_sd_dpt: Numbers
    """What is uncertain about each of the two means."""


class PublishedEffect(NamedTuple):
    """One series from which defaults are made."""

    meridian_deg: float
    width_mm: float
    flattening_dpt: float
    """Size of the centroid by keratometer, taken as lying across the incision; it was 3 to 6 degrees off."""
    scatter_sd_dpt: float
    """For each component. Ours: the scatter with which a normal law has the printed mean size, 0.41 to 0.46
    D. The scatter of keratometry before and after is in it."""
    source: str
    status: Status


SUPERIOR = PublishedEffect(90.0, 2.2, 0.28, 0.28, "small-incision-2021", Status.CONFIRMED)
TEMPORAL = PublishedEffect(180.0, 2.2, 0.15, 0.33, "small-incision-2021", Status.CONFIRMED)


def published_effect(meridian_deg: Numbers, width_mm: float) -> IncisionEffect:
    """The effect to expect of an incision before one's own results are known.

    Parameters
    ----------
    meridian_deg
        Meridian of the incision, degrees; 90 superior, 180 temporal.
    width_mm
        Width of the incision, millimetres, 2.0 to 2.4.

    Returns
    -------
    IncisionEffect
        Flattening from 0.15 D (temporal) to 0.28 D (superior), no torque, and the scatter between eyes.

    Raises
    ------
    NotDefinedError
        For a width no series here speaks of: then the surgeon's own flattening must be stated.

    Notes
    -----
    Incisions of 2.2 mm on the steep meridian, 69 eyes, 12 months (small-incision-2021). The scatter, the
    middle for oblique meridians and the range of widths are ours. A nasal incision is not told from a
    temporal one; it does more (tejedor-2009), by how much no series here says.

    Examples
    --------
    >>> effect = published_effect(180.0, 2.2)
    >>> float(effect.flattening_dpt), effect.torque_dpt
    (0.15, 0.0)
    """
    low_mm, high_mm = WIDTHS_MM
    if not low_mm <= width_mm <= high_mm:
        raise NotDefinedError(
            f"No published effect of an incision of {width_mm:g} mm is known here, only of {low_mm:g} to "
            f"{high_mm:g} mm. State the flattening that your own eyes show."
        )
    upright = np.sin(np.deg2rad(meridian_deg)) ** 2
    variance_dpt2 = _between(SUPERIOR.scatter_sd_dpt**2, TEMPORAL.scatter_sd_dpt**2, upright)
    scatter_dpt2 = np.multiply.outer(variance_dpt2, np.eye(2))
    flattening_dpt = _between(SUPERIOR.flattening_dpt, TEMPORAL.flattening_dpt, upright)
    return IncisionEffect(flattening_dpt, 0.0, scatter_dpt2, CENTROID_SD_DPT)


def induced(effect: IncisionEffect, meridian_deg: Numbers) -> Astigmatism:
    """The mean change that an incision makes, as the examiner sees it.

    Parameters
    ----------
    effect
        What it does, told from its own meridian.
    meridian_deg
        Meridian of the incision, degrees.

    Returns
    -------
    Astigmatism
        After minus before, at the cornea; a pure flattening of s is s steep at the meridian across.

    Examples
    --------
    >>> change = induced(published_effect(90.0, 2.2), 90.0)
    >>> round(float(change.magnitude_dpt), 9), round(float(change.steep_meridian_deg), 9)
    (0.28, 180.0)
    """
    along = steep(effect.flattening_dpt, meridian_deg + QUARTER_TURN_DEG, Plane.CORNEA)
    aside = steep(effect.torque_dpt, meridian_deg + QUARTER_TURN_DEG * 1.5, Plane.CORNEA)
    return along.plus(aside)


def induced_covariance_dpt2(
    effect: IncisionEffect, meridian_deg: Numbers, reading_sds_dpt: tuple[float, float]
) -> NDArray[np.float64]:
    """How the change scatters in the next eye, as the examiner sees it.

    Parameters
    ----------
    effect
        What the incision does, told from its own meridian.
    meridian_deg
        Meridian of the incision, degrees.
    reading_sds_dpt
        Standard deviations of x and y of one corneal reading, dioptres; (0, 0) to keep the scatter as seen.

    Returns
    -------
    NDArray
        Covariance of (x, y), square dioptres, shape ``(..., 2, 2)``: the scatter between eyes and what is
        uncertain about the mean.

    Notes
    -----
    A change is the difference of two readings, so twice the variance of one is in the scatter that was seen
    and is no work of the incision. It is taken off, down to none (derived here). Left in, it would be counted
    again beside the reading that the plan starts from.

    Examples
    --------
    >>> covariance = induced_covariance_dpt2(published_effect(180.0, 2.2), 180.0, (0.24, 0.20))
    >>> np.round(np.sqrt(np.diag(covariance)), 3).tolist()
    [0.1, 0.197]
    """
    twice = np.deg2rad(2.0 * (np.asarray(meridian_deg) + QUARTER_TURN_DEG))
    cosine, sine = np.cos(twice), np.sin(twice)
    turn = np.stack([np.stack([cosine, -sine], axis=-1), np.stack([sine, cosine], axis=-1)], axis=-2)
    unsure_dpt2 = np.multiply.outer(np.square(effect.centroid_sd_dpt), np.eye(2))
    seen_dpt2 = turn @ effect.covariance_dpt2 @ np.swapaxes(turn, -1, -2)
    whole: NDArray[np.float64] = (
        _not_minus(seen_dpt2 - 2.0 * np.diag(np.square(reading_sds_dpt))) + unsure_dpt2
    )
    return whole


def with_incision(cornea: Astigmatism, effect: IncisionEffect, meridian_deg: Numbers) -> Astigmatism:
    """The cornea after the incision, in the mean.

    Parameters
    ----------
    cornea
        Before it, at the cornea: adjusted from anterior to total first.
    effect
        What the incision does, told from its own meridian.
    meridian_deg
        Meridian of the incision, degrees.

    Returns
    -------
    Astigmatism
        Before plus induced.

    Examples
    --------
    >>> before = steep(1.0, 90.0, Plane.CORNEA)
    >>> round(float(with_incision(before, published_effect(90.0, 2.2), 90.0).magnitude_dpt), 2)
    0.72
    """
    return cornea.plus(induced(effect, meridian_deg))


def without_incision(cornea: Astigmatism, effect: IncisionEffect, meridian_deg: Numbers) -> Astigmatism:
    """The cornea as it was before the incision: the inverse of `with_incision`.

    Parameters
    ----------
    cornea
        After it, at the cornea.
    effect
        What the incision did, told from its own meridian.
    meridian_deg
        Meridian of the incision, degrees.

    Returns
    -------
    Astigmatism
        After minus induced.

    Examples
    --------
    >>> after = steep(0.72, 90.0, Plane.CORNEA)
    >>> round(float(without_incision(after, published_effect(90.0, 2.2), 90.0).magnitude_dpt), 2)
    1.0
    """
    return cornea.minus(induced(effect, meridian_deg))


def own_weight(independent_eyes: float, default: IncisionEffect) -> float:
    """How much of a surgeon's own mean effect to believe.

    Parameters
    ----------
    independent_eyes
        Worth of the own eyes in independent ones, from `statistics.shrinkage.effective_eyes`; 0 or more.
    default
        What is believed without own eyes.

    Returns
    -------
    float
        0 without evidence, towards 1 with much of it.

    Notes
    -----
    ``n / (n + k)``, ``k = scatter^2 / sd^2``, the posterior of two normal laws. The scatter is the
    published one: a handful of eyes that happen to agree must not look like evidence.

    Examples
    --------
    >>> round(own_weight(20.0, published_effect(180.0, 2.2)), 2)
    0.65
    """
    scatter_dpt2 = float(np.trace(default.covariance_dpt2)) / 2.0
    prior_eyes = scatter_dpt2 / float(default.centroid_sd_dpt) ** 2
    return independent_eyes / (independent_eyes + prior_eyes)


def personal_effect(
    changes: Astigmatism, meridian_deg: Numbers, independent_eyes: float, default: IncisionEffect
) -> IncisionEffect:
    """The effect of a surgeon's own incisions, shrunk towards the default by evidence.

    Parameters
    ----------
    changes
        After minus before of each own eye at the cornea, shape ``(eyes,)``, at least one; left eyes
        mirrored, so that torque means one thing.
    meridian_deg
        Meridian of each incision, degrees, mirrored alike.
    independent_eyes
        Their worth in independent eyes, above 0 and no more than there are.
    default
        What would be believed without them, for one meridian.

    Returns
    -------
    IncisionEffect
        Mean of vectors and scatter, each drawn from the default in proportion to the evidence.

    Notes
    -----
    Each change is turned into the frame of its incision, then vectors are averaged, never their sizes. The
    published scatter counts for 100 eyes (our choice).

    Examples
    --------
    >>> own = steep(np.full(20, 0.5), 90.0, Plane.CORNEA)
    >>> effect = personal_effect(own, np.full(20, 180.0), 20.0, published_effect(180.0, 2.2))
    >>> round(float(effect.flattening_dpt), 2)
    0.38
    """
    seen = changes.turned(-(np.asarray(meridian_deg) + QUARTER_TURN_DEG))
    vectors = np.stack([np.ravel(seen.x_dpt), np.ravel(seen.y_dpt)], axis=-1)
    mean = vectors.mean(axis=0)
    weight = own_weight(independent_eyes, default)
    believed = np.array([default.flattening_dpt, default.torque_dpt])
    flattening_dpt, torque_dpt = believed + weight * (mean - believed)
    return IncisionEffect(
        flattening_dpt,
        torque_dpt,
        _blended_dpt2(vectors - mean, independent_eyes, default.covariance_dpt2),
        float(default.centroid_sd_dpt) * float(np.sqrt(1.0 - weight)),
    )


def _blended_dpt2(
    centred: NDArray[np.float64], independent_eyes: float, published_dpt2: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Own and published scatter in proportion to their eyes; one degree of freedom went into the mean."""
    worth = independent_eyes / len(centred)
    own_eyes = worth * (len(centred) - 1)
    total: NDArray[np.float64] = worth * (centred.T @ centred) + PRIOR_EYES_FOR_SCATTER * published_dpt2
    return total / (own_eyes + PRIOR_EYES_FOR_SCATTER)


def _not_minus(covariance_dpt2: NDArray[np.float64]) -> NDArray[np.float64]:
    """The same without what would be less than no variance in some direction."""
    variances, directions = np.linalg.eigh(covariance_dpt2)
    kept: NDArray[np.float64] = (directions * np.maximum(variances, 0.0)[..., None, :]) @ np.swapaxes(
        directions, -1, -2
    )
    return kept


def _between(upright_value: float, level_value: float, upright: Numbers) -> Numbers:
    """Between superior and temporal: ours.

    The oblique eyes of the series cannot say more: their incisions lay on many meridians, and their vectors
    were averaged as the examiner sees them.
    """
    return level_value + (upright_value - level_value) * upright
