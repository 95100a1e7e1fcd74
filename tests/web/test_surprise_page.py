"""The page that looks into a surprising refraction, and the way to it."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser

from fakes.examples import ordinary_eye, ordinary_patient
from web.clinic import CASE, KEY, Clinic, new_clinic, walk
from web.served import PHONE, WIDE, Served, barriers, press, sideways_overflow_px, type_into
from zonule.case.patient import Side
from zonule.case.surprise import Surprise
from zonule.drawings.surprise_sentences import amount_sentence, needed_sentence, surprise_sentence
from zonule.workflow.surprise import look_into_surprise

PAGE = f"{CASE}/review/surprise"


def surprised(sphere_dpt: str = "1.5") -> Clinic:
    clinic = new_clinic()
    walk(clinic, sphere_dpt=sphere_dpt)
    return clinic


@pytest.mark.parametrize("sphere_dpt", ["1.5", "-1.5", "0.85"])
def test_a_large_error_leads_from_the_review_to_its_own_page(sphere_dpt: str) -> None:
    clinic = surprised(sphere_dpt)
    review = clinic.page(f"{CASE}/review")
    assert f'href="{PAGE}"' in review.html
    assert "needs a second look" not in review.text
    assert "Why did this eye surprise?" in clinic.page(PAGE).text


def test_an_ordinary_error_does_not_lead_there_and_is_called_ordinary() -> None:
    clinic = surprised("-0.25")
    review = clinic.page(f"{CASE}/review")
    assert PAGE not in review.html
    assert "Nothing about this result needs a second look." in review.text
    assert "Errors up to 0.75 D and up to twice the usual scatter are ordinary" in clinic.page(PAGE).text


def looked_into(clinic: Clinic) -> Surprise:
    found = look_into_surprise(clinic.record.case(KEY), catalogue=clinic.record.lenses())
    assert found is not None
    return found


def test_the_page_says_what_was_found_what_it_takes_and_what_to_look_at_next() -> None:
    clinic = surprised()
    said, found = clinic.page(PAGE).text, looked_into(clinic)
    assert "more long-sighted than predicted: +1.50 D with 20.5 D" in said
    assert surprise_sentence(found) in said
    assert "That is within the room of the natural lens." in said
    assert "The ranking says how unusual each cause would have to be" in said
    places = [said.index(needed_sentence(cause, found)) for cause in found.causes]
    assert places == sorted(places)
    assert said.count("Look next.") == len(found.causes) == 6


def test_the_remedies_are_sums_with_their_limits_and_no_advice() -> None:
    clinic = surprised()
    said, found = clinic.page(PAGE).text, looked_into(clinic)
    for words in (
        "These are sums, not advice",
        "+1.50 at 12 mm, as refracted. The eye itself stays as it is.",
        "The cornea would have to become 1.53 D steeper",
        "by refractive vergence",
        "depending on what was wrong. Find that out first.",
        "another lens than recorded is in the eye",
        "in at most 84 in 100",
        "No published series of exchanges, add-on lenses or laser after cataract surgery stands behind them",
    ):
        assert words in said
    for remedy in found.remedies:
        assert amount_sentence(remedy, found) in said
    assert "recommend" not in said


def test_an_exchange_that_depends_on_the_cause_is_a_warning_on_the_page() -> None:
    assert "Look again. The power to exchange for differs by" in surprised().page(PAGE).text


def test_the_difference_to_the_other_eye_is_given_where_it_is_known() -> None:
    alone = surprised()
    assert "The other eye's refraction is not on record" in alone.page(PAGE).text
    both = new_clinic()
    left = ordinary_eye(Side.LEFT, axial_length_mm=23.4, flat_power_dpt=43.1)
    both.add(ordinary_patient(), left)
    walk(both, sphere_dpt="1.5")
    said = both.page(PAGE).text
    assert "Other eye +0.25 D by its glasses on record." in said
    assert "The eye itself stays 1.25 D from the other eye." in said


def test_measuring_the_cornea_again_ranks_anew_and_keeps_nothing() -> None:
    clinic = surprised()
    before = clinic.trail_length
    page = clinic.page(f"{PAGE}?mean_k_dpt=41,8&axial_length_mm=")
    assert "Measured again: 41.80 D." in page.text
    first = page.text.index("The mean K would have to be")
    assert first < page.text.index("It would have to lie")
    assert clinic.trail_length == before
    assert clinic.record.case(KEY).eye.biometry.keratometry.mean_k_dpt == pytest.approx(43.5)


@pytest.mark.parametrize(
    ("query", "words"),
    [
        ("mean_k_dpt=abc", "is not a number"),
        ("mean_k_dpt=7.7", "cannot be the mean corneal power"),
        ("axial_length_mm=235", "cannot be the axial length"),
    ],
)
def test_what_cannot_be_measured_is_refused_with_a_sentence(query: str, words: str) -> None:
    page = surprised().page(f"{PAGE}?{query}", status=422)
    assert words in page.text


@pytest.mark.parametrize(
    ("until", "words"),
    [
        ("plan", "There is no operation on record yet"),
        ("review", "There is no refraction after the operation on record yet"),
    ],
)
def test_before_there_is_a_refraction_the_page_teaches(until: str, words: str) -> None:
    clinic = new_clinic()
    walk(clinic, until=until)
    page = clinic.page(PAGE)
    assert "Nothing to explain here" in page.text
    assert words in page.text


def test_a_case_that_is_not_there_is_not_found() -> None:
    assert new_clinic().get("/cases/nobody-left/review/surprise").status_code == 404


@pytest.mark.xdist_group("browser")
@pytest.mark.parametrize("width", [WIDE, PHONE])
def test_the_page_is_open_to_everybody_and_fits_its_window(
    served: Served, browser: Browser, width: int
) -> None:
    served.clinic.add()
    walk(served.clinic, sphere_dpt="1.5")
    with served.window(browser, width) as page:
        page.goto(f"{CASE}/review")
        press(page, f"a[href='{PAGE}']")
        page.wait_for_url(f"**{PAGE}")
        assert barriers(page) == []
        assert sideways_overflow_px(page) <= 0
        type_into(page, "#mean_k_dpt", "41.8")
        page.keyboard.press("Enter")
        page.wait_for_url("**mean_k_dpt=41.8**")
        assert barriers(page) == []
        assert page.locator("ol.causes h3").first.inner_text() == "The corneal power"
