"""One page over a pretended control, for each test its own."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from fake_control import Page, make_page


@pytest.fixture
def page(tmp_path: Path) -> Iterator[Page]:
    """A page with one snapshot shown, nobody paired."""
    made = make_page(tmp_path)
    yield made
    made.ledger.close()
