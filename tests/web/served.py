"""A clinic that a real browser can reach, and a person with a keyboard in front of it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import uvicorn
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, ConsoleMessage, Page, expect

from web.clinic import Clinic

WCAG_2_2_AA = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa")
WIDE, PHONE, HEIGHT = 1440, 360, 900
REFUSED = "Failed to load resource: the server responded with a status of 4"
"""What a browser says of a page that refuses something; the page itself is what is tested."""
MOST_TABS = 120


@dataclass(frozen=True)
class Served:
    """A clinic and the address where it answers."""

    clinic: Clinic
    address: str
    server: uvicorn.Server

    @contextmanager
    def window(
        self, browser: Browser, width: int = WIDE, *, expected: tuple[str, ...] = (), **more: Any
    ) -> Iterator[Page]:
        """A window on the app; whatever the browser complains of, unless expected, fails the test."""
        context = browser.new_context(
            viewport={"width": width, "height": HEIGHT}, base_url=self.address, locale="en-US", **more
        )
        complaints: list[str] = []
        page = context.new_page()
        page.set_default_timeout(15_000)
        page.on("console", lambda message: _note(message, complaints))
        page.on("pageerror", lambda error: complaints.append(str(error)))
        try:
            yield page
        finally:
            context.close()
        wrong = [one for one in complaints if not any(words in one for words in expected)]
        if wrong:
            raise AssertionError("\n".join(wrong))


def _note(message: ConsoleMessage, complaints: list[str]) -> None:
    if message.type in {"error", "warning"} and not message.text.startswith(REFUSED):
        complaints.append(message.text)


def tab_to(page: Page, selector: str) -> None:
    """Press Tab until this is reached, as somebody without a mouse must."""
    for _ in range(MOST_TABS):
        if page.evaluate("wanted => document.activeElement?.matches(wanted) ?? false", selector):
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"{selector} cannot be reached with the Tab key on {page.url}")


def type_into(page: Page, selector: str, text: str) -> None:
    """Reach a field, replace what stands in it, and leave it."""
    tab_to(page, selector)
    page.keyboard.press("Control+a")
    page.keyboard.type(text)


def press(page: Page, selector: str) -> None:
    """Reach a link or button and press Enter."""
    tab_to(page, selector)
    page.keyboard.press("Enter")


def choose_power(page: Page, power: str) -> None:
    """Choose a lens power and wait for its forecast."""
    page.locator(f"input[type=radio][value='{power}']").focus()
    page.keyboard.press("Space")
    expect(page.locator("#headline")).to_contain_text(f"{power} D lands")
    expect(page.locator(f"input[type=radio][value='{power}']")).to_be_checked()


def barriers(page: Page) -> list[str]:
    """What stands in the way of people by WCAG 2.2 AA, as far as a program can tell."""
    found = Axe().run(page, options={"runOnly": {"type": "tag", "values": list(WCAG_2_2_AA)}})
    return [
        f"{one['id']}: {one['help']}: {[node['target'] for node in one['nodes']][:4]}"
        for one in found.response["violations"]
    ]


def sideways_overflow_px(page: Page) -> int:
    """By how much the page is wider than its window."""
    wider: int = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    return wider
