"""Would turning the lens help? The section on the review page, and what its form keeps."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from httpx2 import Response
from playwright.sync_api import Browser

from fakes.examples import LISTED_ON
from web.clinic import CASE, KEY, Clinic, new_clinic, operate, review, walk
from web.page import Element, Page
from web.served import PHONE, WIDE, Served, barriers, press, sideways_overflow_px, type_into
from web.test_axis_pages import look, toric_to_operate

LEFT = {"sphere_dpt": "0.5", "cylinder_dpt": "-1", "axis_deg": "150"}
CORNEA: dict[str, Any] = {
    "after_flat_power_dpt": "43",
    "after_steep_power_dpt": "44.25",
    "after_steep_meridian_deg": "92",
    "after_keratometric_index": "1.3375",
}


def reviewed(clinic: Clinic, days: int = 14, **typed: Any) -> Response:
    """Record a refraction some days after the operation, on the day itself."""
    clinic.today = LISTED_ON + timedelta(days=days)
    return review(clinic, refracted_on=clinic.today.isoformat(), **LEFT | typed)


@pytest.fixture
def operated() -> Clinic:
    made = new_clinic()
    toric_to_operate(made)
    assert operate(made, lens_meridian_deg="95").status_code == 303
    return made


def section(clinic: Clinic) -> Element:
    return clinic.page(f"{CASE}/review").one("section", id="turn")


def test_the_section_says_the_advice_the_turn_its_odds_and_why(operated: Clinic) -> None:
    assert reviewed(operated, lens_meridian_deg="115").status_code == 303
    said = section(operated).text
    assert "The numbers speak for turning the lens, usually 7 to 21 days after the operation" in said
    assert "clockwise as the examiner sees the eye, to " in said
    assert "such eyes gain half a dioptre or more" in said
    assert "from the lens lying elsewhere than planned" in said
    assert "Allowed for: the refraction" in said
    assert "right eye, as the examiner sees it" in said


def test_the_form_comes_back_with_marks_and_cornea_as_recorded(operated: Clinic) -> None:
    assert reviewed(operated, lens_meridian_deg="115,5", **CORNEA).status_code == 303
    page = operated.page(f"{CASE}/review")
    filled = page.fields(page.form(""))
    assert {name: filled[name] for name in CORNEA} == CORNEA
    assert filled["lens_meridian_deg"] == "115.5"
    kept = operated.record.case(KEY).review
    assert kept is not None
    assert kept.keratometry is not None
    assert kept.keratometry.powers_dpt == pytest.approx((43.0, 44.25))
    assert "from an incision that did otherwise than planned" in section(operated).text


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"lens_meridian_deg": "181"}, "0 to 180 degrees"),
        ({"lens_meridian_deg": "-5"}, "0 to 180 degrees"),
        ({"lens_meridian_deg": "steep"}, "is not a number"),
        (CORNEA | {"after_steep_power_dpt": "42"}, "may have been swapped"),
        (CORNEA | {"after_steep_power_dpt": "7.6"}, "looks like a corneal radius"),
        (CORNEA | {"after_steep_meridian_deg": "200"}, "0 to 180 degrees"),
        (CORNEA | {"after_keratometric_index": ""}, "keratometric index"),
        ({"after_flat_power_dpt": "43"}, "steep power after the operation"),
    ],
)
def test_what_cannot_be_is_refused_and_stays_typed(
    operated: Clinic, typed: dict[str, Any], words: str
) -> None:
    answer = reviewed(operated, **typed)
    assert answer.status_code == 422
    page = Page(answer.text)
    assert words in page.text
    assert typed.items() <= page.fields(page.form("")).items()
    assert operated.record.case(KEY).review is None


def test_without_marks_the_section_says_what_is_missing(operated: Clinic) -> None:
    assert reviewed(operated).status_code == 303
    assert "Nobody has recorded where the marks of the lens lie" in section(operated).text


def test_marks_of_an_axis_visit_are_taken_and_said(operated: Clinic) -> None:
    assert look(operated, 3, "113").status_code == 303
    assert reviewed(operated).status_code == 303
    said = section(operated).text
    assert "with the marks at 113\u00b0" in said
    assert "the axis visit nearest to it, of " in said


def test_a_lens_that_moved_since_the_refraction_asks_for_another(operated: Clinic) -> None:
    assert reviewed(operated, lens_meridian_deg="115").status_code == 303
    assert look(operated, 20, "96").status_code == 303
    said = section(operated).text
    assert "Wait before the lens is turned. It has turned since this refraction" in said
    assert "Look again." in said
    assert "Refract again before anything is turned." in said
    assert "with the marks at 115\u00b0" in said
    assert "marks now" not in said
    assert "Turned by" not in said


def test_a_lens_without_cylinder_has_no_such_section() -> None:
    clinic = new_clinic()
    walk(clinic)
    page = clinic.page(f"{CASE}/review")
    assert page.all("section", id="turn") == []
    assert "lens_meridian_deg" not in page.fields(page.form(""))


@pytest.mark.xdist_group("browser")
@pytest.mark.parametrize("width", [WIDE, PHONE])
def test_marks_are_typed_and_the_answer_read_without_a_mouse(
    served: Served, browser: Browser, width: int
) -> None:
    clinic = served.clinic
    clinic.add()
    toric_to_operate(clinic)
    assert operate(clinic, lens_meridian_deg="95").status_code == 303
    clinic.today = LISTED_ON + timedelta(days=14)
    with served.window(browser, width) as page:
        page.goto(f"{CASE}/review")
        page.locator("#refracted_on").fill(clinic.today.isoformat())
        for name, value in (LEFT | {"vertex_mm": "12", "lane_m": "6", "lens_meridian_deg": "115"}).items():
            type_into(page, f"#{name}", value)
        page.locator("form.fields[data-keep*=':review:'] [name=who]").fill("R. Calder")
        page.locator("form.fields[data-keep*=':review:'] button").focus()
        page.keyboard.press("Enter")
        page.wait_for_selector("#turn .headline")
        assert barriers(page) == []
        assert sideways_overflow_px(page) <= 0
        press(page, "#turn details summary")
        page.wait_for_selector("#turn details[open]")
        assert barriers(page) == []
