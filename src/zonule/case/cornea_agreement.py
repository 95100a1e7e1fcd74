"""Do two devices read the same cornea? Cylinders are compared as vectors, size and meridian together."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

from zonule.case.biometry import Biometry, Keratometry, OtherCornea
from zonule.case.cornea_checks import cornea_findings
from zonule.case.finding import Finding, Severity, note, warning
from zonule.case.limits import OWN_RANGE
from zonule.science.astigmatism.vectors import HALF_TURN_DEG, Astigmatism

MEAN_K_APART_DPT = 0.6
"""95 % limits of agreement between two devices in 74 eyes (two-devices-2023)."""
CYLINDERS_APART_DPT = 0.75
"""Difference of two cylinders as vectors (our choice): two readings by one device differ by more than 0.77 D
once in 20 by the SDs of langenbucher-2025. All of it would be left in the eye."""
MERIDIANS_APART_DEG = 10.0
CYLINDER_WITH_A_MERIDIAN_DPT = 1.0
"""Meridians are compared where both cylinders are above this: the scatter of an axis is inversely
proportional to the cylinder (langenbucher-2025). Both figures are common practice, no source."""
SAME_CORNEA_DAYS = 60
"""Readings further apart in time need not agree (our choice)."""
_ROUNDING = 1e-9
_SURFACES = {"anterior": "the front", "total": "the total cornea"}


def agreement_findings(biometry: Biometry, place: str, today: date) -> Iterator[Finding]:
    """Each other reading of this cornea beside the one that is planned from."""
    for index, other in enumerate(biometry.other_corneas):
        where = f"{place}other_corneas.{index}"
        wrong = list(_unusable(other, where, today))
        yield from wrong or _compared(biometry, other, where)


def _unusable(other: OtherCornea, where: str, today: date) -> Iterator[Finding]:
    """What stops a reading that nothing is planned from stops no plan."""
    for finding in cornea_findings(other.keratometry, f"{where}."):
        if finding.severity is Severity.BLOCKING:
            yield replace(
                finding,
                severity=Severity.WARNING,
                sentence=f"{_told(other.device, 'Another device')}: {finding.sentence} It is not compared.",
            )
    if other.measured_on is not None and other.measured_on > today:
        yield warning(
            "date-in-future",
            f"The reading of this cornea by {_told(other.device, 'another device')} is dated "
            f"{other.measured_on:%d %B %Y}, which is in the future. It is not compared. Correct the date.",
            f"{where}.measured_on",
            OWN_RANGE,
        )


def _compared(biometry: Biometry, other: OtherCornea, where: str) -> Iterator[Finding]:
    main, second = biometry.keratometry, other.keratometry
    if main.powers_dpt is None or second.powers_dpt is None:
        return
    if main.kind is not second.kind:
        yield note(
            "devices-read-different-surfaces",
            f"{_told(biometry.cornea_device, 'The device planned from')} gives {_SURFACES[main.kind]}, "
            f"{_told(other.device, 'the other device')} {_SURFACES[second.kind]}. They are not like for like "
            "and are not compared.",
            where,
            OWN_RANGE,
        )
        return
    doubts = [*_mean_powers(biometry, other, where), *_cylinders(biometry, other, where)]
    yield from doubts
    if not doubts:
        yield note(
            "devices-agree",
            f"{_told(other.device, 'The other device')}{_when(biometry, other)} agrees with "
            f"{_told(biometry.cornea_device, 'the one planned from')}: mean power within "
            f"{abs(_mean_k_apart_dpt(main, second)):.2f} D, {_agreement(main, second)}.",
            where,
            OWN_RANGE,
        )


def _mean_k_apart_dpt(main: Keratometry, second: Keratometry) -> float:
    """Mean power of the other reading less that of the main one."""
    means = main.mean_k_dpt, second.mean_k_dpt
    return 0.0 if means[0] is None or means[1] is None else means[1] - means[0]


def _mean_powers(biometry: Biometry, other: OtherCornea, where: str) -> Iterator[Finding]:
    apart_dpt = _mean_k_apart_dpt(biometry.keratometry, other.keratometry)
    if abs(apart_dpt) > MEAN_K_APART_DPT + _ROUNDING:
        yield warning(
            "devices-differ-in-power",
            f"{_told(other.device, 'The other device')}{_when(biometry, other)} reads this cornea "
            f"{abs(apart_dpt):.2f} D {'steeper' if apart_dpt > 0 else 'flatter'} on average than "
            f"{_told(biometry.cornea_device, 'the one planned from')}; two devices agree within "
            f"{MEAN_K_APART_DPT:g} D in 95 of 100 eyes. Find out which to believe: look at the surface and "
            "measure again.",
            where,
            "two-devices-2023",
        )


def _cylinders(biometry: Biometry, other: OtherCornea, where: str) -> Iterator[Finding]:
    """A cylinder that differs as a vector, or a steep meridian that differs where it means something."""
    main, second = biometry.keratometry, other.keratometry
    apart_dpt, turned_deg = _vectors_apart_dpt(main, second), _meridians_apart_deg(main, second)
    by_size = apart_dpt > CYLINDERS_APART_DPT + _ROUNDING
    by_meridian = turned_deg is not None and turned_deg > MERIDIANS_APART_DEG + _ROUNDING
    if not (by_size or by_meridian):
        return
    limits = [f"{CYLINDERS_APART_DPT:g} D"] * by_size + [f"{MERIDIANS_APART_DEG:g} degrees"] * by_meridian
    turn = "" if turned_deg is None else f" and {turned_deg:.0f} degrees"
    yield warning(
        "devices-differ-in-cylinder",
        f"{_told(biometry.cornea_device, 'The device planned from')} reads {_cylinder_text(main)}, "
        f"{_told(other.device, 'the other device')}{_when(biometry, other)} {_cylinder_text(second)}. They "
        f"lie {_apart_text(main, second)}{turn} apart, more than {' and '.join(limits)}. Place no cylinder "
        "and no incision on either before a third reading says which is right; look at the surface and the "
        "topography.",
        where,
        OWN_RANGE,
    )


def _vectors_apart_dpt(main: Keratometry, second: Keratometry) -> float:
    """Size of the difference as vectors; its least where a meridian is missing."""
    one, two = main.astigmatism, second.astigmatism
    if one is None or two is None:
        return abs(_cylinder_dpt(second) - _cylinder_dpt(main))
    return float(two.minus(one).magnitude_dpt)


def _meridians_apart_deg(main: Keratometry, second: Keratometry) -> float | None:
    """How far one steep meridian is turned from the other; None where they mean too little."""
    vectors = [one for one in (main.astigmatism, second.astigmatism) if one is not None]
    if len(vectors) < 2 or any(_has_no_meridian(one) for one in vectors):  # noqa: PLR2004 - two readings
        return None
    turned_deg = abs(float(vectors[0].steep_meridian_deg) - float(vectors[1].steep_meridian_deg))
    return min(turned_deg, HALF_TURN_DEG - turned_deg)


def _has_no_meridian(vector: Astigmatism) -> bool:
    return float(vector.magnitude_dpt) <= CYLINDER_WITH_A_MERIDIAN_DPT + _ROUNDING


def _cylinder_dpt(cornea: Keratometry) -> float:
    powers = cornea.powers_dpt
    return 0.0 if powers is None else powers[1] - powers[0]


def _agreement(main: Keratometry, second: Keratometry) -> str:
    words = f"cylinder within {abs(_cylinder_dpt(second) - _cylinder_dpt(main)):.2f} D"
    if main.astigmatism is None or second.astigmatism is None:
        return f"{words}; their meridians cannot be compared, for one is not recorded"
    turned_deg = _meridians_apart_deg(main, second)
    if turned_deg is None:
        turn = f"meridians not compared, for a cylinder of {CYLINDER_WITH_A_MERIDIAN_DPT:g} D or less"
    else:
        turn = f"steep meridian within {turned_deg:.0f} degrees"
    return f"{words}, {turn}, {_apart_text(main, second)}"


def _apart_text(main: Keratometry, second: Keratometry) -> str:
    apart = f"{_vectors_apart_dpt(main, second):.2f} D"
    if main.astigmatism is None or second.astigmatism is None:
        return f"at least {apart}"
    return f"{apart} as vectors"


def _cylinder_text(cornea: Keratometry) -> str:
    meridian_deg = cornea.steep_meridian_deg
    where = (
        "at an unknown meridian" if meridian_deg is None else f"steep at {round(meridian_deg) or 180} degrees"
    )
    return f"{_cylinder_dpt(cornea):.2f} D {where}"


def _when(biometry: Biometry, other: OtherCornea) -> str:
    """How far apart in time, where that matters or is not known."""
    days = (biometry.cornea_measured_on, other.measured_on)
    if days[0] is None or days[1] is None:
        return " (one of the two is not dated)"
    apart = abs((days[1] - days[0]).days)
    return f" ({apart} days apart)" if apart > SAME_CORNEA_DAYS else ""


def _told(device: str, otherwise: str) -> str:
    return device or otherwise
