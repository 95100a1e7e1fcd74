"""Every page for everybody: at a desk, on a phone, enlarged, printed, and for assistive technology."""

from __future__ import annotations

import os
import shutil
import struct
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from fakes.examples import SURGEON, ordinary_eye, ordinary_keratometry, ordinary_patient
from web.clinic import CASE, listed_patients, walk
from web.served import PHONE, WIDE, Served, barriers, sideways_overflow_px
from zonule.case.biometry import OtherCornea
from zonule.case.patient import Side

pytestmark = pytest.mark.xdist_group("browser")

ROOT = Path(__file__).parents[2]
WIDTHS = (WIDE, PHONE)
ENLARGED = WIDE // 2
"""A window of 1440 px enlarged to 200 %."""
WHOLE, SIGNED, DRAFT, NEW, STEEP = (
    "/cases/demo-0000-right",
    "/cases/demo-0001-right",
    "/cases/demo-0002-right",
    "/cases/demo-0003-left",
    "/cases/demo-0004-right",
)
TABLE = (
    "patient_key,eye,axial_length_mm,flat_power_dpt,steep_power_dpt\n"
    "a b,right,23.5,43,44\n"
    "c,left,23 mm,43,44\n"
)


MOVING = """[...document.querySelectorAll("*")].filter(one => {
  const style = getComputedStyle(one);
  const times = `${style.transitionDuration}, ${style.animationDuration}`.split(", ");
  return times.some(time => parseFloat(time) > 0);
}).map(one => one.outerHTML.slice(0, 60))"""


def fill(served: Served) -> None:
    """Cases at every stage: all the way round, signed, drafted with doubts, new, and without odds."""
    clinic = served.clinic
    listed_patients(clinic, 2)
    walk(clinic, WHOLE, sphere_dpt="-0.5")
    walk(clinic, SIGNED, until="operate")
    clinic.add(ordinary_patient("demo-0002", name="Person Two"), ordinary_eye(), ordinary_eye(Side.LEFT))
    walk(clinic, DRAFT, until="plan")
    long_name = "A very long name of a person " * 3
    read_twice = ordinary_eye(
        Side.LEFT,
        posterior_flat_radius_mm=6.6,
        posterior_steep_radius_mm=6.2,
        other_corneas=(OtherCornea(ordinary_keratometry(42.0, 44.0), "A keratometer with a long name"),),
    )
    clinic.add(ordinary_patient("demo-0003", name=long_name), read_twice)
    steep = ordinary_eye(axial_length_mm=26.0, flat_power_dpt=48.5, steep_power_dpt=49.5)
    clinic.add(ordinary_patient("demo-0004", name="Person Four"), steep)
    walk(clinic, STEEP, until="plan")


def printed(page: Page, path: Path) -> str:
    """The words of the page as it comes out of a printer."""
    if shutil.which("pdftotext") is None:
        pytest.skip("pdftotext is not installed (apt-get install poppler-utils)")
    page.pdf(path=path, format="A4")
    command = ["pdftotext", "-raw", str(path), "-"]
    return subprocess.run(command, capture_output=True, text=True, check=True).stdout  # noqa: S603 - our own call


def goes_to(path: str) -> Callable[[Page], None]:
    def go(page: Page) -> None:
        page.goto(path)

    return go


def bring_in(page: Page) -> None:
    page.goto("/import")
    page.locator("#file").set_input_files(
        {"name": "eyes.csv", "mimeType": "text/csv", "buffer": TABLE.encode()}
    )
    page.locator("main #who").fill(SURGEON)
    page.locator("main form button").click()
    expect(page.locator(".headline")).to_contain_text("eyes.csv")


def refuse(page: Page) -> None:
    page.goto(f"{SIGNED}/operate")
    page.locator("main form button").click()
    expect(page.locator(".problem")).to_be_visible()


def mistype(page: Page) -> None:
    page.goto(f"{DRAFT}/plan")
    page.locator("#target_refraction_dpt").fill("0.5o")
    page.locator("#surgeon").focus()
    expect(page.locator("#forecast .problem")).to_be_visible()


ADDRESSES = (
    *(f"{WHOLE}/{page}" for page in ("measure", "plan", "operate", "review", "learn", "theatre")),
    *(f"{SIGNED}/{page}" for page in ("plan", "plan?draft=1", "operate", "theatre")),
    *(f"{DRAFT}/{page}" for page in ("measure", "plan")),
    *(f"{NEW}/{page}" for page in ("measure", "plan", "operate", "review", "learn")),
    *(f"{STEEP}/{page}" for page in ("measure", "plan")),
    *(
        "/",
        "/?day=1999-01-01",
        "/import",
        "/lenses",
        "/lenses?name=Meadow%20One",
        "/learn",
        "/trail",
        "/nothing",
        "/cases/nobody-left/plan",
    ),
)
PAGES = {address: goes_to(address) for address in ADDRESSES}
PAGES |= {"import report": bring_in, "refused": refuse, "mistyped": mistype}


@pytest.mark.parametrize("width", WIDTHS)
def test_no_page_puts_a_barrier_in_anybodys_way(served: Served, browser: Browser, width: int) -> None:
    fill(served)
    found: dict[str, list[str]] = {}
    with served.window(browser, width) as page:
        for name, go in PAGES.items():
            go(page)
            if wrong := barriers(page):
                found[name] = wrong
    assert found == {}


@pytest.mark.parametrize("width", [PHONE, ENLARGED, WIDE])
def test_no_page_is_wider_than_its_window(served: Served, browser: Browser, width: int) -> None:
    fill(served)
    with served.window(browser, width) as page:
        wide = {}
        for name, go in PAGES.items():
            go(page)
            if (overflow := sideways_overflow_px(page)) > 0:
                wide[name] = overflow
    assert wide == {}


def test_an_empty_clinic_has_no_barrier_either(served: Served, browser: Browser) -> None:
    for width in WIDTHS:
        with served.window(browser, width) as page:
            page.goto("/")
            assert barriers(page) == []
            page.goto("/learn")
            assert barriers(page) == []
            assert sideways_overflow_px(page) <= 0


def test_nothing_moves_for_people_who_ask_for_stillness(served: Served, browser: Browser) -> None:
    fill(served)
    with served.window(browser, reduced_motion="reduce") as page:
        page.goto(f"{DRAFT}/plan")
        moving = page.evaluate(MOVING)
    assert moving == []


def test_the_printed_plan_shows_the_numbers_and_no_forms(
    served: Served, browser: Browser, tmp_path: Path
) -> None:
    fill(served)
    with served.window(browser) as page:
        page.goto(f"{DRAFT}/plan")
        page.emulate_media(media="print")
        expect(page.locator("form:visible")).to_have_count(0)
        expect(page.locator("table.powers")).to_be_visible()
        expect(page.locator("#headline")).to_be_visible()
        words = printed(page, tmp_path / "plan.pdf")
    said = " ".join(words.split())
    for needed in (
        "Right eye Person Two",
        "20.5 D lands within half a dioptre of 0.00 D",
        "A draft, signed by nobody. Right eye; lens: Meadow One; power: 20.5 D; for R. Calder.",
        "21.0 D \u22120.31 D",
        "One eye's numbers may have been copied into the other.",
        "Not yet recorded for this eye: contact lenses",
        "No regulator has reviewed it",
    ):
        assert needed in said


def test_the_printed_plan_says_what_was_signed(served: Served, browser: Browser, tmp_path: Path) -> None:
    fill(served)
    with served.window(browser) as page:
        page.goto(f"{SIGNED}/plan")
        words = printed(page, tmp_path / "plan.pdf")
    for needed in ("Signed: Meadow One 20.5 D", SURGEON, "20.5 D lands within half a dioptre"):
        assert needed in words


@pytest.mark.parametrize("width", WIDTHS)
def test_focus_can_always_be_seen_and_the_content_is_one_key_away(
    served: Served, browser: Browser, width: int
) -> None:
    fill(served)
    with served.window(browser, width) as page:
        page.goto(f"{DRAFT}/plan")
        page.keyboard.press("Tab")
        expect(page.locator(".skip")).to_be_focused()
        expect(page.locator(".skip")).to_be_in_viewport()
        page.keyboard.press("Enter")
        assert page.evaluate("document.activeElement.id") == "main"
        for _ in range(25):
            page.keyboard.press("Tab")
            where = page.evaluate("document.activeElement.tagName + ' ' + document.activeElement.id")
            outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
            assert outline != "none" or where.startswith("BODY"), where


def test_both_sides_are_told_by_word_and_by_place(served: Served, browser: Browser) -> None:
    fill(served)
    with served.window(browser) as page:
        page.goto("/cases/demo-0000-right/measure")
        right = page.locator("aside.eye").bounding_box()
        page.goto("/cases/demo-0003-left/measure")
        left = page.locator("aside.eye").bounding_box()
    assert right is not None
    assert left is not None
    assert right["x"] < WIDE / 2 < left["x"]


def test_the_page_works_without_scripts(served: Served, browser: Browser) -> None:
    served.clinic.add()
    with served.window(browser, java_script_enabled=False) as page:
        page.goto(f"{CASE}/plan")
        page.locator("#target_refraction_dpt").fill("-0,25")
        page.locator("#lens_model").select_option("Meadow One")
        page.locator(".no-script button").click()
        expect(page.locator("#target_refraction_dpt")).to_have_value("\u22120.25")
        page.locator("input[type=radio][value='21.0']").check()
        page.locator(".no-script button").click()
        page.locator("#forecast #who").fill(SURGEON)
        page.locator("#forecast form button").click()
        expect(page.locator("h1")).to_have_text("Signed: Meadow One 21.0 D")


def test_the_picture_in_the_readme_shows_the_plan_of_an_invented_eye() -> None:
    if os.environ.get("ZONULE_PICTURES"):
        subprocess.run([sys.executable, str(ROOT / "tools" / "take_pictures.py")], check=True)  # noqa: S603 - our own
    picture = (ROOT / "docs" / "pictures" / "plan.png").read_bytes()
    assert picture.startswith(b"\x89PNG")
    assert struct.unpack(">I", picture[16:20]) == (WIDE,)
    assert "docs/pictures/plan.png" in (ROOT / "README.md").read_text()
