"""Disks that fail, dawdle or fill up: said in words, samples let go before events, and it ends."""

import time
from collections import namedtuple

import pytest
from boatworks import Failing, Gated, entry, planned, sample, stamp

from controller.batch.events import EventKind
from controller.store import trouble
from controller.store.log import Log
from controller.store.queries import LogReader
from controller.store.rows import Checkpoint
from controller.store.trouble import SLOW, SPACE_STOP, SPACE_WARN, free_space
from controller.store.writer import LogWriter

LONG = 20.0
"""What has to happen happens within this, [s]; a test that waits it out has failed."""
MB = 2**20


@pytest.fixture
def path(tmp_path):
    return tmp_path / "log.db"


def of_kind(path, kind):
    lines = LogReader(path).events(limit=10_000)
    return [line.event for line in lines if line.event is not None and line.event.kind is kind]


class Space:
    """A disk whose free space a test sets, [bytes]."""

    def __init__(self, monkeypatch, free):
        self.free = free
        monkeypatch.setattr(trouble, "free_space", lambda folder: self.free)


def test_a_write_that_hangs_is_said_after_ten_seconds_and_ends_with_it(path):
    kind = Gated.closable()
    log = Log.open(path, connection=kind)
    log.write(planned())
    now = 100.0
    writer = LogWriter(log, clock=lambda: now)
    kind.shut()
    writer.write(entry(1))
    assert kind.reached.wait(LONG)
    began = time.perf_counter()
    for at in range(20):
        now += 1.0
        writer.sample(sample(at))
        writer.write(entry(10 + at))
        expected = now - 100.0 > SLOW
        assert (writer.trouble is not None) is expected
    assert time.perf_counter() - began < 1.5
    assert writer.trouble == (
        "The log cannot be written: nothing has gone in for more than 10 s: check the memory card."
        " Entries in memory: 21."
    )
    assert writer.durable_seq == 0
    kind.open()
    assert writer.close(LONG)
    assert writer.trouble is None and writer.durable_seq == 21
    assert LogReader(path).last_seq() == 22


def test_a_disk_that_fills_up_is_told_once_and_again_after_it_was_better(path, monkeypatch):
    space = Space(monkeypatch, SPACE_WARN - 1)
    writer = LogWriter.open(path)
    writer.write(planned())
    for at in range(3):
        writer.sample(sample(at))
        assert writer.flush(LONG)
    (note,) = of_kind(path, EventKind.NOTE)
    assert note.text == (
        "The disk has 199 MB left: free some space. Under 50 MB the log keeps events only, no"
        " samples."
    )
    assert writer.trouble is None and writer.dropped == 0
    space.free = SPACE_WARN
    writer.sample(sample(5))
    assert writer.flush(LONG)
    space.free = 60 * MB
    writer.sample(sample(6))
    assert writer.flush(LONG)
    assert [event.data["free_mb"] for event in of_kind(path, EventKind.NOTE)] == [199, 60]
    assert writer.close(LONG)
    assert len(list(LogReader(path).samples("ash-1", 0, 10))) == 5


def test_on_a_disk_nearly_full_samples_are_let_go_and_events_are_kept(path, monkeypatch):
    space = Space(monkeypatch, 10 * SPACE_WARN)
    writer = LogWriter.open(path)
    writer.write(planned())
    for at in range(5):
        writer.sample(sample(at))
    assert writer.flush(LONG)
    space.free = SPACE_STOP - 1
    for at in range(5, 31):
        writer.sample(sample(at))
    for at in (31, 32):
        writer.write(entry(at, state=f"{at}"))
    writer.checkpoint(Checkpoint(stamp=stamp(33), state='"33"'))
    assert settled(writer)
    assert writer.trouble == "The disk has 49 MB left: free some space. Samples are not kept now."
    assert writer.durable_seq == 3 and 0 < writer.dropped <= 26
    assert of_kind(path, EventKind.GAP) == []

    space.free = 10 * SPACE_WARN
    for at in range(40, 51):
        writer.sample(sample(at))
    assert writer.flush(LONG)
    assert writer.trouble is None
    (gap,) = of_kind(path, EventKind.GAP)
    assert gap.text == f"{writer.dropped} samples were not kept, because the disk was nearly full."
    assert gap.data["samples"] == writer.dropped
    assert writer.close(LONG)
    there = [row.at for row in LogReader(path).samples("ash-1", 0, 60)]
    assert len(there) == 5 + 26 + 11 - writer.dropped
    log = Log.open(path)
    assert log.last_checkpoint is not None and log.last_checkpoint.state == '"33"'
    log.close()


def settled(writer):
    """Wait until the thread has done all that is due; unlike a flush, it forces nothing."""
    with writer._changed:
        return writer._changed.wait_for(
            lambda: not writer._entries and not writer._samples_due() and not writer._in_flight,
            LONG,
        )


def test_a_log_closed_on_a_disk_nearly_full_tells_its_gap(path, monkeypatch):
    Space(monkeypatch, SPACE_STOP - 1)
    writer = LogWriter.open(path)
    writer.write(planned())
    for at in range(5):
        writer.sample(sample(at))
    assert writer.close(LONG)
    (gap,) = of_kind(path, EventKind.GAP)
    assert gap.data == {"samples": 5, "from_s": 0.0, "to_s": 4.0}


def test_a_disk_that_does_not_say_how_full_it_is_stops_nothing(path, monkeypatch):
    Space(monkeypatch, None)
    writer = LogWriter.open(path)
    writer.write(planned())
    writer.sample(sample(1))
    assert writer.close(LONG)
    assert len(list(LogReader(path).samples("ash-1", 0, 10))) == 1


def test_free_space_is_what_this_user_may_fill(tmp_path, monkeypatch):
    disk = namedtuple("disk", "f_bavail f_frsize f_bfree")
    monkeypatch.setattr("os.statvfs", lambda folder: disk(100, 4096, 900))
    assert free_space(tmp_path) == 409_600


def test_a_disk_that_cannot_be_asked_is_none(tmp_path):
    assert free_space(tmp_path / "nowhere") is None


def test_thousands_of_samples_on_a_dead_disk_stay_within_their_bound(path):
    kind = Failing.told(0)
    log = Log.open(path, connection=kind, throwaway=True)
    log.write(planned())
    writer = LogWriter(log, samples=3600, retry=0.001)
    kind.nth, kind.sticky = 1, True
    kind.arm()
    for at in range(20_000):
        writer.sample(sample(at))
    assert len(writer._samples) <= 3600
    for at in range(5):
        writer.write(entry(at))
    kind.nth = 0
    assert writer.close(LONG)
    (gap,) = of_kind(path, EventKind.GAP)
    there = list(LogReader(path).samples("ash-1", 0, 20_000))
    assert len(there) + writer.dropped == 20_000 and gap.data["samples"] == writer.dropped
    assert len(there) >= 3600
