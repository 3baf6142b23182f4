"""Every row of the table of faults, done to the real drivers while a batch is at work on them."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from fault_place import Place
from fault_rows import ELSEWHERE, ROOT, ROWS, Elsewhere, FaultRow
from pretend_pi import Bench

pytestmark = pytest.mark.usefixtures("gpiozero_as_found", "lgpio_here")

NAMED = {f"W{number:02}" for number in range(1, 15)}
NAMED |= {f"L{number:02}" for number in range(4, 12)}
NAMED |= {f"B{number:02}" for number in range(6, 10)} | {"D20", "D21"}
"""The faults that reach a driver; each has a row."""


@pytest.fixture
def place(tmp_path: Path, bench: Bench, monkeypatch: pytest.MonkeyPatch) -> Iterator[Place]:
    folder = tmp_path / "rig"
    folder.mkdir()
    place = Place(folder, bench, monkeypatch)
    yield place
    place.leave()


def named(row: FaultRow | Elsewhere) -> str:
    return f"{row.id}: {row.injected}".replace(" ", "_")


@pytest.mark.parametrize("row", ROWS, ids=named)
def test_a_fault_is_met_as_its_row_says(
    row: FaultRow, place: Place, record_property: Callable[[str, object], None]
) -> None:
    found = row.done(place)
    record_property("row", (row.id, row.injected, row.where, found.after, row.limit, row.must))
    assert found.after <= row.limit
    assert found.alarms == (() if row.alarm is None else (row.alarm,))
    assert row.says in found.says


@pytest.mark.parametrize("row", ELSEWHERE, ids=named)
def test_a_row_that_is_met_elsewhere_is_met_there(
    row: Elsewhere, record_property: Callable[[str, object], None]
) -> None:
    record_property("elsewhere", (row.id, row.injected, row.limit, row.must))
    file, _, name = row.test.partition("::")
    assert f"def {name}(" in (ROOT / file).read_text()


def test_no_fault_has_gone_missing() -> None:
    assert {row.id for row in (*ROWS, *ELSEWHERE)} == NAMED
