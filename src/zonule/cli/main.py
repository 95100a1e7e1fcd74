"""The command line: one app, one map from families of errors to exit status."""

from __future__ import annotations

import sys

import typer

from zonule.cli import learn, measure, operate, plan, review, serve, verify
from zonule.cli.output import BLOCKED, OUR_ERROR, WRONG_CALL, complain, print_json
from zonule.errors import ScienceError, ZonuleError

app = typer.Typer(
    name="zonule",
    help="A workbench for the whole job of a cataract surgeon: measure, plan, operate, review, learn.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)
app.command("plan")(plan.plan)
app.command("import")(measure.bring_in)
app.command("sheet")(operate.sheet)
app.command("review")(review.review)
app.command("audit")(learn.audit)
app.command("verify")(verify.verify)
app.command("serve")(serve.serve)
app.command("demo")(serve.demo)


def run() -> None:
    """Run a command; turn what goes wrong into a sentence and an exit status."""
    try:
        app()
    except ZonuleError as error:
        refuse(error)
        sys.exit(BLOCKED if isinstance(error, ScienceError) else WRONG_CALL)
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(0)
    except Exception as error:  # noqa: BLE001 - the edge: an error of ours must not look like an answer
        complain(error, ours=True)
        sys.exit(OUR_ERROR)


def refuse(error: ZonuleError) -> None:
    """Say why on standard error; whoever asked for data gets the refusal as data too."""
    if "--json" in sys.argv[1:]:
        from zonule import wiring

        print_json(wiring.error_as_dict(error))
    complain(error)


if __name__ == "__main__":
    run()
