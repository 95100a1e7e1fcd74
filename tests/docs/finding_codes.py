"""Every finding code in the source, with its severity and authority, read from the source itself."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

SOURCE = Path(__file__).parents[2] / "src" / "zonule"
CODE, WHENCE = "code", "source"
SEVERITIES = {"note": "note", "warning": "warning", "blocking": "blocking"}
COMMON_PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Use:
    """One place where a code becomes a finding."""

    file: str
    line: int
    code: str
    severity: str | None
    """None where it depends on the case."""
    source: str | None


@dataclass(frozen=True, slots=True)
class _Taker:
    """A function that is given a code and makes a finding of it."""

    places: dict[str, int]
    severity: str | None
    source: str | None


@cache
def uses() -> tuple[Use, ...]:
    """Every place in the source where a code becomes a finding."""
    trees = {path: ast.parse(path.read_text(encoding="utf-8")) for path in sorted(SOURCE.rglob("*.py"))}
    constants = dict(named for tree in trees.values() for named in _constants(tree))
    takers = _takers(list(trees.values()), constants)
    return tuple(use for path, tree in trees.items() for use in _Module(path, tree, takers, constants).uses())


def _constants(tree: ast.Module) -> Iterator[tuple[str, str]]:
    """Text constants of a module, by name."""
    for node in tree.body:
        if isinstance(node, ast.Assign) and isinstance(node.value, ast.Constant):
            for target in node.targets:
                if isinstance(target, ast.Name) and isinstance(node.value.value, str):
                    yield target.id, node.value.value


def _takers(trees: list[ast.Module], constants: dict[str, str]) -> dict[str, _Taker]:
    """Functions with a parameter named `code`; what one does not settle it takes from the one it calls."""
    found = {"Finding": _Taker({CODE: 1, WHENCE: 4}, None, None)}
    definitions = [
        node
        for tree in trees
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef) and CODE in {argument.arg for argument in node.args.args}
    ]
    for _ in range(3):  # as deep as they call each other
        for node in definitions:
            names = [argument.arg for argument in node.args.args]
            inner = next((call for call in _calls(node) if call.func.id in found), None)  # type: ignore[attr-defined]
            settled = None if inner is None else found[inner.func.id]  # type: ignore[attr-defined]
            whence = None if inner is None or settled is None else _source(inner, settled, constants)
            found[node.name] = _Taker(
                {name: names.index(name) for name in (CODE, WHENCE) if name in names},
                SEVERITIES.get(node.name, settled.severity if settled else None),
                COMMON_PRACTICE if node.name in SEVERITIES else whence,
            )
    return found


def _calls(tree: ast.AST) -> Iterator[ast.Call]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            yield node


def _argument(call: ast.Call, taker: _Taker, name: str) -> ast.expr | None:
    for keyword in call.keywords:
        if keyword.arg == name:
            return keyword.value
    place = taker.places.get(name)
    return None if place is None or len(call.args) <= place else call.args[place]


def _source(call: ast.Call, taker: _Taker, constants: dict[str, str]) -> str | None:
    argument = _argument(call, taker, WHENCE)
    if argument is None:
        return taker.source
    if isinstance(argument, ast.Name):
        return constants.get(argument.id)
    return argument.value if isinstance(argument, ast.Constant) and isinstance(argument.value, str) else None


class _Module:
    """One module and the codes it uses."""

    def __init__(
        self, path: Path, tree: ast.Module, takers: dict[str, _Taker], constants: dict[str, str]
    ) -> None:
        self.file = path.relative_to(SOURCE).as_posix()
        self.tree, self.takers, self.constants = tree, takers, constants
        self.passing_on = {
            id(inner)
            for node in ast.walk(tree)
            if isinstance(node, ast.FunctionDef) and node.name in takers
            for inner in ast.walk(node)
        }

    def uses(self) -> Iterator[Use]:
        for call in _calls(self.tree):
            taker = self.takers.get(call.func.id)  # type: ignore[attr-defined]
            argument = None if taker is None else _argument(call, taker, CODE)
            if taker is None or argument is None or id(call) in self.passing_on:
                continue
            for code in self.codes(argument):
                yield Use(self.file, call.lineno, code, taker.severity, _source(call, taker, self.constants))

    def codes(self, argument: ast.expr) -> list[str]:
        """The code written here, or all that can stand here."""
        match argument:
            case ast.Constant(value=str() as code):
                return [code]
            case ast.IfExp():
                return [*self.codes(argument.body), *self.codes(argument.orelse)]
            case ast.JoinedStr(values=[ast.FormattedValue(), ast.Constant(value=str() as ending)]):
                return [f"{name.replace('_', '-')}{ending}" for name in self.keys_looped_over()]
            case ast.Attribute(attr="code"):
                return []  # a finding made elsewhere, told again
            case ast.Name(id="code"):
                return [*self.first_of_returned_pairs(), *self.first_of_listed_triples()]
        raise AssertionError(f"{self.file}:{argument.lineno}: a finding code that no test can read")

    def keys_looped_over(self) -> list[str]:
        """Keys of the dictionaries of triples in this module."""
        return [
            key.value
            for table in self._tables()
            for key in table.keys
            if isinstance(key, ast.Constant) and isinstance(key.value, str)
        ]

    def first_of_listed_triples(self) -> list[str]:
        """The first text of each triple in the dictionaries of this module."""
        return [_first_text(value) for table in self._tables() for value in table.values]

    def first_of_returned_pairs(self) -> list[str]:
        """The first text of each pair that a function of this module returns."""
        return [
            _first_text(node.value)
            for node in ast.walk(self.tree)
            if isinstance(node, ast.Return)
            and isinstance(node.value, ast.Tuple)
            and isinstance(node.value.elts[0], ast.Constant)
        ]

    def _tables(self) -> list[ast.Dict]:
        return [
            node.value
            for node in self.tree.body
            if isinstance(node, ast.Assign)
            and isinstance(node.value, ast.Dict)
            and all(isinstance(value, ast.Tuple) and len(value.elts) == 3 for value in node.value.values)
        ]


def _first_text(value: ast.expr) -> str:
    first = value.elts[0] if isinstance(value, ast.Tuple) else None
    if isinstance(first, ast.Constant) and isinstance(first.value, str):
        return first.value
    raise AssertionError(f"no code in {ast.unparse(value)}")
