"""Take the pictures of the manual from the app itself, on a demo clinic made for the purpose.

Usage::

    python tools/take_pictures.py

Needs Chromium. Walks one eye from the day list to its operation, and looks at one that was reviewed before.
"""

from __future__ import annotations

import shutil
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.error import URLError
from urllib.request import urlopen

from playwright.sync_api import Page, sync_playwright

PICTURES = Path(__file__).parent.parent / "docs" / "pictures"
WIDTH = 1440
ZONULE = (sys.executable, "-m", "zonule.cli.main")
STARTS_WITHIN_S = 30.0


def main() -> None:
    """Take every picture."""
    browser_path = shutil.which("chromium")
    if browser_path is None:
        sys.exit("Chromium is needed: tools/set_up_test_tools.sh installs it.")
    PICTURES.mkdir(parents=True, exist_ok=True)
    with demo_app() as (address, first), sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=browser_path)
        page = browser.new_page(viewport={"width": WIDTH, "height": 900}, base_url=address)
        take_day_list(page)
        take_doubtful_eye(page)
        take_plan(page, first)
        take_operation(page, first)
        take_reviewed_eye(page)
        take_learned(page)
        take_astigmatism(page)
        browser.close()
    total = sum(path.stat().st_size for path in PICTURES.glob("*.png"))
    print(f"{PICTURES.name}: {total / 1e6:.2f} MB")


@contextmanager
def demo_app() -> Iterator[tuple[str, str]]:
    """The app on a new demo clinic: its address, and the eye to look at first."""
    with tempfile.TemporaryDirectory() as folder:
        record = str(Path(folder) / "clinic.sqlite3")
        making = [*ZONULE, "demo", "--record", record]
        said = subprocess.run(making, check=True, capture_output=True, text=True)  # noqa: S603 - our own command
        first = said.stdout.rsplit(": ", 1)[1].strip()
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = str(free.getsockname()[1])
        with subprocess.Popen([*ZONULE, "serve", "--record", record, "--port", port]) as server:  # noqa: S603 - same
            try:
                address = f"http://127.0.0.1:{port}"
                wait_for(address)
                yield address, first
            finally:
                server.terminate()


def wait_for(address: str) -> None:
    """Wait until the app answers."""
    end = time.monotonic() + STARTS_WITHIN_S
    while time.monotonic() < end:
        try:
            with urlopen(address, timeout=5):  # noqa: S310 - our own server
                return
        except URLError:
            time.sleep(0.2)
    sys.exit("The demo app did not start.")


def take(page: Page, name: str, height: int) -> None:
    """The top of the page."""
    page.evaluate("window.scrollTo(0, 0)")
    page.evaluate("document.activeElement.blur()")
    page.screenshot(
        path=PICTURES / name, clip={"x": 0, "y": 0, "width": WIDTH, "height": height}, full_page=True
    )


def take_day_list(page: Page) -> None:
    """The day's eyes."""
    page.goto("/")
    take(page, "day.png", 620)


def take_doubtful_eye(page: Page) -> None:
    """The first of the day's eyes whose measurements raise a doubt."""
    page.goto("/")
    addresses = [link.get_attribute("href") for link in page.locator("ol.cases a").all()]
    for address in addresses:
        page.goto(f"{address}/measure")
        if page.locator(".finding").count():
            take(page, "measure.png", 800)
            return
    sys.exit("No eye of the day raises a doubt.")


def take_plan(page: Page, key: str) -> None:
    """The choice of power, with the power of the best odds chosen."""
    page.goto(f"/cases/{key}/plan")
    take(page, "plan.png", 1000)
    page.locator("#forecast figure.wide").first.screenshot(path=PICTURES / "odds.png")


def take_operation(page: Page, key: str) -> None:
    """Sign the power with the best odds; then the theatre display and the record of the operation."""
    with page.expect_response(lambda answer: answer.url.endswith("/plan/draft")):
        page.locator("tr.chosen input[type=radio]").check()
    page.locator(".sign form").wait_for()
    if page.locator("#reasons").count():
        page.locator("#reasons").fill("Measured twice; discussed with the patient.")
    page.locator(".sign #who").fill("Odile Thornby")
    page.get_by_role("button", name="Sign ").click()
    page.get_by_role("heading", name="Signed:").wait_for()
    take(page, "signed.png", 500)
    page.goto(f"/cases/{key}/theatre")
    take(page, "theatre.png", 900)
    page.goto(f"/cases/{key}/operate")
    take(page, "operate.png", 640)


def take_reviewed_eye(page: Page) -> None:
    """An eye of the last day on which eyes were operated."""
    page.goto("/")
    page.locator("a[rel=prev]").click()
    address = page.locator("ol.cases a").first.get_attribute("href")
    page.goto(f"{address}/review")
    take(page, "review.png", 700)


def take_learned(page: Page) -> None:
    """What all eyes say."""
    page.goto("/learn")
    take(page, "learn.png", 1220)


def take_astigmatism(page: Page) -> None:
    """What was left in all eyes, each a vector in the double-angle plot."""
    page.goto("/learn/astigmatism")
    page.locator("figure.wide.plot").screenshot(path=PICTURES / "learn-astigmatism.png")


if __name__ == "__main__":
    main()
