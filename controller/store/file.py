"""The log's file: claimed for one writer, opened as it should be, set aside when it must be."""

import fcntl
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import IO

from controller.errors import BusyError, InputError
from controller.store import schema

WAL_LIMIT = 16 * 2**20
"""The write-ahead file is cut back to this after a burst, [bytes]. Own."""
DAMAGE = frozenset({sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB})
"""SQLite's words for a file whose contents are wrong."""


def claimed(path: Path) -> IO[str]:
    """The open lock file beside the log; closing it gives the log up.

    A file of its own, because closing any handle on the log itself would drop SQLite's locks.
    Raises BusyError when another process has it.
    """
    lock = path.with_name(path.name + ".lock").open("w")
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        lock.close()
        raise BusyError(f"{path}: another process writes this log; stop it first") from None
    return lock


def connect(path: Path, synchronous: str, kind: type[sqlite3.Connection]) -> sqlite3.Connection:
    """A connection of the writer. Raises InputError where the disk cannot hold such a file."""
    connection = sqlite3.connect(
        path, timeout=5.0, isolation_level=None, check_same_thread=False, factory=kind
    )
    try:
        mode = connection.execute("PRAGMA journal_mode = WAL").fetchone()[0]
        if mode != "wal":
            raise InputError(f"{path}: this disk cannot hold the log (journal mode {mode})")
        connection.execute(f"PRAGMA synchronous = {synchronous}")
        schema.read_flipped_bits(connection)
        connection.execute(f"PRAGMA journal_size_limit = {WAL_LIMIT}")
    except BaseException:
        connection.close()
        raise
    return connection


def set_aside(path: Path, why: str) -> Path:
    """Rename the file and what belongs to it; the name it has now.

    why: a word of that name
    """
    aside = free_name(path, why)
    renamed(path, aside)
    return aside


def free_name(path: Path, why: str) -> Path:
    """A name beside the file that nothing has, with the time and a word in it."""
    stem = f"{path.name}.{why}-{datetime.now(UTC):%Y%m%dT%H%M%SZ}"
    name, count = path.with_name(stem), 1
    while name.exists():
        count += 1
        name = path.with_name(f"{stem}-{count}")
    return name


def renamed(path: Path, name: Path) -> None:
    """Rename the file and what belongs to it."""
    for end in ("-wal", "-shm", ""):
        part = path.with_name(path.name + end)
        if part.exists():
            part.rename(name.with_name(name.name + end))


def removed(path: Path) -> None:
    """Take away a file and what belongs to it; it need not be there."""
    for end in ("-wal", "-shm", ""):
        path.with_name(path.name + end).unlink(missing_ok=True)


@contextmanager
def transaction(connection: sqlite3.Connection) -> Iterator[sqlite3.Connection]:
    """All that is done inside is stored on leaving, or none of it when anything raises."""
    if connection.in_transaction:
        # a commit and its roll-back have both failed the last time
        connection.execute("ROLLBACK")
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield connection
        connection.execute("COMMIT")
    except BaseException:
        # A roll-back that fails is made up for above, before the next transaction.
        with suppress(sqlite3.Error):
            if connection.in_transaction:
                connection.execute("ROLLBACK")
        raise
