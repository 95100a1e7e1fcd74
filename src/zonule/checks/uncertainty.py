"""Questions to the shares of a variance, to labels of lenses and to what one eye says of the other."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from zonule.checks.lens_power import A_CONSTANT, formula_of
from zonule.checks.question import Question
from zonule.checks.rows import Row
from zonule.science.lens_power.formulas import seen_eye
from zonule.science.statistics.fellow_eye import fellow_error_dpt
from zonule.science.uncertainty.label import label_limit_dpt, label_sd_dpt
from zonule.science.uncertainty.propagation import AVERAGE_EYE, PUBLISHED_SDS
from zonule.science.uncertainty.quasi_random import shifted_normal_draws
from zonule.science.uncertainty.sensitivity import refraction_shares, sobol_indices

_BUDGET_DPT = {
    "lens_position": 0.445,
    "refraction": 0.391,
    "axial_length": 0.310,
    "pupil": 0.213,
    "lens_power": 0.075,
    "rest": 0.26,
}
"""Published shares of the variance of 0.752 D squared, in dioptres (norrby-2008)."""
_DRAWS, _SEED = 4096, 1


def _share_of_budget(row: Row) -> float:
    """Sobol's first-order index of one part of a sum of independent errors."""
    parts = np.array(list(_BUDGET_DPT.values()))
    unit = shifted_normal_draws(_DRAWS, 2 * parts.size, _SEED).reshape(2, parts.size, -1)
    first, other = (parts[:, None] * half for half in unit)
    groups = [[place] for place in range(parts.size)]
    found = sobol_indices(lambda inputs: inputs.sum(axis=0), first, other, groups)
    return float(found.first_order[list(_BUDGET_DPT).index(row.inputs["part"])])


def _shares_against_scipy(row: Row) -> float:
    """The largest difference in total indices of what a formula reads, in the average eye."""
    from scipy import stats

    formula, lens_dpt = formula_of(row), row.number("lens_power_dpt")
    constants = formula.first_guess(A_CONSTANT)
    ours = refraction_shares(formula, constants, AVERAGE_EYE, PUBLISHED_SDS, lens_dpt, _SEED)
    names = [name for (name,) in ours.groups]

    def refraction_dpt(inputs: NDArray[np.float64]) -> Any:
        eye = AVERAGE_EYE._replace(**dict(zip(names, inputs, strict=True)))
        return formula.optics.refraction_dpt(seen_eye(formula, eye, constants), lens_dpt)

    laws = [stats.norm(getattr(AVERAGE_EYE, name), getattr(PUBLISHED_SDS, name)) for name in names]
    theirs = stats.sobol_indices(func=refraction_dpt, n=2048, dists=laws, rng=np.random.default_rng(_SEED))
    return float(np.abs(ours.total - theirs.total_order).max())


QUESTIONS = {
    "share_of_error_budget": Question(
        "Share of the variance that belongs to {part}, by Sobol's index", _share_of_budget
    ),
    "shares_against_scipy": Question(
        "Largest difference in the shares of measurement variance from SciPy's Sobol indices, {formula}",
        _shares_against_scipy,
    ),
    "label_limit_dpt": Question(
        "How far a lens of {lens_power_dpt} D may lie from its label",
        lambda row: label_limit_dpt(row.number("lens_power_dpt")),
    ),
    "label_sd_dpt": Question(
        "SD of the power of lenses labelled {lens_power_dpt} D",
        lambda row: label_sd_dpt(row.number("lens_power_dpt")),
    ),
    "fellow_error_dpt": Question(
        "Error to expect in the second eye after {error_dpt} D in the first",
        lambda row: fellow_error_dpt(row.number("error_dpt")),
    ),
}
