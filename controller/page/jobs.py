"""The calendar: what falls due, asked once a minute, kept in the page's own table.

Due times are told times out of the snapshot. The scheduler only asks; it never carries a due time,
because it runs on the wall clock, goes deaf when that is set back and bursts when it is set on.
"""

import logging
import sqlite3
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC

from apscheduler.schedulers.background import BackgroundScheduler
from apscheduler.schedulers.base import BaseScheduler
from apscheduler.triggers.interval import IntervalTrigger

from controller.batch.snapshot import Snapshot
from controller.page.ledger import DueTime, Ledger

log = logging.getLogger(__name__)

EVERY = 60
"""How often the calendar is asked on a real rig, [s]. Own."""
STEP = 30.0
"""The wall clock was set when it moved this much against the monotonic one, [s]. Own."""
SAME = 60.0
"""A due time that moves less than this is not written again, [s]: estimates breathe. Own."""


def told(snapshot: Snapshot, at: float) -> float:
    """Told time of a rig time `at` [s], seconds since 1970 UTC."""
    return snapshot.told_utc + (at - snapshot.now)


def changes(snapshot: Snapshot, kept: tuple[DueTime, ...]) -> tuple[DueTime, ...]:
    """The lines of the calendar that are new or have changed.

    A line is 'coming' before its time and 'due' from then on, both in told time; it is 'done' once
    the batch asks for it no longer. One whose time moves out again is 'coming' again.
    """
    before = {(line.batch, line.what): line for line in kept}
    fresh: list[DueTime] = []
    for due in snapshot.due:
        at = told(snapshot, due.at)
        line = DueTime(
            batch=due.batch,
            what=due.what,
            at_utc=at,
            until_utc=None if due.until is None else told(snapshot, due.until),
            state="due" if snapshot.told_utc >= at else "coming",
        )
        old = before.pop((due.batch, due.what), None)
        if old is None or old.state != line.state or _moved(old, line):
            fresh.append(line)
    fresh += [replace(old, state="done") for old in before.values() if old.state != "done"]
    return tuple(fresh)


def _moved(old: DueTime, new: DueTime) -> bool:
    if abs(old.at_utc - new.at_utc) >= SAME or (old.until_utc is None) != (new.until_utc is None):
        return True
    late_old, late_new = old.until_utc, new.until_utc
    return late_old is not None and late_new is not None and abs(late_old - late_new) >= SAME


class Calendar:
    """Keeps the table of due times; the scheduler asks it, or each snapshot on a simulated rig."""

    def __init__(
        self,
        ledger: Ledger,
        newest: Callable[[], Snapshot | None],
        *,
        monotonic: Callable[[], float] = time.monotonic,
        wall: Callable[[], float] = time.time,
        scheduler: BaseScheduler | None = None,
    ) -> None:
        """newest: the newest snapshot, as the link has it        wall: the wall clock, [s]

        scheduler: what asks; None makes one with a thread of its own
        """
        self._ledger = ledger
        self._newest = newest
        self._monotonic = monotonic
        self._wall = wall
        self._ahead = wall() - monotonic()
        self._asked = monotonic()
        self._scheduler = scheduler or BackgroundScheduler(timezone=UTC)
        self._job = self._scheduler.add_job(
            self.ask,
            IntervalTrigger(seconds=EVERY, timezone=UTC),
            misfire_grace_time=None,
            coalesce=True,
        )

    def start(self) -> None:
        """Asks once a minute from now on, in a thread of the scheduler's."""
        self._scheduler.start()

    def stop(self) -> None:
        """Asks no more."""
        self._scheduler.shutdown()

    def ask(self) -> None:
        """Brings the table up to the newest snapshot.

        A disk that takes no writes is logged and no more: the page and its STOP go on, and the
        next asking brings everything.
        """
        self._asked = self._monotonic()
        snapshot = self._newest()
        if snapshot is None:
            return
        try:
            fresh = changes(snapshot, self._ledger.due())
            if fresh:
                self._ledger.write_due(fresh)
        except sqlite3.Error as error:
            log.error("page.db: the calendar is not kept: %s", error)

    def heard(self, snapshot: Snapshot) -> None:
        """A snapshot came: asks at once on a simulated rig, else sees that the asking goes on.

        The scheduler's next time is wall time. When that clock has been set, or nobody has asked
        for two minutes, it is asked now and the minute begins anew.
        """
        ahead = self._wall() - self._monotonic()
        stepped = abs(ahead - self._ahead) > STEP
        deaf = self._monotonic() - self._asked > 2 * EVERY
        if stepped or deaf:
            self._ahead = ahead
            self._job.reschedule(IntervalTrigger(seconds=EVERY, timezone=UTC))
        if stepped or deaf or snapshot.simulated:
            self.ask()
