"""Killing the server in the middle of a save loses nothing that it said was saved."""

from __future__ import annotations

import json
import random
import signal
from collections.abc import Iterator
from contextlib import suppress
from itertools import count
from pathlib import Path
from threading import Timer

from httpx2 import Client, TransportError

from cli.command import free_port, running
from fakes.acts import ordinary_act
from fakes.examples import (
    LENS_NAME,
    ordinary_eye,
    ordinary_lens,
    ordinary_patient,
)
from web.page import Page
from zonule.case.patient import Side
from zonule.storage.sql_record import SqlRecord, open_record

KILLS = 5
LONGEST_S = 1.0
KEY = "demo-0042-right"
PLAN, MEASURE = f"/cases/{KEY}/plan", f"/cases/{KEY}/measure"
NUMBERS = count(1)


def test_a_server_killed_in_the_middle_of_saves_loses_nothing(tmp_path: Path) -> None:
    file = tmp_path / "record.sqlite3"
    fill(file)
    acknowledged: list[str] = []
    for _ in range(KILLS):
        acknowledged += saved_until_killed(file)
    record = open_record(file)
    saved = saved_drafts(record)
    assert len(acknowledged) >= KILLS
    assert [one for one in saved if one in set(acknowledged)] == acknowledged
    assert len(saved) - len(acknowledged) <= KILLS  # saved, and killed before it could say so
    case = record.case(KEY)
    assert case.intent.surgeon == saved[-1]
    assert case.intent.lens_model == LENS_NAME
    last_two = {float(pressure_mmhg(name)) for name in saved[-2:]}
    assert case.eye.readiness.pressure_mmhg in last_two
    acts = record.trail(KEY, 1_000_000)
    assert case.revision == len([one for one in acts if one.verb != "changes"])
    assert record.broken_trail_entries() == ()
    record.close()


def fill(file: Path) -> None:
    """One listed eye and one lens."""
    record = open_record(file)
    with ordinary_act(record, KEY) as act:
        act.put_lens(ordinary_lens())
        act.put_patient(ordinary_patient())
        act.put_eye("demo-0042", ordinary_eye())
        act.put_case(KEY, "demo-0042", Side.RIGHT, None)
    record.close()


def saved_until_killed(file: Path) -> list[str]:
    """The drafts that the server said were saved before it was killed, some moment after the first."""
    said: list[str] = []
    port = free_port()
    after_s = random.uniform(0, LONGEST_S)  # noqa: S311 - any moment will do
    with running(file, port) as server:
        killer = Timer(after_s, server.send_signal, [signal.SIGKILL])
        for name in saves(port):
            if not said:
                killer.start()
            said.append(name)
        killer.join()
        server.wait(timeout=20)
    return said


def saves(port: int) -> Iterator[str]:
    """Save drafts, each with answers after it, as fast as the server takes them, until it is gone."""
    address = f"http://127.0.0.1:{port}"
    with Client(base_url=address, headers={"Origin": address}) as client, suppress(TransportError):
        plan, measure = Page(client.get(PLAN).text), Page(client.get(MEASURE).text)
        draft, answers = plan.fields(plan.form("plan/draft")), measure.fields(measure.form(""))
        wanted = {"lens_model": LENS_NAME, "target_refraction_dpt": "-0.25"}
        for revision in count(int(draft["revision"]), 2):
            name = f"save {next(NUMBERS)}"
            save(client, f"{PLAN}/draft", draft | wanted | {"surgeon": name, "revision": f"{revision}"})
            yield name
            pressure = f"{pressure_mmhg(name)}"
            told = {"pressure_mmhg": pressure, "who": name, "revision": f"{revision + 1}"}
            save(client, MEASURE, answers | told)


def save(client: Client, path: str, values: dict[str, str]) -> None:
    """Send a form; the redirect is the server's word that it is saved."""
    answer = client.post(path, data=values)
    assert answer.status_code == 303, answer.text


def pressure_mmhg(name: str) -> int:
    """The pressure that is saved after a draft of this name."""
    return 10 + int(name.removeprefix("save ")) % 10


def saved_drafts(record: SqlRecord) -> list[str]:
    """The surgeons named in the drafts on the trail, oldest first."""
    entries = reversed(record.trail(KEY, 1_000_000))
    return [json.loads(one.detail)["after"]["surgeon"] for one in entries if one.verb == "save draft"]
