"""What measurement error does to the predictions of many formulas in many eyes at once: for whole clinics.

The draws are those of `propagation`, and every eye gets the same ones: they are made once, scaled to each eye
inside the compiled loop and never kept. Memory is that of the answers, however many eye-draws are computed.
The chance in the draws is then common to all eyes of a call: averaging over eyes does not lessen it.

The formulas compiled are the Python functions themselves (`lens_power.compiled`).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from zonule.science.arrays import Numbers
from zonule.science.lens_power.compiled import parts_of, seen_row_by_row, workers
from zonule.science.lens_power.flags import FormulaFlag
from zonule.science.lens_power.formulas import EyeNumbers, Formula
from zonule.science.uncertainty.correlation import MEASURED, correlated_unit_errors
from zonule.science.uncertainty.propagation import DRAWS

_FLAG_TYPE = np.min_scalar_type(sum(FormulaFlag))


@dataclass(frozen=True, slots=True)
class RefractionMoments:
    """Mean and variance of predicted refraction over the measurement errors of each eye."""

    mean_dpt: NDArray[np.float64]
    """Shape ``(formulas, eyes)``."""
    variance_dpt2: NDArray[np.float64]
    """Same shape."""
    flags: NDArray[np.unsignedinteger]
    """Bits of `FormulaFlag` that any draw raised, same shape; nan moments come with theirs."""


def refraction_moments(
    formulas: Sequence[Formula],
    constants: Sequence[Sequence[float]],
    eyes: EyeNumbers,
    sds: EyeNumbers,
    lens_power_dpt: Numbers,
    seed: int,
    draws: int = DRAWS,
) -> RefractionMoments:
    """Mean and variance of the refraction each formula predicts for each eye, over measurement error.

    Parameters
    ----------
    formulas
        Rows of `FORMULAS`.
    constants
        For each formula its constants.
    eyes
        The measured values; each field one number or an array of shape ``(eyes,)``.
    sds
        Standard deviation of each, in its own unit, shaped likewise.
    lens_power_dpt
        Labelled power, dioptres; one for all eyes, or one for each.
    seed
        Seed of the draws, 0 or more.
    draws
        How many for each eye, a multiple of 16.

    Returns
    -------
    RefractionMoments
        What `seen_eye` and the formula's optics give for the eyes of `drawn_eyes` with the same seed.

    Examples
    --------
    >>> from zonule.science.lens_power.formulas import FORMULAS
    >>> from zonule.science.uncertainty.propagation import PUBLISHED_SDS
    >>> eyes = EyeNumbers(np.array([21.0, 23.5]), np.array([45.0, 43.5]), 3.1)
    >>> powers = np.array([27.5, 20.5])
    >>> moments = refraction_moments([FORMULAS["srk_t"]], [[118.4]], eyes, PUBLISHED_SDS, powers, seed=1)
    >>> np.sqrt(moments.variance_dpt2).round(2)
    array([[0.14, 0.14]])
    """
    names = tuple(dict.fromkeys(name for formula in formulas for name in formula.reads))
    shape = np.broadcast_shapes(
        np.shape(lens_power_dpt), *(np.shape(getattr(each, name)) for name in names for each in (eyes, sds))
    )
    values, deviations = (
        {name: _column(getattr(each, name), shape) for name in names} for each in (eyes, sds)
    )
    errors = _errors_by_name(draws, seed)
    powers = _column(lens_power_dpt, shape)
    means, variances = np.empty((2, len(formulas), powers.size))
    flags = np.zeros(means.shape, dtype=_FLAG_TYPE)
    tasks = [
        workers().submit(
            _loop(formula),
            tuple(float(constant) for constant in own),
            tuple(values[name][part] for name in formula.reads),
            tuple(deviations[name][part] for name in formula.reads),
            tuple(errors[name] for name in formula.reads),
            powers[part],
            means[row, part],
            variances[row, part],
            flags[row, part],
        )
        for row, (formula, own) in enumerate(zip(formulas, constants, strict=True))
        for part in parts_of(powers.size)
    ]
    for task in tasks:
        task.result()
    whole = (len(formulas), *shape)
    return RefractionMoments(means.reshape(whole), variances.reshape(whole), flags.reshape(whole))


def _column(value: Numbers, shape: tuple[int, ...]) -> NDArray[np.float64]:
    return np.ascontiguousarray(np.broadcast_to(value, shape), dtype=np.float64).ravel()


def _errors_by_name(draws: int, seed: int) -> dict[str, NDArray[np.float64]]:
    """Unit errors of each quantity, shape ``(draws,)``; history has none."""
    measured = correlated_unit_errors(draws, seed).reshape(MEASURED, draws)
    history = np.zeros((len(EyeNumbers._fields) - MEASURED, draws))
    return dict(zip(EyeNumbers._fields, [*measured, *history], strict=True))


def _loop(formula: Formula) -> Any:
    optics = formula.optics
    row = seen_row_by_row(formula, optics.refraction_dpt)
    return _compiled(row, len(formula.reads), optics.inside_the_eye, optics.refraction_dpt)


@cache
def _compiled(row: Any, reads: int, inside: Callable[..., Any], refraction: Callable[..., Any]) -> Any:
    import numba

    def loop(constants, values, deviations, errors, powers, means, variances, flags):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202 - numba infers the types
        draws = errors[0].size
        eye = np.empty((reads, draws))
        for place in range(powers.size):
            for quantity in range(reads):
                value, deviation = values[quantity][place], deviations[quantity][place]
                for draw in range(draws):
                    eye[quantity, draw] = value + deviation * errors[quantity][draw]
            # Sums of differences from one draw: no digit is lost to the size of the refraction.
            origin = refraction(inside(row(eye, 0, constants)), powers[place])
            total, squares, raised = 0.0, 0.0, 0
            for draw in range(draws):
                seen = inside(row(eye, draw, constants))
                away = refraction(seen, powers[place]) - origin
                total += away
                squares += away * away
                raised |= seen.flags
            away = total / draws
            means[place] = origin + away
            variances[place] = squares / draws - away * away
            flags[place] = raised

    return numba.njit(loop, nogil=True, error_model="numpy")
