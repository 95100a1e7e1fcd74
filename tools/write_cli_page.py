"""Write docs/reference/cli.md from the commands themselves.

Usage::

    python tools/write_cli_page.py

`make docs` runs this; a test fails when the page and the commands differ.
"""

from __future__ import annotations

import inspect
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import typer.main
from typer.core import TyperArgument, TyperGroup, TyperOption

from zonule.cli.main import app

PAGE = Path(__file__).parent.parent / "docs" / "reference" / "cli.md"
EXAMPLE = "Example: "

Parameter = TyperArgument | TyperOption

OPENING = """# Commands

This page is written by `tools/write_cli_page.py` from the commands themselves. Do not edit it by hand.

Every command answers `--help` with an example. A file named `-` is standard input. Commands that print
results take `--json` and then print data by the contract: [plan-json.md](plan-json.md).

| exit status | meaning |
|---|---|
| 0 | done |
| 2 | wrong call, or input that cannot be read |
| 3 | done, and something must be resolved first (a blocking finding) |
| 70 | an error of ours |

Without `--record`, a command uses `zonule/record.sqlite3` in your home folder and makes it when it is not
there yet.
"""


def page() -> str:
    """The whole page."""
    group = typer.main.get_command(app)
    if not isinstance(group, TyperGroup):
        raise TypeError("zonule has one command only; this page is written for several")
    commands = ((name, command) for name, command in group.commands.items() if not command.hidden)
    return "\n".join([OPENING, *(line for name, command in commands for line in _section(name, command))])


def _section(name: str, command: Any) -> Iterator[str]:
    """One command: what it does, its arguments and options, its example."""
    said, _, example = inspect.cleandoc(command.help or "").partition(EXAMPLE)
    yield f"## zonule {name}\n"
    yield said.strip() + "\n"
    yield "| word | meaning | default |"
    yield "|---|---|---|"
    for parameter in command.params:
        yield f"| `{_written(parameter)}` | {parameter.help} | {_default(parameter)} |"
    yield f"\n```sh\n{example.strip()}\n```\n"


def _written(parameter: Parameter) -> str:
    """An argument or option as it is typed."""
    if isinstance(parameter, TyperOption):
        return ", ".join(parameter.opts)
    return parameter.metavar or str(parameter.name)


def _default(parameter: Parameter) -> str:
    """What counts when it is left out."""
    if parameter.required:
        return "needed"
    return "" if parameter.default in {None, "", False} else f"`{parameter.default}`"


if __name__ == "__main__":
    PAGE.parent.mkdir(parents=True, exist_ok=True)
    PAGE.write_text(page(), encoding="utf-8")
