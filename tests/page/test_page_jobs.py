"""The calendar: what falls due by told time, whatever the wall clock does."""

import datetime as dt
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from apscheduler.executors.debug import DebugExecutor
from apscheduler.schedulers.base import BaseScheduler
from fake_control import TOLD, Hands, make_snapshot

from controller.batch.snapshot import Due, Snapshot
from controller.page.jobs import EVERY, Calendar
from controller.page.ledger import DONE_KEPT, DueTime, Ledger

MAY_OPEN = Due(what="may be opened", at=20_000.0, until=30_000.0, batch="b7")
LET_UP = Due(what="let-up at the latest", at=17_000.0, until=None, batch="b7")


class Desk:
    """A calendar with its clocks and the snapshot it is shown."""

    def __init__(self, folder: Path) -> None:
        self.mono, self.wall = Hands(1_000.0), Hands(TOLD)
        self.snapshot: Snapshot | None = None
        self.ledger = Ledger(folder / "page.db")
        self.calendar = Calendar(
            self.ledger, lambda: self.snapshot, monotonic=self.mono, wall=self.wall
        )

    def tells(self, *due: Due, now: float = 16_200.0, **changes: Any) -> Snapshot:
        """The snapshot at a rig time, the calendar going with it."""
        self.snapshot = make_snapshot(
            now=now, told_utc=TOLD + now - 16_200.0, due=due, **{"simulated": False} | changes
        )
        return self.snapshot

    @property
    def states(self) -> dict[str, str]:
        return {line.what: line.state for line in self.ledger.due()}


@pytest.fixture
def desk(tmp_path: Path) -> Any:
    made = Desk(tmp_path)
    yield made
    made.ledger.close()


def test_a_due_time_is_coming_then_due_then_done(desk: Desk) -> None:
    desk.tells(LET_UP, MAY_OPEN)
    desk.calendar.ask()
    assert desk.states == {"let-up at the latest": "coming", "may be opened": "coming"}
    desk.tells(LET_UP, MAY_OPEN, now=17_000.0)
    desk.calendar.ask()
    assert desk.states["let-up at the latest"] == "due"
    desk.tells(MAY_OPEN, now=17_060.0)
    desk.calendar.ask()
    assert desk.states == {"let-up at the latest": "done", "may be opened": "coming"}


def test_a_time_that_moves_out_again_is_coming_again(desk: Desk) -> None:
    desk.tells(MAY_OPEN, now=20_000.0)
    desk.calendar.ask()
    assert desk.states == {"may be opened": "due"}
    later = Due(what="may be opened", at=24_000.0, until=40_000.0, batch="b7")
    desk.tells(later, now=20_060.0)
    desk.calendar.ask()
    assert desk.states == {"may be opened": "coming"}
    assert desk.ledger.due()[0].at_utc == TOLD + 7_800


def test_due_times_are_kept_when_the_page_starts_again(desk: Desk, tmp_path: Path) -> None:
    desk.tells(MAY_OPEN)
    desk.calendar.ask()
    desk.ledger.close()
    again = Ledger(tmp_path / "page.db")
    assert [line.what for line in again.due()] == ["may be opened"]
    again.close()


def test_without_a_snapshot_nothing_is_known_and_nothing_changes(desk: Desk) -> None:
    desk.tells(MAY_OPEN)
    desk.calendar.ask()
    desk.snapshot = None
    desk.calendar.ask()
    assert desk.states == {"may be opened": "coming"}


def test_an_estimate_that_breathes_is_not_written_each_time(desk: Desk) -> None:
    desk.tells(MAY_OPEN)
    desk.calendar.ask()
    for until in (30_059.0, None):
        breathing = Due(what="may be opened", at=20_059.0, until=until, batch="b7")
        desk.tells(breathing)
        desk.calendar.ask()
        assert desk.ledger.due()[0].at_utc == TOLD + (3_800 if until else 3_859)


def test_a_simulated_rig_is_asked_at_each_snapshot_and_a_real_one_is_not(desk: Desk) -> None:
    desk.calendar.heard(desk.tells(MAY_OPEN))
    assert desk.states == {}
    desk.calendar.heard(desk.tells(MAY_OPEN, simulated=True))
    assert desk.states == {"may be opened": "coming"}


def test_old_lines_that_are_done_go(desk: Desk) -> None:
    lines = [DueTime("b1", f"weigh {n}", float(n), None, "done") for n in range(DONE_KEPT + 9)]
    desk.ledger.write_due(lines)
    assert desk.ledger.due()[0].at_utc == 9.0
    assert len(desk.ledger.due()) == DONE_KEPT


def test_a_disk_that_takes_nothing_is_logged_and_made_good_later(
    desk: Desk, caplog: pytest.LogCaptureFixture
) -> None:
    desk.ledger._db.execute("PRAGMA query_only = ON")
    desk.calendar.heard(desk.tells(MAY_OPEN, simulated=True))
    assert "page.db" in caplog.text
    desk.ledger._db.execute("PRAGMA query_only = OFF")
    desk.calendar.heard(desk.tells(MAY_OPEN, simulated=True))
    assert desk.states == {"may be opened": "coming"}


# The wall clock


class ByHand(BaseScheduler):  # type: ignore[misc]
    """The real scheduler without its thread: it looks for due jobs when the test says so."""

    def wakeup(self) -> None:
        pass

    def shutdown(self, wait: bool = True) -> None:
        super().shutdown(wait)

    def _create_default_executor(self) -> DebugExecutor:
        return DebugExecutor()


class Minutes(Desk):
    """A desk whose scheduler goes by the desk's wall clock."""

    def __init__(self, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        wall = Hands(TOLD)

        class Told(dt.datetime):
            @classmethod
            def now(cls, tz: dt.tzinfo | None = None) -> "Told":
                return cls.fromtimestamp(wall(), tz)

        for module in ("schedulers.base", "triggers.interval"):
            monkeypatch.setattr(f"apscheduler.{module}.datetime", Told)
        super().__init__(folder)
        self.asked = 0
        self.wall = wall
        self.scheduler = ByHand(timezone=dt.UTC)
        self.calendar = Calendar(
            self.ledger, self.newest, monotonic=self.mono, wall=wall, scheduler=self.scheduler
        )
        self.calendar.start()

    def newest(self) -> Snapshot | None:
        self.asked += 1
        return self.snapshot

    def minutes(self, count: int) -> int:
        """Lets wall and monotonic time run on; how often the calendar was asked."""
        before = self.asked
        for _ in range(count):
            self.mono.now += EVERY
            self.wall.now += EVERY
            self.calendar.heard(self.tells(MAY_OPEN))
            self.scheduler._process_jobs()
        return self.asked - before


@pytest.fixture
def minutes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Minutes]:
    made = Minutes(tmp_path, monkeypatch)
    yield made
    made.calendar.stop()
    made.ledger.close()


def test_it_is_asked_once_a_minute(minutes: Minutes) -> None:
    assert minutes.minutes(10) == 10


@pytest.mark.parametrize("step", [-3_600.0, -200 * 86_400.0, 3_600.0, 200 * 86_400.0])
def test_a_wall_clock_that_is_set_makes_it_neither_deaf_nor_burst(
    minutes: Minutes, step: float
) -> None:
    minutes.minutes(3)
    minutes.wall.now += step
    assert 9 <= minutes.minutes(10) <= 11


def test_without_a_snapshot_a_clock_that_is_set_on_is_caught_up_with_one_asking(
    minutes: Minutes,
) -> None:
    minutes.minutes(1)
    before = minutes.asked
    minutes.wall.now += 86_400
    minutes.scheduler._process_jobs()
    assert minutes.asked == before + 1


def test_a_scheduler_that_went_deaf_is_woken_by_the_next_snapshot(minutes: Minutes) -> None:
    minutes.minutes(1)
    before = minutes.asked
    minutes.mono.now += 2 * EVERY + 1
    minutes.wall.now += 2 * EVERY + 1
    minutes.calendar.heard(minutes.tells(MAY_OPEN))
    assert minutes.asked == before + 1


def test_the_thread_of_its_own_starts_and_stops(desk: Desk) -> None:
    desk.calendar.start()
    assert desk.calendar._scheduler.running
    desk.calendar.stop()
    assert not desk.calendar._scheduler.running
