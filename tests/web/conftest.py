"""The page built from its sources, a browser to look at it with, and a rig to be told things."""

import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from phone import CHROMIUM, QUIET, WEB, Open, Phone, Show, skip_loudly
from playwright.sync_api import Browser, Page, sync_playwright
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


@pytest.fixture(scope="module")
def stand_in(dist: Path) -> Iterator[StandInRig]:
    """A service that sends the frames a test hands it; one for all tests of a module."""
    with standing_in(dist) as started:
        yield started


@pytest.fixture
def rig(stand_in: StandInRig) -> StandInRig:
    """The service, with nothing left of what another test told it."""
    stand_in.forget()
    return stand_in


@pytest.fixture
def open_page(browser: Browser, rig: StandInRig) -> Iterator[Open]:
    """Opens the page on a phone whose clock the test can turn; any error on it fails the test."""
    phones: list[Phone] = []

    def open_page(width: int = 390, height: int = 844, **more: object) -> Page:
        phones.append(Phone(browser, width, height, **more))
        phones[-1].page.clock.install()
        phones[-1].look(rig)
        return phones[-1].page

    yield open_page
    for phone in phones:
        phone.put_away()
    assert [complaint for phone in phones for complaint in phone.complaints] == []


@pytest.fixture(scope="module")
def lying_open(browser: Browser, stand_in: StandInRig) -> Iterator[Phone]:
    """A small phone that has the page open all the while."""
    phone = Phone(browser, 360, 740)
    phone.look(stand_in)
    yield phone
    phone.put_away()


@pytest.fixture
def show(lying_open: Phone, rig: StandInRig) -> Iterator[Show]:
    """Shows a moment on the small phone that lies open; any error on it fails the test."""
    lying_open.complaints.clear()

    def show(moment: dict[str, Any], *, connected: bool = True) -> Page:
        lying_open.page.evaluate("scrollTo(0, 0)")
        rig.show(moment, connected=connected)
        lying_open.wait_for(moment, connected)
        return lying_open.page

    yield show
    assert lying_open.complaints == []
