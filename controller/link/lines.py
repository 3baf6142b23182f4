"""How the lines travel over the Unix socket, and who is at its other end."""

import asyncio
import pwd
import socket
import struct
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Protocol

from controller.errors import InputError
from controller.link.messages import MAX_LINE

GONE = "control went away before it answered; press again, the same press counts once"
"""What to tell a person when the connection broke."""


def nobody(path: Path, error: OSError) -> str:
    """What to tell a person when the socket at `path` cannot be reached."""
    return f"control is not answering on {path} ({error.strerror or error}); start warmdraw control"


async def read_line(reader: asyncio.StreamReader) -> bytes | None:
    """The next line; None at the end. Raises InputError for one that is too long.

    reader: made with limit=MAX_LINE
    """
    try:
        return await reader.readuntil(b"\n")
    except asyncio.IncompleteReadError:
        return None
    except asyncio.LimitOverrunError as error:
        raise InputError(
            f"a line of more than {MAX_LINE} bytes; the connection is closed"
        ) from error


def read_lines(connection: socket.socket, until: float) -> Iterator[bytes]:
    """The lines that come until the end, or until `until` [s, monotonic]: TimeoutError."""
    kept = b""
    while True:
        left = until - time.monotonic()
        if left <= 0:
            raise TimeoutError
        connection.settimeout(left)
        more = connection.recv(MAX_LINE)
        if not more:
            return
        *lines, kept = (kept + more).split(b"\n")
        yield from lines
        if len(kept) > MAX_LINE:
            raise InputError(f"control sent a line of more than {MAX_LINE} bytes")


class HasOptions(Protocol):
    """A socket, or asyncio's stand-in for one."""

    def getsockopt(self, level: int, option: int, length: int, /) -> bytes:
        """The option's value."""


def peer_name(connection: HasOptions) -> str:
    """The user at the other end, as the kernel knows it: a name, or 'uid 1234' without one."""
    credentials = connection.getsockopt(
        socket.SOL_SOCKET, socket.SO_PEERCRED, struct.calcsize("3i")
    )
    _, uid, _ = struct.unpack("3i", credentials)
    try:
        return pwd.getpwuid(uid).pw_name
    except KeyError:
        return f"uid {uid}"
