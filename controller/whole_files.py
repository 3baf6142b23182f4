"""Files that are there whole or not at all, whatever fails and whenever the mains go.

Here, because this is the lowest room that knows files, and every room that keeps one is above it.
"""

import errno
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


def write_whole(path: Path, text: str) -> None:
    """Put this text in the file's place; on the disk, name and all, when this returns.

    Raises OSError, and then the file before it is still there, whole; only where the very last
    wait for the folder failed, the new one is there, as whole.
    """
    with half_file(path) as half:
        half.write_text(text, encoding="utf-8")
        into_place(half, path)


@contextmanager
def half_file(whole: Path, mode: int = 0o666) -> Iterator[Path]:
    """A new empty file beside `whole` for what is not whole yet; none is left under its name.

    mode: less what the umask takes, from the first moment: a memory stick may have none to change
    """
    half = whole.with_name(f".{whole.name}.{os.getpid()}")
    # one that is there is of a process that was killed: its number is ours now
    half.unlink(missing_ok=True)
    os.close(os.open(half, os.O_CREAT | os.O_EXCL | os.O_WRONLY, mode))
    try:
        yield half
    finally:
        half.unlink(missing_ok=True)


def into_place(half: Path, whole: Path) -> None:
    """To the disk first, then to its name, then the name to the disk. Raises as `write_whole`."""
    _to_disk(half)
    # opened before the renaming, so that all but one of the calls that can fail come before it
    folder = os.open(whole.parent, os.O_RDONLY)
    try:
        half.replace(whole)
        os.fsync(folder)
    except OSError as error:
        # a folder on a network's disk has nothing of its own to wait for
        if error.errno != errno.EINVAL or half.exists():
            raise
    finally:
        os.close(folder)


def _to_disk(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
