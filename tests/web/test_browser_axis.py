"""The axis of a toric lens in a real browser: by keyboard alone, at a desk and on a phone."""

from __future__ import annotations

from datetime import timedelta

import pytest
from playwright.sync_api import Browser, expect

from fakes.examples import LISTED_ON, SURGEON
from web.clinic import CASE, KEY, operate
from web.served import PHONE, WIDE, Served, barriers, press, sideways_overflow_px, tab_to, type_into
from web.test_axis_pages import look, toric_to_operate

pytestmark = pytest.mark.xdist_group("browser")


@pytest.fixture
def operated(served: Served) -> Served:
    served.clinic.add()
    toric_to_operate(served.clinic)
    assert operate(served.clinic, lens_meridian_deg="95").status_code == 303
    served.clinic.today = LISTED_ON + timedelta(days=2)
    return served


def test_from_the_list_to_a_recorded_look_by_keyboard_alone(operated: Served, browser: Browser) -> None:
    with operated.window(browser) as page:
        page.goto("/")
        press(page, "a[href='/follow-up']")
        expect(page.locator("h1")).to_contain_text("Who has to be seen")
        press(page, ".follow-up a")
        expect(page.locator("#axis-title")).to_be_visible()
        tab_to(page, "#axis_seen_on")
        page.keyboard.type("11182026")
        type_into(page, "#axis_meridian_deg", "99")
        type_into(page, "#axis-who", SURGEON)
        press(page, "#axis button")
        expect(page.locator("#axis")).to_contain_text("4 degrees counter-clockwise of the plan")
    (visit,) = operated.clinic.record.case(KEY).axis_visits
    assert (visit.seen_on, visit.lens_meridian_deg) == (operated.clinic.today, 99.0)


@pytest.mark.parametrize("width", [WIDE, PHONE])
def test_every_page_about_the_axis_is_for_everybody(operated: Served, browser: Browser, width: int) -> None:
    assert look(operated.clinic, 2, "113").status_code == 303
    with operated.window(browser, width) as page:
        for path in ("/follow-up", f"{CASE}/review", f"{CASE}/axis", f"{CASE}/operate"):
            page.goto(path)
            assert barriers(page) == [], path
            assert sideways_overflow_px(page) <= 0, path
            found = page.evaluate("[...document.querySelectorAll('[id]')].map(one => one.id)")
            assert len(found) == len(set(found)), path
