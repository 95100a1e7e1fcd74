"""zonule plan: one eye file in, powers and odds out, without any record."""

from __future__ import annotations

from typing import Annotated

import typer

from zonule.cli.options import AsJson


def plan(
    file: Annotated[str, typer.Argument(metavar="FILE", help="An eye file, or - for standard input.")],
    json: AsJson = False,
) -> None:
    """Plan one eye from an eye file.

    Example: zonule plan examples/ordinary-eye.json
    """
    from dataclasses import replace

    from zonule import wiring
    from zonule.cli.output import exit_status, print_json
    from zonule.cli.plan_text import print_plan
    from zonule.workflow.forecast import plan_eye

    patient, request, findings = wiring.read_eye_request(file)
    answer = plan_eye(request, wiring.today())
    answer = replace(answer, findings=(*answer.findings, *findings))
    if json:
        print_json(wiring.plan_as_dict(answer))
    else:
        print_plan(patient, answer)
    raise typer.Exit(exit_status(answer.findings))
