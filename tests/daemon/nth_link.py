"""An evening at control's socket, in which the nth call to a socket fails.

The real loop, its server and its word to the service manager, on a bench that reads what it is
told; a tick comes as soon as the clients have had their turn. Somebody plans, starts the heat,
looks until the lamp burns, and presses STOP; who is hung up on comes back and says it again.
"""

import asyncio
import socket
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from made import made_facts, made_sheet
from standing import YES, StillBench, at_start

from controller.batch.engine import Engine
from controller.daemon.clock import boottime
from controller.daemon.gate import Gate
from controller.daemon.loop import Loop
from controller.daemon.sd_notify import Notifier
from controller.errors import InputError
from controller.instant import Instant
from controller.link import (
    MAX_LINE,
    ActMessage,
    AnswerMessage,
    Hello,
    SnapshotMessage,
    decode_outbound,
    encode,
    read_line,
)
from controller.planning.sheet_json import sheet_to_json
from controller.runner import Runner
from controller.store.log import MEMORY, Log

TRIES = 4
"""How often somebody comes back."""
PATIENCE = 5.0
"""How long they wait for a word that should come, [s]; here it does in a few milliseconds."""


ASYNCIOS = ("out of system resource", "_start_serving")
"""What asyncio says of itself where it has no more files: that it tries again, and that it cannot
where control has left meanwhile."""


SECONDS = 0.02
"""Rig time a tick, [s]: the half minute in which the lamp proves itself is long enough to look."""


class Quick:
    """A little rig time each tick, and a tick as soon as the clients have had their turn."""

    pace: float | None = None

    def __init__(self) -> None:
        self._now = at_start()

    def instant(self) -> Instant:
        """As Time."""
        here = self._now
        self._now = replace(here, rig=here.rig + SECONDS, told_utc=here.told_utc + SECONDS)
        return self._now

    def next_tick(self, engine: Engine, deadline: float) -> float:
        """As Time."""
        return boottime() + 0.001


@dataclass
class Evening:
    """What came of it."""

    answered: dict[str, AnswerMessage] = field(default_factory=dict)
    """By act: what was heard of it."""
    lit: bool = False
    """Somebody saw the lamp burn."""
    dark: bool = False
    """It was dark when STOP was answered."""
    refused: str = ""
    """Why control could not listen at all."""
    kept: set[str] = field(default_factory=set)
    """Acts the record knows."""
    left_on: bool = False
    """An output was on at the end."""
    notes: list[str] = field(default_factory=list)
    """What asyncio found that nobody had thought of."""


def of_control(path: Path) -> Any:
    """Whether a call is on a socket of control's: its own end has the path, a client's has none."""

    def ours(self: socket.socket, *args: object) -> bool:
        return str(path) in (self.getsockname(), *args)

    return ours


def to_the_manager(self: socket.socket, *args: object, **more: object) -> bool:
    """Whether a call is on the socket to the service manager, or makes it."""
    made = self.fileno() < 0
    return socket.SOCK_DGRAM in args[1:2] if made else self.type is socket.SOCK_DGRAM


class Somebody:
    """Presses, and comes back where control hung up."""

    def __init__(self, path: Path, evening: Evening, patience: float) -> None:
        self._path, self._evening, self._patience = path, evening, patience

    @asynccontextmanager
    async def _there(self) -> AsyncIterator[tuple[asyncio.StreamReader, asyncio.StreamWriter]]:
        reader, writer = await asyncio.open_unix_connection(str(self._path), limit=MAX_LINE)
        try:
            yield reader, writer
        finally:
            writer.transport.abort()

    async def _until(self, message: Any, wanted: Any) -> Any:
        """The first word of control's that is wanted; None where it never comes."""
        for _ in range(TRIES):
            try:
                async with self._there() as (reader, writer), asyncio.timeout(self._patience):
                    writer.write(encode(message))
                    while (line := await read_line(reader)) is not None:
                        word = decode_outbound(line)
                        if wanted(word):
                            return word
            except (OSError, TimeoutError):
                # as people do: look away, and try again
                continue
        return None

    async def press(self, kind: str, **values: Any) -> None:
        """An act, until it is answered."""
        batch, stage = (None, None) if kind == "PLAN" else ("batch-1", "PLANNED")
        message = ActMessage(id=kind, kind=kind, batch=batch, stage=stage, by="Kim", values=values)
        answer = await self._until(
            message, lambda word: isinstance(word, AnswerMessage) and word.act == kind
        )
        if answer is not None:
            self._evening.answered[kind] = answer

    async def looks(self) -> None:
        """Until the lamp burns."""
        seen = await self._until(
            Hello(who="page", wants="snapshots"),
            lambda word: isinstance(word, SnapshotMessage) and word.snapshot.lamp.on,
        )
        self._evening.lit = seen is not None


async def played(path: Path, manager: str, patience: float = PATIENCE) -> Evening:
    """The evening, from the first tick to the end of control."""
    evening, bench, log = Evening(), StillBench(), Log.open(MEMORY)

    def noted(loop: asyncio.AbstractEventLoop, context: dict[str, Any]) -> None:
        if not any(own in str(context) for own in ASYNCIOS):
            evening.notes.append(str(context))

    asyncio.get_running_loop().set_exception_handler(noted)
    gate = Gate(bench)
    runner = Runner(gate, log, lambda now: made_facts(), at_start())
    loop = Loop(runner, gate, Quick(), Notifier(manager), ("UTC", "bench"))
    try:
        await loop.server.start(path)
    except InputError as error:
        evening.refused = str(error)
    else:
        control = asyncio.create_task(loop.run())
        try:
            await _in_front(Somebody(path, evening, patience), evening, bench)
        finally:
            loop.leave()
            await control
            gate.shut()
            await loop.server.close()
    gate.close()
    evening.left_on = bench.switched.lamp or bench.switched.pump
    evening.kept = {name for name in evening.answered if log.answered(name) is not None}
    log.close()
    return evening


async def _in_front(kim: Somebody, evening: Evening, bench: StillBench) -> None:
    await kim.press("PLAN", sheet=sheet_to_json(made_sheet()), id="batch-1")
    await kim.press("START", **YES)
    await kim.looks()
    await kim.press("STOP")
    evening.dark = not bench.switched.lamp
