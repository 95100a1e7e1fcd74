"""A case page from a clinic's record of 5,000 eyes, through a real server on the loopback address."""

from __future__ import annotations

import socket
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, date, datetime
from http.client import HTTPConnection
from itertools import cycle
from pathlib import Path

import uvicorn
from benchmarks.timing import Benchmark, median_s

from zonule import wiring
from zonule.case.case import case_key
from zonule.demo.clinic import DemoCase, demo_clinic
from zonule.workflow.ports import Record

PATIENTS = 2_500
PAGES = 40
TODAY = date(2026, 11, 2)


def benchmarks() -> Iterator[Benchmark]:
    """The plan page of many different cases."""
    with tempfile.TemporaryDirectory() as folder, wiring.open_record(Path(folder) / "r.sqlite3") as record:
        keys = _fill(record)
        with served(record) as port:
            connection = HTTPConnection("127.0.0.1", port, timeout=30)
            each = cycle(keys[:: len(keys) // PAGES])
            _page(connection, next(each))
            yield Benchmark(
                name=f"a case page from SQLite with {2 * PATIENTS:,} eyes (median of {PAGES})",
                ours_s=median_s(lambda: _page(connection, next(each)), PAGES),
                goal_s=0.1,
                limit="the plan itself, its drawings, and the template",
            )
            connection.close()


def _fill(record: Record) -> list[str]:
    clinic = demo_clinic(eyes=1, today=TODAY)
    models = [case for case in clinic.cases if case.outcome is None]
    keys = []
    moment = datetime.combine(TODAY, datetime.min.time(), tzinfo=UTC)
    with record.act(who="benchmark", verb="fill", subject="clinic", at=moment) as act:
        for lens in clinic.lenses:
            act.put_lens(lens)
        for number in range(PATIENTS):
            case = _renamed(models[number % len(models)], number)
            key = case_key(case.patient.key, case.eye.side)
            act.put_patient(case.patient)
            act.put_eye(case.patient.key, case.eye)
            act.put_eye(case.patient.key, case.fellow)
            act.put_case(key, case.patient.key, case.eye.side, case.listed_on)
            keys.append(key)
    for number, key in enumerate(keys[:: len(keys) // PAGES]):
        with record.act(who="benchmark", verb="aim", subject=key, at=moment) as act:
            intent = models[number % len(models)].intent
            act.put_intent(key, intent, record.case(key).revision)
    return keys


def _renamed(case: DemoCase, number: int) -> DemoCase:
    return replace(case, patient=replace(case.patient, key=f"bench-{number:05d}"))


@contextmanager
def served(record: object) -> Iterator[int]:
    """A real server over this record; its port."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    app = wiring.web_app(record, port)  # type: ignore[arg-type]
    server = uvicorn.Server(uvicorn.Config(app, host="127.0.0.1", port=port, log_level="error"))
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    try:
        yield port
    finally:
        server.should_exit = True
        thread.join()


def _page(connection: HTTPConnection, key: str) -> None:
    connection.request("GET", f"/cases/{key}/plan")
    answer = connection.getresponse()
    body = answer.read()
    if answer.status != 200 or key.encode() not in body:
        raise RuntimeError(f"The page of {key} answered {answer.status}.")
