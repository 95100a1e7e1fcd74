"""The same formulas, compiled, for batches of many thousand eyes.

The functions compiled here are the Python functions of `srk_t`, `holladay_1`, `hoffer_q`, `haigis` and
`thin_lens` themselves: each formula is written once. Only `select` and `flag` get a second, scalar meaning,
because `np.where` on single numbers is slow when compiled.

Nothing is kept on disk between runs: a cache that outlived an upgrade could give the old version's numbers.
numba is imported at the first call, and each formula is compiled at its first use.
"""

from __future__ import annotations

import inspect
import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from threading import Lock
from types import FunctionType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from zonule.science import arrays
from zonule.science.arrays import Numbers
from zonule.science.lens_power import thin_lens
from zonule.science.lens_power.flags import FormulaFlag
from zonule.science.lens_power.formulas import EyeNumbers, Formula
from zonule.science.lens_power.thin_lens import inside_the_eye

BREAK_EVEN_EYES_ONCE_COMPILED = 4_000
"""From this many eyes in one call, a process that has already compiled is done sooner than plain NumPy.

All four formulas on two cores: 3,000 eyes took 0.34 ms with NumPy and 0.38 ms here, 5,000 took 0.85 and
0.61 ms, 100,000 took 16 to 25 and 2.7 to 3.0 ms.
"""

BREAK_EVEN_EYES_FRESH = 17_000_000
"""From this many eyes in the life of a process, the 2.5 to 3.0 s of compiling are earned back (same run)."""

_PREPARING = Lock()
_OWN = "zonule.science."
_FLAG_TYPE = np.min_scalar_type(sum(FormulaFlag))


@dataclass(frozen=True, slots=True)
class BatchAnswers:
    """What each formula says about each eye."""

    values_dpt: NDArray[np.float64]
    """Shape ``(formulas, *eyes)``."""
    flags: NDArray[np.unsignedinteger]
    """Bits of `FormulaFlag`, same shape, in the smallest type that holds them all: at this size the time goes
    into fetching fresh memory for the answers, not into computing them."""


def powers_for_target_dpt(
    formulas: Sequence[Formula],
    eyes: EyeNumbers,
    constants: Sequence[Sequence[float]],
    target_refraction_dpt: Numbers,
) -> BatchAnswers:
    """The lens power each formula gives for a wanted refraction, for many eyes at once.

    Parameters
    ----------
    formulas
        Rows of `FORMULAS`.
    eyes
        Numbers of the eyes; fields broadcast against one another and against the target.
    constants
        For each formula its constants, in the order of its `constant_names`.
    target_refraction_dpt
        Wanted spherical equivalent at 12 mm vertex, dioptres; one for all eyes, or one for each.

    Returns
    -------
    BatchAnswers
        Lens powers, dioptres, and flags: what `seen_eye` and `lens_power_dpt` give.

    Examples
    --------
    >>> from zonule.science.lens_power.formulas import FORMULAS
    >>> eyes = EyeNumbers(np.array([21.0, 23.5]), np.array([45.0, 43.5]), np.nan)
    >>> powers_for_target_dpt([FORMULAS["srk_t"]], eyes, [[118.4]], 0.0).values_dpt.round(4)
    array([[27.445 , 20.5637]])
    """
    return _answers(thin_lens.lens_power_dpt, formulas, eyes, constants, target_refraction_dpt)


def refractions_dpt(
    formulas: Sequence[Formula],
    eyes: EyeNumbers,
    constants: Sequence[Sequence[float]],
    lens_power_dpt: Numbers,
) -> BatchAnswers:
    """The refraction each formula predicts with a lens, for many eyes at once.

    Parameters
    ----------
    formulas
        Rows of `FORMULAS`.
    eyes
        Numbers of the eyes; fields broadcast against one another and against the lens powers.
    constants
        For each formula its constants, in the order of its `constant_names`.
    lens_power_dpt
        Labelled power, dioptres; one for all eyes, or one for each.

    Returns
    -------
    BatchAnswers
        Spherical equivalents at 12 mm vertex, dioptres, and flags: what `seen_eye` and
        `refraction_dpt` give.

    Examples
    --------
    >>> from zonule.science.lens_power.formulas import FORMULAS
    >>> eyes = EyeNumbers(np.array([21.0, 23.5]), np.array([45.0, 43.5]), np.nan)
    >>> powers = np.array([27.5, 20.5])
    >>> refractions_dpt([FORMULAS["srk_t"]], eyes, [[118.4]], powers).values_dpt.round(4)
    array([[-0.04  ,  0.0445]])
    """
    return _answers(thin_lens.refraction_dpt, formulas, eyes, constants, lens_power_dpt)


def _answers(
    answer: Callable[..., Numbers],
    formulas: Sequence[Formula],
    eyes: EyeNumbers,
    constants: Sequence[Sequence[float]],
    asked: Numbers,
) -> BatchAnswers:
    names = dict.fromkeys(name for formula in formulas for name in formula.reads)
    given = {name: getattr(eyes, name) for name in names}
    shape = np.broadcast_shapes(np.shape(asked), *(np.shape(value) for value in given.values()))
    columns = {name: _column(value, shape) for name, value in given.items()}
    wanted = _column(asked, shape)
    values = np.empty((len(formulas), wanted.size))
    flags = np.empty(values.shape, dtype=_FLAG_TYPE)
    loops = [_loop(formula.kernel, len(formula.reads), answer) for formula in formulas]
    rows = [tuple(float(value) for value in row) for row in constants]
    parts = [
        workers().submit(
            loop,
            row,
            value[part],
            bits[part],
            tuple(columns[name][part] for name in formula.reads),
            wanted[part],
        )
        for part in parts_of(wanted.size)
        for formula, loop, row, value, bits in zip(formulas, loops, rows, values, flags, strict=True)
    ]
    for part in parts:
        part.result()
    whole = (len(formulas), *shape)
    return BatchAnswers(values.reshape(whole), flags.reshape(whole))


def _column(value: Numbers, shape: tuple[int, ...]) -> NDArray[np.float64]:
    """One number for each eye in one block of memory that is only read: one type to compile for."""
    column = np.ascontiguousarray(np.broadcast_to(value, shape), dtype=np.float64).ravel().view()
    column.flags.writeable = False
    return column


def parts_of(size: int) -> list[slice]:
    """What each core takes of so many eyes.

    Parameters
    ----------
    size
        How many eyes.

    Returns
    -------
    list of slice
        At most one for each core, none of them empty.

    Examples
    --------
    >>> int(sum(part.stop - part.start for part in parts_of(1001)))
    1001
    """
    edges = np.linspace(0, size, _cores() + 1).astype(int)
    return [slice(first, end) for first, end in pairwise(edges) if end > first]


def _cores() -> int:
    return os.cpu_count() or 1


@cache
def workers() -> ThreadPoolExecutor:
    """The threads that compiled loops share, one for each core.

    Returns
    -------
    ThreadPoolExecutor
        Kept for the life of the process.

    Examples
    --------
    >>> workers() is workers()
    True
    """
    return ThreadPoolExecutor(_cores(), thread_name_prefix="formulas")


_CALLS: dict[int, Callable[[Callable[..., Any]], Callable[..., Any]]] = {
    2: lambda kernel: lambda c, row, constants: kernel(c[0][row], c[1][row], *constants),
    3: lambda kernel: lambda c, row, constants: kernel(c[0][row], c[1][row], c[2][row], *constants),
    4: lambda kernel: (
        lambda c, row, constants: kernel(c[0][row], c[1][row], c[2][row], c[3][row], *constants)
    ),
    5: lambda kernel: (
        lambda c, row, constants: kernel(c[0][row], c[1][row], c[2][row], c[3][row], c[4][row], *constants)
    ),
    6: lambda kernel: (
        lambda c, row, constants: kernel(
            c[0][row], c[1][row], c[2][row], c[3][row], c[4][row], c[5][row], *constants
        )
    ),
}
"""How a kernel that reads so many columns is called for one row; numba cannot unroll this itself."""


def _loop(kernel: Callable[..., Any], columns_read: int, answer: Callable[..., Numbers]) -> Any:
    with _PREPARING:
        return _compiled_loop(kernel, columns_read, answer)


def seen_row_by_row(formula: Formula, answer: Callable[..., Numbers]) -> Any:
    """A function for compiled loops: the eye of one row of columns as a formula sees it.

    Parameters
    ----------
    formula
        A row of `FORMULAS`.
    answer
        What the loop will ask of the eye; made known to the compiler as well.

    Returns
    -------
    Any
        Takes the columns that the formula reads, the row, and the constants; the lens may still lie outside
        the eye.

    Examples
    --------
    >>> from zonule.science.lens_power.formulas import FORMULAS
    >>> seen = seen_row_by_row(FORMULAS["srk_t"], thin_lens.refraction_dpt)
    >>> round(seen((np.array([23.5]), np.array([43.5])), 0, (118.4,)).lens_position_mm, 4)
    5.0942
    """
    with _PREPARING:
        _make_compilable(answer)
        return _compiled_row(formula.kernel, len(formula.reads))


@cache
def _compiled_row(kernel: Callable[..., Any], columns_read: int) -> Any:
    import numba

    _give_scalar_meaning()
    _make_compilable(kernel)
    return numba.njit(_CALLS[columns_read](kernel), error_model="numpy")


@cache
def _compiled_loop(kernel: Callable[..., Any], columns_read: int, answer: Callable[..., Numbers]) -> Any:
    import numba

    seen_by_formula = _compiled_row(kernel, columns_read)

    def loop(constants, values, flags, columns, asked):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202 - numba infers the types
        for row in range(values.shape[0]):
            seen = inside_the_eye(seen_by_formula(columns, row, constants))
            values[row] = answer(seen, asked[row])
            flags[row] = seen.flags

    return numba.njit(loop, nogil=True, error_model="numpy")


@cache
def _give_scalar_meaning() -> None:
    from numba.extending import overload

    # numba compares the two argument lists to the letter, annotations included.
    overload(arrays.select)(lambda condition, yes, no: lambda condition, yes, no: yes if condition else no)  # noqa: ARG005 - types, not values
    overload(arrays.flag)(lambda condition, bit: lambda condition, bit: bit if condition else 0)  # noqa: ARG005 - types, not values
    for shared in (thin_lens.inside_the_eye, thin_lens.lens_power_dpt, thin_lens.refraction_dpt):
        _make_compilable(shared)


@cache
def _make_compilable(function: Callable[..., Any]) -> None:
    """Make a function, and what it calls of this package, known to numba."""
    from numba.extending import register_jitable

    names = inspect.getclosurevars(function)
    for called in (*names.globals.values(), *names.nonlocals.values()):
        of_ours = isinstance(called, FunctionType) and called.__module__.startswith(_OWN)
        if of_ours and called not in (arrays.select, arrays.flag):
            _make_compilable(called)
    register_jitable(error_model="numpy")(function)
