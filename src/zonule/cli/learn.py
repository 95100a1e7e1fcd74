"""zonule audit: how far eyes landed from their predictions."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from zonule.cli.options import AsJson, RecordPath, existing

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import Console

    from zonule.case.learned import Audit, MethodOutcome


def audit(
    file: Annotated[
        str, typer.Argument(metavar="[FILE]", help="A table of outcomes (CSV); without it, the record.")
    ] = "",
    record: RecordPath = None,
    json: AsJson = False,
) -> None:
    """Print the outcome summary of the record, or of a table with one operated eye a row.

    Example: zonule audit outcomes.csv --json
    """
    from zonule import wiring
    from zonule.cli.output import exit_status, print_findings, print_json

    answer, findings = wiring.audit(file, record if file else existing(record))
    if json:
        print_json(wiring.audit_as_dict(answer, findings))
    else:
        out = _print(answer)
        print_findings(out, findings)
    raise typer.Exit(exit_status(findings))


def _print(answer: Audit) -> Console:
    from zonule.cli.output import console

    out = console()
    people = "1 patient" if answer.patients == 1 else f"{answer.patients} patients"
    out.print(f"1 eye of {people} counts." if answer.eyes == 1 else f"{answer.eyes} eyes of {people} count.")
    for left in answer.excluded:
        out.print(f"  {left.eyes} left out: {left.reason}", markup=False)
    _print_methods(out, "All lenses" if answer.by_lens else "", answer.methods)
    for name, methods in answer.by_lens.items():
        _print_methods(out, name, methods)
    out.print("Error is achieved minus predicted, in dioptres; shares are in 100 eyes, limits included.\n")
    return out


def _print_methods(out: Console, title: str, methods: Sequence[MethodOutcome]) -> None:
    from rich.markup import escape
    from rich.table import Table

    from zonule.drawings.numbers import plain_text, signed_text
    from zonule.drawings.words import method_name

    shown = escape(title) or None
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), title=shown, title_justify="left")
    table.add_column("method")
    headings = (
        "eyes",
        "mean",
        "SD",
        "mean abs.",
        "median abs.",
        "0.25",
        "0.50",
        "0.75",
        "1.00",
        "zero-mean constant",
    )
    for heading in headings:
        table.add_column(heading, justify="right")
    for one in methods:
        summary, constant = one.summary, one.constant_for_zero_mean
        table.add_row(
            method_name(one.method),
            str(summary.eyes),
            signed_text(summary.mean_error_dpt),
            "" if summary.sd_dpt is None else plain_text(summary.sd_dpt, 2),
            plain_text(summary.mae_dpt, 2),
            plain_text(summary.median_ae_dpt, 2),
            *(plain_text(100.0 * share, 0) for share in summary.within.values()),
            "" if constant is None else plain_text(constant, 3),
        )
    out.print(table)
    out.print()
