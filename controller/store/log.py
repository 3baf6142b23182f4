"""The log: one file, one writer, and nothing that was answered for is ever lost.

Two connections to one file. What must not be lost is committed at once and waits for the disk;
samples go in every ten seconds and do not, so that a memory card is not worn out by them.
"""

import sqlite3
import time
from collections.abc import Sequence
from contextlib import ExitStack
from pathlib import Path
from typing import IO, Protocol, Self, cast

from controller.batch.acts import Answer
from controller.errors import InputError
from controller.store import file, schema
from controller.store.cells import (
    CHANNELS,
    Cell,
    EntryRows,
    Row,
    checkpoint_of,
    checkpoint_row,
    checksum,
    entry_rows,
    sample_cells,
    written,
)
from controller.store.rows import Checkpoint, Entry, Kept, SampleRow

MEMORY = ":memory:"
"""The path of a log that lives in memory only."""
SAMPLES_EVERY = 10.0
"""Samples are committed this often, rig or wall time, [s]. Own."""
THROWAWAY_SAMPLES = 1000
"""Samples a rehearsal's log stores at a time. Own."""

_PUT_SAMPLE = (
    "INSERT OR REPLACE INTO sample (batch, at_ms, at_utc_ms, stage, coat,"
    f" {', '.join(CHANNELS.values())}, lamp, pump)"
    f" VALUES ({', '.join('?' * (7 + len(CHANNELS)))})"
)
# Computed anew from the samples each time, so that doing it twice does no harm.
_ROLL_UP = (
    "INSERT OR REPLACE INTO minute SELECT batch, at_ms / 60000, min(at_utc_ms), count(*), "
    + "".join(f"min({c}), max({c}), sum({c}), count({c}), " for c in CHANNELS.values())
    + "sum(lamp), sum(pump) FROM sample WHERE batch = ? AND at_ms >= ? AND at_ms < ?"
    " GROUP BY at_ms / 60000"
)
_LAST_AT = """SELECT max(at_ms) FROM (
    SELECT at_ms FROM checkpoint
    UNION ALL SELECT (SELECT at_ms FROM event ORDER BY seq DESC LIMIT 1)
    UNION ALL SELECT (SELECT max(at_ms) FROM sample WHERE batch = number)
        FROM (SELECT number FROM batch UNION ALL SELECT 0 AS number)
) WHERE typeof(at_ms) = 'integer'"""


class Record(Protocol):
    """Where the runner hands in what happened; with or without a thread behind it."""

    notes: tuple[str, ...]
    """What was found at the start that people should know, a line each."""
    last_checkpoint: Checkpoint | None
    """The newest sound checkpoint found at the start."""
    last_at: float | None
    """The newest rig time found at the start, [s]: rig time goes on from there."""

    @property
    def durable_seq(self) -> int:
        """Entries up to this number are on disk."""

    @property
    def trouble(self) -> str | None:
        """One line for people while the disk takes nothing; None when all is well."""

    def write(self, entry: Entry) -> int:
        """Hand in what must not be lost; the entry's number, counted from 1 since the start."""

    def sample(self, row: SampleRow) -> None:
        """Hand in what was read."""

    def checkpoint(self, checkpoint: Checkpoint) -> None:
        """Hand in the engine's state, to go with the next samples."""

    def answered(self, act: str) -> Kept | None:
        """The answer this act has had, durable or not; None when it is new."""

    def flush(self, timeout: float = 5.0) -> bool:
        """Wait up to `timeout` [s] until all of it is on disk; False when it is not."""

    def close(self, timeout: float = 5.0) -> bool:
        """Flush and let go of the file; False when something could not be written."""


class Log:
    """The log without a thread: each call returns when its rows are where they should be.

    A call that raises sqlite3.Error has changed nothing that counts: it may be made again with
    the same rows, and must be before others are, even where the failed commit did reach the disk.
    """

    def __init__(
        self,
        events: sqlite3.Connection,
        samples: sqlite3.Connection,
        lock: IO[str] | None = None,
        notes: tuple[str, ...] = (),
        throwaway: bool = False,
    ) -> None:
        """events, samples: connections to one migrated file, or the same one twice."""
        self._events = events
        self._samples = samples
        self._lock = lock
        self._throwaway = throwaway
        self._numbers: dict[str, int] = dict(events.execute("SELECT id, number FROM batch"))
        self._last_event: int = events.execute("SELECT max(seq) FROM event").fetchone()[0] or 0
        last = events.execute(_LAST_AT).fetchone()[0]
        self.last_at = None if last is None else last / 1000
        self.durable_seq = 0
        self.trouble: str | None = None
        self._checkpoints = 0
        self.last_checkpoint: Checkpoint | None = None
        for row in events.execute("SELECT * FROM checkpoint ORDER BY number"):
            sound = checkpoint_of(row)
            if sound is None:
                notes = (*notes, "A checkpoint in the log is damaged: the other one is used.")
            else:
                # Of sound rows only, so that the next one goes over the damaged one.
                self._checkpoints, self.last_checkpoint = row[1], sound
        self.notes = notes
        self._waiting: list[Row] = []
        self._waiting_first: SampleRow
        self._waiting_since = 0.0
        self._newest: Checkpoint | None = None

    @classmethod
    def open(
        cls,
        path: Path | str,
        *,
        throwaway: bool = False,
        connection: type[sqlite3.Connection] = sqlite3.Connection,
    ) -> Self:
        """The log at `path`, made or brought up to date where needed.

        throwaway: nothing waits for the disk and samples are stored by the thousand, as a
        rehearsal wants it; so is a log in memory
        connection: what to open it with; a test hands in one that fails

        A damaged file is moved aside and said in `notes`. Raises InputError for a file of a
        newer version or another program, and where the folder cannot be written; BusyError
        when another process writes this log.
        """
        if str(path) == MEMORY:
            only = sqlite3.connect(MEMORY, isolation_level=None, factory=connection)
            schema.migrate(only)
            return cls(only, only, throwaway=True)
        path = Path(path)
        try:
            with ExitStack() as undo:
                lock = undo.enter_context(file.claimed(path))
                damage = file.damage(path)
                notes = () if damage is None else (file.move_aside(path, damage),)
                events = file.connect(path, "OFF" if throwaway else "FULL", connection)
                undo.callback(events.close)
                schema.migrate(events)
                samples = file.connect(path, "OFF" if throwaway else "NORMAL", connection)
                undo.callback(samples.close)
                log = cls(events, samples, lock, notes, throwaway)
                undo.pop_all()
                return log
        except (OSError, sqlite3.Error) as error:
            raise InputError(
                f"{path}: cannot be used as the log ({error}); is the disk full or read-only?"
            ) from error

    def number(self, batch: str | None) -> int:
        """The number a sample carries for its batch, 0 for none.

        Raises KeyError for a batch that no entry has told of.
        """
        return 0 if batch is None else self._numbers[batch]

    def encoded(self, entry: Entry) -> EntryRows:
        """The rows of an entry. Raises TypeError for an event whose data is no JSON."""
        for batch in entry.batches:
            self._numbers.setdefault(batch.id, len(self._numbers) + 1)
        return entry_rows(entry, self._numbers)

    def encoded_sample(self, row: SampleRow) -> Row:
        """The cells of a sample. Raises KeyError for a batch that no entry has told of."""
        return (self.number(row.batch), *sample_cells(row))

    def write(self, entry: Entry) -> int:
        """Store an entry; its number. On disk when this returns."""
        newest = self._newest
        if entry.state is not None:
            newest = Checkpoint(stamp=entry.stamp, state=entry.state)
        self.write_entries([self.encoded(entry)], newest)
        self._newest = None
        self.durable_seq += 1
        return self.durable_seq

    def write_entries(self, entries: Sequence[EntryRows], checkpoint: Checkpoint | None) -> None:
        """Store entries, in order, and the state after them, all or nothing; on disk on return."""
        seq = self._last_event
        with file.transaction(self._events) as connection:
            for entry in entries:
                connection.executemany(
                    "INSERT INTO batch VALUES (?, ?, ?, ?, ?, ?)"
                    " ON CONFLICT (id) DO UPDATE SET name = excluded.name, sheet = excluded.sheet",
                    entry.batches,
                )
                for event in entry.events:
                    seq += 1
                    _put_event(connection, (seq, *event))
                # The first answer to an act stands.
                connection.executemany(
                    "INSERT OR IGNORE INTO answer VALUES (?, ?, ?, ?)",
                    [(*answer, seq) for answer in entry.answers],
                )
                connection.executemany(
                    "INSERT OR REPLACE INTO weigh_in (batch, at_ms, what, at_utc_ms, mass_mg)"
                    " VALUES (?, ?, ?, ?, ?)",
                    entry.weigh_ins,
                )
            self._put_checkpoint(connection, checkpoint)
        self._last_event = seq
        self._checkpoints += checkpoint is not None

    def sample(self, row: SampleRow) -> None:
        """Keep a sample, and store all kept ones when ten seconds have gone by."""
        cells = self.encoded_sample(row)
        if not self._waiting:
            self._waiting_first, self._waiting_since = row, time.monotonic()
        self._waiting.append(cells)
        if self._throwaway:
            full = len(self._waiting) >= THROWAWAY_SAMPLES
        else:
            full = due(self._waiting_first, row, time.monotonic() - self._waiting_since)
        if full:
            self.flush()

    def checkpoint(self, checkpoint: Checkpoint) -> None:
        """Keep the engine's state for the next samples or entry."""
        self._newest = checkpoint

    def write_samples(self, rows: Sequence[Row], checkpoint: Checkpoint | None) -> None:
        """Store samples, their minutes and a checkpoint, all or nothing."""
        ends: dict[Cell, tuple[int, int]] = {}
        for batch, at, *_ in rows:
            minute = cast(int, at) // 60000
            low, high = ends.get(batch, (minute, minute))
            ends[batch] = min(low, minute), max(high, minute)
        with file.transaction(self._samples) as connection:
            connection.executemany(_PUT_SAMPLE, rows)
            for batch, (low, high) in ends.items():
                connection.execute(_ROLL_UP, (batch, low * 60000, (high + 1) * 60000))
            self._put_checkpoint(connection, checkpoint)
        self._checkpoints += checkpoint is not None

    def answered(self, act: str) -> Kept | None:
        """The answer this act has had; None when it is new."""
        row = self._events.execute(
            "SELECT accepted, text FROM answer WHERE act = ?", (written(act),)
        ).fetchone()
        if row is None:
            return None
        return Kept(answer=Answer(act=act, accepted=bool(row[0]), text=row[1]), seq=0)

    def latest_answers(self, limit: int) -> tuple[Answer, ...]:
        """The newest answers, oldest of them first."""
        rows = self._events.execute(
            "SELECT act, accepted, text FROM answer ORDER BY event_seq DESC, rowid DESC LIMIT ?",
            (limit,),
        ).fetchall()
        return tuple(
            Answer(act=act, accepted=bool(yes), text=text) for act, yes, text in rows[::-1]
        )

    def flush(self, timeout: float = 5.0) -> bool:
        """Store the samples kept so far. True; raises sqlite3.Error when that fails."""
        if self._waiting or self._newest is not None:
            self.write_samples(self._waiting, self._newest)
            self._waiting, self._newest = [], None
        return True

    def close(self, timeout: float = 5.0) -> bool:
        """Store the samples kept so far and let go of the file. Safe to call twice."""
        try:
            return self.flush()
        finally:
            self._waiting, self._newest = [], None
            self.let_go()

    def let_go(self) -> None:
        """Close the file as it is."""
        self._samples.close()
        self._events.close()
        if self._lock is not None:
            self._lock.close()

    def _put_checkpoint(
        self, connection: sqlite3.Connection, checkpoint: Checkpoint | None
    ) -> None:
        if checkpoint is None:
            return
        number = self._checkpoints + 1
        row = (number % 2, number, *checkpoint_row(checkpoint))
        connection.execute(
            "INSERT OR REPLACE INTO checkpoint VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (*row, checksum(row)),
        )


def due(first: SampleRow, last: SampleRow, waited: float) -> bool:
    """Samples kept since `first` are to be stored: ten seconds of rig time or of waiting [s]."""
    return max(last.at - first.at, waited) >= SAMPLES_EVERY


def _put_event(connection: sqlite3.Connection, row: Row) -> None:
    crc = checksum(row)
    done = connection.execute(
        "INSERT INTO event VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
        " ON CONFLICT (seq) DO NOTHING",
        (*row, crc),
    )
    if done.rowcount:
        return
    # A commit that failed may have reached the disk all the same; then this very row is there.
    there = connection.execute("SELECT crc32 FROM event WHERE seq = ?", (row[0],)).fetchone()
    if there != (crc,):
        raise sqlite3.IntegrityError(f"event {row[0]} is in the log with other words")
