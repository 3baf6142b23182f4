"""The mains go while a log is at work: a model of what a card has kept, and what a start finds.

The model. After each commit both files are copied, as they would be on a card that keeps what it
was told to keep (fsync) and nothing else for certain. A cut then leaves the synced part as it was,
and of what was written since, each sector of 512 bytes is the old one, the new one or noise; the
file may also end anywhere after the synced part. While the write-ahead file is put into the log
itself, each page of the log is the old or the new one, the write-ahead file being whole.

What the model covers: torn frames, a torn or mixed tail, commits in the wrong order, a write-ahead
file begun anew over an old one, a half-done checkpoint. What it does not: a card that says it has
kept what it has not, one that spoils other sectors than those it writes, a file system that loses
a file's length or name, and the file -shm, which is only ever made anew after a start.
"""

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from boatworks import entry, planned, sample

from controller.store.log import Log
from controller.store.queries import LogReader

SECTOR, PAGE, FRAME, HEAD = 512, 4096, 4096 + 24, 32
SECONDS = 400
"""Length of the evening; a sample each, [s]."""
EACH = 7
"""An event each, [s]."""


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
    second: int
    """When, [s]."""


@dataclass(frozen=True)
class Cut:
    """What is on the card, and what must be found there."""

    db: bytes
    wal: bytes
    events: int
    """Answered for by then."""
    second: int
    """When the mains went, [s]."""


@dataclass(frozen=True)
class Found:
    """What a start after a cut found."""

    lost: int
    """Events that were answered for and are not there."""
    unsound: str
    """What is there and must not be, or is not whole; empty when all is well."""
    behind: float
    """From the newest sample to the cut, [s]."""


def moment(path: Path, synced: bool, events: int, second: int) -> Moment:
    """Both files as they are now."""
    wal = path.with_name("log.db-wal").read_bytes()
    salt = wal[16:24]
    end = HEAD
    while end + FRAME <= len(wal) and wal[end + 8 : end + 16] == salt:
        end += FRAME
    return Moment(path.read_bytes(), wal, min(end, len(wal)), salt, synced, events, second)


def evening(path: Path, *, each: int = EACH, waits: bool = True) -> list[Moment]:
    """A log at work: its moments in order, the write-ahead file begun anew several times.

    each: an event so often, [s]      waits: samples wait for the disk, as they do
    """
    log = Log.open(path)
    log._connection.execute("PRAGMA wal_autocheckpoint = 25")
    log.write(planned())
    events = 1
    moments = [moment(path, True, events, 0)]
    for second in range(1, SECONDS):
        if second % each == 0:
            text = f"event {events} " + "x" * (events * 37 % 900)
            log.write(entry(events, text, state=f"{events}"))
            events += 1
            moments.append(moment(path, True, events, second))
        log._connection.execute(f"PRAGMA synchronous = {'FULL' if waits else 'NORMAL'}")
        log.sample(sample(second))
        if not log._waiting:
            moments.append(moment(path, waits, events, second))
        log._connection.execute("PRAGMA synchronous = FULL")
    log.close()
    return moments


def mixed(
    old: bytes,
    new: bytes,
    keep: int,
    chance: random.Random,
    size: int = SECTOR,
    noise: bool = True,
) -> bytes:
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


def cut_while_writing(moments: Sequence[Moment], at: int, chance: random.Random) -> Cut:
    """In the middle of the commit after this one; of those that did not wait, in all of them."""
    base = moments[next(n for n in range(at, -1, -1) if moments[n].synced)]
    last = moments[at + 1]
    # begun anew, all of it is new; put into the log on the way, it was waited for before that
    keep = last.end if base.db != last.db else base.end
    if base.salt != last.salt:
        keep = 0
    wal = mixed(base.wal, last.wal[: last.end], keep, chance)
    if chance.randrange(2) and len(wal) > keep:
        wal = wal[: keep + chance.randrange(len(wal) - keep + 1)]
    return Cut(last.db, wal, moments[at].events, last.second)


def cut_while_put_in(moments: Sequence[Moment], at: int, chance: random.Random) -> Cut:
    """In the middle of the write-ahead file going into the log itself."""
    before, after = moments[at - 1], moments[at]
    db = mixed(before.db, after.db, 0, chance, size=PAGE, noise=False)
    db = db[: max(len(before.db), len(db))]
    return Cut(db, after.wal, after.events, after.second)


def cuts(moments: Sequence[Moment], times: int, seed: int) -> Iterator[Cut]:
    """As many cuts, at moments and of kinds drawn by chance."""
    chance = random.Random(seed)
    put_in = [at for at in range(1, len(moments)) if moments[at].db != moments[at - 1].db]
    assert len(put_in) >= 3 and len({one.salt for one in moments}) >= 3
    for n in range(times):
        if n % 3:
            yield cut_while_writing(moments, chance.randrange(len(moments) - 1), chance)
        else:
            yield cut_while_put_in(moments, chance.choice(put_in), chance)


def come_back(folder: Path, cut: Cut) -> Found:
    """A start after the cut."""
    folder.mkdir()
    path = folder / "log.db"
    path.write_bytes(cut.db)
    path.with_name("log.db-wal").write_bytes(cut.wal)
    log = Log.open(path, throwaway=True)
    reader = LogReader(path)
    events = [line.event for line in reader.events()]
    there = [event.at for event in events if event is not None]
    rows = [row.at for row in reader.samples("ash-1", 0, SECONDS)]
    lost = {*range(cut.events)} - {*there}
    lost |= {at for at in range(1, cut.events) if log.answered(f"act-{at}") is None}
    unsound = [*log.notes]
    if there != [*range(len(events))]:
        unsound.append(f"events {there}")
    if rows != [*range(1, len(rows) + 1)]:
        unsound.append(f"samples {rows}")
    if reader.damaged("ash-1"):
        unsound.append(f"rows {reader.damaged('ash-1')}")
    state = log.last_checkpoint
    if cut.events > 1 and (
        state is None or not cut.events - 1 <= int(state.state) <= len(there) - 1
    ):
        unsound.append(f"state {state}")
    log.close()
    return Found(len(lost), "; ".join(unsound), cut.second - (rows[-1] if rows else 0))
