"""zonule serve and zonule demo: the browser app, and an invented clinic to look around in."""

from __future__ import annotations

import socket
from pathlib import Path
from typing import Annotated

import typer

from zonule.cli.options import RecordPath
from zonule.errors import ConfigurationError


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
    with _listen(port) as listening, wiring.open_record(path) as opened:
        settings = uvicorn.Config(wiring.web_app(opened, port), log_level="warning", ws="none")
        typer.echo(f"Record: {path}\nzonule is at http://127.0.0.1:{port}  (Ctrl-C stops it)")
        uvicorn.Server(settings).run(sockets=[listening])


def _listen(port: int) -> socket.socket:
    """A port of the loopback address, which no other machine can reach."""
    try:
        return socket.create_server(("127.0.0.1", port))
    except OSError:
        raise ConfigurationError(
            f"Port {port} is in use; perhaps zonule runs already, at http://127.0.0.1:{port}. Stop it, or "
            "name another port with --port."
        ) from None


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

    if record.exists():
        raise ConfigurationError(
            f"{record} exists. The demo clinic goes into a new file: name another, or remove it."
        )
    with wiring.open_record(record) as opened, Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("Inventing a clinic")
        first = wiring.fill_demo_clinic(opened, lambda done, of: bar.update(task, completed=done, total=of))
    typer.echo(f"Demo clinic: {record}\nAn eye to look at first: {first}")
