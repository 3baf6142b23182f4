"""A page in front of a real engine: the simulated rig at work, an onlooker who judges each tick.

Time stands still between two presses: a tick goes by with each press and when a test says so, so
that whatever an output did was done by what was sent.
"""

import asyncio
from dataclasses import dataclass, field
from pathlib import Path
from typing import cast

from fastapi import FastAPI

from controller.batch.acts import Act, ActKind, Answer
from controller.batch.signals import Commands
from controller.batch.snapshot import Snapshot
from controller.batch.stages import Stage
from controller.daemon.clients import Client
from controller.daemon.server import LinkServer
from controller.errors import BusyError, InputError
from controller.invariants import Breach
from controller.link import ActMessage, AnswerMessage, Refused, decode_outbound, encode
from controller.page.access import Doorkeeper
from controller.page.app import create_app
from controller.page.ledger import Ledger
from controller.page.live import Live
from controller.page.pairing import PinDesk, open_pairing
from controller.page.presses import Presses
from controller.page.sheets import SheetDesk
from controller.planning.answers.all_answers import answers
from controller.planning.catalogue import built_in
from controller.rehearsal.run import Rehearsal
from controller.rehearsal.scenario import scenario
from controller.runner import Reply
from controller.store.queries import LogReader
from controller.store.rows import Kept

HOST = "rig.local:8420"
PHONE = "192.168.1.20"
"""An address in the shop that is not the rig's."""
PIN_WAIT = 4000.0
"""After so long no wrong PIN is held against anybody, [s]."""
LONGEST = 4000
"""Ticks within which the work gets to any stage asked for here."""


@dataclass
class Heard:
    """The page's end of the socket: what control wrote to it."""

    lines: list[bytes] = field(default_factory=list)

    @property
    def transport(self) -> "Heard":
        return self

    def get_write_buffer_size(self) -> int:
        return 0

    def is_closing(self) -> bool:
        return False

    def write(self, line: bytes) -> None:
        self.lines.append(line)

    def abort(self) -> None:
        raise AssertionError("control hung up on the page")


class Shop:
    """The rig at work, as a link to control; and the page in front of it."""

    connected = True

    def __init__(self, folder: Path) -> None:
        self._log = folder / "log.db"
        self.rehearsal = Rehearsal(scenario("good-night"), 1, self._log)
        self._heard = Heard()
        self._client = Client(cast(asyncio.StreamWriter, self._heard), "page", "page")
        self._server = LinkServer(self._known, self._off, lambda: None, lambda: None)
        self._server._clients[self._client] = None
        self.acts: list[Act] = []
        """Every act that reached the engine."""
        self.latest: Snapshot | None = None
        self.received: float | None = None
        self.ledger = Ledger(folder / "page.db")
        self.live = Live(self, monotonic=self.clock, gap=0.0)
        self.door = Doorkeeper(self.ledger, monotonic=self.clock, boot=lambda: "this boot")
        self._waited = 0.0
        self.pins = PinDesk(folder, monotonic=self._pin_clock)
        self._folder = folder
        self.app = self._page()
        self.tick()

    def _page(self) -> FastAPI:
        return create_app(
            live=self.live,
            reader=LogReader(self._log),
            ledger=self.ledger,
            door=self.door,
            pins=self.pins,
            presses=Presses(self.live, self.ledger),
            desk=SheetDesk(self.rehearsal.settings, built_in(), answers),
            names=(HOST.partition(":")[0],),
        )

    def clock(self) -> float:
        """The page's clock is the rig's, [s]."""
        return self.rehearsal.now

    def close(self) -> None:
        self.rehearsal.close()
        self.ledger.close()

    # --- what a test looks at

    @property
    def outputs(self) -> Commands:
        """What the rig's outputs were last told."""
        return self.rehearsal.rig.outputs()

    @property
    def unsafe(self) -> list[Breach]:
        """What the onlooker saw that must never be."""
        return self.rehearsal.onlooker.unsafe

    @property
    def stage(self) -> Stage:
        run = self.rehearsal.runner.engine.rig.run
        return Stage.FINISHED if run is None else run.stage

    def paired(self) -> str:
        """The token of a phone that may press, paired just now."""
        return self.door.pair("Kim")

    def pin(self) -> str:
        """The PIN of a pairing opened just now, the tries before it long forgotten."""
        self._waited += PIN_WAIT
        return open_pairing(self._folder, monotonic=self._pin_clock)

    def _pin_clock(self) -> float:
        return self.rehearsal.now + self._waited

    # --- time

    def tick(self, seconds: float = 1.0, *more: Act) -> None:
        """One tick of the rig, with whatever came in over the link."""
        acts = [*self._server.take(), *more]
        self.acts += acts
        self.rehearsal.now += seconds
        self.rehearsal.tick(acts)
        record = self.rehearsal.runner.record
        kept = [record.answered(act.id) for act in acts]
        self._server.owe([Reply(one.answer, one.seq) for one in kept if one is not None])
        self._server.give(record.durable_seq)
        here = self.rehearsal._instant(self.rehearsal.now)
        self.latest = self.rehearsal.runner.snapshot(here, "Europe/Copenhagen", "bench", None)
        self.received = self.rehearsal.now
        self.live.put(self.latest)

    def until(self, stage: Stage, *, lamp: bool = False, pump: bool = False) -> bool:
        """Let the operator work until `stage` with these outputs on; False when it never comes."""
        for _ in range(LONGEST):
            at_work = (not lamp or self.outputs.lamp) and (not pump or self.outputs.pump)
            if self.stage is stage and at_work:
                return True
            assert self.latest is not None
            if self.latest.batch is None or self.latest.batch.outcome is not None:
                return False
            act = self._goes_on() or self.rehearsal.operator.looks(self.latest)
            self.tick(1.0, *([] if act is None else [act]))
        return False

    def _goes_on(self) -> Act | None:
        """What ends a halt at once: nobody here waits for an operator to come back."""
        run = self.rehearsal.runner.engine.rig.run
        if run is None or run.stage is not Stage.STOPPED or run.left is None:
            return None
        kind = ActKind.RE_ARM if run.left in (Stage.PREHEAT, Stage.SOAK) else ActKind.RESUME
        said = {"plug_in_reach": True, "smoke_alarm": True, "aired": True}
        name = f"goes-on-{self.rehearsal.now:.0f}"
        return Act(id=name, kind=kind, batch=run.id, stage=run.stage, by="operator", values=said)

    # --- the link, as control's end of the socket has it

    def _known(self, act: str) -> Kept | None:
        return self.rehearsal.runner.record.answered(act)

    def _off(self) -> bool:
        self.rehearsal.rig.off()
        return True

    async def run(self) -> None:
        await asyncio.Event().wait()

    async def changed(self, after: int) -> Snapshot:
        await asyncio.Event().wait()
        raise AssertionError

    async def press(self, message: ActMessage, within: float = 3.0) -> Answer:
        """As the page's own link: the line, a tick, the answer."""
        self._heard.lines.clear()
        self._server._heard(self._client, encode(message))
        self.tick()
        for line in self._heard.lines:
            said = decode_outbound(line)
            if isinstance(said, AnswerMessage) and said.act == message.id:
                return said.answer()
            if isinstance(said, Refused):
                raise InputError(f"control refused: {said.text}")
        raise BusyError("control did not answer")
