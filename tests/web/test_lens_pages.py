"""The catalogue of lenses, and the day list, as a clinic with its own record needs them."""

from __future__ import annotations

from datetime import date

import pytest

from fakes.acts import open_case, ordinary_act
from fakes.examples import SURGEON, ordinary_eye, ordinary_patient
from fakes.memory_record import MemoryRecord
from web.clinic import CASE, KEY, Clinic, new_clinic
from zonule.case.lens import Haptic, LensConstants, LensModel, Material, PowerRange
from zonule.demo.lenses import CATALOGUE

LENS = {
    "name": "Thistle Loam",
    "from_dpt": "6",
    "to_dpt": "30",
    "step_dpt": "0,5",
    "a_constant": "118.9",
    "constants_from": "our own 140 eyes",
    "who": SURGEON,
}

SHAPE = {
    "front_radius_mm": "13,36",
    "back_radius_mm": "\u221213,36",
    "refractive_index": "1.47",
    "thickness_mm": "0.85",
    "at_power_dpt": "20",
}


def test_a_lens_is_added_with_its_constants_and_can_then_be_planned_with() -> None:
    clinic = Clinic()
    clinic.add(ordinary_patient(), ordinary_eye())
    answer = clinic.submit("/lenses", "", **LENS)
    assert (answer.status_code, answer.headers["location"]) == (303, "/lenses")
    lens = clinic.record.lens("Thistle Loam")
    assert lens is not None
    assert (lens.powers, lens.constants) == (PowerRange(6.0, 30.0, 0.5), LensConstants(a_constant=118.9))
    assert "Thistle Loam" in clinic.page("/lenses").text
    assert "Thistle Loam" in clinic.page(f"{CASE}/plan").text
    assert [(one.verb, one.who) for one in clinic.record.trail("Thistle Loam")] == [("add lens", SURGEON)]


def test_a_lens_is_changed_from_what_is_on_record() -> None:
    clinic = new_clinic()
    clinic.submit("/lenses", "", **LENS)
    clinic.submit("/lenses?name=Thistle%20Loam", "", surgeon_factor="1.9", who=SURGEON)
    lens = clinic.record.lens("Thistle Loam")
    assert lens is not None
    assert lens.constants == LensConstants(a_constant=118.9, surgeon_factor=1.9)
    assert clinic.record.trail("Thistle Loam")[0].verb == "change lens"


def test_an_empty_form_does_not_overwrite_a_lens_of_the_same_name() -> None:
    clinic = new_clinic()
    clinic.submit("/lenses", "", **LENS)
    before = clinic.record.lens("Thistle Loam")
    for page in ("/lenses", "/lenses?name=Meadow%20One"):
        answer = clinic.submit(page, "", **{**LENS, "a_constant": "118.2"})
        assert answer.status_code == 422
        assert "is in the catalogue already" in answer.text
    assert clinic.record.lens("Thistle Loam") == before


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"a_constant": ""}, "No constant is recorded"),
        ({"a_constant": "1.9"}, "cannot be"),
        ({"to_dpt": "4"}, "lowest first"),
        ({"step_dpt": "zero"}, "is not a number"),
        ({"step_dpt": "0.04"}, "finer than lenses are labelled"),
        ({"constants_from": "x" * 201}, "200 are kept"),
        ({"a0": "1.3"}, "only together"),
        ({"optic_mm": "600"}, "optic is 4 to 8 mm"),
        ({"constants_lane_m": "600"}, "lane is 1 to 10 m"),
        ({"constants_from": ""}, "where the constants come from"),
        ({"who": ""}, "your name"),
        ({"c_constant": "1.6"}, "cannot be a C-constant"),
        ({"overall_mm": "130"}, "8 to 15 mm"),
        ({"material": "glass"}, "not a material known here"),
        ({"haptic": "glued"}, "is not a choice for the haptic"),
        ({"cylinders_dpt": "1.5 1.0"}, "the lowest first"),
        ({"cylinders_dpt": "1.0 one"}, "is not a number"),
        ({"cylinders_dpt": "2, 1"}, "the lowest first"),
        ({"cylinders_dpt": "2,1"}, "one cylinder of 2.1 D or two, 2 and 1 D"),
        ({"haigis-lane_m": "600", "a0": "1.3", "a1": "0.4", "a2": "0.1"}, "lane is 1 to 10 m"),
        ({"front_radius_mm": "13.36"}, "Please enter the back radius"),
        ({**SHAPE, "back_radius_mm": "13.36"}, "label says 20.00 D"),
    ],
)
def test_a_lens_that_no_plan_could_use_is_refused_and_what_was_typed_is_kept(
    wrong: dict[str, str], words: str
) -> None:
    clinic = Clinic()
    answer = clinic.submit("/lenses", "", **{**LENS, **wrong})
    assert answer.status_code == 422
    assert words in answer.text
    assert "Thistle Loam" in answer.text
    assert clinic.record.lens("Thistle Loam") is None


@pytest.mark.parametrize("lens", CATALOGUE, ids=lambda lens: lens.name)
def test_a_lens_kept_as_its_form_shows_it_is_the_same_lens(lens: LensModel) -> None:
    clinic = Clinic()
    with ordinary_act(clinic.record, "catalogue") as act:
        act.put_lens(lens)
    answer = clinic.submit(f"/lenses?name={lens.name}", "", who=SURGEON)
    assert answer.status_code == 303
    assert clinic.record.lens(lens.name) == lens


@pytest.mark.parametrize("typed", ["1.0 1.5 2.25", "1,0 1,5 2,25", "1.0, 1.5, 2.25", "1;1,5;2,25;"])
def test_cylinders_are_read_however_they_are_parted(typed: str) -> None:
    clinic = Clinic()
    clinic.submit(
        "/lenses", "", **LENS, cylinders_dpt=typed, haptic="three piece", material="silicone", **SHAPE
    )
    lens = clinic.record.lens("Thistle Loam")
    assert lens is not None
    assert lens.cylinders_dpt == (1.0, 1.5, 2.25)
    assert (lens.haptic, lens.material) == (Haptic.THREE_PIECE, Material.SILICONE)
    assert lens.geometry is not None
    assert lens.geometry.back_radius_mm == -13.36


def test_the_list_tells_kind_cylinders_and_where_each_constant_comes_from() -> None:
    clinic = Clinic()
    with ordinary_act(clinic.record, "catalogue") as act:
        for lens in CATALOGUE:
            act.put_lens(lens)
    text = " ".join(clinic.page("/lenses").text.split())
    assert "three piece, hydrophobic acrylic, one focus, 6.5 mm optic, shape at 20.0 D" in text
    assert "cylinders 1.00, 1.50, 2.25" in text
    assert "Surgeon factor: invented: the demo clinic's own eyes; 4 m lane; segmental lengths" in text
    assert "\u221210.0 to 5.0 D by 1.0" in text


def test_the_catalogue_goes_out_as_a_file_and_comes_in_again() -> None:
    clinic, other = Clinic(), Clinic()
    with ordinary_act(clinic.record, "catalogue") as act:
        for lens in CATALOGUE:
            act.put_lens(lens)
    assert "/lenses/catalogue.json" in clinic.page("/lenses").links
    file = clinic.client.get("/lenses/catalogue.json")
    assert "attachment" in file.headers["content-disposition"]
    values = {"token": other.token, "who": SURGEON}
    page = other.post("/import", values, files={"file": ("lenses.json", file.content)})
    assert "lenses.json: 9 lenses added, 0 changed." in page.text
    assert other.record.lenses() == clinic.record.lenses()
    changed = file.content.replace(b"118.5", b"118.6")
    page = other.post("/import", values, files={"file": ("lenses.json", changed)})
    assert "0 lenses added, 1 changed, 8 already so." in page.text
    assert "constants a_constant was 118.5, is 118.6" in page.text


def test_a_wrong_catalogue_is_refused_with_every_reason() -> None:
    clinic = Clinic()
    wrong = b'{"zonule": 1, "lenses": [{"model": "A", "haptic": "singel piece"}]}'
    answer = clinic.post(
        "/import", {"token": clinic.token, "who": SURGEON}, files={"file": ("lenses.json", wrong)}
    )
    assert answer.status_code == 422
    assert "single piece" in answer.text
    assert clinic.record.lenses() == ()


def test_an_empty_catalogue_tells_the_plan_page_where_lenses_come_from() -> None:
    record = MemoryRecord()
    open_case(record)
    page = Clinic(record).page(f"{CASE}/plan")
    assert "The catalogue is empty" in page.text
    assert "/lenses" in page.links
    assert "The catalogue is empty" not in new_clinic().page(f"{CASE}/plan").text


def test_a_case_is_put_on_the_list_of_a_day_and_taken_off_again() -> None:
    clinic = new_clinic()
    assert clinic.submit(f"{CASE}/measure", "listing", listed_on="2026-12-03", who=SURGEON).status_code == 303
    assert clinic.record.case(KEY).listed_on == date(2026, 12, 3)
    clinic.submit(f"{CASE}/measure", "listing", listed_on="", who=SURGEON)
    assert clinic.record.case(KEY).listed_on is None
    assert clinic.submit(f"{CASE}/measure", "listing", listed_on="2026-12-03", who="").status_code == 422


def test_a_name_too_long_for_any_file_is_refused() -> None:
    clinic = Clinic()
    answer = clinic.submit("/lenses", "", **{**LENS, "name": "x" * 201})
    assert answer.status_code == 422
    assert "200 are kept" in answer.text
    assert clinic.record.lenses() == ()
