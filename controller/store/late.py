"""A log whose file could not be written at the start: read as far as that goes, opened later.

A rig must come up with a full or read-only disk all the same, because a bag may be under vacuum.
"""

import sqlite3
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import cast

from controller.batch.acts import Answer
from controller.errors import InputError
from controller.store import schema, tables, trouble
from controller.store.cells import EntryRows
from controller.store.log import Log
from controller.store.numbering import Numbering
from controller.store.rows import Checkpoint, Entry, SampleRow
from controller.store.sums import Row
from controller.store.trouble import DiskError

PATIENCE = 2.0
"""How long a look at the old file waits for a lock, [s]. Own."""


@dataclass(frozen=True, slots=True)
class Found:
    """What an old file gave away without being written."""

    checkpoint: Checkpoint | None
    """Its newest sound state."""
    last_at: float | None
    """Its newest rig time, [s]."""
    answers: tuple[Answer, ...]
    """Its newest answers, oldest of them first."""
    numbers: dict[str, int]
    """Its batches' numbers, by id."""


class LateLog:
    """A log for a `LogWriter` to write to once its disk takes something.

    Each write tries to open the file first and raises as `Log.open` while that fails.
    """

    def __init__(self, path: Path, why: DiskError, answers: int, opened: Callable[[], Log]) -> None:
        """why: it could not be opened      answers: how many old ones to look for

        opened: opens it, as often as it takes

        Raises InputError for a file of a newer version or another program.
        """
        self.folder = path.parent
        self.trouble = trouble.words(why.cause, self.folder)
        found = _found(path, answers)
        self._open = opened
        self._log: Log | None = None
        self._news: tuple[str, ...] = ()
        self._answers = () if found is None else found.answers
        self._numbering = Numbering({} if found is None else found.numbers)
        self.last_at = None if found is None else found.last_at
        self.last_checkpoint = why.carried
        if self.last_checkpoint is None and found is not None:
            self.last_checkpoint = found.checkpoint
        if self.last_checkpoint is not None:
            self.last_at = max(self.last_at or 0.0, self.last_checkpoint.stamp.at)
        self.state_lost = found is None and why.carried is None and path.exists()
        """There was a state, and it could not be read."""
        read = (
            "nothing could be read in it: look at the rig"
            if self.state_lost
            else "it was only read"
        )
        self.notes = (
            *why.notes,
            f"{path.name} could not be written at the start ({self.trouble}); {read}.",
        )

    def news(self) -> tuple[str, ...]:
        """What came out when the file could be opened, once, a line each."""
        told, self._news = self._news, ()
        return told

    def encoded(self, entry: Entry) -> EntryRows:
        """As Log.encoded."""
        return self._numbering.entry(entry)

    def encoded_sample(self, row: SampleRow) -> Row:
        """As Log.encoded_sample."""
        return self._numbering.sample(row)

    def latest_answers(self, limit: int) -> tuple[Answer, ...]:
        """As Log.latest_answers."""
        return self._answers[-limit:]

    def write_entries(self, entries: Sequence[EntryRows], checkpoint: Checkpoint | None) -> None:
        """As Log.write_entries, once the file can be opened."""
        log = self._opened()
        log.write_entries(
            [
                replace(entry, batches=tuple(self._renumbered(log, row) for row in entry.batches))
                for entry in entries
            ],
            checkpoint,
        )

    def write_samples(self, rows: Sequence[Row], checkpoint: Checkpoint | None) -> None:
        """As Log.write_samples, once the file can be opened."""
        log = self._opened()
        log.write_samples([self._renumbered(log, row) for row in rows], checkpoint)

    def free_space(self) -> int | None:
        """As Log.free_space."""
        return trouble.free_space(self.folder)

    def let_go(self) -> None:
        """Close the file, where it was ever opened."""
        if self._log is not None:
            self._log.let_go()

    def _opened(self) -> Log:
        if self._log is None:
            try:
                self._log = log = self._open()
            except DiskError as error:
                # what was found and done before it failed is not found again
                self._news += error.notes
                raise
            older: tuple[str, ...] = ()
            if self.state_lost and log.last_checkpoint is not None:
                older = (
                    "The log held an older state, which could not be read at the start: what went"
                    " on then was not gone on with. Look at the rig.",
                )
            self._news += (*log.notes, *older)
        return self._log

    def _renumbered(self, log: Log, row: Row) -> Row:
        """A row that begins with its batch's number, with the number that batch has in the file."""
        return (self._numbering.elsewhere(cast(int, row[0]), log.numbering), *row[1:])


def _found(path: Path, answers: int) -> Found | None:
    """What can be read of the file; None when nothing can, or there is none.

    Raises InputError for a file of a newer version or another program.
    """
    for way in (_as_reader, _alone):
        try:
            with way(path) as connection:
                return _read(connection, path, answers)
        except sqlite3.Error:
            # the next way, and after the last one the person is told that nothing was read
            continue
    return None


def _read(connection: sqlite3.Connection, path: Path, answers: int) -> Found | None:
    schema.read_flipped_bits(connection)
    schema.refuse_strangers(connection, str(path))
    try:
        schema.refuse_old(connection, str(path))
    except InputError:
        # only its writer may bring it up to date, and it cannot now
        return None
    newest = tables.newest_checkpoint(connection)
    return Found(
        checkpoint=newest.checkpoint,
        last_at=tables.last_at(connection),
        answers=tables.newest_answers(connection, answers),
        numbers=dict(connection.execute("SELECT id, number FROM batch")),
    )


@contextmanager
def _as_reader(path: Path) -> Iterator[sqlite3.Connection]:
    """Without any write: the file beside a write-ahead file that tells what is in it must be
    whole."""
    still = not path.with_name(path.name + "-wal").exists()
    with closing(_connected(path, "mode=ro&immutable=1" if still else "mode=ro")) as connection:
        yield connection


@contextmanager
def _alone(path: Path) -> Iterator[sqlite3.Connection]:
    """Shared with nobody, SQLite does without that file: after a power cut it is often empty."""
    with closing(_connected(path, "mode=rw")) as connection:
        connection.execute("PRAGMA locking_mode = EXCLUSIVE")
        yield connection


def _connected(path: Path, how: str) -> sqlite3.Connection:
    address = f"{path.resolve().as_uri()}?{how}"
    return sqlite3.connect(address, uri=True, timeout=PATIENCE, isolation_level=None)
