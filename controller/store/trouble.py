"""What keeps the log from being written: disks that fail, are slow or nearly full, in words."""

import os
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from controller.batch.events import Event, EventKind
from controller.store.rows import Entry, SampleRow, Stamp

SLOW = 10.0
"""A write that takes longer is trouble, [s]. Own: as long as samples may wait for the disk."""
SPACE_WARN = 200 * 2**20
"""Free space under which people are told, [bytes]. Own: over a month of samples above the stop."""
SPACE_STOP = 50 * 2**20
"""Free space under which samples are let go, so that events still fit, [bytes]. Own."""

_WORDS = {
    sqlite3.SQLITE_FULL: "the disk is full: free some space",
    sqlite3.SQLITE_IOERR: "the memory card takes no writes: check it, and have another ready",
    sqlite3.SQLITE_READONLY: "the disk has become read-only: check the memory card",
    sqlite3.SQLITE_CORRUPT: "its file is damaged: restart control, which moves it aside",
    sqlite3.SQLITE_NOTADB: "its file is damaged: restart control, which moves it aside",
    sqlite3.SQLITE_BUSY: "another program holds the log: end it",
}


@dataclass(frozen=True, slots=True)
class Gap:
    """Samples that were let go, in one stretch."""

    first: SampleRow
    last: SampleRow
    count: int
    why: str
    """What kept the disk from taking the first of them."""


def trouble_of(write: Callable[[], None]) -> str | None:
    """Write; what the disk has against it, or None.

    Raises what is a mistake of ours and no trouble of the disk's.
    """
    try:
        write()
    except (sqlite3.IntegrityError, sqlite3.ProgrammingError, sqlite3.InterfaceError):
        raise
    except sqlite3.Error as error:
        return _WORDS.get(error.sqlite_errorcode & 0xFF, str(error))
    return None


def free_space(folder: Path) -> int | None:
    """Space on the disk that this user may fill, [bytes]; None when the disk does not say."""
    try:
        disk = os.statvfs(folder)
    except OSError:
        # a disk that cannot be asked fails the next write too, and that is told
        return None
    return disk.f_bavail * disk.f_frsize


def gap_told(gap: Gap, stamp: Stamp | None) -> Entry:
    """The entry that tells of samples let go; `stamp` is the newest there is."""
    row = gap.last
    stamp = stamp or Stamp(
        at=row.at, told_utc=row.told_utc, mono=0.0, boot_id="", clock_trusted=False
    )
    event = Event(
        at=stamp.at,
        kind=EventKind.GAP,
        batch=row.batch,
        stage=row.stage,
        text=f"{gap.count} samples were not kept, because {gap.why}.",
        data={"samples": gap.count, "from_s": gap.first.at, "to_s": gap.last.at},
    )
    return Entry(stamp=stamp, events=(event,))


def space_told(stamp: Stamp, free: int) -> Entry:
    """The entry that tells of a disk that is filling up."""
    text = (
        f"The disk has {_megabytes(free)} MB left: free some space. Under"
        f" {_megabytes(SPACE_STOP)} MB the log keeps events only, no samples."
    )
    event = Event(
        at=stamp.at,
        kind=EventKind.NOTE,
        batch=None,
        stage=None,
        text=text,
        data={"free_mb": _megabytes(free)},
    )
    return Entry(stamp=stamp, events=(event,))


def space_words(free: int) -> str:
    """One line for people while samples are let go."""
    return f"The disk has {_megabytes(free)} MB left: free some space. Samples are not kept now."


def _megabytes(size: int) -> int:
    return size // 2**20
