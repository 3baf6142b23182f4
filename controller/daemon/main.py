"""`warmdraw control`: the process that owns the rig, from its lock to its end."""

import asyncio
import fcntl
import os
import signal
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import FrameType

from controller.daemon.clock import boot_id, boottime, clock_trusted
from controller.daemon.gate import Gate
from controller.daemon.loop import Loop
from controller.daemon.pace import SPEED_HIGH, SPEED_LOW, PretendTime, RealTime, Time
from controller.daemon.rigs import Opened, open_pretend, open_real
from controller.daemon.sd_notify import Notifier
from controller.errors import BusyError, InputError, OutputError
from controller.instant import resume_at
from controller.rehearsal.scenario import scenario
from controller.runner import Runner
from controller.settings import Settings
from controller.store.log import Record
from controller.store.writer import LogWriter

SOCKET = "control.sock"
"""In the run folder: where control listens."""
LOCK = "control.lock"
"""In the run folder: held by the one control there is."""
LOG = "log.db"
"""In the state folder: the record."""
SIGNALS = (signal.SIGTERM, signal.SIGINT, signal.SIGHUP, signal.SIGQUIT)
"""What would end the process with an output left on, were it not caught."""
PUT_AWAY = 2.0
"""How long the record has to get to disk at the end, twice, [s]; the unit waits 5. Own."""


@dataclass(frozen=True, slots=True)
class Pretence:
    """How a pretend rig is played; a real one has no use for it."""

    scenario: str = "good-night"
    """Whose board, evening and plant."""
    seed: int | None = None
    """Of all chance; the scenario's own when None."""
    speed: float = 1.0
    """Factor on the pace of each stage."""
    hands_on: bool = False
    """Rig time waits for the person."""


def run_control(
    settings: Settings,
    pretence: Pretence | None = None,
    *,
    ready: Callable[[Path], None] = lambda path: None,
) -> None:
    """Own the rig until SIGTERM, SIGINT, SIGHUP or SIGQUIT; outputs are OFF before all else.

    ready: called with the socket's path once it listens

    Raises BusyError for a second control, InputError for folders and settings that cannot be used,
    OutputError when an output cannot be claimed or switched.
    """
    if not settings.rig.pretended and pretence is not None:
        raise InputError('a scenario, seed or speed is for a pretend rig; backend is "raspberry"')
    played = pretence or Pretence()
    if not SPEED_LOW <= played.speed <= SPEED_HIGH:
        raise InputError(f"speed {played.speed:g}: give {SPEED_LOW:g} to {SPEED_HIGH:g}")
    with ExitStack() as stack:
        for folder in (settings.rig.run_folder, settings.rig.state_folder):
            _make(folder)
        stack.enter_context(only_one(settings.rig.run_folder / LOCK))
        record = LogWriter.open(settings.rig.state_folder / LOG)
        stack.callback(record.close, PUT_AWAY)
        opened, clock = _open(settings, played, record)
        gate = Gate(opened.rig)
        stack.callback(gate.close)
        runner = Runner(gate, record, opened.facts, clock.instant())
        runner.on_accepted = opened.hands
        asyncio.run(_live(settings, runner, gate, clock, ready))


def _open(settings: Settings, played: Pretence, record: Record) -> tuple[Opened, Time]:
    """The rig, and its time going on from where the record stood."""
    if not settings.rig.pretended:
        here = boot_id(), boottime()
        rig_time, _ = resume_at(record, time.time(), clock_trusted(), here)
        real = RealTime(rig_time)
        return open_real(settings, real.rig), real
    story = scenario(played.scenario)
    checkpoint = record.last_checkpoint
    told = story.starts_at.timestamp()
    if checkpoint is not None:
        # nothing went on while nobody played
        last = max(record.last_at or 0.0, checkpoint.stamp.at)
        told = checkpoint.stamp.told_utc + last - checkpoint.stamp.at
    rig_time, _ = resume_at(record, told, True)
    seed = story.seed if played.seed is None else played.seed
    clock = PretendTime(rig_time, told, speed=played.speed, hands_on=played.hands_on)
    return open_pretend(settings, story, seed), clock


async def _live(
    settings: Settings,
    runner: Runner,
    gate: Gate,
    clock: Time,
    ready: Callable[[Path], None],
) -> None:
    notifier = Notifier()
    loop = Loop(runner, gate, clock, notifier, (settings.shop.time_zone, settings.rig.name))
    path = settings.rig.run_folder / SOCKET
    with _signals(gate, loop) as failed:
        await loop.server.start(path)
        ready(path)
        try:
            await loop.run()
        finally:
            try:
                gate.shut()
            finally:
                notifier.stopping()
                runner.record.flush(PUT_AWAY)
                loop.server.give(runner.record.durable_seq)
                await loop.server.close()
        if failed:
            raise failed[0]


@contextmanager
def _signals(gate: Gate, loop: Loop) -> Iterator[list[OutputError]]:
    """While this holds, a signal means outputs OFF, then leave; what failed in that is listed."""
    failed: list[OutputError] = []

    def leave(number: int, frame: FrameType | None) -> None:
        try:
            gate.shut()
        except OutputError as error:
            failed.append(error)
        loop.leave()

    with heard_by(leave):
        yield failed


@contextmanager
def heard_by(handler: Callable[[int, FrameType | None], None]) -> Iterator[None]:
    """While this holds, the signals that would end the process go there."""
    before = {number: signal.signal(number, handler) for number in SIGNALS}
    try:
        yield
    finally:
        for number, former in before.items():
            signal.signal(number, former)


def _make(folder: Path) -> None:
    try:
        folder.mkdir(mode=0o750, parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(f"{folder}: {error.strerror}; see [rig] in rig.toml") from error
    # a disk that has become read-only is the record's trouble, which control is to live with
    read_only = os.statvfs(folder).f_flag & os.ST_RDONLY
    if not read_only and not os.access(folder, os.W_OK | os.X_OK):
        raise InputError(f"{folder} cannot be written by this user; see [rig] in rig.toml")


@contextmanager
def only_one(path: Path) -> Iterator[None]:
    """Hold the lock file. Raises BusyError when another control does."""
    with path.open("a+", encoding="ascii") as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            lock.seek(0)
            pid = lock.read().strip() or "unknown"
            raise BusyError(
                f"control runs already (process {pid}); stop it first (as a service: sudo systemctl"
                " stop warmdraw-control), or look with warmdraw status"
            ) from None
        lock.truncate(0)
        lock.write(f"{os.getpid()}\n")
        lock.flush()
        yield
