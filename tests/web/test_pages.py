"""Every page of a case, at every stage, says the right thing and leads on."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from fakes.examples import SURGEON, ordinary_eye, ordinary_patient, ordinary_readiness
from web.clinic import CASE, KEY, Clinic, new_clinic, walk
from web.page import Page
from zonule.case.patient import Side

STAGES = ("measure", "plan", "operate", "review", "learn")
HOUSE = (
    "/",
    "/?day=2026-11-16",
    "/?day=1999-01-01",
    "/import",
    "/lenses",
    "/learn",
    "/trail",
    f"/trail?subject={KEY}",
)


@pytest.mark.parametrize("until", STAGES)
@pytest.mark.parametrize("stage", STAGES)
def test_every_stage_of_a_case_has_its_page_however_far_the_case_has_come(until: str, stage: str) -> None:
    clinic = new_clinic()
    walk(clinic, until=until)
    page = clinic.page(f"{CASE}/{stage}")
    assert "Ada Winterbourne" in page.text
    assert "Right eye" in page.text
    assert len(page.all("h1")) == 1
    current = [one.text for one in page.all("a", aria_current="page")]
    assert len(current) == 1
    assert current[0].startswith(stage.capitalize())


@pytest.mark.parametrize(
    ("until", "stage", "words"),
    [
        ("measure", "measure", "Can these numbers be trusted?"),
        ("measure", "measure", "23.50 mm"),
        ("measure", "plan", "No lens has been chosen"),
        ("measure", "operate", "Nothing is signed yet"),
        ("measure", "review", "Not operated yet"),
        ("measure", "learn", "This eye is not learned from: not yet reviewed."),
        ("plan", "plan", "Which power?"),
        ("plan", "plan", "20.5 D lands within half a dioptre of 0.00 D in"),
        ("operate", "plan", "Signed: Meadow One 20.5 D"),
        ("operate", "plan", f"Signed by {SURGEON} (typed, not verified)"),
        ("operate", "operate", "Planned for theatre"),
        ("review", "operate", "What was done"),
        ("review", "operate", "Correct the record"),
        ("review", "review", "What did this eye get?"),
        ("review", "review", "Expected with 20.5 D: +0.04 D."),
        ("learn", "review", "What this eye got"),
        ("learn", "review", "short-sighted than predicted"),
        ("learn", "learn", "This eye is one of 1 that count."),
    ],
)
def test_a_page_says_what_matters_at_its_stage(until: str, stage: str, words: str) -> None:
    clinic = new_clinic()
    walk(clinic, until=until)
    assert words in clinic.page(f"{CASE}/{stage}").text


@pytest.mark.parametrize("until", STAGES)
def test_a_case_opens_at_the_stage_where_it_stands(until: str) -> None:
    clinic = new_clinic()
    walk(clinic, until=until)
    answer = clinic.get(CASE)
    assert (answer.status_code, answer.headers["location"]) == (303, f"{CASE}/{until}")


@pytest.mark.parametrize(
    "path", ["", "/measure", "/plan", "/operate", "/review", "/learn", "/theatre", "/sheet.pdf"]
)
def test_an_unknown_case_is_said_to_be_unknown_and_the_way_back_is_shown(path: str) -> None:
    page = new_clinic().page(f"/cases/nobody-left{path}", status=404)
    assert "There is no case nobody-left in the record." in page.text
    assert "/" in page.links


@pytest.mark.parametrize("path", ["/nothing", "/cases/", "/static/nothing.css", "/cases/a/b/c/d"])
def test_an_unknown_address_is_answered_with_a_page_that_leads_on(path: str) -> None:
    page = new_clinic().page(path, status=404)
    assert "/" in page.links


def test_an_address_with_a_bad_date_is_answered_with_a_page() -> None:
    assert "cannot be read" in new_clinic().page("/?day=yesterday", status=422).text


@pytest.mark.parametrize("until", STAGES)
def test_every_link_of_every_page_leads_somewhere(until: str) -> None:
    clinic = new_clinic()
    walk(clinic, until=until)
    waiting, seen = {"/", f"{CASE}/theatre"}, set[str]()
    while waiting:
        path = waiting.pop()
        seen.add(path)
        answer = clinic.client.get(path, follow_redirects=True)
        assert answer.status_code == 200, path
        if answer.headers["content-type"].startswith("text/html"):
            waiting |= set(Page(answer.text).links) - seen
    assert len(seen) > 8


@pytest.mark.parametrize("until", STAGES)
def test_looking_at_everything_changes_nothing(until: str) -> None:
    clinic = new_clinic()
    walk(clinic, until=until)
    before, case = clinic.record.trail(limit=1000), clinic.record.case(KEY)
    pages = [f"{CASE}/{stage}" for stage in (*STAGES, "theatre", "sheet.pdf", "plan?draft=1")]
    for path in (*HOUSE, CASE, *pages, f"{CASE}/plan/draft", f"{CASE}/plan/sign"):
        assert clinic.get(path).status_code in {200, 303}, path
    assert clinic.record.trail(limit=1000) == before
    assert clinic.record.case(KEY) == case


def test_the_day_list_shows_the_eyes_of_the_day_with_where_they_stand() -> None:
    clinic = new_clinic()
    walk(clinic, until="operate")
    page = clinic.page("/")
    assert "Today, 16 November 2026" in page.text
    assert "Right eye Ada Winterbourne 75 years, demo-0042 Signed, to be operated" in page.text
    assert "Meadow One 20.5 D" in page.text


def test_a_day_without_eyes_says_so_and_leads_to_the_days_that_have_some() -> None:
    page = new_clinic().page("/?day=2026-11-20")
    assert "No eye is listed for this day." in page.text
    assert "/?day=2026-11-16" in page.links


def test_the_day_list_opens_on_the_nearest_day_that_has_eyes() -> None:
    clinic = new_clinic()
    clinic.today = date(2026, 11, 10)
    assert "16 November 2026" in clinic.page("/").one("h1").text


def test_an_empty_record_teaches_how_to_begin() -> None:
    page = Clinic().page("/")
    assert "No eyes yet" in page.text
    assert "/import" in page.links


def test_an_eye_without_a_day_is_still_found_from_the_day_list() -> None:
    clinic = Clinic()
    clinic.add(listed_on=None)
    page = clinic.page("/")
    assert "Not yet given a day" in page.text
    assert CASE in page.links


def test_the_other_eye_is_linked_only_when_it_has_a_case() -> None:
    clinic = Clinic()
    eyes = [replace(ordinary_eye(side), readiness=ordinary_readiness()) for side in Side]
    clinic.add(ordinary_patient(), *eyes)
    assert "the other eye" not in clinic.page(f"{CASE}/measure").text
    clinic.add(ordinary_patient(), *reversed(eyes))
    assert "/cases/demo-0042-left" in clinic.page(f"{CASE}/measure").links


def test_the_theatre_display_without_a_signed_plan_leads_to_the_reason() -> None:
    answer = new_clinic().get(f"{CASE}/theatre")
    assert (answer.status_code, answer.headers["location"]) == (303, f"{CASE}/operate")


def test_the_theatre_display_shows_side_lens_power_and_person_and_nothing_to_fill_in() -> None:
    clinic = new_clinic()
    walk(clinic, until="operate")
    page = clinic.page(f"{CASE}/theatre")
    assert page.one("h1").text == "RIGHT EYE"
    for words in (
        "Ada Winterbourne",
        "born 2 March 1951",
        "Meadow One 20.5 D",
        "aim 0.00 D, expected +0.04 D",
    ):
        assert words in page.text
    assert page.all("form") == []


def test_the_sheet_is_a_pdf_before_and_after_signing() -> None:
    clinic = new_clinic()
    for until in ("plan", "operate"):
        clinic = new_clinic()
        walk(clinic, until=until)
        answer = clinic.get(f"{CASE}/sheet.pdf")
        assert answer.status_code == 200
        assert answer.headers["content-type"] == "application/pdf"
        assert answer.content.startswith(b"%PDF-")


def test_every_page_says_what_zonule_is_not() -> None:
    clinic = new_clinic()
    walk(clinic, until="operate")
    for path in (*HOUSE, *(f"{CASE}/{stage}" for stage in (*STAGES, "theatre"))):
        assert "reviewed by no regulator" in clinic.page(path).text
    assert "reviewed by no regulator" in clinic.page("/nothing", status=404).text
