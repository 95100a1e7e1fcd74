"""The command line: one app, one map from families of errors to exit status."""

from __future__ import annotations

import sys

import typer

from zonule.cli import learn, measure, operate, plan, serve
from zonule.cli.output import BLOCKED, OUR_ERROR, WRONG_CALL, complain
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
app.command("audit")(learn.audit)
app.command("serve")(serve.serve)
app.command("demo")(serve.demo)


def run() -> None:
    """Run a command; turn what goes wrong into a sentence and an exit status."""
    try:
        app()
    except ScienceError as error:
        complain(error)
        sys.exit(BLOCKED)
    except ZonuleError as error:
        complain(error)
        sys.exit(WRONG_CALL)
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(0)
    except Exception as error:  # noqa: BLE001 - the edge: an error of ours must not look like an answer
        complain(error, ours=True)
        sys.exit(OUR_ERROR)


if __name__ == "__main__":
    run()
