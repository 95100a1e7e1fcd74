"""Who may talk to the app, and what every answer forbids."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from fastapi.routing import APIRoute
from httpx2 import Response

import zonule.web
from fakes.examples import SURGEON
from web.clinic import CASE, KEY, ORIGIN, PORT, Clinic, new_clinic, walk
from web.page import Page
from zonule.web import day, learn, lenses, measure, operate, plan, review
from zonule.web.security import HEADERS, LARGEST_FORM_BYTES, LARGEST_UPLOAD_BYTES

WEB = Path(zonule.web.__file__).parent
STATIC, TEMPLATES = WEB / "static", WEB / "templates"
WRITES = (
    ("/name", "/", "/name"),
    ("/import", "/import", ""),
    ("/lenses", "/lenses", ""),
    ("/learn/accept", "/", "/name"),
    (f"{CASE}/measure", f"{CASE}/measure", ""),
    (f"{CASE}/listing", f"{CASE}/measure", "listing"),
    (f"{CASE}/plan/draft", f"{CASE}/plan?draft=1", "plan/draft"),
    (f"{CASE}/plan/sign", f"{CASE}/plan?draft=1", "plan/sign"),
    (f"{CASE}/operate", f"{CASE}/operate", ""),
    (f"{CASE}/review", f"{CASE}/review", ""),
)
EVERY_PAGE = (
    "/",
    "/import",
    "/lenses",
    "/learn",
    "/trail",
    *(
        f"{CASE}/{name}"
        for name in ("measure", "plan", "plan?draft=1", "operate", "review", "learn", "theatre")
    ),
)


@pytest.fixture(scope="module")
def whole() -> Clinic:
    """A clinic with a case that has come all the way; these tests save nothing, so they share it."""
    clinic = new_clinic()
    walk(clinic, until="learn")
    return clinic


def values_of(clinic: Clinic, path: str, ending: str) -> dict[str, str]:
    page = clinic.page(path)
    values = page.fields(page.form(ending))
    values.pop("file", None)
    return values | {"who": SURGEON}


@contextmanager
def nothing_saved(clinic: Clinic) -> Iterator[None]:
    before, case = clinic.record.trail(limit=1000), clinic.record.case(KEY)
    yield
    assert clinic.record.trail(limit=1000) == before
    assert clinic.record.case(KEY) == case


def test_the_list_of_writes_is_the_list_of_routes_that_write() -> None:
    routers = [module.router for module in (day, lenses, measure, plan, operate, review, learn)]
    routes = [route for router in routers for route in router.routes if isinstance(route, APIRoute)]
    writing = {route.path for route in routes if set(route.methods or ()) - {"GET", "HEAD"}}
    assert {path.replace("{key:path}", KEY) for path in writing} == {path for path, *_ in WRITES}


@pytest.mark.parametrize(("path", "page", "ending"), WRITES)
@pytest.mark.parametrize("token", [None, "", "wrong", "\u00e9", "x" * 43])
def test_a_write_without_the_token_of_this_run_is_refused(
    whole: Clinic, path: str, page: str, ending: str, token: str | None
) -> None:
    values = values_of(whole, page, ending)
    values.pop("token")
    if token is not None:
        values["token"] = token
    with nothing_saved(whole):
        answer = whole.post(path, values)
    assert answer.status_code == 422
    assert "earlier run of zonule" in answer.text


@pytest.mark.parametrize(("path", "page", "ending"), WRITES)
@pytest.mark.parametrize(
    "origin",
    [
        None,
        "",
        "null",
        "http://evil.example",
        f"https://127.0.0.1:{PORT}",
        "http://127.0.0.1",
        f"{ORIGIN}.evil.example",
        "http://127.0.0.1:1",
    ],
)
def test_a_write_from_another_origin_is_refused(
    whole: Clinic, path: str, page: str, ending: str, origin: str | None
) -> None:
    values = values_of(whole, page, ending)
    headers = {} if origin is None else {"origin": origin}
    with nothing_saved(whole):
        assert whole.client.post(path, data=values, headers=headers).status_code == 403


@pytest.mark.parametrize(
    "host",
    [
        "evil.example",
        f"evil.example:{PORT}",
        "127.0.0.1",
        "127.0.0.1:1",
        "",
        f"127.0.0.1:{PORT}.evil.example",
    ],
)
def test_another_host_is_answered_nothing(whole: Clinic, host: str) -> None:
    for path in (*EVERY_PAGE, "/static/style.css", f"{CASE}/sheet.pdf"):
        answer = whole.get(path, host=host)
        assert answer.status_code == 421
        assert "Ada" not in answer.text
    headers = {"host": host, "origin": f"http://{host}"}
    for path, page, ending in WRITES:
        values = values_of(whole, page, ending)
        with nothing_saved(whole):
            assert whole.client.post(path, data=values, headers=headers).status_code == 421


def test_localhost_is_this_machine_too() -> None:
    clinic = new_clinic()
    assert clinic.get("/", host=f"localhost:{PORT}").status_code == 200


@pytest.mark.parametrize(("path", "page", "ending"), WRITES)
def test_a_form_larger_than_any_of_ours_is_refused(whole: Clinic, path: str, page: str, ending: str) -> None:
    limit = LARGEST_UPLOAD_BYTES if path == "/import" else LARGEST_FORM_BYTES
    values = values_of(whole, page, ending) | {"notes": "x" * limit}
    with nothing_saved(whole):
        assert whole.post(path, values).status_code == 413


def test_a_form_that_does_not_say_its_length_is_refused() -> None:
    clinic = new_clinic()
    headers = {"origin": ORIGIN, "content-type": "application/x-www-form-urlencoded"}
    lying = {**headers, "content-length": "5", "transfer-encoding": "chunked"}
    with nothing_saved(clinic):
        body = (part for part in (b"who=", b"x"))
        assert clinic.client.post("/name", content=body, headers=headers).status_code == 413
        assert clinic.client.post("/name", content=b"who=x", headers=lying).status_code == 413


@pytest.mark.parametrize("method", ["PUT", "PATCH", "DELETE", "OPTIONS", "TRACE"])
def test_other_methods_write_nothing(whole: Clinic, method: str) -> None:
    headers = {"origin": ORIGIN, "content-length": "0"}
    with nothing_saved(whole):
        assert whole.client.request(method, f"{CASE}/measure", headers=headers).status_code == 405


@pytest.mark.parametrize("body", [b"--x\r\nbroken", b"", b"\xff\xfe\x00"])
def test_a_broken_upload_is_refused_in_words(body: bytes) -> None:
    clinic = new_clinic()
    headers = {"origin": ORIGIN, "content-type": "multipart/form-data; boundary=x"}
    answer = clinic.client.post("/import", content=body, headers=headers)
    assert answer.status_code in {400, 422}
    assert "nothing was saved" in answer.text


def all_answers(clinic: Clinic) -> dict[str, Response]:
    paths = (
        *EVERY_PAGE,
        CASE,
        f"{CASE}/sheet.pdf",
        "/nothing",
        "/cases/nobody-left/plan",
        "/?day=x",
        "/static/style.css",
        "/static/nothing",
        "/static/htmx-2.0.10.min.js",
        "/static/mark.svg",
    )
    answers = {path: clinic.get(path) for path in paths}
    answers["another host"] = clinic.get("/", host="evil.example")
    answers["no token"] = clinic.post("/name", {"who": "x"})
    answers["another origin"] = clinic.client.post("/name", data={"who": "x"}, headers={"origin": "null"})
    answers["redirect"] = clinic.submit("/", "/name", who="x")
    answers["fragment"] = clinic.submit_by_script(f"{CASE}/plan?draft=1", "plan/draft")
    answers["method"] = clinic.client.delete("/", headers={"origin": ORIGIN, "content-length": "0"})
    return answers


def test_every_answer_carries_the_headers_that_forbid(whole: Clinic, monkeypatch: pytest.MonkeyPatch) -> None:
    answers = all_answers(whole)
    monkeypatch.setattr(whole.record, "days", lambda: 1 / 0)
    answers["an error of ours"] = whole.get("/")
    assert answers["an error of ours"].status_code == 500
    for name, answer in answers.items():
        headers = answer.headers
        for header, value in HEADERS.items():
            assert headers.get(header) == value, (name, header)
        assert headers.get("cache-control", "") == "no-store" or name.startswith("/static/"), name


def test_the_policy_allows_only_this_apps_own_files() -> None:
    rules = dict(rule.strip().split(" ", 1) for rule in HEADERS["Content-Security-Policy"].split(";"))
    assert rules["default-src"] == "'none'"
    assert (
        rules["script-src"] == rules["style-src"] == rules["connect-src"] == rules["form-action"] == "'self'"
    )
    assert rules["frame-ancestors"] == rules["base-uri"] == "'none'"


def test_an_error_of_ours_is_a_page_that_says_so_and_shows_no_insides(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    clinic = new_clinic()
    monkeypatch.setattr(clinic.record, "days", lambda: 1 / 0)
    page = clinic.page("/", status=500)
    assert "zonule made an error of its own" in page.text
    assert "ZeroDivisionError" not in page.html
    assert "/" in page.links


def test_no_page_holds_script_or_style_of_its_own(whole: Clinic) -> None:
    pages = [whole.page(path) for path in EVERY_PAGE]
    pages.append(Page(whole.submit_by_script(f"{CASE}/plan?draft=1", "plan/draft").text))
    pages.append(whole.page("/nothing", status=404))
    for page in pages:
        assert page.all("style") == []
        assert [
            one
            for one in page.all("script")
            if one.text or not one.attributes.get("src", "").startswith("/static/")
        ] == []
        named = {name for one in page.elements for name in one.attributes}
        assert "style" not in named
        assert not [name for name in named if name.startswith(("on", "hx-on"))]
        outside = [
            one.attributes.get(name, "") for one in page.elements for name in ("src", "href", "action")
        ]
        assert not [link for link in outside if re.match(r"(?i)\s*(https?:|//|javascript:|data:)", link)]


def test_vendored_files_are_the_ones_that_were_looked_at() -> None:
    lines = (STATIC / "SHA256SUMS").read_text().splitlines()
    sums = {name: digest for digest, name in (line.split(maxsplit=1) for line in lines)}
    vendored = {
        str(path.relative_to(STATIC)) for path in (*STATIC.rglob("*.woff2"), *STATIC.rglob("htmx*.js"))
    }
    assert set(sums) == vendored
    for name, digest in sums.items():
        assert hashlib.sha256((STATIC / name).read_bytes()).hexdigest() == digest, name


def test_every_static_file_a_page_or_style_asks_for_is_there(whole: Clinic) -> None:
    asked = set(re.findall(r'url\("([^"]+)"\)', (STATIC / "style.css").read_text()))
    paths = {f"/static/{name}" for name in asked}
    for path in EVERY_PAGE:
        page = whole.page(path)
        found = [one.attributes.get(name, "") for one in page.elements for name in ("src", "href")]
        paths |= {link for link in found if link.startswith("/static/")}
    assert len(paths) > 5
    for path in paths:
        assert whole.get(path).status_code == 200, path


def _sync_is_safe(element_attributes: dict[str, str]) -> bool:
    return element_attributes.get("hx-sync") in {"this:replace", "this:queue last"}


def test_everything_that_recomputes_a_clinical_number_waits_its_turn() -> None:
    found = 0
    for path in TEMPLATES.glob("*.html"):
        for one in Page(path.read_text()).elements:
            if {"hx-get", "hx-post", "hx-put", "hx-patch", "hx-delete"} & set(one.attributes):
                found += 1
                assert _sync_is_safe(one.attributes), path.name
    assert found


def test_the_page_turns_off_what_the_policy_forbids_in_the_script_library() -> None:
    settings = new_clinic().page("/").one("meta", name="htmx-config").attributes["content"]
    assert '"includeIndicatorStyles": false' in settings
    assert '"allowEval": false' in settings


def test_two_runs_of_the_server_have_two_tokens() -> None:
    assert new_clinic().token != new_clinic().token
    assert len(new_clinic().token) >= 32
