"""Hostile text in every place a person can type into is shown as text, and every link still works."""

from __future__ import annotations

from dataclasses import replace
from urllib.parse import quote

import pytest

from fakes.acts import ordinary_act
from fakes.examples import ordinary_eye, ordinary_lens, ordinary_patient, ordinary_readiness
from web.clinic import Clinic, draft, operate, review, sign
from web.page import Page
from zonule.case.case import case_key
from zonule.case.patient import Side

NASTY = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "' onfocus='alert(1)",
    "</textarea></title></svg><b>bold",
    "{{ token }} {% raw %}",
    "&lt;b&gt; &amp; \u202eabc\u202c",
)
STAGES = ("measure", "plan", "operate", "review", "learn", "theatre")


def _is_clean(page: Page) -> bool:
    handlers = [name for one in page.elements for name in one.attributes if name.startswith("on")]
    scripts = [one for one in page.all("script") if "src" not in one.attributes or one.text]
    return not handlers and not scripts and not page.all("b") and not page.all("img", src="x")


@pytest.mark.parametrize("text", NASTY)
def test_text_typed_anywhere_is_shown_as_text(text: str) -> None:
    clinic = Clinic()
    key = clinic.add(
        ordinary_patient("demo-0042", name=text),
        replace(ordinary_eye(device=text), readiness=ordinary_readiness()),
    )
    path = f"/cases/{key}"
    with ordinary_act(clinic.record, key) as act:
        act.put_lens(ordinary_lens(name=text))
    draft(clinic, path, lens_model=text, surgeon=text)
    assert sign(clinic, path, who=text[:80]).status_code == 303
    assert (
        operate(clinic, path, notes=text, lens_serial=text, changed_from_plan=text, surgeon=text).status_code
        == 303
    )
    clinic.today = clinic.today.replace(month=12, day=30)
    assert review(clinic, path, notes=text).status_code == 303
    pages = [clinic.page(f"{path}/{stage}") for stage in STAGES]
    pages += [
        clinic.page(other) for other in ("/", "/?day=2026-11-16", "/learn", "/trail", f"/trail?subject={key}")
    ]
    assert all(_is_clean(page) for page in pages)
    assert " ".join(text.split()) in pages[0].text
    assert pages[2].one("textarea", id="notes").text == " ".join(text.split())


@pytest.mark.parametrize("text", NASTY)
def test_a_problem_quotes_what_was_typed_as_text(text: str) -> None:
    clinic = Clinic()
    key = clinic.add()
    answer = clinic.submit(f"/cases/{key}/plan", "plan/draft", target_refraction_dpt=text)
    assert answer.status_code == 422
    page = Page(answer.text)
    assert _is_clean(page)
    assert page.one("input", id="target_refraction_dpt").attributes["value"] == text
    answer = clinic.submit_by_script(f"/cases/{key}/plan", "plan/draft", target_refraction_dpt=text)
    assert _is_clean(Page(answer.text))


@pytest.mark.parametrize("text", NASTY)
def test_a_hostile_address_is_answered_with_clean_words(text: str) -> None:
    clinic = Clinic()
    for path in (
        f"/cases/{quote(text, safe='')}",
        f"/trail?subject={quote(text, safe='')}",
        f"/?day={quote(text, safe='')}",
    ):
        assert _is_clean(Page(clinic.get(path).text))


@pytest.mark.parametrize(
    "patient_key",
    [
        "two words",
        "1234/26",
        "50%",
        "\u00c9lodie-\u738b",
        "a?b#c",
        "a&b=c;d",
        "plan",
        "..",
        "a\\b",
        "+1",
    ],
)
def test_a_case_works_whatever_its_patients_key_looks_like(patient_key: str) -> None:
    clinic = Clinic()
    eyes = [replace(ordinary_eye(side), readiness=ordinary_readiness()) for side in Side]
    patient = ordinary_patient(patient_key)
    clinic.add(patient, *eyes)
    clinic.add(patient, *reversed(eyes))
    path = f"/cases/{quote(case_key(patient_key, Side.RIGHT), safe='')}"
    assert path in clinic.page("/").links
    draft(clinic, path)
    assert sign(clinic, path, reasons="Both eyes were measured alike.").status_code == 303
    assert operate(clinic, path).status_code == 303
    clinic.today = clinic.today.replace(month=12, day=30)
    assert review(clinic, path).status_code == 303
    for stage in STAGES:
        page = clinic.page(f"{path}/{stage}")
        for link in set(page.links):
            assert clinic.client.get(link, follow_redirects=True).status_code == 200, link
    assert clinic.record.case(case_key(patient_key, Side.RIGHT)).review is not None
    assert clinic.record.trail(case_key(patient_key, Side.RIGHT))[0].verb == "record review"
