"""The socket that control listens at, and somebody who has called there."""

import asyncio
import os
import socket
import stat
from dataclasses import dataclass, field
from pathlib import Path

UNREAD = 256 * 1024
"""What a client may leave unread before it is dropped, [bytes]. Own: four of the longest lines."""


@dataclass(eq=False)
class Client:
    """Somebody at the other end."""

    writer: asyncio.StreamWriter
    """Where to answer."""
    peer: str
    """The user, as the kernel knows it."""
    who: str = "shell"
    """What it says it is: page, shell or safe."""
    looks: bool = False
    """It wants snapshots."""
    owed: set[str] = field(default_factory=set)
    """Ids of its acts that are not answered."""

    def unread(self) -> int:
        """What it has not taken yet, beside what the kernel holds, [bytes]."""
        return int(self.writer.transport.get_write_buffer_size())

    def send(self, line: bytes) -> None:
        """Hand a line over, or drop a client that reads nothing."""
        if self.writer.transport.is_closing():
            return
        if self.unread() > UNREAD:
            self.writer.transport.abort()
        else:
            self.writer.write(line)


def listening(path: Path) -> socket.socket:
    """A listening socket for its owner and its group, in place of a dead one of the same name.

    Raises OSError where it cannot be made.
    """
    if path.exists() and stat.S_ISSOCK(path.stat().st_mode):
        path.unlink()
    listener = socket.socket(socket.AF_UNIX)
    try:
        listener.setblocking(False)
        # 0660 from the first moment; nothing else of this process makes files just now
        mask = os.umask(0o117)
        try:
            listener.bind(str(path))
        finally:
            os.umask(mask)
    except BaseException:
        listener.close()
        raise
    return listener
