"""Draft and signature: what is typed is kept, what is stale is refused, what is signed stays."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fakes.acts import ordinary_act
from fakes.examples import SURGEON, ordinary_eye, ordinary_patient, ordinary_readiness
from web.clinic import CASE, KEY, REASON, Clinic, draft, new_clinic, sign, walk
from web.page import Page
from zonule.case.plan import FearedSide
from zonule.errors import StorageError

SCRIPT = {"hx-request": "true"}


def unready_clinic() -> Clinic:
    """The ordinary eye with its questions unanswered, so that doubts stand."""
    clinic = Clinic()
    clinic.add(ordinary_patient(), ordinary_eye())
    return clinic


def script_saves(clinic: Clinic, **typed: str) -> Page:
    answer = clinic.submit_by_script(f"{CASE}/plan", "plan/draft", **typed)
    assert answer.status_code == 200
    return Page(answer.text)


def test_a_plain_form_saves_the_draft_and_is_sent_on_to_the_page() -> None:
    clinic = new_clinic()
    answer = clinic.submit(
        f"{CASE}/plan", "plan/draft", target_refraction_dpt="-0.25", lens_model="Meadow One"
    )
    assert (answer.status_code, answer.headers["location"]) == (303, f"{CASE}/plan")
    assert clinic.record.case(KEY).intent.target_refraction_dpt == -0.25


def test_a_script_gets_the_forecast_with_the_new_revision_and_what_changed() -> None:
    clinic = new_clinic()
    draft(clinic)
    fragment = script_saves(clinic, target_refraction_dpt="-0.5")
    case = clinic.record.case(KEY)
    forecast = fragment.elements[0]
    assert (forecast.attributes["id"], forecast.attributes["data-revision"]) == (
        "forecast",
        str(case.revision),
    )
    revisions = {one.attributes["value"] for one in fragment.all("input", name="revision")}
    assert revisions == {str(case.revision)}
    (changed,) = fragment.all("p", **{"class": "changed"})
    assert "The aim went from 0.00 D to \u22120.50 D" in changed.text
    assert changed.attributes["aria-live"] == "polite"
    assert fragment.all("html") == []


def test_the_power_chosen_with_the_radios_is_saved_with_the_draft() -> None:
    clinic = new_clinic()
    draft(clinic)
    fragment = script_saves(clinic, lens_power_dpt="21.0")
    assert clinic.record.case(KEY).intent.lens_power_dpt == 21.0
    chosen = [one for one in fragment.all("input", type="radio") if "checked" in one.attributes]
    assert [one.attributes["value"] for one in chosen] == ["21.0"]
    assert "21.0 D lands within half a dioptre" in fragment.text


def test_every_power_stands_in_the_draft_form_so_that_its_change_is_sent() -> None:
    clinic = new_clinic()
    draft(clinic)
    page = clinic.page(f"{CASE}/plan")
    form = page.one("form", id="draft")
    main = page.one("main", id="main")
    radios = page.all("input", type="radio", name="lens_power_dpt")
    assert len(radios) == 9
    assert {one.attributes["form"] for one in radios} == {"draft"}
    assert all(one.inside(main) for one in radios)
    assert "change from:#main target:[form=draft]" in form.attributes["hx-trigger"]


def test_the_draft_sends_back_the_very_numbers_it_was_given() -> None:
    clinic = new_clinic()
    draft(clinic, target_refraction_dpt="-0.125", incision_meridian_deg="12.5", capsulorhexis_mm="5.125")
    clinic.submit(f"{CASE}/plan", "plan/draft", feared_side="myopic")
    intent = clinic.record.case(KEY).intent
    assert (intent.target_refraction_dpt, intent.incision_meridian_deg) == (-0.125, 12.5)
    assert (intent.capsulorhexis_mm, intent.feared_side) == (5.125, FearedSide.MYOPIC)


def test_a_typing_error_in_the_draft_is_explained_and_can_be_corrected_at_once() -> None:
    clinic = new_clinic()
    draft(clinic)
    revision = clinic.record.case(KEY).revision
    fragment = script_saves(clinic, target_refraction_dpt="-0.5o")
    assert "'-0.5o' is not a number. Please correct the aim." in fragment.text
    kept = {one.attributes["name"]: one.attributes["value"] for one in fragment.all("input", form="draft")}
    assert kept == {"revision": str(revision), "lens_power_dpt": "20.5"}
    assert clinic.record.case(KEY).revision == revision


def test_a_draft_from_a_stale_page_is_refused_on_the_page_itself() -> None:
    clinic = new_clinic()
    draft(clinic)
    stale = str(clinic.record.case(KEY).revision - 1)
    before = clinic.record.case(KEY)
    fragment = script_saves(clinic, revision=stale, target_refraction_dpt="-1")
    assert "Not saved. " in fragment.text
    assert "Load the page again" in fragment.text
    assert fragment.all("input", name="revision") == []
    answer = clinic.submit(f"{CASE}/plan", "plan/draft", revision=stale, target_refraction_dpt="-1")
    assert answer.status_code in {409, 422}
    page = Page(answer.text)
    assert page.one("input", id="target_refraction_dpt").attributes["value"] == "-1"
    assert clinic.record.case(KEY) == before


def test_a_record_in_trouble_is_told_to_the_script_too(monkeypatch: pytest.MonkeyPatch) -> None:
    clinic = new_clinic()
    draft(clinic)
    page = clinic.page(f"{CASE}/plan")
    values = page.fields(page.form("plan/draft"))

    def busy(**_: object) -> None:
        raise StorageError("The record is in use. Nothing was saved; try again in a moment.")

    monkeypatch.setattr(clinic.record, "act", busy)
    answer = clinic.post(f"{CASE}/plan/draft", values, SCRIPT)
    assert (answer.status_code, "try again in a moment" in answer.text) == (200, True)


@pytest.mark.parametrize(
    ("typed", "stored"),
    [
        ("-0.25", -0.25),
        ("-0,25", -0.25),
        ("\u22120,25", -0.25),
        ("\u20130.25", -0.25),
        ("+0.5", 0.5),
        (" 0 ", 0.0),
        (".5", 0.5),
        ("", None),
    ],
)
def test_a_number_may_be_typed_the_way_people_write_it(typed: str, stored: float | None) -> None:
    clinic = new_clinic()
    draft(clinic, target_refraction_dpt=typed)
    assert clinic.record.case(KEY).intent.target_refraction_dpt == stored


@pytest.mark.parametrize(
    "field", ["target_refraction_dpt", "incision_meridian_deg", "capsulorhexis_mm", "lens_power_dpt"]
)
@pytest.mark.parametrize(
    "typed",
    ["plano", "NaN", "inf", "-infinity", "1e3", "1_0", "0x10", "1,000.5", "--1", "9" * 400, "1 2", "5 mm"],
)
def test_what_is_not_a_number_is_refused_and_stays_in_its_field(field: str, typed: str) -> None:
    clinic = new_clinic()
    draft(clinic)
    before = clinic.record.case(KEY)
    answer = clinic.submit(f"{CASE}/plan", "plan/draft", **{field: typed})
    assert answer.status_code == 422
    page = Page(answer.text)
    assert "is not a number. Please correct" in page.text
    if field != "lens_power_dpt":
        assert page.one("input", id=field).attributes["value"] == typed
    assert clinic.record.case(KEY) == before


@pytest.mark.parametrize("typed", ["999999999", "-999999999", "720", "0.000001"])
@pytest.mark.parametrize(
    "field", ["target_refraction_dpt", "incision_meridian_deg", "capsulorhexis_mm", "lens_power_dpt"]
)
def test_a_huge_or_senseless_number_never_breaks_a_page(field: str, typed: str) -> None:
    clinic = new_clinic()
    draft(clinic)
    assert clinic.submit(f"{CASE}/plan", "plan/draft", **{field: typed}).status_code in {303, 422}
    for path in ("measure", "plan", "operate", "sheet.pdf"):
        assert clinic.get(f"{CASE}/{path}").status_code == 200


def test_the_aim_is_never_assumed() -> None:
    page = new_clinic().page(f"{CASE}/plan")
    assert page.one("input", id="target_refraction_dpt").attributes["value"] == ""
    assert "No target refraction has been chosen." in page.text
    assert "This plan cannot be signed until what stops it is resolved." in page.text


def test_a_signed_plan_is_shown_frozen() -> None:
    clinic = new_clinic()
    draft(clinic)
    answer = sign(clinic)
    assert (answer.status_code, answer.headers["location"]) == (303, f"{CASE}/plan")
    signed = clinic.record.case(KEY).signed
    assert signed is not None
    page = clinic.page(f"{CASE}/plan")
    assert "Signed: Meadow One 20.5 D" in page.text
    assert signed.digest[:12] in page.text
    assert "Checked just now: unaltered since signing" in page.text
    assert page.all("input", type="radio") == []


def test_signing_again_takes_the_place_of_the_earlier_plan_and_keeps_it() -> None:
    clinic = new_clinic()
    walk(clinic, until="operate")
    first = clinic.record.case(KEY).signed
    clinic.submit(f"{CASE}/plan?draft=1", "plan/draft", lens_power_dpt="21.0")
    assert sign(clinic).status_code == 303
    second = clinic.record.case(KEY).signed
    assert first is not None
    assert second is not None
    assert second.replaces == first.digest
    digests = {entry.detail for entry in clinic.record.trail() if entry.verb == "sign plan"}
    assert digests == {first.digest, second.digest}
    assert "Signed: Meadow One 21.0 D" in clinic.page(f"{CASE}/plan").text


def test_nothing_is_signed_without_a_name() -> None:
    clinic = new_clinic()
    draft(clinic)
    for nobody in ("", "   "):
        answer = sign(clinic, who=nobody)
        assert answer.status_code == 422
        assert "Please enter your name." in Page(answer.text).text
    assert clinic.record.case(KEY).signed is None


def test_a_name_remembered_in_the_browser_signs_nothing_by_itself() -> None:
    clinic = new_clinic()
    clinic.submit("/", "/name", who=SURGEON)
    draft(clinic)
    page = clinic.page(f"{CASE}/plan")
    assert page.one("input", id="who").attributes["value"] == ""
    assert sign(clinic, who="").status_code == 422


def test_doubts_left_standing_need_a_reason_and_what_was_typed_is_kept() -> None:
    clinic = unready_clinic()
    draft(clinic)
    answer = sign(clinic, reasons="  ", who="Typed Name")
    assert answer.status_code == 422
    page = Page(answer.text)
    assert "Warnings stand. Write in a sentence why you go on, then sign again." in page.text
    assert page.one("input", id="who").attributes["value"] == "Typed Name"
    assert page.one("input", id="target_refraction_dpt").attributes["value"] == "0"
    assert "20.5 D lands within" in page.text
    assert clinic.record.case(KEY).signed is None


def test_the_reasons_are_kept_with_the_signature_and_shown() -> None:
    clinic = unready_clinic()
    draft(clinic)
    assert sign(clinic, reasons=REASON).status_code == 303
    page = clinic.page(f"{CASE}/plan")
    assert "Doubts left standing" in page.text
    assert f"{SURGEON} wrote: {REASON}" in page.text


def test_a_signature_under_a_stale_page_is_refused_and_the_typed_reason_kept() -> None:
    clinic = unready_clinic()
    draft(clinic)
    page = clinic.page(f"{CASE}/plan")
    values = page.fields(page.form("plan/sign")) | {"who": SURGEON, "reasons": REASON}
    draft(clinic, target_refraction_dpt="-0.25")
    answer = clinic.post(f"{CASE}/plan/sign", values)
    assert answer.status_code in {409, 422}
    shown = Page(answer.text)
    assert "Not saved." in shown.text
    assert "then sign" in shown.text
    assert shown.one("textarea", id="reasons").text == REASON
    assert shown.one("input", id="target_refraction_dpt").attributes["value"] == "\u22120.25"
    assert clinic.record.case(KEY).signed is None


def test_a_signature_under_an_earlier_revision_alone_is_refused() -> None:
    clinic = new_clinic()
    draft(clinic)
    stale = str(clinic.record.case(KEY).revision - 1)
    answer = sign(clinic, revision=stale)
    assert answer.status_code in {409, 422}
    assert "Reload it" in answer.text
    assert clinic.record.case(KEY).signed is None


def test_a_signature_for_a_forecast_that_was_not_shown_is_refused() -> None:
    clinic = new_clinic()
    draft(clinic)
    answer = sign(clinic, asked="1")
    assert answer.status_code in {409, 422}
    assert "changed after this plan was shown" in answer.text
    assert clinic.record.case(KEY).signed is None


@pytest.mark.parametrize("field", ["asked", "revision"])
@pytest.mark.parametrize("typed", ["", "x", "1.5", "-1", "\u00b2", "9" * 5000])
def test_a_damaged_form_is_refused_in_words(field: str, typed: str) -> None:
    clinic = new_clinic()
    draft(clinic)
    answer = sign(clinic, **{field: typed})
    assert answer.status_code in {409, 422}
    assert "Not saved." in answer.text
    assert clinic.record.case(KEY).signed is None


def test_a_power_in_which_the_lens_is_not_made_cannot_be_signed() -> None:
    clinic = new_clinic()
    draft(clinic)
    answer = sign(clinic, lens_power_dpt="20.3")
    assert answer.status_code == 422
    assert "is not a power in which this lens is made" in answer.text


def test_after_a_refused_signature_a_reload_of_its_address_shows_the_draft() -> None:
    clinic = new_clinic()
    draft(clinic)
    for path in ("plan/sign", "plan/draft"):
        answer = clinic.get(f"{CASE}/{path}")
        assert (answer.status_code, answer.headers["location"]) == (303, f"{CASE}/plan?draft=1")


def test_no_plan_is_signed_after_the_operation() -> None:
    clinic = new_clinic()
    walk(clinic, until="review")
    page = clinic.page(f"{CASE}/plan")
    assert "Change the plan" not in page.text
    signed = clinic.record.case(KEY).signed
    answer = sign(clinic)
    assert answer.status_code == 422
    assert "no plan can be signed after it" in answer.text
    assert clinic.record.case(KEY).signed == signed


def test_a_new_measurement_after_signing_is_told_on_the_plan_and_in_theatre() -> None:
    clinic = new_clinic()
    walk(clinic, until="operate")
    longer = replace(ordinary_eye(axial_length_mm=24.5), readiness=ordinary_readiness())
    with ordinary_act(clinic.record) as act:
        act.put_eye("demo-0042", longer)
    for path in ("plan", "operate", "theatre"):
        assert (
            "After this plan was signed the record changed: the eye" in clinic.page(f"{CASE}/{path}").text
        ), path


def test_what_changed_is_told_against_the_forecast_on_the_screen() -> None:
    """Two quick changes are saved one after the other; only the second answer is shown, and it tells both."""
    clinic = new_clinic()
    draft(clinic)
    action, seen = f"{CASE}/plan/draft", Page(clinic.get(f"{CASE}/plan").text)
    on_screen = seen.fields(seen.form("plan/draft"))
    first = clinic.post(action, {**on_screen, "target_refraction_dpt": "-0.5"}, SCRIPT)
    (revision,) = {one.attributes["value"] for one in Page(first.text).all("input", name="revision")}
    second = clinic.post(action, {**on_screen, "target_refraction_dpt": "-0.5", "revision": revision}, SCRIPT)
    (changed,) = Page(second.text).all("p", **{"class": "changed"})
    assert "The aim went from 0.00 D to \u22120.50 D" in changed.text
