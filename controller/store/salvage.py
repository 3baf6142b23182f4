"""A log found damaged at the start: set aside, and the state it still knows carried over."""

import sqlite3
import time
from contextlib import closing
from pathlib import Path

from controller.store import schema, tables
from controller.store.file import DAMAGE, set_aside
from controller.store.rows import Checkpoint

CHECK_TIME = 10.0
"""How long a start looks for damage among the samples, [s]. Own: the unit gives a start 30 s, and a
memory card reads some hundred megabytes in this time."""
STEPS_BETWEEN = 10_000
"""Steps of SQLite's machine between two looks at the clock, well under a millisecond. Own."""
HEADER = 100
"""Size of a file's header, [bytes]. [1] SQLite, Database File Format, section 1.3, from memory, to
be checked."""


def made_sound(path: Path) -> tuple[tuple[str, ...], Checkpoint | None, bool]:
    """See to it that no damaged file is at `path`.

    Gives (what people should know, state carried over, whether a state was lost).

    A damaged file is kept under another name, never written over. The state is its newest sound
    one; None when nothing was wrong or none could be read. Raises InputError for a file of a newer
    version or another program, sqlite3.Error where the disk gives nothing.
    """
    state = None
    if _emptied(path):
        damage: str | None = "nothing is in it"
    else:
        damage, whole = look(path)
        if damage is None:
            part = f"{path.name} is so large that only part of it was checked at the start."
            return (() if whole else (part,)), None, False
        state = newest_state(path)
    aside = set_aside(path, "damaged")
    carried = "no state could be read in it: look at the rig"
    if state is not None:
        carried = "its newest sound state was carried over"
    note = f"{path.name} was damaged ({damage}): kept as {aside.name}, and a new log was started;"
    return (f"{note} {carried}.",), state, state is None


def _emptied(path: Path) -> bool:
    """The file was there, as its own name or its write-ahead file's tells, and nothing is in it.

    SQLite takes such a file for a new one and deletes the write-ahead file without a word.
    """
    if path.exists():
        return path.stat().st_size < HEADER
    return path.with_name(path.name + "-wal").exists()


def look(path: Path, within: float = CHECK_TIME) -> tuple[str | None, bool]:
    """What is wrong with the file's contents, or None; and whether all of it was looked at.

    within: time for the samples, [s]; the other tables are always looked at

    A file that is not there yet is sound. Flipped bits inside a row are not seen here: each row's
    own checksum is for that.
    """
    if _half_readable(path):
        return "its header is damaged", True
    with closing(sqlite3.connect(path, timeout=5.0, isolation_level=None)) as connection:
        try:
            schema.refuse_strangers(connection, str(path))
            names = connection.execute(
                "SELECT name FROM sqlite_schema WHERE type = 'table'"
                " AND name NOT IN ('sample', 'minute')"
            ).fetchall()
            for (name,) in names:
                found = str(connection.execute(f"PRAGMA quick_check('{name}')").fetchone()[0])
                if found != "ok":
                    return found.splitlines()[-1], True
            until = time.monotonic() + within
            connection.set_progress_handler(lambda: time.monotonic() > until, STEPS_BETWEEN)
            found = str(connection.execute("PRAGMA quick_check(1)").fetchone()[0])
        except sqlite3.DatabaseError as error:
            code = error.sqlite_errorcode & 0xFF
            if code == sqlite3.SQLITE_INTERRUPT:
                return None, False
            if code not in DAMAGE:
                raise
            return str(error), True
    return (None if found == "ok" else found.splitlines()[-1]), True


def _half_readable(path: Path) -> bool:
    """The header's two format numbers differ: SQLite would read such a file and never write it."""
    if not path.exists():
        return False
    with path.open("rb") as file:
        numbers = file.read(20)[18:]
    return len(set(numbers)) > 1


def newest_state(path: Path) -> Checkpoint | None:
    """The newest checkpoint of a damaged file that agrees with its checksum, if one can be read."""
    with closing(sqlite3.connect(path, timeout=5.0, isolation_level=None)) as connection:
        schema.read_flipped_bits(connection)
        try:
            return tables.newest_checkpoint(connection).checkpoint
        except sqlite3.DatabaseError:
            # nothing to carry over, which is what the person is told
            return None
