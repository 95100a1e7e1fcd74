"""The incision moved on the eye itself: by hand and by keys, from every seat."""

from __future__ import annotations

from math import atan2, cos, degrees, dist, radians, sin

import pytest
from playwright.sync_api import Browser, Page, Request, expect

from fakes.acts import ordinary_act
from fakes.examples import ordinary_eye, ordinary_lens, ordinary_patient, ordinary_readiness
from web.clinic import CASE, KEY, draft, walk
from web.served import PHONE, WIDE, Served, barriers, sideways_overflow_px, tab_to
from zonule.case.patient import Side
from zonule.case.plan import Intent

pytestmark = pytest.mark.xdist_group("browser")

TORIC = "Meadow Toric"
WISHES = {
    "lens_model": TORIC,
    "incision_meridian_deg": "180",
    "incision_width_mm": "2.2",
    "cornea_model": "anterior",
    "marking": "upright_ink",
    "lens_cylinder_dpt": "1.5",
}
HANDLE = ".incision-handle"
WEDGE = """() => [...document.querySelector('#face polygon.incision').points].map(({x, y}) => [x, y])"""
CENTRE = """() => {
  const drawn = document.querySelector('#face svg'), box = drawn.viewBox.baseVal;
  const seen = drawn.getBoundingClientRect(), scale = seen.width / box.width;
  return [seen.left - box.x * scale, seen.top - box.y * scale, scale];
}"""


def _plan(served: Served, side: Side = Side.RIGHT, **wishes: str) -> str:
    key = served.clinic.add(None, ordinary_eye(side, readiness=ordinary_readiness()))
    with ordinary_act(served.clinic.record, key) as act:
        act.put_lens(ordinary_lens(TORIC, cylinders_dpt=(1.0, 1.5, 2.25), optic_mm=6.0, constants_lane_m=6.0))
    path = f"/cases/{key}"
    draft(served.clinic, path, lens_model=TORIC)
    draft(served.clinic, path, **WISHES | wishes)
    return path


def _intent(served: Served, path: str) -> Intent:
    return served.clinic.record.case(path.removeprefix("/cases/")).intent


def _wedge(page: Page) -> list[tuple[float, float]]:
    return [(x, y) for x, y in page.evaluate(WEDGE)]


def _seen_at_deg(page: Page) -> float:
    """Where the tip of the wedge lies on the screen, counter-clockwise from the right."""
    x, y = _wedge(page)[0]
    return degrees(atan2(-y, x)) % 360


def _drag(page: Page, to_deg: float, *, release: bool = True) -> None:
    """Take the wedge in the middle and lead it to a direction of the screen."""
    x, y, scale = page.evaluate(CENTRE)
    box = page.locator(HANDLE).bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.mouse.down()
    radius = 6.3 * scale
    page.mouse.move(x + radius * cos(radians(to_deg)), y - radius * sin(radians(to_deg)), steps=12)
    if release:
        page.mouse.up()


def _settled(page: Page) -> None:
    expect(page.locator("#draft.htmx-request")).to_have_count(0)
    expect(page.locator("#forecast[aria-busy]")).to_have_count(0)
    expect(page.locator("#incision-said")).not_to_contain_text("Not saved")


def _chance(page: Page) -> str:
    return page.locator("#astigmatism .headline").inner_text()


@pytest.mark.parametrize("side", list(Side))
@pytest.mark.parametrize(
    ("seat", "turn_deg"), [("", (0, 0)), ("superior", (180, 180)), ("temporal", (90, 270))]
)
def test_the_wedge_that_is_let_go_is_saved_where_it_is_seen(
    served: Served, browser: Browser, side: Side, seat: str, turn_deg: tuple[int, int]
) -> None:
    path = _plan(served, side, seat=seat)
    turn = turn_deg[0] if side is Side.RIGHT else turn_deg[1]
    with served.window(browser) as page:
        page.goto(f"{path}/plan")
        _drag(page, 75 + turn)
        _settled(page)
        expect(page.locator("#incision_meridian_deg")).to_have_value("75")
        assert _intent(served, path).incision_meridian_deg == 75.0
        assert _seen_at_deg(page) == pytest.approx((75 + turn) % 360, abs=0.05)
        expect(page.locator("#face")).to_contain_text("incision at 75\u00b0, planned")


def test_the_wedge_moved_by_the_script_lies_where_the_server_draws_it_to_a_tenth_of_a_millimetre(
    served: Served, browser: Browser
) -> None:
    path = _plan(served, seat="temporal")
    with served.window(browser) as page:
        page.goto(f"{path}/plan")
        _drag(page, 200, release=False)
        by_script, before = _wedge(page), _seen_at_deg(page)
        page.mouse.up()
        _settled(page)
        by_server = _wedge(page)
        assert before == pytest.approx(200, abs=1)
        assert max(dist(one, other) for one, other in zip(by_script, by_server, strict=True)) < 0.1
        page.reload()
        assert _wedge(page) == by_server


def test_what_is_left_is_seen_to_move_before_anything_is_saved(served: Served, browser: Browser) -> None:
    path = _plan(served)
    with served.window(browser) as page:
        page.goto(f"{path}/plan")
        before = _chance(page)
        length = served.clinic.trail_length
        there = served.clinic.page(f"{path}/plan/astigmatism?incision_meridian_deg=95")
        left = there.one("p", **{"class": "headline"}).text
        assert left != before
        _drag(page, 95, release=False)
        expect(page.locator("#incision-said")).to_contain_text(
            "Incision at 95 degrees, superior. Not saved yet."
        )
        expect(page.locator("#astigmatism .headline")).to_have_text(left)
        expect(page.locator("#face")).to_contain_text("incision at 95\u00b0, not saved yet")
        assert served.clinic.trail_length == length
        page.mouse.up()
        _settled(page)
        expect(page.locator("#astigmatism .headline")).to_have_text(left)
        assert served.clinic.trail_length == length + 1


def test_it_is_asked_at_most_ten_times_a_second(served: Served, browser: Browser) -> None:
    path = _plan(served)
    times: list[float] = []

    def note(request: Request) -> None:
        if "incision_meridian_deg=" in request.url:
            times.append(request.timing["startTime"])

    with served.window(browser) as page:
        page.goto(f"{path}/plan")
        page.on("requestfinished", note)
        page.locator(HANDLE).focus()
        for _ in range(25):
            page.keyboard.press("ArrowRight")
            page.wait_for_timeout(20)
        _settled(page)
    assert 3 <= len(times) < 25
    # A browser starts what a script asks some milliseconds later, so single gaps shrink; their sum does not.
    assert max(times) - min(times) > 100 * (len(times) - 1) - 40


def test_keys_move_it_by_one_and_by_ten_degrees_and_a_pause_saves(served: Served, browser: Browser) -> None:
    path = _plan(served)
    with served.window(browser) as page:
        page.goto(f"{path}/plan")
        tab_to(page, HANDLE)
        handle = page.locator(HANDLE)
        assert handle.get_attribute("aria-valuetext") == "180 degrees, temporal"
        length = served.clinic.trail_length
        for key, value in (
            ("ArrowRight", "181"),
            ("ArrowUp", "182"),
            ("ArrowLeft", "181"),
            ("ArrowDown", "180"),
            ("PageUp", "190"),
            ("PageDown", "180"),
            ("Home", "0"),
            ("ArrowLeft", "359"),
            ("PageUp", "9"),
            ("End", "359"),
        ):
            page.keyboard.press(key)
            assert handle.get_attribute("aria-valuenow") == value
        assert handle.get_attribute("aria-valuetext") == "359 degrees, nasal"
        _settled(page)
        assert _intent(served, path).incision_meridian_deg == 359.0
        assert served.clinic.trail_length == length + 1
        expect(handle).to_be_focused()


def test_leaving_it_saves_and_escape_takes_it_back(served: Served, browser: Browser) -> None:
    path = _plan(served)
    with served.window(browser) as page:
        page.goto(f"{path}/plan")
        tab_to(page, HANDLE)
        page.keyboard.press("PageUp")
        page.keyboard.press("Tab")
        _settled(page)
        assert _intent(served, path).incision_meridian_deg == 190.0
        page.locator(HANDLE).focus()
        page.keyboard.press("PageUp")
        page.keyboard.press("Escape")
        _settled(page)
        assert _intent(served, path).incision_meridian_deg == 190.0
        assert page.locator(HANDLE).get_attribute("aria-valuenow") == "190"
        assert _seen_at_deg(page) == pytest.approx(190, abs=0.05)


@pytest.mark.parametrize(
    ("side", "seat", "value", "where"),
    [
        (Side.RIGHT, "", "180", "temporal"),
        (Side.LEFT, "", "0", "temporal"),
        (Side.RIGHT, "superior", "90", "superior"),
        (Side.LEFT, "temporal", "0", "temporal"),
    ],
)
def test_an_incision_nobody_planned_can_be_placed_and_then_moved(
    served: Served, browser: Browser, side: Side, seat: str, value: str, where: str
) -> None:
    path = _plan(served, side, incision_meridian_deg="", seat=seat)
    with served.window(browser) as page:
        page.goto(f"{path}/plan")
        expect(page.locator(HANDLE)).to_be_hidden()
        place = page.get_by_role("button", name=f"Place the incision at {value} degrees, {where}")
        place.focus()
        page.keyboard.press("Enter")
        _settled(page)
        expect(page.locator(HANDLE)).to_be_focused()
        assert _intent(served, path).incision_meridian_deg == float(value)
        page.keyboard.press("ArrowRight")
        _settled(page)
        assert _intent(served, path).incision_meridian_deg == float(value) + 1
        page.locator("#incision_meridian_deg").fill("")
        page.locator("#incision_meridian_deg").blur()
        expect(page.locator(HANDLE)).to_be_hidden()
        expect(place).to_be_visible()


def test_a_value_typed_into_the_form_moves_the_wedge_and_the_marks_of_the_lens(
    served: Served, browser: Browser
) -> None:
    path = _plan(served)
    with served.window(browser) as page:
        page.goto(f"{path}/plan")
        marks = page.locator("#face .lens-mark").first.get_attribute("cx")
        page.locator("#incision_flattening_dpt").fill("0.8")
        page.locator("#incision_meridian_deg").fill("50")
        page.locator("#incision_meridian_deg").blur()
        expect(page.locator("#face")).to_contain_text("incision at 50\u00b0, planned")
        _settled(page)
        assert page.locator(HANDLE).get_attribute("aria-valuenow") == "50"
        assert _seen_at_deg(page) == pytest.approx(50, abs=0.05)
        assert page.locator("#face .lens-mark").first.get_attribute("cx") != marks


def test_a_server_that_does_not_answer_leaves_the_wedge_marked_as_not_saved(
    served: Served, browser: Browser
) -> None:
    path = _plan(served)
    with served.window(browser, expected=("ERR_FAILED", "htmx:")) as page:
        page.goto(f"{path}/plan")
        page.route("**/plan/**", lambda route: route.abort())
        page.locator(HANDLE).focus()
        page.keyboard.press("PageUp")
        expect(page.locator("#forecast .problem")).to_contain_text("Not saved")
        expect(page.locator("#incision-said")).to_contain_text("190 degrees, temporal. Not saved yet.")
    assert _intent(served, path).incision_meridian_deg == 180.0


def test_only_the_draft_of_an_eye_not_yet_operated_on_can_be_moved(served: Served, browser: Browser) -> None:
    served.clinic.add(ordinary_patient(), ordinary_eye(readiness=ordinary_readiness()))
    walk(served.clinic, until="review")
    with served.window(browser) as page:
        for address in ("measure", "plan", "plan?draft=1", "operate"):
            page.goto(f"{CASE}/{address}")
            expect(page.locator(HANDLE)).to_have_count(0)
    assert served.clinic.record.case(KEY).operation is not None


@pytest.mark.parametrize("width", [PHONE, WIDE])
@pytest.mark.parametrize("incision", ["180", ""])
def test_the_movable_incision_puts_no_barrier_in_anybodys_way(
    served: Served, browser: Browser, width: int, incision: str
) -> None:
    path = _plan(served, incision_meridian_deg=incision)
    with served.window(browser, width) as page:
        page.goto(f"{path}/plan")
        assert barriers(page) == []
        assert sideways_overflow_px(page) <= 0


def test_a_finger_moves_it_on_a_phone(served: Served, browser: Browser) -> None:
    path = _plan(served)
    with served.window(browser, PHONE, has_touch=True) as page:
        page.goto(f"{path}/plan")
        page.locator(HANDLE).scroll_into_view_if_needed()
        _drag(page, 120)
        _settled(page)
        assert _intent(served, path).incision_meridian_deg == 120.0
