"""A flooded page and a full disk at once: what must hold, whatever the figures are.

The figures themselves: `python tests/daemon/flood_report.py`.
"""

from collections.abc import Callable
from pathlib import Path

import pytest
from flooded import Shop, stopped_under_flood
from running import Control

from controller.store.queries import LogReader


@pytest.mark.long
def test_stop_goes_through_a_flood_and_a_full_disk(
    launch: Callable[..., Control], tmp_path: Path, sheet: str
) -> None:
    shop = Shop(tmp_path, launch)
    came, stops, last = stopped_under_flood(shop, sheet, 200.0, 15.0, 3)
    assert [stopped.status for stopped in stops] == [200] * 3
    for stopped in stops:
        assert stopped.says == (
            "Stopped. Lamp and pump are off. Not yet in the record: the disk takes nothing."
        )
    assert last.stage == "STOPPED" and not last.lamp.on and not last.pump.on
    assert came.bad == []
    assert came.begun > 0 and came.frames > 0 and came.statuses[200] > 0
    assert came.statuses[503] > 0, "the page's own disk was full as well"
    assert shop.control.process.poll() is None and shop.page.process.poll() is None
    shop.disk_takes_nothing(False)
    log = tmp_path / "state" / "log.db"
    # the alarm may stand on for ten minutes, where the disk took something now and then
    shop.until(lambda shown: stops_kept(log) == 3)
    assert shop.ended() == (0, 0)
    assert stops_kept(log) == 3, "what was in memory is in the record now"


def stops_kept(log: Path) -> int:
    """STOPs in the record."""
    events = LogReader(log).events(limit=10_000)
    return [line.event.data.get("act") for line in events if line.event is not None].count("STOP")
