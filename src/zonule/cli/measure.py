"""zonule import: measurements from a file into the record."""

from __future__ import annotations

from typing import Annotated

import typer

from zonule.cli.options import AsJson, RecordPath, Who, this_user


def bring_in(
    file: Annotated[
        str, typer.Argument(metavar="FILE", help="A CSV or a DICOM object, or - for standard input.")
    ],
    record: RecordPath = None,
    who: Who = "",
    json: AsJson = False,
) -> None:
    """Bring eyes from a biometer's file into the record.

    Example: zonule import examples/clinic.csv
    """
    from zonule import wiring
    from zonule.cli.output import console, exit_status, print_findings, print_json
    from zonule.workflow.measure import take_in

    data, name = wiring.read_bytes(file)
    intake = wiring.read_biometry(data, name)
    with wiring.open_record(record) as opened:
        report = take_in(opened, intake, who=who or this_user(), now=wiring.now())
    if json:
        print_json(wiring.intake_as_dict(report))
    else:
        out = console()
        kept = f", {len(report.unchanged)} already on record" if report.unchanged else ""
        eyes = "eye" if len(report.added) == 1 else "eyes"
        out.print(f"{name}: {len(report.added)} {eyes} added{kept}.", markup=False)
        for key in report.added:
            out.print(f"  {key}", markup=False)
        print_findings(out, report.findings)
    raise typer.Exit(exit_status(report.findings))
