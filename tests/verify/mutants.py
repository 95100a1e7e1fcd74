"""A formula file with one number changed by one unit of its last printed digit, in place of the real one."""

from __future__ import annotations

import ast
import importlib
import math
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from decimal import Decimal
from types import FunctionType, ModuleType
from typing import Any

from architecture.source_tree import SCIENCE


@dataclass(frozen=True, slots=True)
class Mutant:
    """One number of a file, and what stands in its place."""

    file: str
    """Its path from the folder of science."""
    place: str
    """The function or constant in which it stands."""
    line: int
    column: int
    number: str
    changed: str

    @property
    def told(self) -> str:
        return f"{self.place}: {self.number} as {self.changed}"


def module_of(file: str) -> ModuleType:
    return importlib.import_module(f"zonule.science.{file.removesuffix('.py').replace('/', '.')}")


def mutants_of(file: str) -> Iterator[Mutant]:
    """Every number in the code of a file, changed upwards and downwards; texts are no code."""
    source = (SCIENCE / file).read_text(encoding="utf-8")
    for place, node in _numbers(ast.parse(source)):
        number = ast.get_source_segment(source, node)
        assert number is not None
        unit = Decimal(1).scaleb(int(Decimal(number).as_tuple().exponent))
        for changed in (Decimal(number) + unit, Decimal(number) - unit):
            yield Mutant(file, place, node.lineno, node.col_offset, number, f"{changed:f}")


def _numbers(tree: ast.Module) -> Iterator[tuple[str, ast.Constant]]:
    """Each float with the name of what it stands in. Whole numbers without a point are flags and places."""
    for top in tree.body:
        name = getattr(top, "name", "")
        if isinstance(top, ast.Assign | ast.AnnAssign):
            name = ast.unparse(top.targets[0] if isinstance(top, ast.Assign) else top.target)
        for node in ast.walk(top):
            if isinstance(node, ast.Constant) and isinstance(node.value, float):
                yield name, node


@contextmanager
def in_place(mutant: Mutant) -> Iterator[None]:
    """The mutant's functions and constants in the real module, wherever it has been imported."""
    lines = (SCIENCE / mutant.file).read_text(encoding="utf-8").splitlines(keepends=True)
    before, after = lines[mutant.line - 1][: mutant.column], lines[mutant.line - 1][mutant.column :]
    assert after.startswith(mutant.number)
    lines[mutant.line - 1] = before + f"({mutant.changed})" + after.removeprefix(mutant.number)
    real = module_of(mutant.file)
    other: dict[str, Any] = {"__name__": real.__name__, "__package__": real.__package__}
    exec(compile("".join(lines), mutant.file, "exec"), other)  # noqa: S102 - our own file with one number changed
    with replaced(real, other):
        yield


@contextmanager
def replaced(real: ModuleType, other: dict[str, Any]) -> Iterator[None]:
    """Code and constants of `other` in the functions of `real`; those who imported them get them too."""
    undo: list[Callable[[], None]] = []
    for name, value in list(vars(real).items()):
        if name in other and getattr(value, "__module__", real.__name__) == real.__name__:
            undo += list(_replace(name, value, other[name]))
    try:
        yield
    finally:
        for back in undo:
            back()


def _replace(name: str, value: Any, new: Any) -> Iterator[Callable[[], None]]:
    """Put one new thing in the place of an old one; yields how to undo it."""
    if isinstance(value, FunctionType):
        yield from _replace_function(value, new)
    elif isinstance(value, dict):
        yield lambda old=dict(value): value.update(old)  # type: ignore[misc]
        for key, part in list(value.items()):
            if isinstance(part, FunctionType) and key in new:
                yield from _replace_function(part, new[key])
            elif key in new:
                value[key] = new[key]
    elif isinstance(value, float | tuple):
        for module in _who_has(name, value):
            yield lambda module=module: setattr(module, name, value)  # type: ignore[misc]
            setattr(module, name, new)


def _who_has(name: str, value: object) -> list[ModuleType]:
    """The modules of zonule that know this constant by this name: a number is imported by its value."""
    ours = [module for key, module in sys.modules.items() if key.startswith("zonule.")]
    return [module for module in ours if vars(module).get(name) is value]


def _replace_function(value: FunctionType, new: FunctionType) -> Iterator[Callable[[], None]]:
    if value.__code__.co_freevars != new.__code__.co_freevars:
        return
    yield lambda old=value.__code__: setattr(value, "__code__", old)  # type: ignore[misc]
    value.__code__ = new.__code__
    for cell, changed in zip(value.__closure__ or (), new.__closure__ or (), strict=True):
        if isinstance(cell.cell_contents, float):
            yield lambda cell=cell, old=cell.cell_contents: setattr(cell, "cell_contents", old)  # type: ignore[misc]
            cell.cell_contents = changed.cell_contents


@contextmanager
def broken(file: str) -> Iterator[None]:
    """The module without its numbers, and with every function refusing to answer."""
    real = module_of(file)

    def refuse(*_: object, **__: object) -> object:
        raise ArithmeticError("this file is taken away")

    taken_away: dict[str, Any] = {}
    for name, value in vars(real).items():
        if isinstance(value, FunctionType):
            taken_away[name] = refuse
        elif isinstance(value, float):
            taken_away[name] = math.nan
        elif isinstance(value, tuple) and all(isinstance(part, float) for part in value):
            nothing = [math.nan] * len(value)
            taken_away[name] = value._make(nothing) if hasattr(value, "_make") else tuple(nothing)
    with replaced(real, taken_away):
        yield
