"""What keeps the log from being written: disks that fail, are slow or nearly full, in words."""

import errno
import os
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from controller.batch.events import Event, EventKind
from controller.errors import BusyError, InputError
from controller.store.rows import Checkpoint, Entry, SampleRow, Stamp

SLOW = 10.0
"""A write that takes longer is trouble, [s]. Own: as long as samples may wait for the disk."""
SPACE_WARN = 200 * 2**20
"""Free space under which people are told, [bytes]. Own: over a month of samples above the stop."""
SPACE_STOP = 50 * 2**20
"""Free space under which samples are let go, so that events still fit, [bytes]. Own."""

_FULL = (
    "the disk of {folder} is full: free some space there, for example with"
    " sudo journalctl --vacuum-size=50M"
)
_WORDS = {
    sqlite3.SQLITE_FULL: _FULL,
    sqlite3.SQLITE_IOERR: "the memory card takes no writes: check it, and have another ready",
    sqlite3.SQLITE_READONLY: (
        "the disk of {folder} is read-only: sudo mount -o remount,rw {mount}, or check the memory"
        " card"
    ),
    sqlite3.SQLITE_CANTOPEN: "no file can be opened in {folder}: look with ls -l and df -h",
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


_NUMBERS = {
    errno.ENOSPC: sqlite3.SQLITE_FULL,
    errno.EDQUOT: sqlite3.SQLITE_FULL,
    errno.EROFS: sqlite3.SQLITE_READONLY,
    errno.EIO: sqlite3.SQLITE_IOERR,
    errno.EFBIG: sqlite3.SQLITE_IOERR,
}
"""What the system says of a disk, in SQLite's numbers."""
NO_SPACE = 2**20
"""Under so much free space a disk that fails is a full one, [bytes]. Own: SQLite calls it by other
names too, where it cannot make the files beside the log."""


class DiskError(InputError):
    """A log that cannot be opened because its disk takes nothing now."""

    def __init__(
        self,
        text: str,
        cause: sqlite3.Error | OSError,
        notes: tuple[str, ...] = (),
        carried: Checkpoint | None = None,
    ) -> None:
        """notes, carried: what was found before that, as `salvage.made_sound` gives it"""
        super().__init__(text)
        self.cause = cause
        self.notes = notes
        self.carried = carried


def trouble_of(write: Callable[[], None], folder: Path | None) -> str | None:
    """Write; what the disk has against it, or None.

    folder: where the log is; None for one in memory

    Raises what is a mistake of ours and no trouble of the disk's.
    """
    try:
        write()
    except (sqlite3.IntegrityError, sqlite3.ProgrammingError, sqlite3.InterfaceError):
        raise
    except sqlite3.Error as error:
        return words(error, folder)
    except DiskError as error:
        return words(error.cause, folder)
    except (InputError, BusyError) as error:
        # of a log that is only being opened now
        return str(error)
    return None


def of_the_disk(error: sqlite3.Error | OSError) -> bool:
    """A disk that takes nothing now, and no mistake in how it was set up."""
    return _number(error) in (
        sqlite3.SQLITE_FULL,
        sqlite3.SQLITE_IOERR,
        sqlite3.SQLITE_READONLY,
        sqlite3.SQLITE_CANTOPEN,
    )


def words(error: sqlite3.Error | OSError, folder: Path | None) -> str:
    """What the disk has against a write, and what to do about it."""
    number = _number(error)
    folder = folder or Path()
    free = free_space(folder)
    if (
        number in (sqlite3.SQLITE_IOERR, sqlite3.SQLITE_CANTOPEN)
        and free is not None
        and free < NO_SPACE
    ):
        number = sqlite3.SQLITE_FULL
    if number not in _WORDS:
        return str(error)
    return _WORDS[number].format(folder=folder, mount=_mount(folder))


def _number(error: sqlite3.Error | OSError) -> int:
    if isinstance(error, OSError):
        return _NUMBERS.get(error.errno or 0, 0)
    return error.sqlite_errorcode & 0xFF


def _mount(folder: Path) -> Path:
    """Where the disk of this folder is mounted."""
    return next((part for part in (folder, *folder.parents) if part.is_mount()), folder)


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


def note_told(text: str, stamp: Stamp) -> Entry:
    """The entry that tells of something found in the log itself."""
    note = Event(at=stamp.at, kind=EventKind.NOTE, batch=None, stage=None, text=text, data={})
    return Entry(stamp=stamp, events=(note,))


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
