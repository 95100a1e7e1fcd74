"""One eye all the way round in a real browser, by keyboard."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta
from urllib.parse import quote

import pytest
from playwright.sync_api import Browser, Page, expect

from fakes.examples import SURGEON, ordinary_eye, ordinary_patient, ordinary_readiness
from web.clinic import CASE, KEY, listed_patients, walk
from web.served import Served, choose_power, press, tab_to, type_into
from zonule.case.case import case_key
from zonule.case.patient import Side

NOTES = "Iris floppy, \u201cquiet\u201d; 5 \u00b5l"

pytestmark = pytest.mark.xdist_group("browser")


def answer_the_questions(page: Page) -> None:
    for field, letter in {
        "contact_lens": "none",
        "tear_film": "good",
        "macula": "good",
        "fundus": "good",
    }.items():
        tab_to(page, f"#{field}")
        page.keyboard.type(letter)
    type_into(page, "#pressure_mmhg", "16")
    type_into(page, "main #who", SURGEON)
    press(page, "main form button")
    expect(page.locator("#pressure_mmhg")).to_have_value("16")


def plan_and_sign(page: Page) -> None:
    expect(page.locator("h1")).to_have_text("Which power?")
    type_into(page, "#target_refraction_dpt", "0")
    tab_to(page, "#lens_model")
    page.keyboard.type("Meadow")
    type_into(page, "#surgeon", SURGEON)
    tab_to(page, "#forecast input[type=radio]")
    page.keyboard.press("Space")
    expect(page.locator("#forecast input:checked")).to_have_count(1)
    page.locator("#target_refraction_dpt").focus()
    page.keyboard.press("Control+a")
    page.keyboard.type("-0.25")
    page.keyboard.press("Tab")
    expect(page.locator(".changed")).to_contain_text("The aim went from 0.00 D to \u22120.25 D")
    choose_power(page, "20.5")
    page.keyboard.press("ArrowDown")
    expect(page.locator("#headline")).to_contain_text("21.0 D lands within half a dioptre of \u22120.25 D")
    type_into(page, "#forecast #who", SURGEON)
    press(page, "#forecast button")
    expect(page.locator("h1")).to_have_text("Signed: Meadow One 21.0 D")


def sheet_opens(page: Page) -> None:
    tab_to(page, "a[href$='sheet.pdf']")
    answer = page.request.get(page.locator("a[href$='sheet.pdf']").get_attribute("href") or "")
    assert (answer.status, answer.headers["content-type"]) == (200, "application/pdf")
    assert answer.body().startswith(b"%PDF-")


def operate(page: Page) -> None:
    press(page, "a[href$='/theatre']")
    expect(page.locator("h1")).to_have_text("RIGHT EYE")
    press(page, "a[href$='/operate']")
    expect(page.locator("h1")).to_have_text("Planned for theatre")
    tab_to(page, "#operated_on")
    page.keyboard.type("11162026")
    tab_to(page, "#fixation")
    page.keyboard.type("in the bag")
    tab_to(page, "#complication")
    page.keyboard.type("none")
    press(page, "main form button")
    expect(page.locator("h1")).to_have_text("What was done")


def review(page: Page) -> None:
    press(page, "nav.stages a[href$='/review']")
    expect(page.locator(".headline")).to_contain_text("Expected with 21.0 D")
    tab_to(page, "#refracted_on")
    page.keyboard.type("12212026")
    for field, text in {
        "sphere_dpt": "\u22120,75",
        "cylinder_dpt": "0",
        "vertex_mm": "12",
        "lane_m": "6",
    }.items():
        type_into(page, f"#{field}", text)
    press(page, "main form button")
    expect(page.locator("h1")).to_have_text("What this eye got")
    expect(page.locator(".headline")).to_contain_text("35 days after the operation")


def learn(page: Page) -> None:
    press(page, "main a[href$='/learn']")
    expect(page.locator("main")).to_contain_text("This eye is one of 6 that count.")
    tab_to(page, "main form button")
    page.keyboard.press("Enter")
    expect(page.locator("main")).to_contain_text("In use since 21 December 2026")


def test_one_eye_goes_all_the_way_round_by_keyboard_and_changes_the_next_plan(
    served: Served, browser: Browser
) -> None:
    clinic = served.clinic
    *reviewed, coming = listed_patients(clinic, 6)
    for path in reviewed:
        walk(clinic, path, sphere_dpt="-0.5")
    clinic.add(ordinary_patient(), ordinary_eye())
    walk(clinic, coming, until="plan")
    with served.window(browser) as page:
        page.goto("/")
        press(page, f"a[href='{CASE}']")
        expect(page.locator("h1")).to_have_text("Can these numbers be trusted?")
        answer_the_questions(page)
        press(page, "main a.next")
        plan_and_sign(page)
        sheet_opens(page)
        operate(page)
        clinic.today += timedelta(days=35)
        review(page)
        learn(page)
        page.goto(f"{coming}/plan")
        own = page.locator("section[aria-labelledby=own]")
        expect(own).not_to_contain_text("No lesson has been accepted")
        expect(own).to_contain_text(re.compile("6 eyes"))
    case = clinic.record.case(KEY)
    assert case.review is not None
    assert case.operation is not None
    assert case.operation.lens_power_dpt == 21.0
    assert len(clinic.record.lessons()) >= 1
    assert clinic.record.broken_trail_entries() == ()


def test_a_reload_in_the_middle_loses_nothing_that_was_typed(served: Served, browser: Browser) -> None:
    served.clinic.add()
    walk(served.clinic, until="operate")
    with served.window(browser) as page:
        page.goto(f"{CASE}/operate")
        page.locator("#notes").fill(NOTES)
        page.locator("#lens_serial").fill("SN 0042")
        page.locator("#fixation").select_option("bag")
        page.locator("#operated_on").fill("2026-11-16")
        page.reload()
        expect(page.locator("#notes")).to_have_value(NOTES)
        expect(page.locator("#lens_serial")).to_have_value("SN 0042")
        expect(page.locator("#fixation")).to_have_value("bag")
        expect(page.locator("#operated_on")).to_have_value("2026-11-16")
        page.locator("#complication").select_option("none")
        page.locator("main #who").fill(SURGEON)
        page.locator("main form button").click()
        expect(page.locator("h1")).to_have_text("What was done")
        page.reload()
        expect(page.locator("#notes")).to_have_value(NOTES)
    operation = served.clinic.record.case(KEY).operation
    assert operation is not None
    assert (operation.lens_serial, operation.notes) == (
        "SN 0042",
        NOTES,
    )


def test_a_refused_form_says_why_first_and_keeps_what_was_typed(served: Served, browser: Browser) -> None:
    served.clinic.add()
    walk(served.clinic, until="operate")
    with served.window(browser) as page:
        page.goto(f"{CASE}/operate")
        page.locator("#notes").fill("typed before")
        page.locator("main form button").click()
        problem = page.locator(".problem[role=alert]")
        expect(problem).to_contain_text("Not saved.")
        expect(problem).to_be_focused()
        expect(page.locator("#notes")).to_have_value("typed before")


def test_the_back_button_works_from_every_stage(served: Served, browser: Browser) -> None:
    served.clinic.add()
    walk(served.clinic)
    stages = ("measure", "plan", "operate", "review", "learn")
    acts = served.clinic.trail_length
    with served.window(browser) as page:
        page.goto("/")
        page.locator(f"a[href='{CASE}']").click()
        for stage in stages:
            page.locator(f"nav.stages a[href$='/{stage}']").click()
            expect(page.locator("nav.stages a[aria-current]")).to_contain_text(stage.capitalize())
        for stage in reversed(stages[:-1]):
            page.go_back()
            expect(page.locator("nav.stages a[aria-current]")).to_contain_text(stage.capitalize())
    assert served.clinic.trail_length == acts


def test_going_back_after_a_save_repeats_nothing(served: Served, browser: Browser) -> None:
    served.clinic.add()
    walk(served.clinic, until="plan")
    with served.window(browser) as page:
        page.goto(f"{CASE}/plan")
        page.locator("#forecast #who").fill(SURGEON)
        page.locator("#forecast button").click()
        expect(page.locator("h1")).to_contain_text("Signed:")
        acts = served.clinic.trail_length
        page.go_back()
        page.go_forward()
        page.reload()
        expect(page.locator("h1")).to_contain_text("Signed:")
    assert served.clinic.trail_length == acts


@pytest.mark.parametrize("patient_key", ["50%2f7", "1234/26", "\u00c9lodie 100%"])
def test_an_odd_patient_key_works_in_a_browser(served: Served, browser: Browser, patient_key: str) -> None:
    eye = replace(ordinary_eye(), readiness=ordinary_readiness())
    key = served.clinic.add(ordinary_patient(patient_key), eye)
    with served.window(browser) as page:
        page.goto("/")
        page.locator("ol.cases a").click()
        expect(page.locator(".case-head")).to_contain_text(patient_key)
        page.locator("nav.stages a[href$='/plan']").click()
        page.locator("#target_refraction_dpt").fill("-0.5")
        page.locator("#lens_model").select_option("Meadow One")
        expect(page.locator("#headline")).to_contain_text("lands within half a dioptre of \u22120.50 D")
        assert quote(case_key(patient_key, Side.RIGHT), safe="") in page.url
    assert served.clinic.record.case(key).intent.target_refraction_dpt == -0.5
