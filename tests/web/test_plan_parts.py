"""The sections of the plan page: there when they should be, with the plan's numbers, each thing once."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from fakes.acts import ordinary_act
from fakes.examples import ordinary_eye, ordinary_lens, ordinary_patient, ordinary_readiness
from fakes.pairs import ordinary_second_eye
from web.clinic import CASE, KEY, REASON, Clinic, draft, operate, review, sign
from web.page import Page
from zonule.case.eye import CornealSurgery
from zonule.case.finding import Finding, Severity, note, warning
from zonule.case.lens import Haptic, PowerRange
from zonule.case.pair import Distance, Importance, PairWishes, Strategy, Task, Tried
from zonule.case.patient import Side
from zonule.case.plan import Plan, Refused
from zonule.drawings import backup_sentences, numbers, pair_sentences, sentences, words, worth_sentences
from zonule.drawings.doubts import besides_refusals, doubts_of, place_text
from zonule.web import plan as plan_module
from zonule.web.backup_table import place_rows
from zonule.web.pair_form import FIELDS
from zonule.workflow.forecast import plan_eye, with_chosen_power
from zonule.workflow.plan import request_for

LEFT = "demo-0042-left"
LASER = {
    "axial_length_mm": 26.0,
    "flat_power_dpt": 37.8,
    "steep_power_dpt": 38.2,
    "corneal_surgery": CornealSurgery.MYOPIC_LASER,
}
ASKED = {
    "dominant_eye": "right",
    "tolerated_anisometropia_dpt": "1.5",
    "tried_blended": "no",
    "task_far": "most",
    "task_arms_length": "some",
    "task_near": "little",
    "aim_distance": "\u22120.25",
    "aim_blended_dominant": "0",
    "aim_blended_other": "\u22121",
    "aim_near": "\u22122.25",
}
OPTIONAL = ("cornea", "repeat", "torn", "second-eye", "both", "two-targets", "none")


def clinic_of(*sides: Side, **eye: Any) -> Clinic:
    """The ordinary patient with these eyes, alike but for a tenth of a millimetre, and a drafted plan."""
    clinic = Clinic()
    length_mm = eye.pop("axial_length_mm", 23.5)
    both = [
        ordinary_eye(side, readiness=ordinary_readiness(), axial_length_mm=length_mm + 0.1 * index, **eye)
        for index, side in enumerate(sides or (Side.RIGHT,))
    ]
    clinic.add(ordinary_patient(), *both)
    draft(clinic, lens_power_dpt="")
    return clinic


def second_eye_clinic(sphere_dpt: str = "-0.75") -> Clinic:
    """The right eye operated and refracted five weeks ago; the left is planned."""
    clinic = clinic_of(Side.RIGHT, Side.LEFT)
    draft(clinic, lens_power_dpt="20.5")
    assert sign(clinic).status_code == 303
    assert operate(clinic).status_code == 303
    clinic.today += timedelta(days=35)
    assert review(clinic, sphere_dpt=sphere_dpt).status_code == 303
    with ordinary_act(clinic.record, LEFT) as act:
        act.put_case(LEFT, "demo-0042", Side.LEFT, clinic.today)
    draft(clinic, f"/cases/{LEFT}", lens_power_dpt="")
    return clinic


def plan_of(clinic: Clinic, key: str = KEY) -> Plan:
    case = clinic.record.case(key)
    return plan_eye(request_for(case, clinic.record), clinic.today)


def plan_page(clinic: Clinic, key: str = KEY) -> Page:
    return clinic.page(f"/cases/{key}/plan")


def shown(page: Page) -> set[str]:
    """Which of the sections that come and go are there."""
    there = {one.attributes.get("aria-labelledby", "") for one in page.all("section")}
    return there & set(OPTIONAL)


def said(page: Page, section: str) -> str:
    return page.one("section", aria_labelledby=section).text


def rows(page: Page, section: str) -> list[list[str]]:
    """The cells of a section's tables."""
    outer = page.one("section", aria_labelledby=section)
    lines = [one for one in page.all("tr") if one.inside(outer)]
    cells = [one for one in page.elements if one.tag in {"th", "td"}]
    return [[cell.text for cell in cells if cell.parent is line] for line in lines]


def test_one_ordinary_eye_has_no_section_that_says_nothing() -> None:
    page = plan_page(clinic_of())
    assert shown(page) == {"repeat", "torn"}
    headings = page.all("h2")
    assert all(one.text for one in (*headings, *page.all("p")) if "changed" not in one.attributes.values())


def test_an_eye_without_odds_is_told_so_once_in_words_and_once_in_the_drawing() -> None:
    cone = ordinary_eye(
        readiness=ordinary_readiness(),
        corneal_surgery=CornealSurgery.KERATOCONUS,
        flat_power_dpt=47.0,
        steep_power_dpt=49.0,
        posterior_flat_radius_mm=5.9,
        posterior_steep_radius_mm=5.7,
    )
    clinic = Clinic()
    clinic.add(ordinary_patient(), cone)
    with ordinary_act(clinic.record, "catalogue") as act:
        constants = replace(ordinary_lens().constants, c_constant=0.39)
        act.put_lens(ordinary_lens(constants=constants))
    draft(clinic, lens_power_dpt="17.0")
    plan = plan_of(clinic)
    assert plan.methods
    assert plan.odds is None
    page = plan_page(clinic)
    headline = page.one("p", id="headline").text
    assert headline.startswith("17.0 D is expected to leave")
    assert headline.endswith("There are no odds.")
    assert {plan.no_odds_because in one.text for one in page.all("desc") if "No odds" in one.text} == {True}
    assert all(one.text for one in page.all("p") if one.attributes.get("class") != "changed")


def test_an_eye_without_aim_and_lens_is_told_what_to_do_and_has_no_empty_section() -> None:
    clinic = Clinic()
    clinic.add()
    page = plan_page(clinic)
    assert shown(page) <= {"both"}
    assert "agree it with the patient and enter it" in said(page, "doubts")
    assert "cannot be signed until what stops it is resolved" in said(page, "sign")


def test_corrections_of_an_operated_cornea_stand_side_by_side_with_the_reading() -> None:
    clinic = clinic_of(**LASER)
    plan = plan_of(clinic)
    page = plan_page(clinic)
    assert len(plan.corneas) >= 3
    assert sentences.corneas_sentence(plan) in said(page, "cornea")
    table = rows(page, "cornea")[1:]
    assert table[0][:2] == ["As read, uncorrected", "38.00 D"]
    assert [line[1] for line in table[1:]] == [numbers.size_text(one.power_dpt) for one in plan.corneas]
    for line, one in zip(table[1:], plan.corneas, strict=True):
        assert line[0] == f"{one.name} {one.source}: {one.status}"


def test_the_agreement_of_the_methods_is_told_with_each_ones_power() -> None:
    clinic = clinic_of()
    plan = plan_of(clinic)
    page = plan_page(clinic)
    assert sentences.agreement_sentence(plan) in said(page, "agree")
    assert [line[:2] for line in rows(page, "agree")[1:]] == [
        [words.method_name(one.method), f"{numbers.plain_text(one.power_for_target_dpt, 2)} D"]
        for one in plan.methods
    ]


def test_methods_refused_for_one_reason_are_named_together_and_told_once() -> None:
    clinic = clinic_of(**LASER)
    plan = plan_of(clinic)
    text = plan_page(clinic).text
    untouched = "The formula is for untouched corneas and would miss by a dioptre or more."
    assert text.count(untouched) == 1
    assert "Not used: SRK/T; T2; Holladay 1; Hoffer Q; Haigis." in text
    assert "Not used: Masket; modified Masket. Needs the refractive change that surgery achieved" in text
    named = "; ".join(names for names, _ in sentences.refusals(plan))
    assert sorted(named.split("; ")) == sorted(words.method_name(one.method) for one in plan.refused)


def test_a_doubt_of_several_methods_is_said_once_with_their_names() -> None:
    clinic = clinic_of(axial_length_mm=31.0)
    repeated = [one for one in plan_of(clinic).findings if "every eye longer than 25.3 mm" in one.sentence]
    assert len(repeated) > 1
    doubts = said(plan_page(clinic), "doubts")
    assert doubts.count("every eye longer than 25.3 mm") == 1
    for one in repeated:
        assert words.method_name(one.where.removeprefix("methods.")) in doubts


def test_every_finding_of_the_plan_is_on_the_page() -> None:
    for eye in (LASER, {"axial_length_mm": 31.0}, {"corneal_surgery": CornealSurgery.GRAFT}):
        clinic = clinic_of(Side.RIGHT, Side.LEFT, **eye)
        text = plan_page(clinic).text
        missing = [
            one.sentence
            for one in plan_of(clinic).findings
            if one.sentence not in text and one.sentence.partition(" needs ")[2] not in text
        ]
        assert missing == []


def test_the_count_of_doubts_is_the_number_of_boxes_below() -> None:
    page = plan_page(clinic_of(axial_length_mm=31.0))
    doubts = page.one("section", aria_labelledby="doubts")
    boxes = [one for one in page.all("div") if one.inside(doubts)]
    assert page.one("a", href="#doubts").text == f"{len(boxes)} doubts stand"


def test_an_eye_that_must_not_be_planned_has_no_numbers_and_no_empty_sections() -> None:
    clinic = clinic_of(corneal_surgery=CornealSurgery.GRAFT)
    page = plan_page(clinic)
    assert shown(page) == set()
    assert page.all("table", **{"class": "powers"}) == []
    assert "cannot be signed" in said(page, "sign")


def test_what_is_worth_repeating_has_the_numbers_of_the_plan() -> None:
    clinic = clinic_of()
    worth = plan_of(clinic).worth
    assert worth is not None
    page = plan_page(clinic)
    assert worth_sentences.worth_sentence(worth) in said(page, "repeat")
    assert [line[1:] for line in rows(page, "repeat")[1:]] == [
        [
            f"\u00b1{numbers.size_text(one.sd_dpt)}",
            numbers.in_100_text(one.first_order),
            *(numbers.in_100_text(again.within_0_50) for again in one.repeated),
        ]
        for one in worth.inputs
    ]


def three_piece_in(clinic: Clinic, name: str, powers: PowerRange) -> None:
    with ordinary_act(clinic.record, "catalogue") as act:
        act.put_lens(ordinary_lens(name, powers=powers, haptic=Haptic.THREE_PIECE))


def test_lenses_for_a_torn_capsule_are_those_of_the_plan_that_are_made() -> None:
    clinic = clinic_of()
    three_piece_in(clinic, "Meadow Three", PowerRange(6.0, 30.0, 0.5))
    three_piece_in(clinic, "Meadow Weak", PowerRange(-10.0, 5.0, 1.0))
    draft(clinic, lens_power_dpt="20.0")
    backup = with_chosen_power(plan_of(clinic), 20.0).backup
    assert backup is not None
    page = plan_page(clinic)
    assert "beside Meadow One 20.0 D" in said(page, "torn")
    lines = [line for line in rows(page, "torn")[1:] if len(line) == 4]
    made = [row for place in place_rows(backup) for row in place.rows]
    assert [line[0] for line in lines] == [row.lens for row in made]
    for line, row in zip(lines, made, strict=True):
        assert line[1].startswith(row.power)
        assert line[2] == (row.expected or "not known")
        assert line[3] == row.step_rule
    assert [line[0] for line in rows(page, "torn") if len(line) == 1] == [
        backup_sentences.place_words(one) for one in dict.fromkeys(one.position for one in backup.lenses)
    ]
    assert said(page, "torn").count("Meadow Weak") == 1
    assert "Nothing else is in doubt" not in page.text


def test_the_first_eye_tells_the_second_what_it_moved() -> None:
    clinic = second_eye_clinic("-1.25")
    second = plan_of(clinic, LEFT).second_eye
    assert second is not None
    assert second.used
    page = plan_page(clinic, LEFT)
    assert pair_sentences.second_eye_sentence(second) in said(page, "second-eye")
    assert rows(page, "second-eye")[1:] == [
        [
            words.method_name(method),
            numbers.refraction_text(error),
            numbers.refraction_text(second.shift_of(method)),
        ]
        for method, error in second.errors_dpt
    ]
    assert page.text.count("Find out why before you let it move this plan") == 1
    assert "1 doubt stands about the first eye" in said(page, "second-eye")


def test_the_eye_operated_first_has_no_section_about_a_first_eye() -> None:
    assert "second-eye" not in shown(plan_page(clinic_of(Side.RIGHT, Side.LEFT)))
    assert ordinary_second_eye().used


def test_the_aim_is_compared_with_what_an_operated_fellow_eye_achieved() -> None:
    both = said(plan_page(second_eye_clinic("-0.75"), LEFT), "both")
    assert (
        "The aim would leave this eye 0.75 D more long-sighted than the fellow eye, \u22120.75 D, which is "
        "what it achieved."
    ) in both
    unoperated = said(plan_page(clinic_of(Side.RIGHT, Side.LEFT)), "both")
    assert "more short-sighted than the fellow eye, +0.25 D" in unoperated


def test_both_eyes_are_planned_together_when_somebody_asked() -> None:
    clinic = clinic_of(Side.RIGHT, Side.LEFT)
    assert "two-targets" not in shown(plan_page(clinic))
    draft(clinic, **ASKED)
    pair = plan_of(clinic).pair
    assert pair is not None
    page = plan_page(clinic)
    assert [line[4:] for line in rows(page, "two-targets")[1:]] == [
        [numbers.in_100_text(one.both_within_half), numbers.in_100_text(one.beyond_tolerated or 0.0)]
        for one in pair.strategies
    ]
    for one in pair.strategies:
        assert pair_sentences.strategy_sentence(one, 1.5) in said(page, "two-targets")
    assert "far matters most, arm's length matters somewhat, near matters little." in said(
        page, "two-targets"
    )


def test_of_one_eye_alone_the_page_says_why_both_are_not_planned() -> None:
    clinic = clinic_of()
    draft(clinic, **ASKED)
    page = plan_page(clinic)
    assert "nothing is known of where the left eye ends" in said(page, "two-targets")
    assert rows(page, "two-targets") == []


def fields_of(page: Page) -> dict[str, str]:
    return {name: page.fields(page.form("plan/draft"))[name] for name in FIELDS}


def is_open(page: Page) -> bool:
    (block,) = [
        one for one in page.all("details") if one.text.startswith("Both eyes: what the patient wants")
    ]
    return "open" in block.attributes


def test_what_was_asked_of_both_eyes_is_kept_and_shown_again() -> None:
    clinic = clinic_of()
    assert not is_open(plan_page(clinic))
    draft(clinic, **ASKED)
    assert fields_of(plan_page(clinic)) == {**ASKED, "aim_blended_dominant": "0"}
    assert is_open(plan_page(clinic))
    wishes = clinic.record.case(KEY).intent.pair
    assert wishes is not None
    assert (wishes.dominant_eye, wishes.tolerated_anisometropia_dpt, wishes.tried_blended) == (
        Side.RIGHT,
        1.5,
        Tried.NO,
    )
    assert wishes.tasks == (
        Task(Distance.FAR, Importance.MOST),
        Task(Distance.ARMS_LENGTH, Importance.SOME),
        Task(Distance.NEAR, Importance.LITTLE),
    )
    aims = {one.strategy: (one.dominant_dpt, one.other_dpt) for one in wishes.targets}
    assert aims == {
        Strategy.DISTANCE: (-0.25, -0.25),
        Strategy.BLENDED: (0.0, -1.0),
        Strategy.NEAR: (-2.25, -2.25),
    }


def test_saving_the_page_as_it_stands_changes_nothing_that_was_asked() -> None:
    clinic = clinic_of()
    draft(clinic, **ASKED)
    before = clinic.record.case(KEY).intent.pair
    clinic.submit(f"{CASE}/plan", "plan/draft")
    assert clinic.record.case(KEY).intent.pair == before


@pytest.mark.parametrize(
    "field", ["tolerated_anisometropia_dpt", "aim_distance", "aim_blended_other", "aim_near"]
)
def test_a_typing_error_about_both_eyes_is_told_and_nothing_typed_is_lost(field: str) -> None:
    clinic = clinic_of()
    answer = clinic.submit(f"{CASE}/plan", "plan/draft", **{**ASKED, field: "1.5o"})
    assert answer.status_code == 422
    page = Page(answer.text)
    assert "1.5o" in page.one("div", **{"class": "problem"}).text
    assert fields_of(page) == {**ASKED, field: "1.5o"}
    assert is_open(page)
    assert clinic.record.case(KEY).intent.pair is None


def test_emptied_fields_about_both_eyes_take_the_section_away() -> None:
    clinic = clinic_of(Side.RIGHT, Side.LEFT)
    draft(clinic, **ASKED)
    draft(clinic, **dict.fromkeys(FIELDS, ""))
    assert clinic.record.case(KEY).intent.pair is None
    page = plan_page(clinic)
    assert "two-targets" not in shown(page)
    assert set(fields_of(page).values()) == {""}


def test_one_answer_about_both_eyes_assumes_no_other() -> None:
    clinic = clinic_of()
    draft(clinic, task_near="most")
    wishes = clinic.record.case(KEY).intent.pair
    assert wishes == PairWishes(tasks=(Task(Distance.NEAR, Importance.MOST),))


def test_where_nothing_is_computed_nothing_is_said_of_lessons() -> None:
    page = plan_page(clinic_of(corneal_surgery=CornealSurgery.KERATOCONUS))
    assert "cannot be signed until what stops it is resolved" in said(page, "sign")
    assert "No lesson has been accepted" not in page.text


def test_a_question_nobody_answered_is_read_where_a_reason_is_asked_for_it() -> None:
    clinic = Clinic()
    clinic.add(ordinary_patient(), ordinary_eye())
    draft(clinic, lens_power_dpt="20.5")
    page = plan_page(clinic)
    assert "Why go on with 1 doubt standing?" in said(page, "sign")
    assert "Not yet recorded for this eye" in said(page, "sign")
    assert "No doubts about this plan." not in page.text
    assert sign(clinic, reasons=REASON).status_code == 303
    assert "No doubts." not in clinic.page(f"{CASE}/plan").text


def test_reasons_are_asked_for_each_doubt_once() -> None:
    clinic = clinic_of(axial_length_mm=31.0)
    draft(clinic, lens_power_dpt="6.0")
    page = plan_page(clinic)
    count = page.one("a", href="#doubts").text.split()[0]
    assert f"Why go on with {count} doubts standing?" in said(page, "sign")
    assert len(plan_of(clinic).findings) > int(count)
    assert sign(clinic, reasons=REASON).status_code == 303


def test_a_plan_without_any_method_names_the_reasons_and_offers_no_signature(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    told = note("x", "SRK/T needs a length.", "methods.srk_t")
    bare = replace(plan_of(clinic_of()), methods=(), odds=None, refused=(Refused("srk_t", (told,)),))
    monkeypatch.setattr(plan_module, "plan_eye", lambda *_: replace(bare, findings=(told,), backup=None))
    page = plan_page(clinic_of())
    assert "No method gives a number for this eye" in said(page, "none")
    assert "Not used: SRK/T. Needs a length." in said(page, "none")
    assert "There is no power to choose" in said(page, "sign")


def finding(where: str, sentence: str = "Something.", severity: Severity = Severity.WARNING) -> Finding:
    return replace(warning("x", sentence, where), severity=severity)


def test_only_what_is_the_same_in_every_word_is_said_together() -> None:
    said_of = [finding("methods.srk_t"), finding("methods.t2"), finding("methods", "Another thing.")]
    grave = finding("methods.t2", severity=Severity.BLOCKING)
    assert [(one.sentence, one.place, one.severity) for one in doubts_of([*said_of, grave])] == [
        ("Something.", "SRK/T; T2", Severity.WARNING),
        ("Another thing.", "methods", Severity.WARNING),
        ("Something.", "T2", Severity.BLOCKING),
    ]


def test_a_refusal_that_warns_stays_among_the_doubts() -> None:
    told, grave = note("x", "Told.", "methods.t2"), warning("y", "Grave.", "methods.t2")
    plan = replace(plan_of(clinic_of()), refused=(Refused("t2", (told, grave)), Refused("srk_t", (grave,))))
    assert besides_refusals(plan, (told, grave)) == (grave,)


@pytest.mark.parametrize(
    ("where", "words_for_it"),
    [
        ("fellow.biometry", "fellow eye, measurements"),
        ("biometry.flat_power_dpt", "corneal power"),
        ("biometry.other_corneas.0", "another device's cornea"),
        ("biometry.other_corneas.1.flat_power_dpt", "another device's cornea, corneal power"),
        ("history.corneal_surgery", "corneal surgery"),
        ("backup.anterior_chamber", "anterior chamber"),
        ("fellow.outcome.refraction", "fellow eye, result, refraction"),
        ("lens.powers_dpt", "lens, powers made"),
        ("target_refraction_dpt", "aim"),
        ("methods.unheard_of", "methods, unheard of"),
        ("row 3, axial_length_mm", "row 3, axial length mm"),
    ],
)
def test_where_a_doubt_belongs_is_told_in_words(where: str, words_for_it: str) -> None:
    assert place_text(where) == words_for_it


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"tolerated_anisometropia_dpt": "\u22121.5"}, "differ by 0 to 10 D"),
        ({"tolerated_anisometropia_dpt": "15"}, "differ by 0 to 10 D"),
        ({"aim_near": "2.5"}, "between -6 and +2 D"),
        ({"aim_blended_other": "\u22126.5"}, "between -6 and +2 D"),
    ],
)
def test_wishes_that_nobody_can_have_agreed_are_refused(typed: dict[str, str], words: str) -> None:
    clinic = clinic_of()
    answer = clinic.submit(f"{CASE}/plan", "plan/draft", **{**ASKED, **typed})
    assert answer.status_code == 422
    assert words in Page(answer.text).text
    assert clinic.record.case(KEY).intent.pair is None
