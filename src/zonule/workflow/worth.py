"""Which measurement of this eye is worth repeating."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from zonule.case.worth import InputWorth, Repeated, Worth
from zonule.science.lens_power.formulas import EyeNumbers, Formula
from zonule.science.uncertainty.repeating import (
    fraction_within_if_confirmed,
    fraction_within_when_chosen_anew,
    variance_gone_dpt2,
)
from zonule.science.uncertainty.sensitivity import RefractionShares, refraction_shares
from zonule.science.uncertainty.spread import ErrorLaw, fraction_within

MORE_READINGS = (3, 5)
_POWERS_EACH_SIDE = 3
"""How far from the chosen power a second look could lead: one dioptre of refraction."""


def worth_repeating(
    methods: Sequence[tuple[Formula, Sequence[float]]],
    numbers: EyeNumbers,
    sds: EyeNumbers,
    powers_dpt: NDArray[np.float64],
    refractions_dpt: NDArray[np.float64],
    chosen: int,
    law: ErrorLaw,
    target_dpt: float,
    seed: int,
) -> Worth:
    """Where the doubt about this eye comes from, and what more readings of each measurement would buy.

    `methods` are the formulas that count with their constants; the variance is shared out by the mean of
    theirs, as the odds are. `refractions_dpt` are the middle predictions of the powers made, and `law` has a
    measurement variance for each of them. `chosen` is the place of the chosen power among `powers_dpt`.
    """
    parts = _mean_parts(
        [
            refraction_shares(formula, constants, numbers, sds, float(powers_dpt[chosen]), seed)
            for formula, constants in methods
        ]
    )
    near = slice(max(0, chosen - _POWERS_EACH_SIDE), chosen + _POWERS_EACH_SIDE + 1)
    variances = np.broadcast_to(law.measurement_variance_dpt2, powers_dpt.shape)
    nearby = replace(law, measurement_variance_dpt2=variances[near])
    place = chosen - near.start
    centres = refractions_dpt[near]
    whole = sum(total for _, total in parts.values())
    inputs = [
        InputWorth(
            quantities=names,
            first_order=alone / whole if whole else 0.0,
            total=total / whole if whole else 0.0,
            sd_dpt=float(np.sqrt(max(alone, 0.0))),
            repeated=tuple(
                _repeated(target_dpt, centres, place, nearby, max(alone, 0.0), more) for more in MORE_READINGS
            ),
        )
        for names, (alone, total) in parts.items()
    ]
    return Worth(
        lens_power_dpt=float(powers_dpt[chosen]),
        within_0_50=float(fraction_within(0.5, target_dpt, centres, nearby)[place]),
        measurement_sd_dpt=float(np.sqrt(variances[chosen])),
        inputs=tuple(sorted(inputs, key=lambda one: one.sd_dpt, reverse=True)),
    )


def _repeated(
    target_dpt: float,
    centres_dpt: NDArray[np.float64],
    chosen: int,
    law: ErrorLaw,
    variance_dpt2: float,
    more: int,
) -> Repeated:
    gone = float(variance_gone_dpt2(variance_dpt2, more))
    here = replace(law, measurement_variance_dpt2=np.asarray(law.measurement_variance_dpt2)[chosen])
    confirmed = fraction_within_if_confirmed(target_dpt, float(centres_dpt[chosen]), here, gone)
    return Repeated(
        more_readings=more,
        within_0_50=fraction_within_when_chosen_anew(target_dpt, centres_dpt, chosen, law, gone),
        within_0_50_if_confirmed=float(confirmed),
    )


def _mean_parts(shares: Sequence[RefractionShares]) -> dict[tuple[str, ...], tuple[float, float]]:
    """First-order and total part of the mean variance of the methods, square dioptres, by measurement.

    A measurement that stands alone in one method and in a pair in another is told with the pair.
    """
    pairs = {group for one in shares for group in one.groups if len(group) > 1}
    parts: dict[tuple[str, ...], tuple[float, float]] = {}
    for one in shares:
        for group, alone, total in zip(one.groups, one.first_order, one.total, strict=True):
            name = next((pair for pair in pairs if set(group) <= set(pair)), group)
            before = parts.get(name, (0.0, 0.0))
            weight = one.variance_dpt2 / len(shares)
            if weight:
                before = (before[0] + weight * float(alone), before[1] + weight * float(total))
            parts[name] = before
    return parts
