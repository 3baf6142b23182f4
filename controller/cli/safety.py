"""`warmdraw safe`: outputs OFF. Imports as little as can be, and believes no settings."""

import socket
import time
import tomllib
from argparse import Namespace
from pathlib import Path

from controller.cli.saying import complain, say
from controller.hardware.safe import safe as outputs_off

RUN_FOLDER = Path("/run/warmdraw")
"""Where control keeps its socket unless told otherwise."""
CONFIG = Path("/etc/warmdraw/rig.toml")
SOCKET = "control.sock"
MESSAGE = b'{"v":1,"type":"safe"}\n'
"""To control: STOP, outputs OFF, and say so."""
OFF = b'"type":"off"'
"""In control's answer: they are."""


def safe(args: Namespace) -> int:
    """Outputs OFF by asking control, else by ending it and claiming its lines."""
    run = args.run or run_folder(args.config or CONFIG)
    result = outputs_off(run, lambda seconds: ask(run / SOCKET, seconds))
    (say if result.ok else complain)(result.says)
    return result.code


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
