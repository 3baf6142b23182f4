"""One question to control and its answer, for the commands of a shell."""

import socket
import time
from pathlib import Path
from typing import overload

from controller.batch.acts import Answer
from controller.batch.snapshot import Snapshot
from controller.errors import BusyError, InputError
from controller.link.lines import GONE, nobody, read_lines
from controller.link.messages import (
    ActMessage,
    AnswerMessage,
    Hello,
    Inbound,
    Off,
    Refused,
    Safe,
    SnapshotMessage,
    decode_outbound,
    encode,
)


@overload
def ask(path: Path, message: ActMessage, timeout: float = 3.0) -> Answer: ...
@overload
def ask(path: Path, message: Hello, timeout: float = 3.0) -> Snapshot: ...
@overload
def ask(path: Path, message: Safe, timeout: float = 3.0) -> Off: ...
def ask(path: Path, message: Inbound, timeout: float = 3.0) -> Answer | Snapshot | Off:
    """Say one thing to control and wait for what it says to that.

    message: an act, `Safe`, or a `Hello` that wants snapshots      timeout: for all of it, [s]

    Raises InputError when nobody listens or control refuses, BusyError when no reply comes.
    """
    first = b""
    if not isinstance(message, Hello):
        first = encode(Hello(who="safe" if isinstance(message, Safe) else "shell"))
    until = time.monotonic() + timeout
    try:
        with socket.socket(socket.AF_UNIX) as connection:
            connection.settimeout(timeout)
            connection.connect(str(path))
            connection.sendall(first + encode(message))
            for line in read_lines(connection, until):
                reply = decode_outbound(line)
                if isinstance(reply, Refused):
                    raise InputError(f"control refused: {reply.text}")
                if isinstance(message, Safe) and isinstance(reply, Off):
                    return reply
                if isinstance(message, Hello) and isinstance(reply, SnapshotMessage):
                    return reply.snapshot
                if isinstance(message, ActMessage) and isinstance(reply, AnswerMessage):
                    if reply.act == message.id:
                        return reply.answer()
    except TimeoutError as error:
        raise BusyError(f"control did not answer in {timeout:.0f} s; look at the rig") from error
    except ConnectionResetError as error:
        raise BusyError(GONE) from error
    except OSError as error:
        raise InputError(nobody(path, error)) from error
    raise BusyError(GONE)
