"""The mains go: what the log had waited for is there, whatever became of the rest.

The model. After each commit both files are copied, as they would be on a card that keeps what it
was told to keep (fsync) and nothing else for certain. A cut then leaves the synced part as it was,
and of what was written since, each sector of 512 bytes is the old one, the new one or noise; the
file may also end anywhere after the synced part. While the write-ahead file is put into the log
itself, each page of the log is the old or the new one, the write-ahead file being whole.

What the model covers: torn frames, a torn or mixed tail, commits in the wrong order, a write-ahead
file begun anew over an old one, a half-done checkpoint. What it does not: a card that says it has
kept what it has not, one that spoils other sectors than those it writes, a file system that loses
a file's length or name, and the file -shm, which is only ever made anew after a start.

Samples are committed without waiting for the disk, so after a cut those of the last while may be
missing: as long as the system keeps written pages back, by default some 30 s on Linux (from memory,
to be checked). Nothing more is promised for them, and what is there is whole.
"""

import random
from dataclasses import dataclass

import pytest
from boatworks import entry, planned, sample

from controller.store.log import Log
from controller.store.queries import LogReader

SECTOR, PAGE, FRAME, HEAD = 512, 4096, 4096 + 24, 32
EVENTS = 40


@dataclass(frozen=True)
class Moment:
    """Both files just after a commit."""

    db: bytes
    wal: bytes
    end: int
    """Length of the write-ahead file's present part: what is beyond is from before."""
    salt: bytes
    """Of the present part."""
    synced: bool
    """The commit waited for the disk."""
    events: int
    """Committed by then."""


def moment(path, synced, events):
    wal = path.with_name("log.db-wal").read_bytes()
    salt = wal[16:24]
    end = HEAD
    while end + FRAME <= len(wal) and wal[end + 8 : end + 16] == salt:
        end += FRAME
    return Moment(path.read_bytes(), wal, min(end, len(wal)), salt, synced, events)


@pytest.fixture(scope="module")
def evening(tmp_path_factory):
    """A log at work: its moments in order, the write-ahead file begun anew several times."""
    path = tmp_path_factory.mktemp("evening") / "log.db"
    log = Log.open(path)
    for connection in (log._events, log._samples):
        connection.execute("PRAGMA wal_autocheckpoint = 25")
    log.write(planned())
    moments = [moment(path, True, 1)]
    for at in range(1, EVENTS):
        log.write(entry(at, f"event {at} " + "x" * (at * 37 % 900), state=f"{at}"))
        moments.append(moment(path, True, at + 1))
        log.sample(sample(at * 10 - 9))
        log.sample(sample(at * 10))
        moments.append(moment(path, False, at + 1))
    log.close()
    return moments


def mixed(old, new, keep, chance, size=SECTOR, noise=True):
    """Of what differs beyond `keep`, each piece is the old, the new, or noise."""
    made = bytearray(new[:keep])
    for at in range(keep, len(new), size):
        piece = new[at : at + size]
        was = old[at : at + size]
        kind = chance.randrange(3 if noise else 2)
        if kind == 0:
            made += was + bytes(max(len(piece) - len(was), 0))
        else:
            made += piece if kind == 1 else chance.randbytes(len(piece))
    return bytes(made[: len(new)])


def cut_while_writing(moments, at, chance):
    """In the middle of the commits that came after the last one that was waited for."""
    base, last = moments[at], moments[min(at + 1 + chance.randrange(2), len(moments) - 1)]
    # begun anew, all of it is new; put into the log on the way, it was waited for before that
    keep = last.end if base.db != last.db else base.end
    if base.salt != last.salt:
        keep = 0
    wal = mixed(base.wal, last.wal[: last.end], keep, chance)
    if chance.randrange(2) and len(wal) > keep:
        wal = wal[: keep + chance.randrange(len(wal) - keep + 1)]
    return last.db, wal, base.events


def cut_while_put_in(moments, at, chance):
    """In the middle of the write-ahead file going into the log itself."""
    before, after = moments[at - 1], moments[at]
    db = mixed(before.db, after.db, 0, chance, size=PAGE, noise=False)
    return db[: max(len(before.db), len(db))], after.wal, after.events


def come_back(folder, db, wal, events):
    """A start after the cut: everything up to `events` is there, whole and in order."""
    folder.mkdir()
    (folder / "log.db").write_bytes(db)
    (folder / "log.db-wal").write_bytes(wal)
    log = Log.open(folder / "log.db", throwaway=True)
    assert log.notes == ()
    lines = [line.event for line in LogReader(folder / "log.db").events()]
    there = [event.at for event in lines if event is not None]
    assert there == list(range(len(lines))) and len(there) >= events
    assert all(log.answered(f"act-{at}") for at in range(1, events))
    if events > 1:
        assert log.last_checkpoint is not None
        assert events - 1 <= int(log.last_checkpoint.state) <= len(there) - 1
    rows = list(LogReader(folder / "log.db").samples("ash-1", 0, EVENTS * 10))
    assert [row.at for row in rows] == [
        (n // 2 + 1) * 10 - 9 * (n % 2 == 0) for n in range(len(rows))
    ]
    assert LogReader(folder / "log.db").damaged("ash-1") == ()
    log.close()


def cuts(moments, folder, times, seed):
    """As many cuts, at moments and of kinds drawn by chance."""
    chance = random.Random(seed)
    synced = [at for at, one in enumerate(moments[:-1]) if one.synced]
    put_in = [at for at in range(1, len(moments)) if moments[at].db != moments[at - 1].db]
    assert len(put_in) >= 3 and len({one.salt for one in moments}) >= 3
    for n in range(times):
        if n % 3:
            left = cut_while_writing(moments, chance.choice(synced), chance)
        else:
            left = cut_while_put_in(moments, chance.choice(put_in), chance)
        come_back(folder / f"cut{n}", *left)


def test_a_power_cut_takes_nothing_that_was_on_the_disk(evening, tmp_path):
    cuts(evening, tmp_path, 60, seed=1)


@pytest.mark.long
@pytest.mark.parametrize("seed", range(2, 12))
def test_a_thousand_power_cuts_take_nothing_that_was_on_the_disk(evening, tmp_path, seed):
    cuts(evening, tmp_path, 100, seed)


def test_the_model_bites(evening, tmp_path):
    """Were events committed as samples are, the same cuts would take some of them."""
    chance = random.Random(3)
    taken = 0
    for n in range(20):
        at = chance.randrange(10, len(evening) - 1)
        there = evening[at]
        keep = HEAD + (there.end - HEAD) // FRAME // 2 * FRAME
        db, wal = there.db, mixed(b"", there.wal[: there.end], keep, chance)
        folder = tmp_path / f"bite{n}"
        folder.mkdir()
        (folder / "log.db").write_bytes(db)
        (folder / "log.db-wal").write_bytes(wal)
        Log.open(folder / "log.db", throwaway=True).close()
        taken += LogReader(folder / "log.db").last_seq() < there.events
    assert taken >= 10
