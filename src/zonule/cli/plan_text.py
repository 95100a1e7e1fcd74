"""A plan as text for the terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from rich.console import Console

    from zonule.case.finding import Finding
    from zonule.case.patient import Patient
    from zonule.case.plan import Plan
    from zonule.case.toric import ToricPlan


def print_plan(patient: Patient, answer: Plan) -> None:
    """Print a plan so that it can be read aloud: the answer first, then what stands behind it."""
    from rich.markup import escape

    from zonule.case.caution import CAUTION_SHORT
    from zonule.case.finding import Severity
    from zonule.cli.output import console, print_findings
    from zonule.drawings import numbers, sentences
    from zonule.drawings.doubts import doubts_of

    out = console()
    request = answer.request
    lens = request.lens.name if request.lens else "no lens"
    aim = request.target_refraction_dpt
    out.print(f"[bold]{request.eye.side.value.upper()} EYE[/bold]  {escape(patient.name or patient.key)}")
    out.print(f"{escape(lens)}, aim {'not chosen' if aim is None else numbers.refraction_text(aim)}\n")
    doubts = sum(one.severity is not Severity.NOTE for one in doubts_of(answer.findings))
    if doubts:
        out.print(f"[bold]{doubts} {'doubt stands' if doubts == 1 else 'doubts stand'}[/bold]; read below.\n")
    power = answer.odds.best_power_dpt if answer.odds else None
    if power is not None:
        out.print(f"{sentences.odds_sentence(answer, power)}\n")
    if answer.methods:
        _print_powers(out, answer, power)
        _print_methods(out, answer)
    if not answer.odds:
        out.print(f"[bold]No odds.[/bold] {escape(answer.no_odds_because)}\n")
    if answer.toric is not None:
        _print_cylinders(out, answer.toric)
    _print_parts(out, answer)
    for use in answer.lessons:
        out.print(escape(sentences.lesson_sentence(use)))
    print_findings(out, answer.findings)
    out.print(f"\n[dim]{CAUTION_SHORT}[/dim]")


def _print_powers(out: Console, answer: Plan, power: float | None) -> None:
    from rich.table import Table

    from zonule.drawings import numbers
    from zonule.workflow.look_up import predictions_near

    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    feared = "long" if answer.request.feared_side == "hyperopic" else "short"
    headings = (
        "power",
        "expected",
        "SD",
        "within 0.25 D",
        "0.50 D",
        "0.75 D",
        "1.00 D",
        f"over 0.50 D {feared}",
    )
    for heading in headings if answer.odds else headings[:2]:
        table.add_column(heading, justify="right")
    for at in predictions_near(answer, power):
        cells = [numbers.power_text(at.lens_power_dpt), numbers.refraction_text(at.refraction_dpt)]
        if at.spread is not None:
            chances = (
                at.spread.within_0_25,
                at.spread.within_0_50,
                at.spread.within_0_75,
                at.spread.within_1_00,
                at.spread.beyond_feared,
            )
            cells += [
                numbers.size_text(at.spread.sd_dpt),
                *(numbers.in_100_text(chance) for chance in chances),
            ]
        table.add_row(*cells, style="bold" if at.lens_power_dpt == power else None)
    out.print(table)
    out.print("Chances are in 100 eyes like this. All other powers: --json.\n" if answer.odds else "")


def _print_methods(out: Console, answer: Plan) -> None:
    from rich.markup import escape
    from rich.table import Table

    from zonule.drawings import sentences
    from zonule.drawings.learned_sentences import constants_text
    from zonule.drawings.numbers import plain_text
    from zonule.drawings.words import method_name

    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for heading in ("method", "power for the aim", "constant", "in the odds"):
        table.add_column(heading)
    for one in answer.methods:
        guess = " (first guess)" if one.first_guess else ""
        table.add_row(
            method_name(one.method),
            f"{plain_text(one.power_for_target_dpt, 2)} D",
            constants_text(one) + guess,
            "yes" if one.counts else "no",
        )
    out.print(table)
    out.print()
    for names, reason in sentences.refusals(answer):
        out.print(f"Not used: {names}. {escape(reason)}")
    out.print()


def _print_cylinders(out: Console, toric: ToricPlan) -> None:
    """From the cornea to the marks: what each cylinder would leave."""
    from rich.table import Table

    from zonule.drawings import numbers, toric_sentences

    out.print("[bold]Cylinder and axis[/bold]")
    out.print(toric_sentences.cornea_sentence(toric))
    if not toric.options:
        out.print(f"{toric_sentences.option_sentence(toric, toric.without)}\n")
        return
    best = toric.option(toric.best_cylinder_dpt) or toric.without
    out.print(f"Most often within half a dioptre: {toric_sentences.option_sentence(toric, best)}")
    if best.lens_cylinder_dpt:
        out.print(toric_sentences.slips_sentence(toric, best))
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for heading in ("cylinder", "at the cornea", "should leave", "within 0.50 D", "within 1.00 D"):
        table.add_column(heading)
    for one in toric.all_options:
        table.add_row(
            numbers.size_text(one.lens_cylinder_dpt) if one.lens_cylinder_dpt else "none",
            numbers.size_text(one.cylinder_at_cornea_dpt) if one.lens_cylinder_dpt else "",
            toric_sentences.vector_text(one.residual),
            numbers.chance_text(one.within_0_50),
            numbers.chance_text(one.within[-1]),
        )
    out.print(table)
    out.print(f"{toric_sentences.turn_sentence(toric)}\n")


def _print_parts(out: Console, answer: Plan) -> None:
    """What not every plan has, each in its sentences."""
    from rich.markup import escape

    from zonule.drawings import backup_sentences, pair_sentences, sentences, worth_sentences

    said: list[str] = []
    if answer.corneas:
        said.append(sentences.corneas_sentence(answer))
    if answer.agreement is not None:
        said.append(f"The methods: {sentences.agreement_sentence(answer)}")
    if answer.worth is not None:
        said.append(worth_sentences.worth_sentence(answer.worth))
    if answer.second_eye is not None:
        said.append(pair_sentences.second_eye_sentence(answer.second_eye))
    if answer.backup is not None:
        target = answer.backup.target_refraction_dpt
        rows = [backup_sentences.backup_sentence(one, target) for one in answer.backup.lenses]
        doubts = _doubt_lines(answer.backup.every_finding)
        said.append("\n  ".join(["If the capsule tears:", *rows, *doubts]))
    if answer.pair is not None:
        tolerated = answer.pair.wishes.tolerated_anisometropia_dpt
        said.append(pair_sentences.pair_sentence(answer.pair))
        said.extend(pair_sentences.strategy_sentence(one, tolerated) for one in answer.pair.strategies)
        said.extend(pair_sentences.not_shown_sentence(*one) for one in answer.pair.not_shown)
        said.extend(_doubt_lines(answer.pair.findings))
    for words in said:
        out.print(f"{escape(words)}\n")


def _doubt_lines(findings: Iterable[Finding]) -> list[str]:
    """Doubts that stop no plan, because they are about other lenses than the planned one or about both eyes.

    Each is said once, with its source.
    """
    from zonule.case.finding import Severity
    from zonule.drawings.doubts import doubts_of

    words = {Severity.BLOCKING: "Barred: ", Severity.WARNING: "Look again: ", Severity.NOTE: ""}
    return [f"{words[one.severity]}{one.sentence} ({one.source})" for one in doubts_of(findings)]
