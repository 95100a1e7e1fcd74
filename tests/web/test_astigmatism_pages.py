"""Cylinder and axis on the plan page: chosen, checked, moved without saving, signed."""

from __future__ import annotations

import pytest

from fakes.acts import ordinary_act
from fakes.examples import ordinary_lens
from web.clinic import CASE, KEY, Clinic, draft, new_clinic, sign
from web.page import Page
from zonule.case.toric import CorneaModelName

TORIC = "Meadow Toric"
ASKED = {
    "incision_meridian_deg": "180",
    "incision_width_mm": "2.2",
    "incision_flattening_dpt": "0.1",
    "cornea_model": "anterior",
    "marking": "upright_ink",
}


@pytest.fixture
def clinic() -> Clinic:
    made = new_clinic()
    with ordinary_act(made.record, KEY) as act:
        act.put_lens(ordinary_lens(TORIC, cylinders_dpt=(1.0, 1.5, 2.25), constants_lane_m=6.0))
    draft(made, lens_model=TORIC)
    draft(made, lens_model=TORIC, **ASKED)
    return made


def section(page: Page) -> str:
    (found,) = page.all("section", id="astigmatism")
    return " ".join(found.text.split())


def test_every_cylinder_stands_with_its_residual_and_its_chance(clinic: Clinic) -> None:
    said = section(clinic.page(f"{CASE}/plan"))
    for words in ("1.00 D", "1.50 D", "2.25 D", "none", "should leave", "marks at 95\u00b0"):
        assert words in said


def test_a_lens_without_cylinder_tells_what_the_cornea_will_leave() -> None:
    made = new_clinic()
    draft(made)
    said = section(made.page(f"{CASE}/plan"))
    assert "Without cylinder the lens should leave" in said
    assert "is made without cylinder in the catalogue" in said


def test_a_chosen_cylinder_is_kept_and_what_moved_is_told(clinic: Clinic) -> None:
    answer = clinic.submit_by_script(f"{CASE}/plan", "plan/draft", lens_cylinder_dpt="1.5")
    assert answer.status_code == 200
    assert "The cylinder is now 1.50 D" in answer.text
    assert clinic.record.case(KEY).intent.lens_cylinder_dpt == 1.5


def test_a_meridian_of_0_is_kept_as_180(clinic: Clinic) -> None:
    draft(clinic, lens_model=TORIC, lens_meridian_deg="0", **ASKED)
    assert clinic.record.case(KEY).intent.lens_meridian_deg == 180.0


def test_a_flipped_meridian_stops_the_plan(clinic: Clinic) -> None:
    draft(clinic, lens_model=TORIC, lens_cylinder_dpt="1.5", lens_meridian_deg="5", **ASKED)
    page = clinic.page(f"{CASE}/plan")
    assert "90 degrees away" in page.text
    assert "cannot be signed until" in page.text


def test_moving_the_incision_answers_the_section_and_saves_nothing(clinic: Clinic) -> None:
    before = clinic.record.case(KEY)
    trail = clinic.trail_length
    here, there = (
        clinic.get(f"{CASE}/plan/astigmatism?incision_meridian_deg={cut}").text for cut in (180, 270)
    )
    assert here != there
    assert Page(there).elements[0].attributes["id"] == "astigmatism"
    assert "0.90 D at 96" in there
    assert clinic.record.case(KEY) == before
    assert clinic.trail_length == trail


def test_a_direction_that_is_none_is_refused_in_words(clinic: Clinic) -> None:
    for typed in ("", "x", "nan", "inf"):
        assert clinic.get(f"{CASE}/plan/astigmatism?incision_meridian_deg={typed}").status_code in {
            400,
            404,
            422,
        }


def test_another_lens_forgets_the_cylinder_of_the_first(clinic: Clinic) -> None:
    draft(clinic, lens_model=TORIC, lens_cylinder_dpt="1.5", **ASKED)
    draft(clinic, lens_cylinder_dpt="1.5", **ASKED)
    assert clinic.record.case(KEY).intent.lens_cylinder_dpt is None


def test_an_unknown_model_is_refused(clinic: Clinic) -> None:
    answer = clinic.submit(f"{CASE}/plan", "plan/draft", cornea_model="magic")
    assert answer.status_code == 422
    assert clinic.record.case(KEY).intent.cornea_model is CorneaModelName.ANTERIOR


def test_cylinder_and_axis_are_signed_and_shown(clinic: Clinic) -> None:
    draft(clinic, lens_model=TORIC, lens_cylinder_dpt="1.5", **ASKED)
    form_page = clinic.page(f"{CASE}/plan")
    assert "cylinder 1.50 D at 95\u00b0" in " ".join(form_page.text.split())
    assert sign(clinic).status_code == 303
    signed = clinic.record.case(KEY).signed
    assert signed is not None
    assert (signed.intent.lens_cylinder_dpt, signed.intent.lens_meridian_deg) == (1.5, 95.0)
    assert "1.50 D of cylinder, marks at 95\u00b0" in clinic.page(f"{CASE}/plan").text


def test_a_toric_lens_is_not_signed_without_a_choice(clinic: Clinic) -> None:
    answer = sign(clinic)
    assert answer.status_code == 422
    assert "Choose which, or choose none" in answer.text
