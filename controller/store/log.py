"""The log: one file, one writer, and nothing that was answered for is ever lost.

Every commit waits for the disk. What must not be lost is committed at once; samples go in every
ten seconds, so that a power cut takes no more of them and a memory card is not worn out by them.
"""

import sqlite3
import time
from collections.abc import Sequence
from contextlib import ExitStack
from pathlib import Path
from typing import IO, Protocol, Self

from controller.batch.acts import Answer
from controller.errors import InputError
from controller.store import file, salvage, schema, tables, trouble
from controller.store.cells import EntryRows, written
from controller.store.numbering import Numbering
from controller.store.rows import Checkpoint, Entry, Kept, SampleRow
from controller.store.sums import Row
from controller.store.trouble import DiskError

MEMORY = ":memory:"
"""The path of a log that lives in memory only."""
SAMPLES_EVERY = 9.0
"""Samples that span this much rig time, or have waited so long, are committed, [s]. Own: with a
sample a second, no kill and no power cut takes more than ten seconds of them."""
THROWAWAY_SAMPLES = 1000
"""Samples a rehearsal's log stores at a time. Own."""


class Record(Protocol):
    """Where the runner hands in what happened; with or without a thread behind it."""

    notes: tuple[str, ...]
    """What was found at the start that people should know, a line each."""
    state_lost: bool
    """There was a state, and it could not be read at the start."""
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
        connection: sqlite3.Connection,
        lock: IO[str] | None = None,
        notes: tuple[str, ...] = (),
        throwaway: bool = False,
        folder: Path | None = None,
    ) -> None:
        """connection: to a migrated file

        folder: where the file is; None for one in memory
        """
        self._connection = connection
        self._lock = lock
        self._throwaway = throwaway
        self.folder = folder
        self.numbering = Numbering(dict(connection.execute("SELECT id, number FROM batch")))
        newest_event = connection.execute("SELECT max(seq) FROM event").fetchone()
        self._last_event: int = newest_event[0] or 0
        self.durable_seq = 0
        self.trouble: str | None = None
        newest = tables.newest_checkpoint(connection)
        self.last_at = tables.last_at(connection)
        if newest.checkpoint is not None:
            self.last_at = max(self.last_at or 0.0, newest.checkpoint.stamp.at)
        self._checkpoints = newest.number
        self.last_checkpoint: Checkpoint | None = newest.checkpoint
        if newest.damaged:
            other = "no other is left" if newest.checkpoint is None else "the other one is used"
            notes = (*notes, f"A checkpoint in the log is damaged: {other}.")
        self.notes = notes
        self.state_lost = newest.damaged > 0 and newest.checkpoint is None
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

        A damaged file is moved aside and said in `notes`, and its newest sound state goes into the
        new one. Raises InputError for a file of a newer version or another program, and where the
        folder cannot be used; DiskError where its disk takes nothing now; BusyError when another
        process writes this log.
        """
        if str(path) == MEMORY:
            only = sqlite3.connect(MEMORY, isolation_level=None, factory=connection)
            schema.migrate(only)
            return cls(only, throwaway=True)
        path = Path(path)
        notes: tuple[str, ...] = ()
        carried: Checkpoint | None = None
        try:
            with ExitStack() as undo:
                lock = undo.enter_context(file.claimed(path))
                notes, carried, lost = salvage.made_sound(path)
                if not path.exists() or path.stat().st_size == 0:
                    # an empty file left behind would be taken for a damaged one at the next try
                    undo.callback(file.removed, path)
                opened = file.connect(path, "OFF" if throwaway else "FULL", connection)
                undo.callback(opened.close)
                schema.migrate(opened)
                if carried is not None:
                    with file.transaction(opened):
                        tables.put_checkpoint(opened, 1, carried)
                log = cls(opened, lock, notes, throwaway, path.parent)
                log.state_lost = log.state_lost or lost
                undo.pop_all()
                return log
        except (OSError, sqlite3.Error) as error:
            text = f"{path}: cannot be used as the log ({error}); is the disk full or read-only?"
            if trouble.of_the_disk(error):
                raise DiskError(text, error, notes, carried) from error
            raise InputError(text) from error

    def again(self, path: Path | str) -> Self:
        """What a rehearsal's next start finds: this log closed and the one at `path` opened.

        One in memory stays as it is. Raises as `open`.
        """
        if str(path) != MEMORY:
            self.close()
            return type(self).open(path, throwaway=True)
        self.flush()
        return type(self)(self._connection, throwaway=True)

    def encoded(self, entry: Entry) -> EntryRows:
        """The rows of an entry. Raises TypeError for an event whose data is no JSON."""
        return self.numbering.entry(entry)

    def encoded_sample(self, row: SampleRow) -> Row:
        """The cells of a sample. Raises KeyError for a batch that no entry has told of."""
        return self.numbering.sample(row)

    def news(self) -> tuple[str, ...]:
        """What came out since it was opened: nothing."""
        return ()

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
        with file.transaction(self._connection) as connection:
            for entry in entries:
                for batch in entry.batches:
                    tables.put_batch(connection, batch)
                for event in entry.events:
                    seq += 1
                    tables.put_event(connection, (seq, *event))
                tables.put_answers(connection, entry.answers, seq)
                tables.put_weigh_ins(connection, entry.weigh_ins)
            self._put_checkpoint(connection, checkpoint)
        self._last_event = seq
        self._checkpoints += checkpoint is not None

    def sample(self, row: SampleRow) -> None:
        """Keep a sample, and store all kept ones once they span nine seconds."""
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
        with file.transaction(self._connection) as connection:
            tables.put_samples(connection, rows)
            self._put_checkpoint(connection, checkpoint)
        self._checkpoints += checkpoint is not None

    def answered(self, act: str) -> Kept | None:
        """The answer this act has had; None when it is new."""
        answer = tables.answer_to(self._connection, written(act))
        return None if answer is None else Kept(answer=answer, seq=0)

    def latest_answers(self, limit: int) -> tuple[Answer, ...]:
        """The newest answers, oldest of them first."""
        return tables.newest_answers(self._connection, limit)

    def free_space(self) -> int | None:
        """Space left on the log's disk, [bytes]; None for a log in memory."""
        return None if self.folder is None else trouble.free_space(self.folder)

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
        self._connection.close()
        if self._lock is not None:
            self._lock.close()

    def _put_checkpoint(
        self, connection: sqlite3.Connection, checkpoint: Checkpoint | None
    ) -> None:
        if checkpoint is not None:
            tables.put_checkpoint(connection, self._checkpoints + 1, checkpoint)


def due(first: SampleRow, last: SampleRow, waited: float) -> bool:
    """Samples kept since `first` are to be stored: nine seconds of rig time or of waiting [s]."""
    return max(last.at - first.at, waited) >= SAMPLES_EVERY
