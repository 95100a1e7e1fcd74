"""Corneal power after laser surgery: the reading corrected once, by each published way that can be coded.

A keratometer reads such a cornea wrongly, because it takes the ratio of front to back for granted and misses
the flattened centre. A corrected power has a type of its own, and every correction and every method takes
the reading as measured, so that a power cannot be corrected twice.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

from zonule.science.arrays import Condition, Numbers

MYOPIC_LASER = "myopic_laser"
HYPEROPIC_LASER = "hyperopic_laser"


class CorrectedCornea(NamedTuple):
    """A cornea whose power has been corrected, or which needs no correction: fit for the optics, for no more.

    Arithmetic on it fails, which is why no correction accepts one.
    """

    power_dpt: Numbers
    """On the 1.3375 scale."""


def clinical_history(mean_k_before_dpt: Numbers, treated_at_cornea_dpt: Numbers) -> CorrectedCornea:
    """The power before surgery and what surgery changed: needs no reading from after it.

    Parameters
    ----------
    mean_k_before_dpt
        Mean keratometric power before surgery on the 1.3375 scale, dioptres.
    treated_at_cornea_dpt
        Refractive change achieved, at the corneal plane, dioptres; minus for a myopic treatment. It must come
        from before any cataract.

    Returns
    -------
    CorrectedCornea
        ``K before + change``.

    Notes
    -----
    shammas-2003 prints it for myopic treatments; after hyperopic ones the arithmetic is the same.

    Examples
    --------
    >>> clinical_history(43.0, -5.0).power_dpt
    38.0
    """
    return CorrectedCornea(mean_k_before_dpt + treated_at_cornea_dpt)


def shammas_from_treatment(mean_k_dpt: Numbers, treated_at_cornea_dpt: Numbers) -> CorrectedCornea:
    """The reading less 0.23 D for each dioptre of short sight treated.

    Parameters
    ----------
    mean_k_dpt
        Mean keratometric power as measured now, 1.3375 scale, dioptres, 30 to 60.
    treated_at_cornea_dpt
        Refractive change achieved, at the corneal plane, dioptres; minus, for myopic treatments only.

    Returns
    -------
    CorrectedCornea
        ``K - 0.23 x dioptres of short sight treated``.

    Notes
    -----
    shammas-2003: 0.23 with an SD of 0.11 D for each dioptre in 200 eyes.

    Examples
    --------
    >>> round(shammas_from_treatment(38.0, -5.0).power_dpt, 4)
    36.85
    """
    return CorrectedCornea(mean_k_dpt + 0.23 * treated_at_cornea_dpt)


def shammas_without_history(mean_k_dpt: Numbers) -> CorrectedCornea:
    """The power after myopic laser when only the reading of today is known.

    Parameters
    ----------
    mean_k_dpt
        Mean keratometric power as measured now, 1.3375 scale, dioptres, 30 to 60.

    Returns
    -------
    CorrectedCornea
        ``1.14 K - 6.8``: 0.4 D less than a reading of 46 D, 1.8 D less than one of 36 D.

    Notes
    -----
    shammas-2003, correlation 0.947.

    Examples
    --------
    >>> round(shammas_without_history(38.0).power_dpt, 4)
    36.52
    """
    return CorrectedCornea(1.14 * mean_k_dpt - 6.8)


def savini_speicher(mean_k_dpt: Numbers, mean_k_before_dpt: Numbers) -> CorrectedCornea:
    """The power after myopic laser, with the back of the cornea taken from the power before it.

    Parameters
    ----------
    mean_k_dpt
        Mean keratometric power as measured now, 1.3375 scale, dioptres, 30 to 60.
    mean_k_before_dpt
        The same before surgery, dioptres.

    Returns
    -------
    CorrectedCornea
        ``1.114 K - 0.114 K before``. Repairs the index only, not a radius read outside the flattened zone.

    Notes
    -----
    savini-speicher: 1.114 turns the reading into the power of the front surface, 0.114 of the old reading
    stands for the back.

    Examples
    --------
    >>> round(savini_speicher(38.0, 43.0).power_dpt, 4)
    37.43
    """
    return CorrectedCornea(1.114 * mean_k_dpt - 0.114 * mean_k_before_dpt)


def jarade(mean_k_dpt: Numbers, mean_k_before_dpt: Numbers) -> CorrectedCornea:
    """The power before myopic laser, less what the front surface lost.

    Parameters
    ----------
    mean_k_dpt
        Mean keratometric power as measured now, 1.3375 scale, dioptres, 30 to 60; read as a radius.
    mean_k_before_dpt
        The same before surgery, dioptres.

    Returns
    -------
    CorrectedCornea
        ``K before - 376 (r - r before) / (r r before)``, radii in millimetres.

    Notes
    -----
    Equation of jarade, with the index 1.376 of the stroma. Repairs the index only.

    Examples
    --------
    >>> round(jarade(38.0, 43.0).power_dpt, 4)
    37.4296
    """
    radius_mm, radius_before_mm = 337.5 / mean_k_dpt, 337.5 / mean_k_before_dpt
    lost_dpt = 376.0 * (radius_mm - radius_before_mm) / (radius_mm * radius_before_mm)
    return CorrectedCornea(mean_k_before_dpt - lost_dpt)


def haigis_l_cornea(mean_k_dpt: Numbers) -> CorrectedCornea:
    """The power after myopic laser that the Haigis-L regression makes of the radius.

    Parameters
    ----------
    mean_k_dpt
        Mean keratometric power as measured now, 1.3375 scale, dioptres, 30 to 60; read as a radius.

    Returns
    -------
    CorrectedCornea
        ``337.5 / r'`` with ``r' = 331.5 / (-5.1625 r + 82.2603 - 0.35)``. Always at least 0.83 D below the
        reading, so never for an untouched cornea.

    Notes
    -----
    haigis-l-2008, from memory. A set for hyperopic treatments has not been found in print and is not built.

    Examples
    --------
    >>> round(haigis_l_cornea(38.0).power_dpt, 2)
    36.71
    """
    radius_mm = 337.5 / mean_k_dpt
    return CorrectedCornea(337.5 / 331.5 * (-5.1625 * radius_mm + 82.2603 - 0.35))


def rosa_r_factor(mean_k_dpt: Numbers, axial_length_mm: Numbers) -> CorrectedCornea:
    """The power after myopic laser with the radius enlarged by a factor that grows with the eye.

    Parameters
    ----------
    mean_k_dpt
        Mean keratometric power as measured now, 1.3375 scale, dioptres, 30 to 60; read as a radius.
    axial_length_mm
        Axial length, millimetres.

    Returns
    -------
    CorrectedCornea
        ``337.5 / r'`` with ``r' = r (0.0276 AL + 0.3635)``. Below 23.06 mm it would steepen the cornea.

    Notes
    -----
    rosa-2002, from memory.

    Examples
    --------
    >>> round(rosa_r_factor(38.0, 26.0).power_dpt, 4)
    35.1494
    """
    return CorrectedCornea(mean_k_dpt / (0.0276 * axial_length_mm + 0.3635))


def shammas_hyperopic(mean_k_dpt: Numbers) -> CorrectedCornea:
    """The power after hyperopic laser when only the reading of today is known.

    Parameters
    ----------
    mean_k_dpt
        Mean keratometric power as measured now, 1.3375 scale, dioptres, 30 to 60.

    Returns
    -------
    CorrectedCornea
        ``1.0457 K - 1.9538``: more than a reading above 42.753 D, less than one below.

    Notes
    -----
    shammas-2013.

    Examples
    --------
    >>> round(shammas_hyperopic(44.0).power_dpt, 3)
    44.057
    """
    return CorrectedCornea(1.0457 * mean_k_dpt - 1.9538)


@dataclass(frozen=True, slots=True)
class Correction:
    """One published way to the power of a cornea after laser."""

    key: str
    name: str
    reads: tuple[str, ...]
    """Fields of `EyeNumbers` that the function takes, in its order; all must be known."""
    corneas: tuple[str, ...]
    """Which surgery it is for, in the words of `corneal_surgery` in an eye file."""
    corrected: Callable[..., CorrectedCornea]
    source: str
    """Key in docs/sources.md."""
    status: str
    """What has been checked against the paper, in words for the surgeon."""


_READING = "mean_k_dpt"
_BEFORE = "mean_k_before_dpt"
_TREATED = "treated_at_cornea_dpt"
_MYOPIC = (MYOPIC_LASER,)
_PRINTED = "equation read in the published text"

CORRECTIONS: dict[str, Correction] = {
    each.key: each
    for each in (
        Correction(
            "clinical_history",
            "Clinical history",
            (_BEFORE, _TREATED),
            (MYOPIC_LASER, HYPEROPIC_LASER),
            clinical_history,
            "shammas-2003",
            _PRINTED,
        ),
        Correction(
            "shammas_from_treatment",
            "Shammas, from the treatment",
            (_READING, _TREATED),
            _MYOPIC,
            shammas_from_treatment,
            "shammas-2003",
            _PRINTED,
        ),
        Correction(
            "shammas_without_history",
            "Shammas, without history",
            (_READING,),
            _MYOPIC,
            shammas_without_history,
            "shammas-2003",
            _PRINTED,
        ),
        Correction(
            "savini_speicher",
            "Savini and Speicher",
            (_READING, _BEFORE),
            _MYOPIC,
            savini_speicher,
            "savini-speicher",
            "equation read in a review",
        ),
        Correction("jarade", "Jarade", (_READING, _BEFORE), _MYOPIC, jarade, "jarade", _PRINTED),
        Correction(
            "haigis_l",
            "Haigis-L radius",
            (_READING,),
            _MYOPIC,
            haigis_l_cornea,
            "haigis-l-2008",
            "from memory, meets Shammas within 0.26 D from 36 to 42 D",
        ),
        Correction(
            "rosa_r_factor",
            "Rosa R-factor",
            (_READING, "axial_length_mm"),
            _MYOPIC,
            rosa_r_factor,
            "rosa-2002",
            "from memory, not yet checked against the paper",
        ),
        Correction(
            "shammas_hyperopic",
            "Shammas, after hyperopic laser",
            (_READING,),
            (HYPEROPIC_LASER,),
            shammas_hyperopic,
            "shammas-2013",
            _PRINTED,
        ),
    )
}
"""Every correction that can be coded; what is remembered only weakly is left out."""

_LOWEST_EMMETROPIC_PRODUCT = 954.0
_HIGHEST_EMMETROPIC_PRODUCT = 1058.0


def refraction_from_length_and_cornea_dpt(axial_length_mm: Numbers, mean_k_dpt: Numbers) -> Numbers:
    """The refraction to expect of a phakic eye after laser, had it no cataract.

    Much less than this is short sight from the cataract itself, and must not be taken for what the laser
    left. It is a rough check: emmetropic eyes of the same paper would be called +0.64 D.

    Parameters
    ----------
    axial_length_mm
        Axial length, millimetres.
    mean_k_dpt
        Mean keratometric power as measured after laser, 1.3375 scale, dioptres.

    Returns
    -------
    Numbers
        Spherical equivalent, dioptres.

    Notes
    -----
    ``-0.0157 AL K + 16.437``, rosa-2010, 257 eyes.

    Examples
    --------
    >>> round(refraction_from_length_and_cornea_dpt(26.0, 38.0), 2)
    0.93
    """
    return -0.0157 * (axial_length_mm * mean_k_dpt) + 16.437


def is_like_an_emmetropic_eye(axial_length_mm: Numbers, mean_k_dpt: Numbers) -> Condition:
    """Whether length times corneal power is what eyes without refractive error have after laser.

    Parameters
    ----------
    axial_length_mm
        Axial length, millimetres.
    mean_k_dpt
        Mean keratometric power as measured after laser, 1.3375 scale, dioptres.

    Returns
    -------
    Condition
        True from 954 to 1058.

    Notes
    -----
    The 95 % range of rosa-2010, mean 1005.91 with an SD of 25.88.

    Examples
    --------
    >>> is_like_an_emmetropic_eye(26.0, 38.0), is_like_an_emmetropic_eye(28.0, 39.0)
    (True, False)
    """
    product = axial_length_mm * mean_k_dpt
    return (product >= _LOWEST_EMMETROPIC_PRODUCT) & (product <= _HIGHEST_EMMETROPIC_PRODUCT)
