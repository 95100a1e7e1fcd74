"""The marks of a toric lens through the pages: left where, looked at when, and who is to be seen."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from httpx2 import Response

from fakes.acts import ordinary_act
from fakes.examples import LISTED_ON, SURGEON, ordinary_lens
from web.clinic import CASE, KEY, REASON, Clinic, draft, new_clinic, operate, sign, walk
from web.page import Page
from web.test_astigmatism_pages import ASKED, TORIC


def toric_to_operate(clinic: Clinic, path: str = CASE) -> None:
    """Plan and sign a toric lens of 1.5 D for 95 degrees."""
    with ordinary_act(clinic.record, KEY) as act:
        act.put_lens(ordinary_lens(TORIC, cylinders_dpt=(1.0, 1.5, 2.25), constants_lane_m=6.0))
    draft(clinic, path, lens_model=TORIC)
    draft(clinic, path, lens_model=TORIC, lens_cylinder_dpt="1.5", **ASKED)
    page = clinic.page(f"{path}/plan?draft=1")
    asked = page.fields(page.form("plan/sign"))
    assert sign(clinic, path, **({"reasons": REASON} if "reasons" in asked else {})).status_code == 303


def look(clinic: Clinic, days: int, marks: str, path: str = CASE, **typed: str) -> Response:
    """Record a look at the marks some days after the operation, on the day itself."""
    clinic.today = LISTED_ON + timedelta(days=days)
    seen = {"axis_seen_on": clinic.today.isoformat(), "axis_meridian_deg": marks, "who": SURGEON}
    return clinic.submit(f"{path}/review", "/axis", **seen | typed)


@pytest.fixture
def signed() -> Clinic:
    made = new_clinic()
    toric_to_operate(made)
    return made


@pytest.fixture
def operated(signed: Clinic) -> Clinic:
    assert operate(signed, lens_meridian_deg="95").status_code == 303
    return signed


def refused(answer: Response, words: str) -> Page:
    assert answer.status_code == 422
    page = Page(answer.text)
    assert "Not saved." in page.text
    assert words in page.text
    return page


def test_the_cylinder_is_filled_in_from_the_plan_and_where_the_marks_lay_never_is(signed: Clinic) -> None:
    page = signed.page(f"{CASE}/operate")
    filled = page.fields(page.form(""))
    assert (filled["lens_cylinder_dpt"], filled["lens_meridian_deg"]) == ("1.5", "")
    assert filled["incision_width_mm"] == ""
    assert "Marks at95\u00b0" in page.one("dl").text


def test_a_lens_without_cylinder_leaves_the_fields_empty() -> None:
    clinic = new_clinic()
    walk(clinic, until="review")
    page = clinic.page(f"{CASE}/operate")
    assert page.fields(page.form(""))["lens_cylinder_dpt"] == ""
    assert clinic.page(f"{CASE}/review").all("section", id="axis") == []


def test_cylinder_marks_and_width_come_back_as_recorded(signed: Clinic) -> None:
    assert operate(signed, lens_meridian_deg="97,5", incision_width_mm="2.2").status_code == 303
    done = signed.record.case(KEY).operation
    assert done is not None
    assert (done.lens_cylinder_dpt, done.lens_meridian_deg, done.incision_width_mm) == (1.5, 97.5, 2.2)
    page = signed.page(f"{CASE}/operate")
    filled = page.fields(page.form(""))
    assert (filled["lens_meridian_deg"], filled["incision_width_mm"]) == ("97.5", "2.2")


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"lens_meridian_deg": "5"}, "90 degrees off"),
        ({"lens_meridian_deg": "85"}, "180 minus it"),
        ({"lens_meridian_deg": "181"}, "0 to 180"),
        ({"lens_cylinder_dpt": "2.25"}, "Write why it was changed"),
        ({"lens_cylinder_dpt": ""}, "Write why it was changed"),
        ({"incision_width_mm": "22"}, "width of the incision"),
    ],
)
def test_a_slip_at_the_table_is_refused_and_what_was_typed_stays(
    signed: Clinic, typed: dict[str, str], words: str
) -> None:
    page = refused(operate(signed, **typed), words)
    assert typed.items() <= page.fields(page.form("")).items()
    assert signed.record.case(KEY).operation is None


def test_marks_off_the_plan_are_told_on_the_operate_page(signed: Clinic) -> None:
    assert operate(signed, lens_meridian_deg="108").status_code == 303
    assert "13 degrees counter-clockwise of the plan" in signed.page(f"{CASE}/operate").text


def test_a_look_is_recorded_and_shown_beside_plan_and_operation(operated: Clinic) -> None:
    answer = look(operated, 1, "99", axis_notes="Pupil 6 mm.")
    assert (answer.status_code, answer.headers["location"]) == (303, f"{CASE}/review#axis")
    (section,) = operated.page(f"{CASE}/review").all("section", id="axis")
    for words in (
        *("17 November 2026", "99\u00b0", "Pupil 6 mm."),
        *("4 degrees counter-clockwise of the plan", "4 degrees counter-clockwise"),
    ):
        assert words in section.text


@pytest.mark.parametrize(
    ("days", "typed", "words"),
    [
        (1, {"axis_meridian_deg": "181"}, "0 to 180"),
        (1, {"axis_meridian_deg": "-5"}, "0 to 180"),
        (1, {"axis_meridian_deg": ""}, "where the marks lie"),
        (1, {"axis_meridian_deg": "north"}, "is not a number"),
        (1, {"axis_seen_on": "2026-11-15"}, "before the operation"),
        (1, {"axis_seen_on": "2026-11-18"}, "future"),
        (1, {"who": ""}, "enter your name"),
    ],
)
def test_a_look_that_cannot_be_is_refused_and_what_was_typed_stays(
    operated: Clinic, days: int, typed: dict[str, Any], words: str
) -> None:
    page = refused(look(operated, days, "99", **typed), words)
    kept = page.fields(page.form("/axis"))
    assert {name: value for name, value in typed.items() if name != "who"}.items() <= kept.items()
    assert operated.record.case(KEY).axis_visits == ()


def test_a_page_that_is_older_than_the_record_is_refused(operated: Clinic) -> None:
    page = operated.page(f"{CASE}/review")
    stale = page.fields(page.form("/axis")) | {
        "axis_seen_on": LISTED_ON.isoformat(),
        "axis_meridian_deg": "95",
        "who": SURGEON,
    }
    assert look(operated, 1, "99").status_code == 303
    refused(operated.post(f"{CASE}/axis", stale), "changed after you opened it")
    assert len(operated.record.case(KEY).axis_visits) == 1


def test_a_lens_far_off_is_asked_about_where_the_look_is_shown(operated: Clinic) -> None:
    look(operated, 1, "5")
    assert "90 degrees off" in operated.page(f"{CASE}/review").text
    assert "90 degrees off" in operated.page(f"{CASE}/axis").text


def test_without_a_toric_lens_the_axis_page_says_what_is_missing() -> None:
    clinic = new_clinic()
    assert "no operation on record" in clinic.page(f"{CASE}/axis").text
    walk(clinic, until="review")
    assert "has no cylinder, so it has no marks" in clinic.page(f"{CASE}/axis").text


def test_an_empty_follow_up_list_teaches_what_brings_an_eye_onto_it() -> None:
    page = new_clinic().page("/follow-up")
    assert "Nobody has to be seen" in page.text
    assert "comes onto this list" in page.text


def test_an_eye_comes_onto_the_list_and_leaves_it_when_its_marks_were_seen(operated: Clinic) -> None:
    operated.today = LISTED_ON + timedelta(days=1)
    page = operated.page("/follow-up")
    assert f"{CASE}/review#axis" in page.links
    assert "Axis visit due by 23 November 2026, in 6 days." in page.text
    look(operated, 1, "96")
    assert "Nobody has to be seen" in operated.page("/follow-up").text


def test_an_eye_far_off_stays_on_the_list_with_the_days_that_are_left(operated: Clinic) -> None:
    look(operated, 10, "113")
    text = operated.page("/follow-up").text
    assert "Marks 18 degrees counter-clockwise of the plan" in text
    assert "Window for turning closes in 11 days" in text


def test_every_page_leads_to_the_follow_up_list(operated: Clinic) -> None:
    assert "/follow-up" in operated.page("/").links
    assert "/follow-up" in operated.page(f"{CASE}/review").links
