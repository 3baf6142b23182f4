"""Control as a process of its own, and somebody at its socket."""

import json
import os
import resource
import select
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import controller
from controller.batch.snapshot import Snapshot
from controller.link import (
    ActMessage,
    AnswerMessage,
    Hello,
    Inbound,
    Outbound,
    SnapshotMessage,
    decode_outbound,
    encode,
)
from controller.settings import default_settings_text

ROOT = Path(controller.__file__).parents[1]
STANDIN = ROOT / "tests" / "hardware" / "lgpio_standin"
"""The folder that takes the name of the real lgpio; its lines outlive their owner."""
YES = {"plug_in_reach": True, "smoke_alarm": True, "aired": True}
"""START's three confirmations."""
LONG = 30.0
"""Nothing here takes this long, [s]."""

ON_A_PRETEND_BUS = """
import sys
from functools import partial
from pathlib import Path
from controller.daemon import rigs
from controller.hardware.raspberry import RaspberryRig
rigs.RaspberryRig = partial(RaspberryRig, w1_folder=Path(sys.argv[1]))
from controller.cli import main
sys.exit(main(sys.argv[2:]))
"""
"""The real back end, but for where its 1-Wire bus is."""


def rig_toml(folder: Path, backend: str, more: Mapping[str, str] | None = None) -> Path:
    """The example rig with this back end, and its folders in `folder`."""
    changes = {
        'backend = "simulated"': f'backend = "{backend}"',
        "/var/lib/warmdraw": str(folder / "state"),
        "/run/warmdraw": str(folder / "run"),
    }
    text = default_settings_text()
    for old, new in (changes | dict(more or {})).items():
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    path = folder / "rig.toml"
    path.write_text(text)
    return path


class Stream:
    """One connection to control, read line by line."""

    def __init__(self, path: Path, *messages: Inbound) -> None:
        self.socket = socket.socket(socket.AF_UNIX)
        self.socket.connect(str(path))
        self._kept = b""
        for message in messages:
            self.say(message)

    def say(self, message: Inbound) -> None:
        self.socket.sendall(encode(message))

    def line(self, within: float = LONG) -> bytes | None:
        """The next line; None when the other end hung up."""
        until = time.monotonic() + within
        while b"\n" not in self._kept:
            self.socket.settimeout(max(until - time.monotonic(), 0.001))
            more = self.socket.recv(65536)
            if not more:
                return None
            self._kept += more
        line, self._kept = self._kept.split(b"\n", 1)
        return line

    def next(self, kind: type[Outbound], within: float = LONG) -> Any:
        """The next message of this kind."""
        while True:
            line = self.line(within)
            assert line is not None, "control hung up"
            message = decode_outbound(line)
            if isinstance(message, kind):
                return message

    def until(self, wanted: Callable[[Snapshot], bool], within: float = LONG) -> Snapshot:
        """The first snapshot of which this is true."""
        until = time.monotonic() + within
        while True:
            shown = self.next(SnapshotMessage, until - time.monotonic()).snapshot
            if wanted(shown):
                return shown

    def answer(self, message: ActMessage) -> AnswerMessage:
        """Press, and hear."""
        self.say(message)
        while True:
            answer = self.next(AnswerMessage)
            if answer.act == message.id:
                return answer

    def close(self) -> None:
        self.socket.close()


@dataclass
class Control:
    """A control process."""

    folder: Path
    process: subprocess.Popen[str]
    config: Path
    streams: list[Stream] = field(default_factory=list)

    @property
    def socket(self) -> Path:
        return self.folder / "run" / "control.sock"

    def stream(self, *messages: Inbound) -> Stream:
        stream = Stream(self.socket, *messages)
        self.streams.append(stream)
        return stream

    def looking(self) -> Stream:
        return self.stream(Hello(who="page", wants="snapshots"))

    def up(self) -> "Control":
        """Wait until it listens."""
        assert self.process.stdout is not None and self.process.stderr is not None
        line = self.process.stdout.readline()
        assert "listens on" in line, self.process.stderr.read()
        return self

    def line(self, gpio: int) -> str:
        """Direction and level of a line of the stand-in, whoever holds it."""
        return (self.folder / f"line-0-{gpio}").read_text().strip()

    def ended(self) -> tuple[int, str]:
        """Its exit code, and what it complained of."""
        _, complaints = self.process.communicate(timeout=LONG)
        return self.process.returncode, complaints

    def disk_takes_nothing(self, nothing: bool = True) -> None:
        """From now on, until told otherwise: no write to a file goes through."""
        _, hard = resource.prlimit(self.process.pid, resource.RLIMIT_FSIZE)
        soft = 0 if nothing else hard
        resource.prlimit(self.process.pid, resource.RLIMIT_FSIZE, (soft, hard))

    def ask_to_end(self) -> tuple[int, str]:
        self.process.send_signal(signal.SIGTERM)
        return self.ended()

    def away(self) -> None:
        for stream in self.streams:
            stream.close()
        self.process.kill()
        self.process.communicate()


def start(
    folder: Path,
    *command: str,
    standin: bool = False,
    code: str = "",
    file_size: int = resource.RLIM_INFINITY,
) -> Control:
    """A `warmdraw` process with the settings in `folder`, warnings as errors.

    file_size: longest file it may write from its start, [bytes]
    """
    path = os.pathsep.join([*([str(STANDIN)] if standin else []), str(ROOT)])
    run = ["-c", code, str(folder / "w1")] if code else ["-m", "controller.cli"]
    config = folder / "rig.toml"
    process = subprocess.Popen(
        [sys.executable, "-W", "error", *run, *command, "--config", str(config)],
        env={**os.environ, "PYTHONPATH": path, "LGPIO_STANDIN": str(folder)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        cwd=folder,
        preexec_fn=lambda: resource.setrlimit(
            resource.RLIMIT_FSIZE, (file_size, resource.RLIM_INFINITY)
        ),
    )
    return Control(folder, process, config)


def act(kind: str, shown: Snapshot | None = None, name: str = "", **more: Any) -> ActMessage:
    """A press by somebody who looked at `shown`."""
    batch = None if shown is None or shown.batch is None else shown.batch.id
    stage = None if shown is None else shown.stage
    given = {"batch": batch, "stage": stage, "by": "Kim", "received_utc": time.time()}
    name = name or f"act-{time.monotonic_ns()}"
    return ActMessage(id=name, kind=kind, **(given | more))


def plan(sheet: str, name: str = "ash-1") -> ActMessage:
    return act("PLAN", values={"sheet": sheet, "id": name})


def soon(true: Callable[[], bool], within: float) -> float:
    """How long it took to become true, [s]."""
    began = time.monotonic()
    with open(os.devnull) as nothing:
        while not true():
            assert time.monotonic() - began < within, f"not within {within} s"
            select.select([], [], [nothing], 0.005)
    return time.monotonic() - began


def note(path: Path, **record: Any) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(json.dumps(record))
