"""What all eyes say of astigmatism through the pages: look, choose, accept; an empty record teaches."""

from __future__ import annotations

import pytest

from fakes.acts import ordinary_act
from fakes.examples import SURGEON
from fakes.refracted import cornea, left, refracted_case, toric_case, visit
from web.clinic import Clinic, new_clinic
from web.page import Page
from workflow.test_incision_lessons import cut
from zonule.case.case import Case

PAGE = "/learn/astigmatism"


def put(clinic: Clinic, cases: list[Case]) -> None:
    """Put reviewed cases on record as they are."""
    with ordinary_act(clinic.record) as act:
        for case in cases:
            assert case.signed is not None
            assert case.operation is not None
            assert case.review is not None
            act.put_patient(case.patient)
            act.put_eye(case.patient.key, case.eye)
            act.put_case(case.key, case.patient.key, case.side, None)
            act.add_signed_plan(case.key, case.signed)
            act.add_operation(case.key, case.operation)
            act.put_axis_visits(case.key, case.axis_visits)
            act.add_review(case.key, case.review)


def full() -> list[Case]:
    """Eyes for every part of the page."""
    lenses = [
        toric_case(
            100 + number,
            before=cornea(1.5, 85.0 + number),
            refraction=left(0.3 + 0.05 * number, 20.0 * number + 5.0),
            left_deg=88.0 + number,
            axis_visits=(visit(1, 87.0 + number), visit(92, 88.0 + number)),
        )
        for number in range(6)
    ]
    return [*lenses, *(cut(200 + number, 0.4, torque_dpt=0.02 * number) for number in range(8))]


@pytest.fixture(scope="module")
def clinic() -> Clinic:
    made = new_clinic()
    put(made, full())
    return made


def test_an_empty_record_teaches_what_to_record() -> None:
    page = new_clinic().page(PAGE)
    assert "No reviewed eye counts yet" in page.text
    assert "Lenses without cylinder count too" in page.text
    assert not page.all("table")


def test_the_page_is_reached_from_all_eyes_and_leads_back(clinic: Clinic) -> None:
    assert PAGE in clinic.page("/learn").links
    assert "/learn" in clinic.page(PAGE).links
    assert PAGE in new_clinic().page("/learn").links


def test_the_plot_comes_before_every_single_figure(clinic: Clinic) -> None:
    text = clinic.page(PAGE).text
    order = [
        text.index(words)
        for words in (
            "Cross: centroid, the mean vector",
            "Which cornea model foretold these eyes?",
            "Toric lenses: meant, done, missing",
            "correction index",
            "How toric lenses turned",
            "What your incisions do",
        )
    ]
    assert order == sorted(order)
    assert "Look at the plot of the difference first" in text


def test_each_choice_of_vectors_shows_its_own(clinic: Clinic) -> None:
    first = clinic.page(PAGE)
    choices = [link for link in first.links if link.startswith(f"{PAGE}?vectors=")]
    assert len(choices) >= 9
    said = set()
    for choice in choices:
        page = clinic.page(choice.removesuffix("#plot"))
        (current,) = page.all("a", **{"aria-current": "true"})
        said.add((current.text, page.one("figure", **{"class": "wide plot"}).text))
    assert len(said) == len(choices)


def test_a_choice_that_is_none_shows_what_was_left(clinic: Clinic) -> None:
    (current,) = clinic.page(f"{PAGE}?vectors=nonsense").all("a", **{"aria-current": "true"})
    assert current.text == "Left after refraction"


def test_every_model_stands_with_its_eyes_and_its_source(clinic: Clinic) -> None:
    table = clinic.page(PAGE).one("table", **{"class": "outcomes"}).text
    for words in ("Front reading as it is", "abulafia-2016; from memory", "Savini", "Regression", "Goggin"):
        assert words in table


def test_limits_of_the_standards_stand_beside_the_lenses(clinic: Clinic) -> None:
    text = clinic.page(PAGE).text
    assert "Within 10\u00b0: 6 of 6. The standard asks for 90 in 100: met." in text
    assert "Within 5\u00b0: 6 of 6. The standard asks for 90 in 100: met." in text
    assert "Your few eyes are no such trial." in text


def test_accepting_what_incisions_teach_keeps_it_and_moves_what_is_predicted() -> None:
    clinic = new_clinic()
    put(clinic, full())
    before = clinic.page(PAGE)
    assert "Look at your incisions first" in before.text
    answer = clinic.submit(PAGE, "/accept", who=SURGEON)
    assert (answer.status_code, answer.headers["location"]) == (303, f"{PAGE}#incisions")
    (lesson,) = clinic.record.incision_lessons()
    assert (lesson.surgeon, lesson.eyes, lesson.learned_on) == (SURGEON, 8, clinic.today)
    after = clinic.page(PAGE)
    assert "In use since" in after.text
    assert "Look at your incisions first" not in after.text
    assert not after.all("button", **{"class": "quiet"})[1:]


def test_nothing_is_accepted_without_a_name_or_for_a_kind_that_nobody_cut() -> None:
    clinic = new_clinic()
    put(clinic, full())
    page = clinic.page(PAGE)
    fields = page.fields(page.form("/accept"))
    assert clinic.post(f"{PAGE}/accept", fields | {"who": ""}).status_code == 422
    refused = clinic.post(f"{PAGE}/accept", fields | {"key": "nobody: nasal, 9.9 mm", "who": SURGEON})
    assert refused.status_code == 422
    assert "too few corneas" in Page(refused.text).text
    assert clinic.record.incision_lessons() == ()


def test_eyes_left_out_are_counted_with_their_reasons() -> None:
    clinic = new_clinic()
    put(clinic, [refracted_case(1, days_after=10), refracted_case(2)])
    text = clinic.page(PAGE).text
    assert "Left out: 1, refracted before 28 days." in text
    assert "Left out: 2, cornea not measured after the operation." in text
