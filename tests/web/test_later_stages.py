"""Measure, operate, review and learn through the pages, and the lesson that the next plan reads."""

from __future__ import annotations

from datetime import timedelta
from typing import Protocol

import pytest
from httpx2 import Response

from fakes.examples import (
    LENS_NAME,
    LISTED_ON,
    SURGEON,
    ordinary_eye,
    ordinary_keratometry,
    ordinary_patient,
)
from web.clinic import CASE, KEY, Clinic, draft, listed_patients, new_clinic, operate, review, sign, walk
from web.page import Page
from zonule.case.biometry import OtherCornea
from zonule.case.eye import CornealSurgery, Look
from zonule.case.operation import Fixation
from zonule.case.refraction import Refraction

ANSWERS = {
    "corneal_surgery": "none",
    "contact_lens": "none",
    "tear_film": "good",
    "macula": "doubtful",
    "fundus": "not_seen",
    "pressure_mmhg": "17,5",
    "dilated_pupil_mm": "6.5",
    "sphere_dpt": "\u22121,25",
    "cylinder_dpt": "-0.5",
    "axis_deg": "0",
    "vertex_mm": "13",
    "who": SURGEON,
}


def answer_questions(clinic: Clinic, path: str = CASE, /, **typed: str) -> Response:
    return clinic.submit(f"{path}/measure", **ANSWERS | typed)


class Submit(Protocol):
    def __call__(self, clinic: Clinic, path: str = CASE, /, **typed: str) -> Response: ...


SUBMITS: dict[str, Submit] = {"measure": answer_questions, "operate": operate, "review": review}


def refused(clinic: Clinic, path: str, **typed: str) -> Page:
    before = clinic.record.case(KEY)
    answer = clinic.submit(path, **typed)
    assert answer.status_code == 422
    assert clinic.record.case(KEY) == before
    page = Page(answer.text)
    assert "Not saved." in page.text
    return page


def test_the_answers_no_device_can_give_are_recorded() -> None:
    clinic = new_clinic()
    assert clinic.submit(f"{CASE}/measure", **ANSWERS).status_code == 303
    eye = clinic.record.case(KEY).eye
    assert eye.history.corneal_surgery is CornealSurgery.NONE
    assert eye.history.glasses == Refraction(-1.25, -0.5, 180.0, 13.0)
    assert (eye.readiness.macula, eye.readiness.fundus) == (Look.DOUBTFUL, Look.NOT_SEEN)
    assert (eye.readiness.pressure_mmhg, eye.readiness.answered_on) == (17.5, LISTED_ON)
    page = clinic.page(f"{CASE}/measure")
    assert page.one("input", id="pressure_mmhg").attributes["value"] == "17.5"


def test_the_measure_page_sent_back_as_it_is_changes_no_answer() -> None:
    clinic = new_clinic()
    clinic.submit(f"{CASE}/measure", **ANSWERS)
    before = clinic.record.case(KEY).eye
    clinic.submit(f"{CASE}/measure", who=SURGEON)
    assert clinic.record.case(KEY).eye == before


@pytest.mark.parametrize("field", ["sphere_dpt", "cylinder_dpt", "axis_deg", "vertex_mm", "pressure_mmhg"])
@pytest.mark.parametrize("typed", ["none", "nan", "1e2", "9" * 300])
def test_a_typing_error_among_the_answers_loses_nothing_that_was_typed(field: str, typed: str) -> None:
    page = refused(new_clinic(), f"{CASE}/measure", **ANSWERS | {field: typed})
    assert page.one("input", id=field).attributes["value"] == typed
    assert page.one("input", id="dilated_pupil_mm").attributes["value"] == "6.5"
    (chosen,) = [one for one in page.all("option", value="doubtful") if "selected" in one.attributes]
    assert chosen.parent is page.one("select", id="macula")


@pytest.mark.parametrize("path", ["measure", "operate", "review"])
def test_nothing_is_recorded_without_a_name(path: str) -> None:
    clinic = new_clinic()
    walk(clinic, until="review")
    submit = SUBMITS[path]
    before = clinic.trail_length
    answer = submit(clinic, who=" ")
    assert answer.status_code == 422
    assert "Please enter your name." in Page(answer.text).text
    assert clinic.trail_length == before


@pytest.mark.parametrize("path", ["measure", "operate", "review"])
def test_a_stale_page_is_refused_with_what_to_do_and_what_was_typed(path: str) -> None:
    clinic = new_clinic()
    walk(clinic, until="review")
    submit = SUBMITS[path]
    typed = {} if path == "measure" else {"notes": "typed before"}
    answer = submit(clinic, revision="0", **typed)
    assert answer.status_code in {409, 422}
    page = Page(answer.text)
    assert "Reload it, look at what changed, and save again." in page.text
    if typed:
        assert page.one("textarea", id="notes").text == "typed before"


def test_the_operation_form_takes_lens_and_power_from_the_signed_plan_and_nothing_else() -> None:
    clinic = new_clinic()
    walk(clinic, until="operate")
    page = clinic.page(f"{CASE}/operate")
    filled = {name for name, value in page.fields(page.form("")).items() if value}
    assert filled == {"token", "revision", "plan_digest", "surgeon", "lens_model", "lens_power_dpt", "who"}


def test_an_operation_is_recorded_and_can_be_corrected() -> None:
    clinic = new_clinic()
    walk(clinic, until="operate")
    assert operate(clinic, notes="first", capsulorhexis_mm="5,1").status_code == 303
    assert operate(clinic, notes="second").status_code == 303
    done = clinic.record.case(KEY).operation
    assert done is not None
    assert (done.notes, done.capsulorhexis_mm, done.lens_power_dpt) == ("second", 5.1, 20.5)
    verbs = [entry.verb for entry in clinic.record.trail()]
    assert verbs[:2] == ["correct operation", "record operation"]


def test_another_lens_than_the_signed_one_needs_its_reason() -> None:
    clinic = new_clinic()
    walk(clinic, until="operate")
    answer = operate(clinic, lens_power_dpt="21")
    assert answer.status_code == 422
    assert "This is not the lens that was signed for. Write why it was changed." in answer.text
    assert operate(clinic, lens_power_dpt="21", changed_from_plan="20.5 was dropped").status_code == 303
    assert "Expected with 21.0 D" in clinic.page(f"{CASE}/review").text


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"operated_on": ""}, "Please enter the day of operation."),
        ({"operated_on": "yesterday"}, "is not a date"),
        ({"operated_on": "2999-01-01"}, "lies in the future"),
        ({"operated_on": "2020-01-01"}, "before the day the plan was signed"),
        ({"surgeon": ""}, "Please enter the surgeon."),
        ({"fixation": ""}, "Please choose where the lens sits."),
        ({"fixation": "elsewhere"}, "is not a choice"),
        ({"complication": ""}, "Please choose whether there was a complication."),
        ({"lens_power_dpt": ""}, "Please enter the lens power."),
        ({"plan_digest": "0" * 64}, "signed anew meanwhile"),
    ],
)
def test_an_operation_that_cannot_be_is_refused_with_what_was_typed(
    typed: dict[str, str], words: str
) -> None:
    clinic = new_clinic()
    walk(clinic, until="operate")
    answer = operate(clinic, notes="typed before", **typed)
    assert answer.status_code == 422
    page = Page(answer.text)
    assert words in page.text
    assert page.one("textarea", id="notes").text == "typed before"
    assert clinic.record.case(KEY).operation is None


def test_an_eye_left_without_a_lens_is_recorded_so() -> None:
    clinic = new_clinic()
    walk(clinic, until="operate")
    answer = operate(
        clinic,
        fixation="no_lens",
        lens_model="",
        lens_power_dpt="",
        complication="zonule_loss",
        changed_from_plan="x",
    )
    assert answer.status_code == 303
    done = clinic.record.case(KEY).operation
    assert done is not None
    assert (done.fixation, done.lens_model, done.lens_power_dpt) == (Fixation.NO_LENS, None, None)
    for stage in ("plan", "operate", "review", "learn"):
        assert clinic.get(f"{CASE}/{stage}").status_code == 200
    assert review(clinic).status_code == 303
    assert "nothing had been predicted for its lens" in clinic.page(f"{CASE}/review").text


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"sphere_dpt": ""}, "Please enter the sphere."),
        ({"sphere_dpt": "25"}, "cannot be"),
        ({"cylinder_dpt": ""}, "Please enter the cylinder"),
        ({"cylinder_dpt": "-0.5", "axis_deg": "200"}, "axis"),
        ({"cylinder_dpt": "-0.5", "axis_deg": "181"}, "An axis lies above 0 and up to 180"),
        ({"cylinder_dpt": "-0.5", "axis_deg": "-5"}, "An axis lies above 0 and up to 180"),
        ({"cylinder_dpt": "-0.5", "axis_deg": ""}, "a cylinder but no axis"),
        ({"vertex_mm": ""}, "Please enter the vertex distance"),
        ({"refracted_on": "2999-01-01"}, "lies in the future"),
        ({"refracted_on": "2020-01-01"}, "before the operation"),
        ({"acuity_logmar": "6/6"}, "is not a number"),
        ({"lane_m": "four"}, "is not a number"),
    ],
)
def test_a_refraction_that_cannot_be_is_refused_with_what_was_typed(
    typed: dict[str, str], words: str
) -> None:
    clinic = new_clinic()
    walk(clinic, until="review")
    answer = review(clinic, notes="typed before", **typed)
    assert answer.status_code == 422
    page = Page(answer.text)
    assert words in page.text
    assert page.one("textarea", id="notes").text == "typed before"
    assert clinic.record.case(KEY).review is None


def test_a_review_tells_the_error_with_its_sign_in_words() -> None:
    clinic = new_clinic()
    walk(clinic, until="learn", sphere_dpt="-0,75")
    page = clinic.page(f"{CASE}/review")
    assert "The eye ended at \u22120.75 D, 35 days after the operation" in page.text
    assert "0.79 D more short-sighted than predicted." in page.text


def test_lessons_are_offered_accepted_and_used_by_the_next_plan_which_says_so() -> None:
    clinic = Clinic()
    *reviewed, coming = listed_patients(clinic, 6)
    for path in reviewed:
        walk(clinic, path, sphere_dpt="-0.5")
    draft(clinic, coming)
    before = clinic.page(f"{coming}/plan").text
    assert "No lesson has been accepted for this lens." in before
    assert "+0.04 D" in before
    page = clinic.page("/learn")
    assert "5 eyes landed 0.54 D more short-sighted than predicted on average." in page.text
    (accepted,) = [
        one for one in page.all("form", action="/learn/accept") if page.fields(one)["method"] == "srk_t"
    ]
    answer = clinic.post("/learn/accept", page.fields(accepted) | {"who": SURGEON})
    assert answer.status_code == 303
    (lesson,) = clinic.record.lessons()
    assert -0.55 < lesson.offset_dpt < -0.05
    assert (lesson.surgeon, lesson.lens_model, lesson.eyes) == (SURGEON, LENS_NAME, 5)
    assert "In use since 16 November 2026." in clinic.page("/learn").text
    after = clinic.page(f"{coming}/plan").text
    assert "No lesson has been accepted for this lens." not in after
    assert "from 5 eyes" in after or "5 eyes" in after
    assert before != after


def test_a_plan_for_another_surgeon_says_why_it_does_not_use_the_lesson() -> None:
    clinic = Clinic()
    *reviewed, coming = listed_patients(clinic, 4)
    for path in reviewed:
        walk(clinic, path, sphere_dpt="-0.5")
    page = clinic.page("/learn")
    for form in page.all("form", action="/learn/accept"):
        assert clinic.post("/learn/accept", page.fields(form) | {"who": SURGEON}).status_code == 303
    draft(clinic, coming, surgeon="Somebody Else")
    assert (
        f"It was learned by {SURGEON}; this plan is for Somebody Else." in clinic.page(f"{coming}/plan").text
    )


def test_a_lesson_from_nothing_is_refused_in_words() -> None:
    clinic = new_clinic()
    page = clinic.page("/")
    values = page.fields(page.form("/name")) | {"method": "srk_t", "lens_model": LENS_NAME, "who": SURGEON}
    answer = clinic.post("/learn/accept", values)
    assert answer.status_code == 422
    assert "too few reviewed eyes" in answer.text
    assert clinic.record.lessons() == ()


def test_no_lesson_is_accepted_without_a_name() -> None:
    clinic = Clinic()
    for path in listed_patients(clinic, 2):
        walk(clinic, path)
    page = clinic.page("/learn")
    form = page.all("form", action="/learn/accept")[0]
    answer = clinic.post("/learn/accept", page.fields(form) | {"who": ""})
    assert answer.status_code == 422
    assert clinic.record.lessons() == ()


def test_an_early_refraction_is_kept_but_not_learned_from() -> None:
    clinic = new_clinic()
    walk(clinic, until="review")
    clinic.today += timedelta(days=7)
    assert review(clinic).status_code == 303
    assert "refracted before 28 days" in clinic.page(f"{CASE}/learn").text


def test_a_remembered_name_stands_in_every_form_and_can_be_forgotten() -> None:
    clinic = new_clinic()
    sent = clinic.submit("/", "/name", who=" \u00c9lodie \u201cQ\u201d %20; ")
    assert sent.status_code == 303
    for path in ("/import", f"{CASE}/measure"):
        name = clinic.page(path).one("input", id="who").attributes["value"]
        assert name == "\u00c9lodie \u201cQ\u201d %20;"
    clinic.submit("/", "/name", who="")
    assert clinic.page("/import").one("input", id="who").attributes["value"] == ""


def test_a_name_too_long_to_be_one_is_refused() -> None:
    assert new_clinic().submit("/", "/name", who="x" * 81).status_code == 422


def test_a_file_is_taken_in_through_the_page_and_each_bad_row_is_named() -> None:
    clinic = new_clinic()
    page = clinic.page("/import")
    values = page.fields(page.form("")) | {"who": SURGEON}
    values.pop("file")
    table = (
        "patient_key,name,eye,measured_on,method,axial_length_mm,flat_power_dpt,steep_power_dpt,keratometric_index\n"
        "new-1,Ada One,right,2026-11-02,optical,23.5,43,44,1.3375\n"
        "new-2,Ada Two,left,2026-11-02,optical,23.5 mm,43,44,1.3375\n"
    )
    for _ in range(2):
        answer = clinic.post("/import", values, files={"file": ("eyes.csv", table.encode())})
        assert answer.status_code == 200
        assert "eyes.csv, row 3" in answer.text
    assert "eyes.csv has been imported before; nothing was added." in answer.text
    assert clinic.record.case("new-1-right").eye.biometry.axial_length_mm is not None
    assert clinic.record.patient("new-2") is None


def test_a_file_brought_in_again_is_not_said_to_be_taken_in() -> None:
    clinic = new_clinic()
    page = clinic.page("/import")
    values = page.fields(page.form("")) | {"who": SURGEON}
    values.pop("file")
    table = (
        "patient_key,eye,measured_on,method,length_convention,axial_length_mm,flat_power_dpt,steep_power_dpt,"
        "keratometric_index,corneal_surgery\n"
        "new-1,right,2026-11-02,optical,composite,23.5,43,44,1.3375,none\n"
    )
    first, again = (
        clinic.post("/import", values, files={"file": ("eyes.csv", table.encode())}) for _ in range(2)
    )
    assert "Every row was taken in, and nothing looks wrong." in first.text
    assert "Every row was taken in" not in again.text


@pytest.mark.parametrize(
    "content", [b"", b"\x00\xff" * 40, b"not,a,known,header\n1,2,3,4\n", b"PK\x03\x04zip"]
)
def test_a_file_that_cannot_be_read_is_refused_in_words(content: bytes) -> None:
    clinic = new_clinic()
    before = clinic.trail_length
    page = clinic.page("/import")
    values = page.fields(page.form("")) | {"who": SURGEON}
    values.pop("file")
    answer = clinic.post("/import", values, files={"file": ("eyes.csv", content)})
    assert answer.status_code == 422
    assert "eyes.csv" in answer.text
    assert clinic.trail_length == before


def test_an_import_without_a_file_or_a_name_is_refused_in_words() -> None:
    clinic = new_clinic()
    page = clinic.page("/import")
    values = page.fields(page.form(""))
    values.pop("file")
    assert "Choose a file first." in clinic.post("/import", values | {"who": SURGEON}).text
    answer = clinic.post("/import", values, files={"file": ("eyes.csv", b"patient_key,eye\n")})
    assert (answer.status_code, "Please enter your name." in answer.text) == (422, True)


def test_two_signatures_of_one_page_leave_one_plan() -> None:
    clinic = new_clinic()
    draft(clinic)
    page = clinic.page(f"{CASE}/plan")
    values = page.fields(page.form("plan/sign")) | {"who": SURGEON}
    assert clinic.post(f"{CASE}/plan/sign", values).status_code == 303
    assert clinic.post(f"{CASE}/plan/sign", values).status_code in {409, 422}
    assert [entry.verb for entry in clinic.record.trail()].count("sign plan") == 1
    assert sign(clinic).status_code == 303


def test_a_review_with_an_axis_of_0_keeps_180() -> None:
    clinic = new_clinic()
    walk(clinic, until="review")
    assert review(clinic, cylinder_dpt="-0.5", axis_deg="0").status_code == 303
    done = clinic.record.case(KEY).review
    assert done is not None
    assert done.refraction.axis_deg == 180.0


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"axis_deg": "181"}, "An axis lies above 0 and up to 180"),
        ({"axis_deg": "-1"}, "An axis lies above 0 and up to 180"),
        ({"axis_deg": ""}, "a cylinder but no axis"),
        ({"sphere_dpt": "-41"}, "sphere of -40 to 30 D"),
        ({"cylinder_dpt": "-75"}, "cylinder of up to 15 D"),
    ],
)
def test_glasses_that_cannot_be_are_refused_with_what_was_typed(typed: dict[str, str], words: str) -> None:
    page = refused(new_clinic(), f"{CASE}/measure", **ANSWERS | typed)
    assert words in page.text


def test_the_measure_page_shows_the_back_of_the_cornea_and_what_another_device_read() -> None:
    clinic = Clinic()
    other = OtherCornea(ordinary_keratometry(43.2, 44.1, steep_meridian_deg=98.0), "Keratometer B", LISTED_ON)
    eye = ordinary_eye(
        posterior_flat_radius_mm=6.6,
        posterior_steep_radius_mm=6.2,
        posterior_steep_meridian_deg=90.0,
        other_corneas=(other,),
    )
    clinic.add(ordinary_patient(), eye)
    text = clinic.page(f"{CASE}/measure").text
    assert "Back of the cornea, steep at 90\u00b0" in text
    assert "6.20 mm" in text
    assert "its scatter is not known" in text
    assert "Cornea by Keratometer B" in text
    assert "steep at 98\u00b0" in text
    assert "Keratometer B (" not in text
    assert "agrees with Biometer A" in text


def test_the_measure_page_has_no_empty_rows_for_a_back_nobody_measured() -> None:
    assert "Back of the cornea" not in new_clinic().page(f"{CASE}/measure").text
