"""The page built from its sources, a browser to look at it with, and a rig to be told things."""

import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from phone import CHROMIUM, QUIET, WEB, Open, skip_loudly
from playwright.sync_api import Browser, ConsoleMessage, Page, sync_playwright
from stand_in_rig import StandInRig, standing_in


@pytest.fixture(scope="session")
def node_modules() -> Path:
    """Where npm put the page's tools; skips where nobody has run npm."""
    found = WEB / "node_modules"
    if shutil.which("npm") is None or not (found / "vite").is_dir():
        skip_loudly("the page's tools are missing: install Node, then `npm --prefix web ci`")
    return found


@pytest.fixture(scope="session")
def dist(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The page, built from the sources as they are now; without npm, as it was installed."""
    if shutil.which("npm") is None or not (WEB / "node_modules" / "vite").is_dir():
        if not (WEB / "dist" / "index.html").exists():
            skip_loudly("no page was built: pip install -e .")
        return WEB / "dist"
    folder = tmp_path_factory.mktemp("page") / "dist"
    vite = ["node", "node_modules/vite/bin/vite.js", "build", "--outDir", str(folder)]
    done = subprocess.run(vite, cwd=WEB, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    return folder


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """A real headless Chromium; gone with the module, as its loop would hinder other rooms."""
    if not CHROMIUM.exists():
        skip_loudly(f"no {CHROMIUM}: the phone page is not looked at; apt install chromium")
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=str(CHROMIUM), args=QUIET.split())
        yield chromium
        chromium.close()


@pytest.fixture
def rig(dist: Path) -> Iterator[StandInRig]:
    """A service that sends the frames a test hands it."""
    with standing_in(dist) as stand_in:
        yield stand_in


@pytest.fixture
def open_page(browser: Browser, rig: StandInRig) -> Iterator[Open]:
    """Opens the page on a phone whose clock the test can turn; any error on it fails the test."""
    contexts = []
    complaints: list[str] = []

    def complain(message: ConsoleMessage) -> None:
        # Chromium itself reports a 503, which some tests answer on purpose.
        if message.type in ("error", "warning") and "status of 503" not in message.text:
            complaints.append(message.text)

    def open_page(width: int = 390, height: int = 844, **phone: object) -> Page:
        viewport = {"width": width, "height": height}
        context = browser.new_context(viewport=viewport, locale="en-GB", **phone)
        context.set_default_timeout(10_000)
        contexts.append(context)
        page = context.new_page()
        page.on("console", complain)
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.clock.install()
        page.goto(rig.url)
        page.wait_for_selector("[data-show=sentence]")
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert complaints == []
