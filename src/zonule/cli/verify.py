"""zonule verify: every check against the outside, on this installation, in a dated report."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from zonule.cli.options import AsJson

if TYPE_CHECKING:
    from rich.console import Console

    from zonule.checks.report import VerificationReport
    from zonule.drawings.verification import Group


def verify(
    json: AsJson = False,
    pdf: Annotated[Path | None, typer.Option("--pdf", help="Also write the report here, as PDF.")] = None,
) -> None:
    """Check this installation against every value from outside that ships with it.

    Example: zonule verify --pdf verification.pdf
    """
    from zonule import wiring
    from zonule.cli.output import exit_status, print_json

    report = wiring.verify()
    if pdf is not None:
        wiring.write_bytes(pdf, wiring.verification_sheet(report))
    if json:
        print_json(wiring.verification_as_dict(report))
    else:
        _print(report, pdf)
    raise typer.Exit(exit_status(report.findings))


def _print(report: VerificationReport, pdf: Path | None) -> None:
    from zonule.checks.report import WHAT_GREEN_DOES_NOT_MEAN
    from zonule.cli.output import console, print_findings
    from zonule.drawings import verification as told
    from zonule.drawings.numbers import time_text

    out = console()
    out.print("[bold]Verification report[/bold]")
    out.print(f"{time_text(report.checked_at)}\n{told.installation_text(report)}\n", markup=False)
    for group in told.groups(report):
        _print_group(out, group)
    _print_counts(out, report)
    print_findings(out, report.findings)
    out.print(f"\n[bold]{told.verdict_sentence(report)}[/bold]\n")
    out.print(f"What this does not mean. {WHAT_GREEN_DOES_NOT_MEAN}", markup=False)
    if pdf is not None:
        out.print(f"\nReport: {pdf}", markup=False)


def _print_group(out: Console, group: Group) -> None:
    from rich.markup import escape
    from rich.table import Table

    from zonule.drawings.verification import FAILED

    out.print(f"[bold]{escape(group.source)}[/bold], {group.status}: {escape(group.table)}")
    out.print(f"[dim]Tolerance {escape(group.tolerance)}[/dim]")
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 2))
    table.add_column("what is checked", ratio=1)
    for heading in ("figure", "expected", "result"):
        table.add_column(heading, justify="right" if heading != "result" else "left", no_wrap=True)
    for line in group.lines:
        style = "bold" if line.verdict == FAILED else None
        table.add_row(escape(line.words), escape(line.figure), line.expected, line.verdict, style=style)
    out.print(table)
    out.print()


def _print_counts(out: Console, report: VerificationReport) -> None:
    from rich.table import Table

    from zonule.drawings.verification import status_rows

    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    table.add_column("status")
    table.add_column("what it means")
    table.add_column("checks", justify="right")
    table.add_column("passed", justify="right")
    for row in status_rows(report):
        table.add_row(*row)
    out.print(table)
    out.print()
