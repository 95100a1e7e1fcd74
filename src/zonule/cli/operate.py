"""zonule sheet: the theatre sheet of a case."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from zonule.cli.options import RecordPath, existing


def sheet(
    case: Annotated[str, typer.Argument(metavar="CASE", help="The case, such as demo-0042-right.")],
    out: Annotated[Path | None, typer.Option("--out", help="Where to write it; without it, here.")] = None,
    record: RecordPath = None,
) -> None:
    """Write the one-page theatre sheet of a case as PDF.

    Example: zonule sheet demo-0042-right --out sheet.pdf
    """
    from zonule import wiring

    with wiring.open_record(existing(record)) as opened:
        pdf = wiring.sheet_of(opened, case)
    path = out or Path(f"theatre-sheet-{wiring.file_stem(case)}.pdf")
    wiring.write_bytes(path, pdf)
    typer.echo(f"Theatre sheet: {path}")
