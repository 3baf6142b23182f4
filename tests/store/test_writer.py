"""The writer's thread: nobody waits for it, and nothing that was answered for is lost."""

import os
import random
import resource
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from boatworks import Failing, Gated, entry, planned, sample, stamp

import controller
from controller.batch.events import EventKind
from controller.errors import InputError
from controller.store.log import Log
from controller.store.queries import LogReader
from controller.store.rows import Checkpoint
from controller.store.writer import LogWriter

LONG = 20.0
"""What has to happen happens within this, [s]; a test that waits it out has failed."""


@pytest.fixture
def path(tmp_path):
    return tmp_path / "log.db"


def failing_log(path, **more):
    kind = Failing.told(0)
    for name, value in more.items():
        setattr(kind, name, value)
    return Log.open(path, connection=kind, throwaway=True), kind


def texts(path):
    return [line.event and line.event.text for line in LogReader(path).events(limit=10_000)]


def test_what_is_handed_in_is_on_the_disk_after_a_flush(path):
    writer = LogWriter.open(path)
    assert [writer.write(planned()), writer.write(entry(1)), writer.write(entry(2))] == [1, 2, 3]
    writer.sample(sample(1))
    assert writer.flush(LONG)
    assert writer.durable_seq == 3
    assert texts(path) == ["Planned.", "event at 1", "event at 2"]
    assert LogReader(path).span("ash-1") == (1, 1)
    assert writer.trouble is None
    assert writer.close(LONG)
    assert writer.close(LONG)


def test_nobody_waits_while_the_disk_takes_its_time(path):
    kind = Gated.closable()
    log = Log.open(path, connection=kind)
    log.write(planned())
    writer = LogWriter(log)
    kind.shut()
    for at in range(1, 200):
        writer.write(entry(at))
        writer.sample(sample(at))
        writer.checkpoint(Checkpoint(stamp=stamp(at), state=f"{at}"))
    assert writer.durable_seq == 0
    kept = writer.answered("act-7")
    assert kept is not None and kept.seq == 7
    kind.open()
    assert writer.close(LONG)
    assert writer.durable_seq == 199
    assert texts(path)[1:] == [f"event at {at}" for at in range(1, 200)]
    log = Log.open(path)
    assert log.last_checkpoint is not None and log.last_checkpoint.state == "199"
    log.close()


def test_an_old_press_is_known_after_a_restart_without_the_disk(path):
    writer = LogWriter.open(path)
    writer.write(entry(1))
    assert writer.close(LONG)
    kind = Gated.closable()
    writer = LogWriter(Log.open(path, connection=kind))
    kind.shut()
    kept = writer.answered("act-1")
    assert kept is not None
    assert (kept.answer.text, kept.seq) == ("Noted.", 0)
    assert writer.answered("act-2") is None
    kind.open()
    assert writer.close(LONG)


def test_a_full_disk_is_said_and_no_event_is_lost(path):
    log = Log.open(path)
    log.write(planned())
    log._connection.execute("PRAGMA max_page_count = 20")
    writer = LogWriter(log, retry=0.01)
    for at in range(1, 101):
        writer.write(entry(at, "long " * 200))
        writer.flush(0.01)
        if writer.trouble is not None:
            break
    assert writer.trouble is not None
    assert "full" in writer.trouble and "\n" not in writer.trouble
    there = writer.durable_seq
    assert there < at
    for more in range(at + 1, at + 6):
        writer.write(entry(more))
    log._connection.execute("PRAGMA max_page_count = 1000000")
    assert writer.flush(LONG)
    assert writer.trouble is None
    assert writer.close(LONG)
    lines = LogReader(path).events()
    assert [line.event and line.event.at for line in lines] == list(range(at + 6))


def test_a_file_that_may_not_grow_is_said_and_no_event_is_lost(path):
    log = Log.open(path)
    log.write(planned())
    writer = LogWriter(log, retry=0.01)
    limits = resource.getrlimit(resource.RLIMIT_FSIZE)
    size = path.with_name("log.db-wal").stat().st_size
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, limits[1]))
    try:
        writer.write(entry(1))
        assert not writer.flush(0.2)
        assert writer.trouble is not None and "memory card" in writer.trouble
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, limits)
    assert writer.close(LONG)
    assert texts(path) == ["Planned.", "event at 1"]


def test_a_disk_that_became_read_only_is_said_and_no_event_is_lost(path):
    log = Log.open(path)
    log.write(planned())
    log._connection.execute("PRAGMA query_only = 1")
    writer = LogWriter(log, retry=0.01)
    writer.write(entry(1))
    assert not writer.flush(0.2)
    assert writer.trouble is not None and "read-only" in writer.trouble
    log._connection.execute("PRAGMA query_only = 0")
    assert writer.close(LONG)
    assert texts(path) == ["Planned.", "event at 1"]


def test_closing_in_trouble_says_that_something_was_not_written(path):
    log, kind = failing_log(path)
    writer = LogWriter(log, retry=0.01)
    kind.arm()
    kind.nth, kind.sticky = 1, True
    writer.write(entry(1))
    assert not writer.close(0.1)
    assert writer.durable_seq == 0
    with pytest.raises(InputError, match="closed"):
        writer.write(entry(2))


@pytest.mark.parametrize("after", [False, True], ids=["undone", "done all the same"])
@pytest.mark.parametrize("sticky", [False, True], ids=["once", "sticky"])
def test_whichever_call_fails_the_thread_stores_everything_once(tmp_path, sticky, after):
    nth, hit = 0, True
    while hit:
        nth += 1
        path = tmp_path / f"{nth}.db"
        log, kind = failing_log(path)
        log.write(planned())
        writer = LogWriter(log, retry=0.001)
        kind.arm()
        kind.nth, kind.sticky, kind.after = nth, sticky, after
        writer.sample(sample(0))
        for at in (1, 2, 3):
            writer.write(entry(at, state=f"{at}"))
        while not writer.flush(0.02) and not (sticky and writer.trouble):
            pass
        hit = kind.calls >= nth
        kind.nth = 0
        assert writer.flush(LONG)
        assert writer.trouble is None
        assert writer.durable_seq == 3
        states = log._connection.execute("SELECT state FROM checkpoint ORDER BY number").fetchall()
        assert states[-1] == ("3",)
        assert writer.close(LONG)
        assert texts(path) == ["Planned.", "event at 1", "event at 2", "event at 3"]
        assert LogReader(path).span("ash-1") == (0, 0)
    assert nth > 10


def test_a_full_queue_lets_the_oldest_samples_go_and_says_the_gap(path):
    log, kind = failing_log(path)
    log.write(planned())
    writer = LogWriter(log, samples=10, retry=0.001)
    kind.arm()
    kind.nth, kind.sticky = 1, True
    writer.write(entry(1))
    assert not writer.flush(0.05)
    for n in range(25):
        writer.sample(sample(20.0 + 10 * n))
    assert writer.dropped == 15
    kind.nth = 0
    assert writer.close(LONG)

    (gap,) = (
        line.event
        for line in LogReader(path).events()
        if line.event is not None and line.event.kind is EventKind.GAP
    )
    assert gap.batch == "ash-1"
    assert gap.data == {"samples": 15, "from_s": 20.0, "to_s": 160.0}
    buckets = LogReader(path).samples_thinned("ash-1", 0, 300)
    assert [b.at for b in buckets] == [170.0 + 10 * n for n in range(10)]
    assert texts(path)[:2] == ["Planned.", "event at 1"]


def test_samples_that_are_just_being_written_are_not_the_ones_let_go(path):
    kind = Gated.closable()
    log = Log.open(path, connection=kind)
    log.write(planned())
    writer = LogWriter(log, samples=12)
    kind.shut()
    for at in range(11):
        writer.sample(sample(at))
    assert kind.reached.wait(LONG)
    for at in range(11, 21):
        writer.sample(sample(at))
    assert writer.dropped == 9
    kind.open()
    assert writer.close(LONG)
    there = [b.at for b in LogReader(path).samples_thinned("ash-1", 0, 21, 21)]
    assert there == [*range(6), *range(15, 21)]
    gap = LogReader(path).events()[-1].event
    assert gap is not None
    assert gap.data == {"samples": 9, "from_s": 6.0, "to_s": 14.0}


@pytest.mark.parametrize(
    ("code", "words"),
    [
        (sqlite3.SQLITE_FULL, "full"),
        (sqlite3.SQLITE_IOERR_FSYNC, "memory card"),
        (sqlite3.SQLITE_READONLY_DIRECTORY, "read-only"),
        (sqlite3.SQLITE_BUSY, "another program"),
        (sqlite3.SQLITE_CORRUPT, "damaged"),
        (sqlite3.SQLITE_PROTOCOL, "disk I/O error"),
    ],
)
def test_each_trouble_is_said_in_words_and_ends(path, code, words):
    log, kind = failing_log(path, code=code)
    writer = LogWriter(log, retry=0.001)
    kind.arm()
    kind.nth, kind.sticky = 1, True
    writer.write(entry(1))
    while writer.trouble is None:
        assert not writer.flush(0.02)
    assert words in writer.trouble and writer.trouble.endswith("Entries in memory: 1.")
    kind.nth = 0
    assert writer.close(LONG)
    assert writer.trouble is None


def test_a_gap_without_any_stamp_is_said_all_the_same(path):
    kind = Gated.closable()
    log = Log.open(path, connection=kind)
    writer = LogWriter(log, samples=4, retry=0.001)
    kind.shut()
    for n in range(8):
        writer.sample(sample(n, batch=None))
    kind.open()
    assert writer.close(LONG)
    (line,) = LogReader(path).events()
    assert line.event is not None and line.event.data["samples"] == 4
    assert line.clock_trusted is False


def test_a_mistake_in_the_thread_is_raised_at_the_next_call(path):
    log = Log.open(path)
    log.write(entry(1))
    log._last_event = 0
    writer = LogWriter(log)
    writer.write(entry(2))
    with pytest.raises(sqlite3.IntegrityError, match="other words"):
        for _ in range(3):
            writer.flush(LONG)
    with pytest.raises(sqlite3.IntegrityError, match="other words"):
        writer.sample(sample(3, batch=None))
    with pytest.raises(sqlite3.IntegrityError, match="other words"):
        writer.close(LONG)


def test_data_that_is_no_json_is_the_callers_mistake_and_blocks_nothing(path):
    writer = LogWriter.open(path)
    odd = entry(1)
    odd.events[0].data["who"] = object()
    with pytest.raises(TypeError):
        writer.write(odd)
    writer.write(entry(2))
    assert writer.close(LONG)
    assert texts(path) == ["event at 2"]


BUSY = """
import os, sys
from collections import deque
from pathlib import Path
from boatworks import entry, planned, sample
from controller.store.writer import LogWriter

writer = LogWriter.open(Path(sys.argv[1]))
if writer.notes:
    sys.exit(str(writer.notes))
writer.write(planned())
at, waiting = int(writer.last_at or 0), deque()
while True:
    at += 1
    waiting.append((writer.write(entry(at, state=str(at))), at))
    writer.sample(sample(at))
    if len(waiting) > 8:
        writer.flush(10)
    while waiting and waiting[0][0] <= writer.durable_seq:
        os.write(1, b"%d\\n" % waiting.popleft()[1])
"""


def test_kill_9_takes_no_event_that_was_answered_for(path):
    """One file, eight writers killed one after the other in the middle of their work."""
    chance = random.Random(8)
    places = [Path(controller.__file__).parents[1], Path(__file__).parent]
    acknowledged = []
    for _ in range(8):
        process = subprocess.Popen(
            [sys.executable, "-c", BUSY, str(path)],
            stdout=subprocess.PIPE,
            env=os.environ | {"PYTHONPATH": os.pathsep.join(map(str, places))},
        )
        assert process.stdout is not None
        for _ in range(chance.randrange(1, 60)):
            acknowledged.append(int(process.stdout.readline()))
        process.kill()
        # Lines that were in the pipe when it was killed were promises too.
        acknowledged += [int(line) for line in process.stdout.read().splitlines()]
        process.stdout.close()
        process.wait(LONG)

        log = Log.open(path)
        assert log.notes == ()
        lines = LogReader(path).events(limit=100_000)
        assert all(line.event is not None for line in lines)
        there = [line.event.at for line in lines if line.event.text != "Planned."]
        assert len(there) == len(set(there))
        assert set(acknowledged) <= set(there)
        assert all(log.answered(f"act-{at}") for at in acknowledged)
        assert log.last_checkpoint is not None
        assert int(log.last_checkpoint.state) == max(there)
        log.close()
    assert len(acknowledged) >= 100
