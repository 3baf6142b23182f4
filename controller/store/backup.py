"""A copy of the log that can be put back: taken while control runs, put back while it does not.

Nothing is ever overwritten: a copy needs a new name, and a log that is replaced is kept under one.
Whatever goes wrong on the way, there is a whole log under the log's name.
"""

import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from controller.errors import BusyError, InputError
from controller.store import schema
from controller.store.file import DAMAGE, claimed, free_name, renamed, set_aside
from controller.store.sums import sound, sound_sql
from controller.store.tables import MINUTE_CELLS, SAMPLE_CELLS
from controller.whole_files import half_file, into_place

TABLES = ("batch", "event", "sample")
"""What is counted, to say what is in a copy."""
MODE = 0o640
"""Of a log and of a copy: the group may look."""
PATIENCE = 2.0
"""How long the log waits for somebody who reads it, [s]. Own."""
_KEYED = ("batch", "event", "answer", "weigh_in", "checkpoint")
_SUMMED = {"sample": SAMPLE_CELLS, "minute": MINUTE_CELLS}


@dataclass(frozen=True, slots=True)
class Copied:
    """What is in a copy that was checked."""

    batches: int
    events: int
    samples: int
    unsound: int
    """Rows that do not agree with their own checksum: they were damaged in the log already."""
    size: int
    """[bytes]"""


def back_up(log: Path, to: Path) -> Copied:
    """Copy the log, as it is at one moment, to a new file.

    Raises InputError when there is no log, `to` is there already, or it cannot be written, and
    BusyError when control starts meanwhile; then nothing is left of it.
    """
    if not log.exists():
        raise InputError(f"no log at {log}; has control run here yet?")
    _refuse_taken(to)
    wal = log.with_name(log.name + "-wal")
    try:
        with _half(to) as half:
            # without its write-ahead file a log does not change, and another user may not open one
            still = not wal.exists()
            with closing(_connect(log, "immutable=1" if still else "mode=ro")) as connection:
                schema.refuse_strangers(connection, str(log))
                connection.execute("VACUUM INTO ?", (str(half),))
            if still and wal.exists():
                raise BusyError(f"{log}: control was just starting; take the copy again")
            copied = _checked(half, to)
            _refuse_taken(to)
            into_place(half, to)
    except (OSError, sqlite3.Error) as error:
        raise InputError(f"{log} could not be copied to {to} ({_why(error)})") from error
    return copied


def put_back(copy: Path, log: Path) -> tuple[Copied, Path | None]:
    """Put a copy in the log's place; what is in it, and where the log before it is kept.

    Raises BusyError while control or a reader has the log, InputError for a copy that is not a
    whole log this version reads, or when the disk does not take it; then the log is as it was.
    """
    if not copy.is_file():
        raise InputError(f"{copy} is no file; name one that warmdraw backup wrote")
    if copy.with_name(copy.name + "-wal").exists():
        raise InputError(f"{copy} is a log in use and not a copy; take one with warmdraw backup")
    try:
        log.parent.mkdir(mode=0o750, parents=True, exist_ok=True)
        with _claimed(log), _half(log) as half:
            shutil.copyfile(copy, half)
            # whatever the umask of who typed this
            half.chmod(MODE)
            _given_to_owner(half)
            copied = _checked(half, copy)
            with _kept(log) as before:
                into_place(half, log)
    except (OSError, sqlite3.Error) as error:
        raise InputError(f"{log} could not be replaced ({_why(error)}); it is as it was") from error
    return copied, before


def _refuse_taken(to: Path) -> None:
    if to.exists():
        raise InputError(f"{to} is there already; name another file, nothing is overwritten")


@contextmanager
def _claimed(log: Path) -> Iterator[None]:
    """Nobody else writes the log while this holds."""
    try:
        lock = claimed(log)
    except BusyError:
        raise BusyError(
            f"{log} is being written; stop control first (as a service: sudo systemctl stop"
            " warmdraw-control)"
        ) from None
    with closing(lock):
        _given_to_owner(Path(lock.name))
        yield


@contextmanager
def _kept(log: Path) -> Iterator[Path | None]:
    """A second name for the log, which it keeps when another file takes its first.

    Nothing to keep: None. When what is done meanwhile fails, it has only its first name again.
    """
    if not any(log.with_name(log.name + end).exists() for end in ("", "-wal")):
        yield None
        return
    if not _folded(log):
        aside = set_aside(log, "replaced")
        try:
            yield aside
        except BaseException:
            renamed(aside, log)
            raise
        return
    aside = free_name(log, "replaced")
    os.link(log, aside)
    try:
        yield aside
    except BaseException:
        # the copy may have its name already; two names of one file are no renaming, and one stays
        aside.replace(log)
        aside.unlink(missing_ok=True)
        raise


def _folded(log: Path) -> bool:
    """The log is whole in its one file, without a write-ahead file; False for a damaged one."""
    if not log.exists():
        return False
    try:
        with closing(_connect(log, "mode=rw")) as connection:
            busy = connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0]
    except sqlite3.DatabaseError as error:
        if error.sqlite_errorcode & 0xFF not in DAMAGE:
            raise
        return False
    if busy:
        raise BusyError(f"{log} is being read; stop warmdraw-page too, or try again")
    # left by a reader that is just going; they would be taken for the new log's
    for end in ("-wal", "-shm"):
        log.with_name(log.name + end).unlink(missing_ok=True)
    return True


@contextmanager
def _half(whole: Path) -> Iterator[Path]:
    """A new file beside it for what is not whole yet; nothing is left of what SQLite puts by it."""
    with half_file(whole, MODE) as half:
        try:
            yield half
        finally:
            for end in ("-journal", "-wal", "-shm"):
                half.with_name(half.name + end).unlink(missing_ok=True)


def _given_to_owner(path: Path) -> None:
    """Root's files become those of the folder's owner, who could not open them otherwise."""
    if os.geteuid() == 0:
        folder = path.parent.stat()
        os.chown(path, folder.st_uid, folder.st_gid)


def _checked(path: Path, shown: Path) -> Copied:
    """What is in a whole log. Raises InputError, naming `shown`, for anything else."""
    try:
        with closing(_connect(path, "immutable=1")) as connection:
            schema.read_flipped_bits(connection)
            schema.refuse_strangers(connection, str(shown))
            if schema.version(connection) == 0:
                raise InputError(f"{shown} is no log of warmdraw's; name one that backup wrote")
            found = str(connection.execute("PRAGMA quick_check(1)").fetchone()[0])
            counts = [_count(connection, table) for table in TABLES]
            unsound = _unsound(connection)
    except sqlite3.Error as error:
        raise InputError(f"{shown} is damaged or no log ({error}); take another copy") from error
    if found != "ok":
        raise InputError(f"{shown} is damaged ({found}); take another copy")
    batches, events, samples = counts
    return Copied(batches, events, samples, unsound, path.stat().st_size)


def _count(connection: sqlite3.Connection, table: str, where: str = "TRUE") -> int:
    found = connection.execute(f"SELECT count(*) FROM {table} WHERE {where}").fetchone()
    return int(found[0])


def _unsound(connection: sqlite3.Connection) -> int:
    """Rows that do not agree with their checksum; a log of an older schema has fewer of them."""

    def last_column(table: str) -> str | None:
        columns = connection.execute(f"PRAGMA table_info({table})").fetchall()
        return str(columns[-1][1]) if columns else None

    keyed = sum(
        not sound(row)
        for table in _KEYED
        if last_column(table) == "crc32"
        for row in connection.execute(f"SELECT * FROM {table}")
    )
    summed = sum(
        _count(connection, table, f"NOT {sound_sql(cells)}")
        for table, cells in _SUMMED.items()
        if last_column(table) == "sum31"
    )
    return keyed + summed


def _connect(path: Path, how: str) -> sqlite3.Connection:
    address = f"{path.resolve().as_uri()}?{how}"
    return sqlite3.connect(address, uri=True, timeout=PATIENCE, isolation_level=None)


def _why(error: Exception) -> str:
    return str(error.strerror if isinstance(error, OSError) else error)
