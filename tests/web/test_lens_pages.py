"""The catalogue of lenses, and the day list, as a clinic with its own record needs them."""

from __future__ import annotations

from datetime import date

import pytest

from fakes.acts import open_case
from fakes.examples import SURGEON, ordinary_eye, ordinary_patient
from fakes.memory_record import MemoryRecord
from web.clinic import CASE, KEY, Clinic, new_clinic
from zonule.case.lens import LensConstants, PowerRange

LENS = {
    "name": "Thistle Loam",
    "from_dpt": "6",
    "to_dpt": "30",
    "step_dpt": "0,5",
    "a_constant": "118.9",
    "constants_from": "our own 140 eyes",
    "who": SURGEON,
}


def test_a_lens_is_added_with_its_constants_and_can_then_be_planned_with() -> None:
    clinic = Clinic()
    clinic.add(ordinary_patient(), ordinary_eye())
    answer = clinic.submit("/lenses", "", **LENS)
    assert (answer.status_code, answer.headers["location"]) == (303, "/lenses")
    lens = clinic.record.lens("Thistle Loam")
    assert lens is not None
    assert (lens.powers, lens.constants) == (PowerRange(6.0, 30.0, 0.5), LensConstants(a_constant=118.9))
    assert "Thistle Loam" in clinic.page("/lenses").text
    assert "Thistle Loam" in clinic.page(f"{CASE}/plan").text
    assert [(one.verb, one.who) for one in clinic.record.trail("Thistle Loam")] == [("add lens", SURGEON)]


def test_a_lens_is_changed_from_what_is_on_record() -> None:
    clinic = new_clinic()
    clinic.submit("/lenses", "", **LENS)
    clinic.submit("/lenses?name=Thistle%20Loam", "", surgeon_factor="1.9", who=SURGEON)
    lens = clinic.record.lens("Thistle Loam")
    assert lens is not None
    assert lens.constants == LensConstants(a_constant=118.9, surgeon_factor=1.9)
    assert clinic.record.trail("Thistle Loam")[0].verb == "change lens"


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"a_constant": ""}, "No constant is recorded"),
        ({"a_constant": "1.9"}, "cannot be"),
        ({"to_dpt": "4"}, "lowest first"),
        ({"step_dpt": "zero"}, "is not a number"),
        ({"a0": "1.3"}, "only together"),
        ({"optic_mm": "600"}, "optic is 4 to 8 mm"),
        ({"constants_lane_m": "600"}, "lane is 1 to 10 m"),
        ({"constants_from": ""}, "where the constants come from"),
        ({"who": ""}, "your name"),
    ],
)
def test_a_lens_that_no_plan_could_use_is_refused_and_what_was_typed_is_kept(
    wrong: dict[str, str], words: str
) -> None:
    clinic = Clinic()
    answer = clinic.submit("/lenses", "", **{**LENS, **wrong})
    assert answer.status_code == 422
    assert words in answer.text
    assert "Thistle Loam" in answer.text
    assert clinic.record.lens("Thistle Loam") is None


def test_an_empty_catalogue_tells_the_plan_page_where_lenses_come_from() -> None:
    record = MemoryRecord()
    open_case(record)
    page = Clinic(record).page(f"{CASE}/plan")
    assert "The catalogue is empty" in page.text
    assert "/lenses" in page.links
    assert "The catalogue is empty" not in new_clinic().page(f"{CASE}/plan").text


def test_a_case_is_put_on_the_list_of_a_day_and_taken_off_again() -> None:
    clinic = new_clinic()
    assert clinic.submit(f"{CASE}/measure", "listing", listed_on="2026-12-03", who=SURGEON).status_code == 303
    assert clinic.record.case(KEY).listed_on == date(2026, 12, 3)
    clinic.submit(f"{CASE}/measure", "listing", listed_on="", who=SURGEON)
    assert clinic.record.case(KEY).listed_on is None
    assert clinic.submit(f"{CASE}/measure", "listing", listed_on="2026-12-03", who="").status_code == 422
