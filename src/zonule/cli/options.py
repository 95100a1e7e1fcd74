"""Options that several commands share."""

from __future__ import annotations

import getpass
from pathlib import Path
from typing import Annotated

import typer

from zonule.errors import ConfigurationError

RecordPath = Annotated[
    Path | None,
    typer.Option(
        "--record", help="The clinic's record; without it, zonule/record.sqlite3 in your home folder."
    ),
]
AsJson = Annotated[bool, typer.Option("--json", help="Print data by the contract instead of text.")]
Who = Annotated[
    str,
    typer.Option("--who", help="Who does this, kept as not verified; without it, the account that runs it."),
]


def existing(record: Path | None) -> Path | None:
    """The record to read from; a path that leads nowhere is refused, not made into an empty record."""
    if record is not None and not record.exists():
        raise ConfigurationError(f"There is no record at {record}. Check the path.")
    return record


def this_user() -> str:
    """The name of the account that runs the command."""
    try:
        return getpass.getuser()
    except (KeyError, OSError):
        return "not named"
