"""The code as text and as trees, for tests about its shape."""

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
PACKAGE = ROOT / "src" / "zonule"
SCIENCE = PACKAGE / "science"

Function = ast.FunctionDef | ast.AsyncFunctionDef


def files_under(folder: Path) -> list[Path]:
    """Python files, in order; migrations are generated and left out."""
    return sorted(path for path in folder.rglob("*.py") if "versions" not in path.parts)


@cache
def tree_of(path: Path) -> ast.Module:
    """The syntax tree of a file."""
    return ast.parse(path.read_text(encoding="utf-8"))


def functions_of(path: Path) -> Iterator[Function]:
    """Every function and method of a file, nested ones too."""
    return (node for node in ast.walk(tree_of(path)) if isinstance(node, Function))


def public_functions_of(path: Path) -> Iterator[ast.FunctionDef]:
    """Functions at the top of a file that other files may call."""
    return (
        node
        for node in tree_of(path).body
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_")
    )


def told(path: Path) -> str:
    """A file's place in the project."""
    return str(path.relative_to(ROOT))
