"""Where the page and its browser are, and how a test that needs one says it was left out."""

import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page

WEB = Path(__file__).parents[2] / "web"
CHROMIUM = Path("/usr/bin/chromium")
QUIET = (
    "--no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking "
    "--disable-component-update --disable-sync"
)
Open = Callable[..., Page]


def skip_loudly(why: str) -> None:
    """Skip, and say so on the terminal even where skips are not listed."""
    sys.__stderr__.write(f"\nSKIPPED: {why}\n")
    pytest.skip(why)
