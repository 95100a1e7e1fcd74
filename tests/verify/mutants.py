"""A formula file with one number changed by one unit of its last printed digit, in place of the real one."""

from __future__ import annotations

import ast
import importlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from decimal import Decimal
from types import FunctionType, ModuleType
from typing import Any

from architecture.source_tree import SCIENCE

FOLDER = SCIENCE / "lens_power"


@dataclass(frozen=True, slots=True)
class Mutant:
    """One number of a file, and what stands in its place."""

    file: str
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
    return importlib.import_module(f"zonule.science.lens_power.{file.removesuffix('.py')}")


def mutants_of(file: str) -> Iterator[Mutant]:
    """Every number in the code of a file, changed upwards and downwards; texts are no code."""
    source = (FOLDER / file).read_text(encoding="utf-8")
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
    lines = (FOLDER / mutant.file).read_text(encoding="utf-8").splitlines(keepends=True)
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
        new = other.get(name)
        if isinstance(value, FunctionType) and isinstance(new, FunctionType):
            same_shape = value.__code__.co_freevars == new.__code__.co_freevars
            if value.__module__ == real.__name__ and same_shape:
                undo.append(lambda value=value, old=value.__code__: setattr(value, "__code__", old))  # type: ignore[misc]
                value.__code__ = new.__code__
        elif isinstance(value, float) and isinstance(new, float) and not name.startswith("__"):
            undo.append(lambda name=name, old=value: setattr(real, name, old))  # type: ignore[misc]
            setattr(real, name, new)
    try:
        yield
    finally:
        for back in undo:
            back()


@contextmanager
def broken(file: str) -> Iterator[None]:
    """The module with every function of its own refusing to answer."""
    real = module_of(file)

    def refuse(*_: object, **__: object) -> object:
        raise ArithmeticError("this file is taken away")

    functions = {
        name: refuse
        for name, value in vars(real).items()
        if isinstance(value, FunctionType) and value.__module__ == real.__name__
    }
    with replaced(real, functions):
        yield
