"""What a thousand reviewed eyes say of astigmatism: one page, from the record on disk to the browser."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime
from http.client import HTTPConnection
from pathlib import Path

from benchmarks.case_page import served
from benchmarks.timing import Benchmark, median_s

from zonule import wiring
from zonule.case.case import Case, case_key
from zonule.demo.fill import fill
from zonule.workflow.ports import Record

EYES, REAL_EYES = 1_000, 40
PAGES = 9
TODAY = date(2026, 11, 2)


def benchmarks() -> Iterator[Benchmark]:
    """The page of all eyes' astigmatism; most of them copies of the demo clinic's."""
    with tempfile.TemporaryDirectory() as folder:
        with wiring.open_record(Path(folder) / "demo.sqlite3") as demo:
            fill(demo, today=TODAY, progress=lambda _done, _all: None, eyes=REAL_EYES)
            models = demo.reviewed_cases()
        with wiring.open_record(Path(folder) / "r.sqlite3") as record:
            _copy(record, models)
            with served(record) as port:
                connection = HTTPConnection("127.0.0.1", port, timeout=30)
                _page(connection)
                yield Benchmark(
                    name=f"what {EYES:,} reviewed eyes say of astigmatism, from SQLite (median of {PAGES})",
                    ours_s=median_s(lambda: _page(connection), PAGES),
                    goal_s=0.5,
                    limit="reading the cases as records",
                )
                connection.close()


def _copy(record: Record, models: tuple[Case, ...]) -> None:
    moment = datetime.combine(TODAY, datetime.min.time(), tzinfo=UTC)
    with record.act(who="benchmark", verb="fill", subject="clinic", at=moment) as act:
        for number in range(EYES):
            case = models[number % len(models)]
            patient = replace(case.patient, key=f"bench-{number:05d}")
            key = case_key(patient.key, case.side)
            act.put_patient(patient)
            act.put_eye(patient.key, case.eye)
            act.put_case(key, patient.key, case.side, case.listed_on)
            if case.signed is not None and case.operation is not None and case.review is not None:
                act.add_signed_plan(key, case.signed)
                act.add_operation(key, case.operation)
                act.put_axis_visits(key, case.axis_visits)
                act.add_review(key, case.review)


def _page(connection: HTTPConnection) -> None:
    connection.request("GET", "/learn/astigmatism")
    answer = connection.getresponse()
    body = answer.read()
    if answer.status != 200 or b"Which cornea model foretold these eyes?" not in body:
        raise RuntimeError(f"The page answered {answer.status}.")
