"""zonule import: measurements, or a catalogue of lenses, from a file into the record."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from zonule.cli.options import AsJson, RecordPath, Who, this_user


def bring_in(
    file: Annotated[
        str,
        typer.Argument(
            metavar="FILE", help="A CSV, a DICOM object or a catalogue of lenses, or - for standard input."
        ),
    ],
    record: RecordPath = None,
    who: Who = "",
    json: AsJson = False,
) -> None:
    """Bring eyes from a biometer's file, or lenses from a catalogue file, into the record.

    Example: zonule import examples/clinic.csv
    """
    from zonule import wiring
    from zonule.cli.output import console, exit_status, print_findings, print_json
    from zonule.workflow.measure import take_in

    data, name = wiring.read_bytes(file)
    if wiring.is_lens_catalogue(data):
        raise typer.Exit(_bring_in_lenses(data, name, record, who or this_user(), as_json=json))
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


def _bring_in_lenses(data: bytes, name: str, record: Path | None, who: str, *, as_json: bool) -> int:
    """Lenses into the catalogue; the exit status."""
    from zonule import wiring
    from zonule.cli.output import console, exit_status, print_findings, print_json
    from zonule.workflow.catalogue import take_in_lenses

    lenses, doubts = wiring.read_lens_catalogue(data, name)
    with wiring.open_record(record) as opened:
        report = take_in_lenses(opened, lenses, file=name, who=who, now=wiring.now())
    findings = (*doubts, *report.findings)
    if as_json:
        print_json(wiring.catalogue_as_dict(report, findings))
    else:
        out = console()
        counts = (
            f"{len(report.added)} added, {len(report.changed)} changed, {len(report.unchanged)} already so"
        )
        out.print(f"{name}: {len(lenses)} lenses: {counts}.", markup=False)
        for mark, names in (("added", report.added), ("changed", report.changed)):
            for lens in names:
                out.print(f"  {mark} {lens}", markup=False)
        print_findings(out, findings)
    return exit_status(findings)
