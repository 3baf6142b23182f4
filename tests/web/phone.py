"""Where the page and its browser are, and how a test that needs one says it was left out."""

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, ConsoleMessage, Page, expect
from stand_in_rig import StandInRig

WEB = Path(__file__).parents[2] / "web"
CHROMIUM = Path("/usr/bin/chromium")
QUIET = (
    "--no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking "
    "--disable-component-update --disable-sync"
)
ON_TOP = """(stop) => {
  const { left, top, right, bottom } = stop.getBoundingClientRect();
  const inside = left >= 0 && top >= 0 && right <= innerWidth && bottom <= innerHeight;
  const hit = document.elementFromPoint((left + right) / 2, (top + bottom) / 2);
  return inside && stop.contains(hit) && bottom - top >= 60;
}"""
Open = Callable[..., Page]
Show = Callable[..., Page]


def skip_loudly(why: str) -> None:
    """Skip, and say so on the terminal even where skips are not listed."""
    sys.__stderr__.write(f"\nSKIPPED: {why}\n")
    pytest.skip(why)


class Phone:
    """One phone with one page, and what its browser complained about."""

    def __init__(self, browser: Browser, width: int, height: int, **more: Any) -> None:
        viewport = {"width": width, "height": height}
        self._context = browser.new_context(viewport=viewport, locale="en-GB", **more)
        self._context.set_default_timeout(10_000)
        self.complaints: list[str] = []
        self.page = self._context.new_page()
        self.page.on("console", self._complain)
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))

    def look(self, rig: StandInRig) -> None:
        """Open the rig's page."""
        self.page.goto(rig.url)
        self.page.wait_for_selector("[data-show=sentence]")

    def wait_for(self, moment: dict[str, Any], connected: bool) -> None:
        """Until the page shows this moment and not the one before."""
        words = moment["sentence"]["text"].partition("{")[0].strip()
        expect(self.page.locator("[data-show=sentence]")).to_contain_text(words)
        alarms = self.page.locator("[data-show=alarms] article")
        expect(alarms).to_have_count(len(moment["alarms"]))
        fresh = "live" if connected else "stale"
        expect(self.page.locator("[data-show=rig]")).to_have_attribute("data-fresh", fresh)

    def put_away(self) -> None:
        """Close the page and forget the phone."""
        self._context.close()

    def _complain(self, message: ConsoleMessage) -> None:
        # Chromium itself reports a 503, which some tests answer on purpose.
        if message.type in ("error", "warning") and "status of 503" not in message.text:
            self.complaints.append(message.text)


def shown(page: Page, name: str) -> Any:
    """The element with this hook."""
    return page.locator(f"[data-show={name}]")


def stand_still(page: Page) -> None:
    """From here on the phone's clock moves only when the test turns it.

    The browser refuses to stop its clock at a moment already past, so the moment lies
    ahead by more than a busy machine needs to pass the word on; a page shows its
    numbers as old only after 10 s.
    """
    page.clock.pause_at(page.evaluate("Date.now()") / 1000 + 5.0)


def stop_is_in_reach(page: Page) -> bool:
    """STOP is whole on the screen, large, and nothing lies over it."""
    return bool(shown(page, "stop").evaluate(ON_TOP))
