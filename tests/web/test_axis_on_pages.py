"""The axis on the pages of a case: as signed in theatre, as drafted on the plan."""

from __future__ import annotations

import pytest

from fakes.acts import ordinary_act
from fakes.examples import ordinary_lens
from web.clinic import CASE, KEY, Clinic, draft, new_clinic, operate, sign
from web.page import Page
from zonule.case.patient import Side
from zonule.case.plan import Seat
from zonule.drawings.axis_words import axis_words

TORIC = "Meadow Toric"
WISHES = {
    "lens_model": TORIC,
    "incision_meridian_deg": "180",
    "incision_width_mm": "2.2",
    "cornea_model": "anterior",
    "marking": "upright_ink",
    "lens_cylinder_dpt": "1.5",
    "seat": "superior",
}


@pytest.fixture
def clinic() -> Clinic:
    made = new_clinic()
    with ordinary_act(made.record, KEY) as act:
        act.put_lens(ordinary_lens(TORIC, cylinders_dpt=(1.0, 1.5, 2.25), optic_mm=6.0, constants_lane_m=6.0))
    draft(made, lens_model=TORIC)
    draft(made, **WISHES)
    return made


def _signed(clinic: Clinic) -> float:
    assert sign(clinic).status_code == 303
    signed = clinic.record.case(KEY).signed
    assert signed is not None
    assert signed.intent.lens_meridian_deg is not None
    return signed.intent.lens_meridian_deg


def _draft_again(clinic: Clinic, **typed: str) -> None:
    assert clinic.submit(f"{CASE}/plan?draft=1", "plan/draft", **typed).status_code == 303


def _drawn(page: Page) -> str:
    """What the picture of the eye from in front says."""
    return page.all("svg", **{"class": "drawing eye-face"})[0].text


def _marks(meridian_deg: float, how: str) -> str:
    return f"lens marks {meridian_deg:.0f}\u00b0, {how}"


def test_the_theatre_display_shows_cylinder_meridian_and_where_the_line_lies(clinic: Clinic) -> None:
    meridian_deg = _signed(clinic)
    page = clinic.page(f"{CASE}/theatre")
    (told,) = page.all("p", **{"class": "cylinder"})
    assert told.text == f"cylinder 1.50 D marks at {meridian_deg:.0f}\u00b0"
    assert axis_words(meridian_deg, Side.RIGHT, Seat.SUPERIOR) in page.text
    assert _marks(meridian_deg, "planned") in _drawn(page)


def test_a_later_draft_never_reaches_the_theatre_display(clinic: Clinic) -> None:
    meridian_deg = _signed(clinic)
    _draft_again(clinic, incision_meridian_deg="90", lens_cylinder_dpt="2.25", seat="")
    page = clinic.page(f"{CASE}/theatre")
    assert "1.50 D" in page.text
    assert "2.25 D" not in page.text
    assert "incision at 180\u00b0, planned" in _drawn(page)
    assert axis_words(meridian_deg, Side.RIGHT, Seat.SUPERIOR) in page.text


def test_a_toric_model_signed_without_cylinder_is_told_in_theatre_and_a_plain_lens_tells_nothing(
    clinic: Clinic,
) -> None:
    draft(clinic, **WISHES | {"lens_cylinder_dpt": "0"})
    assert sign(clinic).status_code == 303
    assert "without cylinder" in clinic.page(f"{CASE}/theatre").text
    plain = new_clinic()
    draft(plain)
    sign(plain)
    assert "cylinder" not in plain.page(f"{CASE}/theatre").text


def test_the_draft_is_drawn_on_the_meridian_of_its_plan_before_anybody_signs(clinic: Clinic) -> None:
    assert clinic.record.case(KEY).intent.lens_meridian_deg is None
    drawn = _drawn(clinic.page(f"{CASE}/plan"))
    assert "lens marks " in drawn
    assert "level ink at 0\u00b0 and 180\u00b0, planned" in drawn
    assert _marks(_signed(clinic), "planned") in drawn


def test_the_answer_to_a_draft_brings_the_eye_with_it(clinic: Clinic) -> None:
    answer = clinic.submit_by_script(f"{CASE}/plan", "plan/draft", incision_meridian_deg="75")
    face = Page(answer.text).one("figure", id="face")
    assert face.attributes["hx-swap-oob"] == "innerHTML"
    assert "incision at 75\u00b0, planned" in face.text


def test_a_signed_eye_is_drawn_as_signed_save_where_the_next_draft_is_made(clinic: Clinic) -> None:
    _signed(clinic)
    _draft_again(clinic, incision_meridian_deg="75")
    for stage in ("measure", "plan", "operate", "review"):
        assert "incision at 180\u00b0, planned" in _drawn(clinic.page(f"{CASE}/{stage}")), stage
    assert "incision at 75\u00b0, planned" in _drawn(clinic.page(f"{CASE}/plan?draft=1"))


def test_marks_placed_elsewhere_than_planned_are_drawn_beside_the_plan(clinic: Clinic) -> None:
    meridian_deg = _signed(clinic)
    placed_deg = meridian_deg + 6
    answer = operate(clinic, lens_cylinder_dpt="1.5", lens_meridian_deg=f"{placed_deg:.0f}")
    assert answer.status_code == 303, Page(answer.text).text[:900]
    drawn = _drawn(clinic.page(f"{CASE}/review"))
    assert _marks(meridian_deg, "planned") in drawn
    assert _marks(placed_deg, "placed") in drawn
    assert _marks(placed_deg, "placed") not in _drawn(clinic.page(f"{CASE}/theatre"))
