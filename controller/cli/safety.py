"""`warmdraw safe`: outputs OFF. Imports as little as can be, and believes no settings."""

import fcntl
import signal
import socket
import sys
import time
import tomllib
from argparse import Namespace
from pathlib import Path
from types import FrameType

from controller.cli.saying import complain, say
from controller.errors import ControllerError
from controller.hardware.claimed import process_started
from controller.hardware.safe import safe as outputs_off

RUN_FOLDER = Path("/run/warmdraw")
"""Where control keeps its socket unless told otherwise."""
CONFIG = Path("/etc/warmdraw/rig.toml")
SOCKET = "control.sock"
LOCK = "control.lock"
"""In the run folder: held by a control that lives, with its process in it."""
MESSAGE = b'{"v":1,"type":"safe"}\n'
"""To control: STOP, outputs OFF, and say so."""
OFF = b'"type":"off"'
"""In control's answer: they are."""


def safe(args: Namespace) -> int:
    """Outputs OFF by asking control, else by ending it and claiming its lines.

    With --sound, a call for somebody after it, for as long as no control is there.
    """
    run = args.run or run_folder(args.config or CONFIG)
    result = outputs_off(run, lambda seconds: ask(run / SOCKET, seconds))
    (say if result.ok else complain)(result.says)
    return call(run, result.code) if args.sound else result.code


def call(run: Path, code: int) -> int:
    """Sound the sounder until control is there again, or somebody ends this; the exit code.

    code: of a call that went well
    """
    from controller.hardware.sounding import sound

    def leave(number: int, frame: FrameType | None) -> None:
        # once is enough: a second one must not break off the sounder's OFF
        for other in (signal.SIGTERM, signal.SIGHUP):
            signal.signal(other, signal.SIG_IGN)
        sys.exit(code)

    for number in (signal.SIGTERM, signal.SIGHUP):
        signal.signal(number, leave)
    try:
        say(sound(run, time.sleep, lambda: held(run / LOCK)))
    except ControllerError as error:
        complain(str(error))
        return 1
    return code


def held(lock: Path) -> bool:
    """A control that lives holds this lock."""
    try:
        pid = int(lock.read_text(encoding="ascii"))
    except (OSError, ValueError):
        return False
    # the lock of a dead one is not touched: a control that starts meanwhile would be refused it
    if process_started(pid) is None:
        return False
    with lock.open(encoding="ascii") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_SH | fcntl.LOCK_NB)
        except BlockingIOError:
            return True
    return False


def run_folder(config: Path) -> Path:
    """The run folder in these settings; the usual one where they cannot be read."""
    try:
        named = tomllib.loads(config.read_text(encoding="utf-8"))["rig"]["run_folder"]
        return Path(named)
    except (OSError, ValueError, KeyError, TypeError):
        # broken settings must not keep a lamp on
        return RUN_FOLDER


def ask(path: Path, seconds: float) -> bool:
    """Control says within so many [s] that its outputs are off; False when nobody does."""
    until = time.monotonic() + seconds
    heard = b""
    with socket.socket(socket.AF_UNIX) as connection:
        try:
            connection.settimeout(seconds)
            connection.connect(str(path))
            connection.sendall(MESSAGE)
            while OFF not in heard and (left := until - time.monotonic()) > 0:
                connection.settimeout(left)
                more = connection.recv(65536)
                if not more:
                    break
                heard += more
        except (FileNotFoundError, ConnectionError, TimeoutError):
            return False
    return OFF in heard
