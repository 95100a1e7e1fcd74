"""zonule review: whether turning a toric lens would help."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from zonule.cli.options import AsJson

if TYPE_CHECKING:
    from zonule.case.finding import Finding
    from zonule.case.patient import Side
    from zonule.case.rotation import RotationReview


def review(
    file: Annotated[str, typer.Argument(metavar="FILE", help="A review file, or - for standard input.")],
    json: AsJson = False,
) -> None:
    """Say what is left after a toric lens and why, and whether turning it would help.

    Example: zonule review examples/reviews/turned-lens.json
    """
    from zonule import wiring
    from zonule.cli.output import exit_status, print_json
    from zonule.workflow.rotation import rotation_review

    eye, outcome, findings = wiring.read_review_file(file)
    answer = rotation_review(outcome)
    if json:
        print_json(wiring.rotation_as_dict(eye, answer, findings))
    else:
        _print(eye, answer, findings)
    raise typer.Exit(exit_status((*findings, *answer.findings)))


def _print(eye: Side, answer: RotationReview, findings: tuple[Finding, ...]) -> None:
    from zonule.case.caution import CAUTION_SHORT
    from zonule.case.finding import Severity
    from zonule.cli.output import console, print_findings
    from zonule.drawings import rotation_sentences as said
    from zonule.drawings.doubts import doubts_of

    out = console()
    out.print(f"[bold]{eye.value.upper()} EYE[/bold]  after a toric lens\n")
    out.print(f"[bold]{said.advice_sentence(answer)}[/bold]\n")
    doubts = sum(one.severity is not Severity.NOTE for one in doubts_of((*findings, *answer.findings)))
    if doubts:
        out.print(f"[bold]{doubts} {'doubt stands' if doubts == 1 else 'doubts stand'}[/bold]; read below.\n")
    out.print(f"{said.seen_sentence(answer)}\n")
    out.print(f"{said.best_sentence(answer)}\n")
    for cause in answer.causes:
        out.print(f"  {said.cause_sentence(cause)}")
    print_findings(out, (*findings, *answer.findings))
    out.print(f"\n[dim]{CAUTION_SHORT}[/dim]")
