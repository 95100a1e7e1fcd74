"""The forecast on screen is always the forecast of what the form says."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, Page, Route, expect

from fakes.examples import ordinary_eye, ordinary_patient
from web.clinic import CASE, KEY, walk
from web.served import Served, choose_power

pytestmark = pytest.mark.xdist_group("browser")


def test_ten_quick_arrow_keys_end_with_the_right_power_and_forecast(served: Served, browser: Browser) -> None:
    served.clinic.add()
    walk(served.clinic, until="plan")
    with served.window(browser) as page:
        page.goto(f"{CASE}/plan")
        for _ in range(3):
            choose_power(page, "20.5")
            for _ in range(10):
                page.keyboard.press("ArrowDown")
            settled(page)
            chosen = page.locator("#forecast input:checked").get_attribute("value")
            assert chosen is not None
            assert served.clinic.record.case(KEY).intent.lens_power_dpt == float(chosen)
            expect(page.locator("#headline")).to_contain_text(f"{chosen} D lands")
            assert page.evaluate("document.activeElement.value") == chosen
            page.goto(f"{CASE}/plan")
            expect(page.locator("#headline")).to_contain_text(f"{chosen} D lands")


@pytest.mark.parametrize("pause_ms", [0, 30, 90])
def test_arrow_keys_move_one_power_each_however_fast_they_come(
    served: Served, browser: Browser, pause_ms: int
) -> None:
    served.clinic.add()
    walk(served.clinic, until="plan")
    with served.window(browser) as page:
        page.goto(f"{CASE}/plan")
        choose_power(page, "20.5")
        for _ in range(4):
            page.keyboard.press("ArrowDown")
            page.wait_for_timeout(pause_ms)
        settled(page)
        expect(page.locator("#headline")).to_contain_text("22.5 D lands")
    assert served.clinic.record.case(KEY).intent.lens_power_dpt == 22.5


def test_what_is_chosen_before_the_scripts_are_there_is_asked_for_too(
    served: Served, browser: Browser
) -> None:
    served.clinic.add()
    with served.window(browser) as page:
        held: list[Route] = []
        page.route("**/htmx-*.js", lambda route: held.append(route))  # noqa: PLW0108 - the driver marks its handler, and a bound method of list takes no mark
        page.goto(f"{CASE}/plan", wait_until="commit")
        page.locator("#target_refraction_dpt").fill("-0.5")
        page.locator("#lens_model").select_option("Meadow One")
        page.wait_for_timeout(200)
        held[0].continue_()
        expect(page.locator("#headline")).to_contain_text("lands within half a dioptre of \u22120.50 D")
        settled(page)
    assert served.clinic.record.case(KEY).intent.target_refraction_dpt == -0.5


def settled(page: Page) -> None:
    """Wait until no answer is under way."""
    expect(page.locator("#draft.htmx-request")).to_have_count(0)
    expect(page.locator("#forecast[aria-busy]")).to_have_count(0)


def test_a_late_answer_does_not_take_back_a_newer_choice(served: Served, browser: Browser) -> None:
    served.clinic.add()
    walk(served.clinic, until="plan")
    with served.window(browser) as page:
        page.goto(f"{CASE}/plan")
        choose_power(page, "20.5")
        served.clinic.pause_s = 0.4
        page.keyboard.press("ArrowDown")
        page.locator("#target_refraction_dpt").fill("-1")
        page.locator("#surgeon").focus()
        settled(page)
        expect(page.locator("#headline")).to_contain_text(
            "21.0 D lands within half a dioptre of \u22121.00 D"
        )
    intent = served.clinic.record.case(KEY).intent
    assert (intent.lens_power_dpt, intent.target_refraction_dpt) == (21.0, -1.0)


def test_a_typing_error_takes_the_forecast_away_until_corrected(served: Served, browser: Browser) -> None:
    served.clinic.add()
    walk(served.clinic, until="plan")
    with served.window(browser) as page:
        page.goto(f"{CASE}/plan")
        choose_power(page, "20.5")
        page.locator("#target_refraction_dpt").fill("0.5o")
        page.locator("#surgeon").focus()
        expect(page.locator("#forecast")).to_contain_text("is not a number. Please correct the aim.")
        expect(page.locator("#forecast figure")).to_have_count(0)
        page.locator("#target_refraction_dpt").fill("-0,5")
        page.locator("#surgeon").focus()
        expect(page.locator("#headline")).to_contain_text(
            "20.5 D lands within half a dioptre of \u22120.50 D"
        )


def test_a_page_that_somebody_else_overtook_says_so_and_shows_no_forecast(
    served: Served, browser: Browser
) -> None:
    served.clinic.add()
    walk(served.clinic, until="plan")
    with served.window(browser) as page:
        page.goto(f"{CASE}/plan")
        served.clinic.submit(f"{CASE}/plan", "plan/draft", target_refraction_dpt="-2")
        page.locator("#target_refraction_dpt").fill("-1")
        page.locator("#surgeon").focus()
        expect(page.locator("#forecast")).to_contain_text("Load the page again")
        expect(page.locator("#forecast figure")).to_have_count(0)
        page.locator("#forecast a").click()
        expect(page.locator("#target_refraction_dpt")).to_have_value("\u22122")
    assert served.clinic.record.case(KEY).intent.target_refraction_dpt == -2.0


def test_a_page_from_an_earlier_run_shows_no_forecast_for_what_was_not_saved(
    served: Served, browser: Browser
) -> None:
    served.clinic.add()
    walk(served.clinic, until="plan")
    with served.window(browser, expected=("Response Status Error Code 422",)) as page:
        page.goto(f"{CASE}/plan")
        page.evaluate("document.querySelector('#draft [name=token]').value = 'of an earlier run'")
        page.locator("#target_refraction_dpt").fill("-1")
        page.locator("#surgeon").focus()
        expect(page.locator("#forecast")).to_contain_text("Load this page again")
        expect(page.locator("#forecast figure")).to_have_count(0)
        expect(page.locator("#forecast form")).to_have_count(0)


def test_a_server_that_does_not_answer_leaves_no_forecast_for_what_was_not_saved(
    served: Served, browser: Browser
) -> None:
    served.clinic.add()
    walk(served.clinic, until="plan")
    with served.window(browser, expected=("net::ERR_FAILED", "htmx:sendError", "htmx:afterRequest")) as page:
        page.goto(f"{CASE}/plan")
        page.route("**/plan/draft", lambda route: route.abort())
        page.locator("#target_refraction_dpt").fill("-1")
        page.locator("#surgeon").focus()
        expect(page.locator("#forecast")).to_contain_text("zonule does not answer")
        expect(page.locator("#forecast figure")).to_have_count(0)


def test_typed_reasons_survive_a_new_forecast(served: Served, browser: Browser) -> None:
    served.clinic.add(ordinary_patient(), ordinary_eye())
    walk(served.clinic, until="plan")
    with served.window(browser) as page:
        page.goto(f"{CASE}/plan")
        page.locator("#reasons").fill("Seen and discussed.")
        choose_power(page, "21.0")
        expect(page.locator("#reasons")).to_have_value("Seen and discussed.")


def test_opening_a_plan_asks_for_nothing_that_it_shows_already(served: Served, browser: Browser) -> None:
    served.clinic.add(ordinary_patient(), ordinary_eye())
    walk(served.clinic, until="plan")
    with served.window(browser) as page:
        page.goto(f"{CASE}/plan")
        choose_power(page, "21.0")
        settled(page)
        asked: list[str] = []
        page.on("request", lambda request: asked.append(request.url))
        page.goto(f"{CASE}/plan", wait_until="networkidle")
        expect(page.locator("#headline")).to_contain_text("21.0 D lands")
        assert not [url for url in asked if url.endswith("/plan/draft")]
