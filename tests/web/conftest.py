"""A browser and a served clinic, shared by the tests that need them."""

from __future__ import annotations

import shutil
import socket
from collections.abc import Iterator
from pathlib import Path
from threading import Thread

import pytest
import uvicorn
from playwright.sync_api import Browser, sync_playwright

from web.clinic import Clinic
from web.served import Served
from zonule.storage.sql_record import open_record
from zonule.web.app import create_app


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Debian's Chromium; without it these tests are left out."""
    chromium = shutil.which("chromium")
    if chromium is None:
        pytest.skip("chromium is not installed (apt-get install chromium)")
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=chromium)
        yield opened
        opened.close()


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Served]:
    """A clinic with a record on disk, answering on a free port of this machine."""
    record = open_record(tmp_path / "record.sqlite3")
    clinic = Clinic(record)
    with socket.create_server(("127.0.0.1", 0)) as listening:
        port = listening.getsockname()[1]
        app = create_app(clinic.parts, port=port)
        settings = uvicorn.Config(app, log_level="error", ws="none", lifespan="off")
        server = uvicorn.Server(settings)
        thread = Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
        thread.start()
        yield Served(clinic, f"http://127.0.0.1:{port}", server)
        server.should_exit = True
        thread.join(timeout=10)
    record.close()
