"""Whether the methods say the same of one eye, and which measurement drives them apart if not."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from zonule.case.agreement import Agreement, Driver
from zonule.case.finding import Finding, warning
from zonule.case.quantity import QUANTITIES
from zonule.science.lens_power.formulas import EyeNumbers, Family, Formula, seen_eye
from zonule.science.uncertainty.propagation import average_eye

Method = tuple[Formula, Sequence[float], float]
"""A formula, its constants, and the offset in dioptres that is added to its predictions."""


def agreement(
    methods: Sequence[Method], numbers: EyeNumbers, own_spread_dpt: float, target_dpt: float
) -> Agreement | None:
    """How far the methods lie apart on this eye, and what is left when one measurement is made average.

    `own_spread_dpt` is the standard deviation that a method leaves open for this eye, from measurement and
    residual: the mean over the methods. None with fewer than two methods, or where one gives no number.
    """
    if len(methods) < 2:  # noqa: PLR2004 - one method agrees with itself
        return None
    power, refractions = _predictions(methods, numbers, target_dpt)
    if any(math.isnan(one) for one in refractions):
        return None
    average = _average_eye(methods)
    apart = max(refractions) - min(refractions)
    return Agreement(
        lens_power_dpt=power,
        disagreement_dpt=apart,
        most_myopic=methods[refractions.index(min(refractions))][0].key,
        most_hyperopic=methods[refractions.index(max(refractions))][0].key,
        own_spread_dpt=own_spread_dpt,
        in_average_eye_dpt=_apart(methods, _moved(numbers, average, average._fields), target_dpt),
        drivers=tuple(
            sorted(
                _drivers(methods, numbers, average, target_dpt), key=lambda driver: driver.disagreement_dpt
            )
        ),
    )


def disagreement_findings(found: Agreement | None, *, operated: bool) -> Iterator[Finding]:
    """That the methods differ by more than each leaves open, and what drives them apart.

    Methods for operated corneas repair different faults, so there they differ in every eye.
    """
    if found is None or found.agrees:
        return
    yield warning(
        "methods-disagree",
        f"The methods differ by {found.disagreement_dpt:.2f} D of refraction, more than each leaves open by "
        f"itself ({found.own_spread_dpt:.2f} D). {_cause(found, operated=operated)}",
        "methods",
    )


def _cause(found: Agreement, *, operated: bool) -> str:
    """What drives the methods apart, in a sentence."""
    driver = found.driver
    usual = "a usual eye after such surgery" if operated else "an average eye"
    if found.in_average_eye_dpt > found.disagreement_dpt / 2.0:
        why = (
            "the methods correct such a cornea differently, and no measurement of this eye explains it. None "
            "of them is right for every eye."
            if operated
            else "look at their constants before you choose the middle."
        )
        return f"They would still differ by {found.in_average_eye_dpt:.1f} D in {usual}: {why}"
    if driver is None:
        return "No single measurement explains it: look at all of them before you choose the middle."
    quantity = QUANTITIES[driver.quantity]
    value, average = (
        f"{one:.{quantity.decimals}f} {quantity.unit}" for one in (driver.value, driver.average)
    )
    return (
        f"The {quantity.words} of {value} drives them apart: with {average}, as in {usual}, "
        f"{driver.disagreement_dpt:.1f} D would be left. Measure it again before you choose the middle."
    )


def _drivers(
    methods: Sequence[Method], numbers: EyeNumbers, average: EyeNumbers, target_dpt: float
) -> Iterator[Driver]:
    for name in dict.fromkeys(name for formula, _, _ in methods for name in formula.reads):
        value, usual = float(getattr(numbers, name)), float(getattr(average, name))
        left = _apart(methods, _moved(numbers, average, (name,)), target_dpt)
        if not math.isnan(value) and not math.isnan(left):
            yield Driver(name, value, usual, left)


def _average_eye(methods: Sequence[Method]) -> EyeNumbers:
    """That of operated corneas where a method is for such: Haigis, which is for both, stands beside them."""
    formulas = [formula for formula, _, _ in methods]
    for_operated = [one for one in formulas if one.family is Family.AFTER_SURGERY]
    return average_eye((for_operated or formulas)[0])


def _moved(numbers: EyeNumbers, average: EyeNumbers, names: Sequence[str]) -> EyeNumbers:
    """The eye with the average value of these measurements, where it had one of its own."""
    known = [name for name in names if not math.isnan(float(getattr(numbers, name)))]
    return numbers._replace(**{name: getattr(average, name) for name in known})


def _apart(methods: Sequence[Method], numbers: EyeNumbers, target_dpt: float) -> float:
    refractions = _predictions(methods, numbers, target_dpt)[1]
    return float(np.ptp(refractions))


def _predictions(
    methods: Sequence[Method], numbers: EyeNumbers, target_dpt: float
) -> tuple[float, list[float]]:
    """The middle of the powers needed for the aim, and the refraction each method predicts with it."""
    seen = [(formula.optics, seen_eye(formula, numbers, own), offset) for formula, own, offset in methods]
    power = float(
        np.median([optics.lens_power_dpt(eye, target_dpt - offset) for optics, eye, offset in seen])
    )
    return power, [float(optics.refraction_dpt(eye, power)) + offset for optics, eye, offset in seen]
