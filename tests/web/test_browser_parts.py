"""The sections of the plan page in a browser: by keyboard, on a phone, for assistive technology, on paper."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from fakes.acts import ordinary_act
from fakes.examples import ordinary_eye, ordinary_lens, ordinary_patient, ordinary_readiness
from web.clinic import CASE, REASON, Clinic, draft, operate, review, sign
from web.served import PHONE, WIDE, Served, barriers, press, sideways_overflow_px, tab_to, type_into
from web.test_browser_look import printed
from zonule.case.eye import CornealSurgery, Eye
from zonule.case.lens import Haptic, Material
from zonule.case.patient import Side

pytestmark = pytest.mark.xdist_group("browser")

SECOND = "demo-0042-left"
PAPER_PX = 718
"""A4 between margins of a centimetre."""
ASKED = {
    "dominant_eye": "right",
    "tolerated_anisometropia_dpt": "1.5",
    "tried_blended": "no",
    "task_far": "most",
    "task_arms_length": "some",
}
HEADINGS = {
    "cornea": "What is this cornea's power?",
    "repeat": "Which measurement is worth repeating?",
    "second-eye": "What the first eye says",
    "two-targets": "Two targets",
    "torn": "If the capsule tears",
}
CROSSINGS = """() => {
  const drawing = [...document.querySelectorAll('figure.narrow svg')].find(one => one.querySelector('.dot'));
  const names = [...drawing.querySelectorAll('text')].map(one => one.getBoundingClientRect());
  const lines = [...drawing.querySelectorAll('.aim')].map(one => one.getBoundingClientRect());
  return names.filter(name => lines.some(line =>
    line.left > name.left && line.right < name.right && line.top < name.bottom - 3
    && line.bottom > name.top + 3)).length;
}"""


def laser_eye(side: Side, length_mm: float) -> Eye:
    """An eye after laser for short sight."""
    return ordinary_eye(
        side,
        readiness=ordinary_readiness(),
        axial_length_mm=length_mm,
        flat_power_dpt=37.8,
        steep_power_dpt=38.2,
        corneal_surgery=CornealSurgery.MYOPIC_LASER,
    )


def second_laser_eye(clinic: Clinic) -> str:
    """The path of a second eye after laser, the first one operated and far off, both eyes talked about."""
    clinic.add(ordinary_patient(), laser_eye(Side.RIGHT, 26.0), laser_eye(Side.LEFT, 26.1))
    backup = ordinary_lens("Meadow Three", haptic=Haptic.THREE_PIECE, material=Material.SILICONE)
    with ordinary_act(clinic.record, "catalogue") as act:
        act.put_lens(backup)
    draft(clinic, lens_power_dpt="23.5")
    assert sign(clinic, reasons=REASON).status_code == 303
    assert operate(clinic).status_code == 303
    clinic.today += timedelta(days=35)
    assert review(clinic, sphere_dpt="-1.75").status_code == 303
    with ordinary_act(clinic.record, SECOND) as act:
        act.put_case(SECOND, "demo-0042", Side.LEFT, clinic.today)
    draft(clinic, f"/cases/{SECOND}", lens_power_dpt="23.5", **ASKED)
    return f"/cases/{SECOND}/plan"


def open_everything(page: Page) -> None:
    page.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")


@pytest.mark.parametrize("width", [WIDE, PHONE])
def test_a_second_eye_after_laser_has_every_section_and_no_barrier(
    served: Served, browser: Browser, width: int
) -> None:
    path = second_laser_eye(served.clinic)
    with served.window(browser, width) as page:
        page.goto(path)
        for section, heading in HEADINGS.items():
            expect(page.locator(f"h2#{section}")).to_have_text(heading)
        assert barriers(page) == []
        assert sideways_overflow_px(page) <= 0
        open_everything(page)
        assert barriers(page) == []
        assert sideways_overflow_px(page) <= 0


def test_on_a_phone_only_the_table_of_powers_needs_a_push_sideways(served: Served, browser: Browser) -> None:
    path = second_laser_eye(served.clinic)
    with served.window(browser, PHONE) as page:
        page.goto(path)
        open_everything(page)
        wider = page.evaluate(
            "[...document.querySelectorAll('.scroll')].filter(one => one.scrollWidth > one.clientWidth + 1)"
            ".map(one => one.querySelector('table').className)"
        )
        assert wider == ["powers"]
        page.locator(".scroll:has(table.powers)").evaluate("one => one.scrollLeft = 500")
        power = page.locator("table.powers tr.chosen th").bounding_box()
        assert power is not None
        assert power["x"] >= 0


def test_no_name_of_a_method_is_crossed_by_the_aim_on_a_phone(served: Served, browser: Browser) -> None:
    path = second_laser_eye(served.clinic)
    with served.window(browser, PHONE) as page:
        page.goto(path)
        assert page.evaluate(CROSSINGS) == 0


def test_both_eyes_are_asked_about_by_keyboard_alone(served: Served, browser: Browser) -> None:
    clinic = served.clinic
    clinic.add(ordinary_patient(), ordinary_eye(), ordinary_eye(Side.LEFT, axial_length_mm=23.7))
    draft(clinic, lens_power_dpt="")
    with served.window(browser) as page:
        page.goto(f"{CASE}/plan")
        expect(page.locator("#two-targets")).to_have_count(0)
        press(page, "details:has(#dominant_eye) > summary")
        for field, typed in (("dominant_eye", "right"), ("tried_blended", "no"), ("task_near", "most")):
            tab_to(page, f"#{field}")
            page.keyboard.type(typed)
            expect(page.locator(f"#{field}")).to_have_value(typed)
            page.keyboard.press("Shift+Tab")
        expect(page.locator("#two-targets")).to_have_text("Two targets")
        expect(page.locator("section[aria-labelledby=two-targets] table")).to_contain_text("not asked")
        page.keyboard.press("Home")
        page.locator("h1").click()
        type_into(page, "#tolerated_anisometropia_dpt", "1.5")
        page.keyboard.press("Tab")
        expect(page.locator("section[aria-labelledby=two-targets] table")).not_to_contain_text("not asked")
        page.locator("h1").click()
        type_into(page, "#aim_near", "2,5o")
        page.keyboard.press("Tab")
        expect(page.locator("#forecast .problem")).to_be_visible()
        page.locator("h1").click()
        type_into(page, "#aim_near", "\u22122")
        page.keyboard.press("Tab")
        expect(page.locator("#two-targets")).to_have_text("Two targets")
        page.reload()
        expect(page.locator("#aim_near")).to_have_value("\u22122")
        expect(page.locator("#task_near")).to_have_value("most")
        expect(page.locator("#tolerated_anisometropia_dpt")).to_have_value("1.5")
        expect(page.locator("#aim_near")).to_be_visible()


def test_the_printed_plan_uses_the_whole_page_and_prints_what_was_folded_up(
    served: Served, browser: Browser, tmp_path: Path
) -> None:
    path = second_laser_eye(served.clinic)
    with served.window(browser, PAPER_PX) as page:
        page.goto(path)
        page.emulate_media(media="print")
        work = page.locator(".work").bounding_box()
        powers = page.locator("table.powers").bounding_box()
        assert work is not None
        assert powers is not None
        assert work["width"] > 0.95 * PAPER_PX
        assert powers["x"] + powers["width"] <= PAPER_PX + 1
        expect(page.locator("figure.wide").first).to_be_visible()
        expect(page.locator("figure.narrow:visible")).to_have_count(0)
        expect(page.locator("input:visible")).to_have_count(0)
        said = " ".join(printed(page, tmp_path / "plan.pdf").split())
    for needed in (
        *HEADINGS.values(),
        "over 0.50 D long",
        "What each measurement adds to the spread",
        "Both eyes for reading: the right eye has",
        "How far forward a lens lies",
        "Where these numbers come from",
        "written from memory",
    ):
        assert needed in said
