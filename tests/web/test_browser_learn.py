"""What all eyes say of astigmatism in a real browser: for everybody, at a desk and on a phone."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, expect

from fakes.examples import SURGEON
from web.served import PHONE, WIDE, Served, barriers, press, sideways_overflow_px, type_into
from web.test_learn_astigmatism import PAGE, full, put

pytestmark = pytest.mark.xdist_group("browser")


@pytest.fixture
def learned(served: Served) -> Served:
    served.clinic.add()
    put(served.clinic, full())
    return served


def test_from_all_eyes_to_an_accepted_incision_by_keyboard_alone(learned: Served, browser: Browser) -> None:
    with learned.window(browser) as page:
        page.goto("/learn")
        press(page, f"a[href='{PAGE}']")
        expect(page.locator("h1")).to_have_text("What do all eyes say of astigmatism?")
        press(page, "nav.days a[href*='abulafia_koch_2016']")
        expect(page.locator("nav.days a[aria-current]")).to_have_text("Missed by Abulafia and Koch 2016")
        type_into(page, "#incisions ~ .lesson input[name=who]", SURGEON)
        press(page, "#incisions ~ .lesson button")
        expect(page.locator("#incisions ~ .lesson .good")).to_contain_text("In use since")
    assert len(learned.clinic.record.incision_lessons()) == 1


@pytest.mark.parametrize("width", [WIDE, PHONE])
def test_the_page_is_for_everybody_full_or_empty(served: Served, browser: Browser, width: int) -> None:
    served.clinic.add()
    with served.window(browser, width) as page:
        for is_full in (False, True):
            if is_full:
                put(served.clinic, full())
            page.goto(PAGE)
            assert barriers(page) == []
            assert sideways_overflow_px(page) <= 0
            found = page.evaluate("[...document.querySelectorAll('[id]')].map(one => one.id)")
            assert len(found) == len(set(found))
