"""zonule serve and zonule demo: the browser app, and an invented clinic to look around in."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from zonule.cli.options import RecordPath


def serve(
    record: RecordPath = None,
    port: Annotated[
        int, typer.Option("--port", min=1024, max=65535, help="Port of the loopback address.")
    ] = 8017,
) -> None:
    """Run the app on your own record, for this machine's browser only.

    Example: zonule serve --port 8017
    """
    import uvicorn

    from zonule import wiring

    path = record or wiring.default_record_path()
    with wiring.open_record(path) as opened:
        typer.echo(f"Record: {path}\nzonule is at http://127.0.0.1:{port}  (Ctrl-C stops it)")
        uvicorn.run(wiring.web_app(opened, port), host="127.0.0.1", port=port, log_level="warning")


def demo(
    record: Annotated[Path, typer.Option("--record", help="A new file for the demo clinic.")] = Path(
        "demo-clinic.sqlite3"
    ),
) -> None:
    """Fill a new record with an invented clinic.

    Example: zonule demo --record demo-clinic.sqlite3
    """
    from rich.console import Console
    from rich.progress import Progress

    from zonule import wiring
    from zonule.errors import ConfigurationError

    if record.exists():
        raise ConfigurationError(
            f"{record} exists. The demo clinic goes into a new file: name another, or remove it."
        )
    with wiring.open_record(record) as opened, Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("Inventing a clinic")
        first = wiring.fill_demo_clinic(opened, lambda done, of: bar.update(task, completed=done, total=of))
    typer.echo(f"Demo clinic: {record}\nAn eye to look at first: {first}")
