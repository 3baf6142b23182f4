"""The log's file: claimed for one writer, opened as it should be, moved aside when damaged."""

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

_DAMAGE = {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB}


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
    mode = connection.execute("PRAGMA journal_mode = WAL").fetchone()[0]
    if mode != "wal":
        connection.close()
        raise InputError(f"{path}: this disk cannot hold the log (journal mode {mode})")
    connection.execute(f"PRAGMA synchronous = {synchronous}")
    # A flipped bit must not keep the sound rows from being read.
    connection.text_factory = lambda text: text.decode("utf-8", "replace")
    connection.execute(f"PRAGMA journal_size_limit = {WAL_LIMIT}")
    return connection


def damage(path: Path) -> str | None:
    """What is wrong with the file's contents; None when it is sound, new, or not there yet."""
    connection = sqlite3.connect(path, timeout=5.0, isolation_level=None)
    try:
        schema.refuse_strangers(connection, str(path))
        found = str(connection.execute("PRAGMA quick_check(1)").fetchone()[0])
    except sqlite3.DatabaseError as error:
        if error.sqlite_errorcode & 0xFF not in _DAMAGE:
            raise
        return str(error)
    finally:
        connection.close()
    return None if found == "ok" else found.splitlines()[-1]


def move_aside(path: Path, found: str) -> str:
    """Rename the file and what belongs to it; the line that tells people."""
    stem = f"{path.name}.damaged-{datetime.now(UTC):%Y%m%dT%H%M%SZ}"
    aside, count = path.with_name(stem), 1
    while aside.exists():
        count += 1
        aside = path.with_name(f"{stem}-{count}")
    for end in ("-wal", "-shm", ""):
        part = path.with_name(path.name + end)
        if part.exists():
            part.rename(aside.with_name(aside.name + end))
    return f"{path.name} was damaged ({found}): kept as {aside.name}, and a new log was started."


@contextmanager
def transaction(connection: sqlite3.Connection) -> Iterator[sqlite3.Connection]:
    """All that is done inside is stored on leaving, or none of it when anything raises."""
    if connection.in_transaction:
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
