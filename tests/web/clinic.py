"""A small invented clinic behind the app, without a browser and without a database."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, time, timedelta
from time import sleep
from typing import Any

from httpx2 import Response
from starlette.testclient import TestClient

from fakes.acts import ordinary_act
from fakes.examples import (
    LENS_NAME,
    LISTED_ON,
    SURGEON,
    ordinary_eye,
    ordinary_lens,
    ordinary_patient,
    ordinary_readiness,
)
from fakes.memory_record import MemoryRecord
from web.page import Page
from zonule import wiring
from zonule.case.case import case_key
from zonule.case.eye import Eye
from zonule.case.patient import Patient, Side
from zonule.web.app import create_app
from zonule.web.pages import Parts
from zonule.workflow.ports import Record

PORT = 8765
ORIGIN = f"http://127.0.0.1:{PORT}"
KEY = "demo-0042-right"
CASE = f"/cases/{KEY}"
OPERATED_ON = LISTED_ON
REFRACTED_ON = LISTED_ON + timedelta(days=35)
REASON = "Seen and discussed with the patient."


@dataclass
class Clinic:
    """A record, a clock that stands still until it is moved, and the app in front of them."""

    record: Record = field(default_factory=MemoryRecord)
    today: date = LISTED_ON
    pause_s: float = 0.0
    """How long every write takes, as on a machine that is busy."""
    client: TestClient = field(init=False)

    def __post_init__(self) -> None:
        app = create_app(self.parts, port=PORT)
        self.token: str = app.state.token
        self.client = TestClient(app, base_url=ORIGIN, follow_redirects=False, raise_server_exceptions=False)

    @property
    def parts(self) -> Parts:
        """What stands behind the app."""
        return Parts(
            self.record,
            self.now,
            lambda: self.today,
            wiring.theatre_sheet,
            wiring.read_biometry,
            wiring.is_lens_catalogue,
            wiring.read_lens_catalogue,
            wiring.lens_catalogue,
        )

    def now(self) -> datetime:
        """Half past eight on the day that it is."""
        sleep(self.pause_s)
        return datetime.combine(self.today, time(8, 30), tzinfo=UTC)

    def add(self, patient: Patient | None = None, *eyes: Eye, listed_on: date | None = LISTED_ON) -> str:
        """Put a patient and their eyes on record, with a case for the first eye; its key."""
        person = patient or ordinary_patient()
        kept = eyes or (replace(ordinary_eye(), readiness=ordinary_readiness()),)
        key = case_key(person.key, kept[0].side)
        with ordinary_act(self.record, key) as act:
            act.put_lens(ordinary_lens())
            act.put_patient(person)
            for eye in kept:
                act.put_eye(person.key, eye)
            act.put_case(key, person.key, kept[0].side, listed_on)
        return key

    def get(self, path: str, **headers: str) -> Response:
        """A page, as it is answered."""
        return self.client.get(path, headers=headers)

    def page(self, path: str, status: int = 200) -> Page:
        """A page that is there, read."""
        answer = self.get(path)
        assert answer.status_code == status, answer.text[-2000:]
        return Page(answer.text)

    def post(
        self,
        path: str,
        values: Mapping[str, str],
        headers: Mapping[str, str] | None = None,
        **more: Any,
    ) -> Response:
        """A write from the app's own page."""
        return self.client.post(
            path, data=dict(values), headers={"origin": ORIGIN, **(headers or {})}, **more
        )

    def submit(self, path: str, ending: str = "", /, **typed: str) -> Response:
        """Fill in the form of a page as a person would, and send it as a browser would."""
        action, values = self._filled(path, ending, typed)
        return self.post(action, values)

    def submit_by_script(self, path: str, ending: str, /, **typed: str) -> Response:
        """The same, as the script sends it that shows the answer in the page."""
        action, values = self._filled(path, ending, typed)
        return self.post(action, values, {"hx-request": "true"})

    def _filled(self, path: str, ending: str, typed: Mapping[str, str]) -> tuple[str, dict[str, str]]:
        page = self.page(path)
        form = page.form(ending)
        values = page.fields(form)
        unknown = set(typed) - set(values) - {"lens_power_dpt", "lens_cylinder_dpt"}
        assert not unknown, f"the form has no field {unknown}"
        return form.attributes.get("action", path), {**values, **typed}

    @property
    def trail_length(self) -> int:
        """How many acts are on record."""
        return len(self.record.trail(limit=1_000_000))


def new_clinic() -> Clinic:
    """A clinic with the ordinary eye listed today and nothing planned."""
    clinic = Clinic()
    clinic.add()
    return clinic


def draft(clinic: Clinic, path: str = CASE, /, **typed: str) -> None:
    """Choose aim, lens, surgeon and power."""
    wanted = {
        "target_refraction_dpt": "0",
        "lens_model": LENS_NAME,
        "surgeon": SURGEON,
        "lens_power_dpt": "20.5",
    }
    assert clinic.submit(f"{path}/plan", "plan/draft", **wanted | typed).status_code == 303


def sign(clinic: Clinic, path: str = CASE, /, **typed: str) -> Response:
    """Sign the draft that stands."""
    return clinic.submit(f"{path}/plan?draft=1", "plan/sign", **{"who": SURGEON} | typed)


def operate(clinic: Clinic, path: str = CASE, /, **typed: str) -> Response:
    """Record the planned operation, done today."""
    done = {
        "operated_on": clinic.today.isoformat(),
        "fixation": "bag",
        "complication": "none",
        "who": SURGEON,
    }
    return clinic.submit(f"{path}/operate", **done | typed)


def review(clinic: Clinic, path: str = CASE, /, **typed: str) -> Response:
    """Record a refraction of today."""
    seen = {
        "refracted_on": clinic.today.isoformat(),
        "sphere_dpt": "-0.25",
        "cylinder_dpt": "0",
        "vertex_mm": "12",
        "lane_m": "6",
        "who": SURGEON,
    }
    return clinic.submit(f"{path}/review", **seen | typed)


def walk(clinic: Clinic, path: str = CASE, /, *, until: str = "learn", **refraction: str) -> None:
    """Take a case up to a stage: `plan` has a draft, `operate` a signature, `review` an operation."""
    steps = ("measure", "plan", "operate", "review", "learn")
    reached = steps.index(until)
    if reached >= 1:
        draft(clinic, path)
    answers = []
    if reached >= 2:
        answers.append(sign(clinic, path))
    if reached >= 3:
        answers.append(operate(clinic, path))
    if reached >= 4:
        day = clinic.today
        clinic.today = day + timedelta(days=35)
        answers.append(review(clinic, path, **refraction))
        clinic.today = day
    for answer in answers:
        assert answer.status_code == 303, Page(answer.text).text[:600]


def listed_patients(clinic: Clinic, count: int, side: Side = Side.RIGHT) -> list[str]:
    """Several patients like the ordinary one, each with one eye listed; the paths of their cases."""
    ready = replace(ordinary_eye(side), readiness=ordinary_readiness())
    people = [ordinary_patient(f"demo-{number:04d}", name=f"Person {number}") for number in range(count)]
    return [f"/cases/{clinic.add(person, ready)}" for person in people]
