"""The command line as a person or a script runs it: arguments in; exit status and both streams out."""

from __future__ import annotations

import io
import json
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, redirect_stderr, redirect_stdout
from dataclasses import dataclass
from pathlib import Path
from types import SimpleNamespace
from typing import Any
from unittest.mock import patch
from urllib.error import URLError
from urllib.request import urlopen

from zonule.cli import main

ROOT = Path(__file__).parents[2]
EXAMPLES = ROOT / "examples"
DICOM = ROOT / "tests" / "data" / "dicom"
STARTS_WITHIN_S = 30.0


@dataclass(frozen=True)
class Answer:
    """What a command left behind."""

    status: int
    out: str
    err: str

    @property
    def data(self) -> dict[str, Any]:
        """The answer by the contract; a nan is an error."""
        parsed: dict[str, Any] = json.loads(self.out, parse_constant=_no_constant)
        return parsed


def _no_constant(word: str) -> None:
    raise ValueError(f"{word} is no JSON")


def zonule(*arguments: str | Path, given: bytes = b"", home: Path | None = None) -> Answer:
    """Run zonule in a process of its own."""
    done = subprocess.run(  # noqa: S603 - our own interpreter and program
        [sys.executable, "-m", "zonule.cli.main", *map(str, arguments)],
        input=given,
        capture_output=True,
        env=environment(home),
        check=False,
    )
    return Answer(done.returncode, done.stdout.decode(), done.stderr.decode())


def here(*arguments: str | Path, given: bytes = b"") -> Answer:
    """Run zonule in this process, which is quicker; the streams are what it wrote."""
    out, err = io.StringIO(), io.StringIO()
    typed = SimpleNamespace(buffer=io.BytesIO(given), isatty=lambda: False)
    with (
        patch.object(sys, "argv", ["zonule", *map(str, arguments)]),
        patch.object(sys, "stdin", typed),
        patch.dict(os.environ, {"COLUMNS": "100"}),
        redirect_stdout(out),
        redirect_stderr(err),
    ):
        try:
            main.run()
            status = 0
        except SystemExit as ended:
            status = int(ended.code or 0)
    return Answer(status, out.getvalue(), err.getvalue())


def environment(home: Path | None) -> dict[str, str]:
    """The environment of a command, with a home folder of the test's own."""
    return {**os.environ, "HOME": str(home or "/nowhere"), "COLUMNS": "100"}


def free_port() -> int:
    """A port that was free a moment ago."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@contextmanager
def running(record: Path, port: int) -> Iterator[subprocess.Popen[bytes]]:
    """The app in a process of its own, answering; killed afterwards if it still runs."""
    command = [sys.executable, "-m", "zonule.cli.main", "serve", "--record", str(record), "--port", str(port)]
    with subprocess.Popen(  # noqa: S603 - our own interpreter and program
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=environment(record.parent)
    ) as server:
        try:
            _wait_until_it_answers(server, port)
            yield server
        finally:
            if server.poll() is None:
                server.send_signal(signal.SIGKILL)


def _wait_until_it_answers(server: subprocess.Popen[bytes], port: int) -> None:
    end = time.monotonic() + STARTS_WITHIN_S
    while time.monotonic() < end and server.poll() is None:
        try:
            with urlopen(f"http://127.0.0.1:{port}/"):
                return
        except URLError:
            time.sleep(0.05)
    raise AssertionError(f"zonule serve did not answer on port {port}")
