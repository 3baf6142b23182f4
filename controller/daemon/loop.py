"""The loop that owns the rig: read, step, switch and hand on, tick after tick, until it leaves.

Deadlines, never sleeps added up. Whatever goes wrong in a tick ends the loop, and with it the
process, outputs OFF.
"""

import asyncio
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace

from controller.batch.acts import Act, ActKind, Answer
from controller.batch.events import Event, EventKind
from controller.batch.stages import Stage
from controller.daemon.clock import boottime
from controller.daemon.gate import Gate
from controller.daemon.lateness import Lateness
from controller.daemon.pace import BEAT, Time
from controller.daemon.sd_notify import Notifier
from controller.daemon.server import LinkServer
from controller.errors import OutputError
from controller.instant import Instant
from controller.runner import Runner
from controller.store.rows import Entry, Stamp

FRAME = 0.25
"""Shortest wall time between two snapshots, [s]: at most 4 a second."""
DISK_GLANCE = 0.02
"""How often the disk is looked at while somebody waits for an answer, [s]. Own."""
LATE = 0.5
"""A tick done this long after its deadline is written down, on a real rig, [s]. Own."""
LATE_EACH = 60.0
"""Such notes are at least this far apart, [s]. Own."""


class Loop:
    """One rig's ticks."""

    def __init__(
        self, runner: Runner, gate: Gate, time: Time, notifier: Notifier, shown_as: tuple[str, str]
    ) -> None:
        """runner: whose rig is `gate`      shown_as: time zone and name of the rig"""
        self.runner = runner
        self._gate = gate
        self._time = time
        self._notifier = notifier
        self._zone, self._name = shown_as
        self.server = LinkServer(
            runner.record.answered, self.off_now, self._hurry, lambda: runner.record.trouble
        )
        self.lateness = Lateness()
        self._late_told = float("-inf")
        self._leaving = False
        self._failure: OutputError | None = None
        self._wake = asyncio.Event()
        self._events: asyncio.AbstractEventLoop | None = None
        self._owes_frame = False
        self._frame_at = float("-inf")

    # --- from outside

    def leave(self) -> None:
        """End with the tick now going on. May be called from a signal handler."""
        self._leaving = True
        if self._events is not None:
            self._events.call_soon_threadsafe(self._wake.set)

    def off_now(self) -> bool:
        """Outputs OFF until the next tick says otherwise; False when that failed."""
        try:
            self._gate.off()
        except OutputError as error:
            self._failure = error
            self._wake.set()
            return False
        return True

    # --- the loop

    async def run(self) -> None:
        """Tick until told to leave. Raises what ends it: OutputError, or a bug's own error."""
        self._events = asyncio.get_running_loop()
        deadline = boottime()
        ready = False
        while not self._leaving:
            late = boottime() - deadline
            # a tick that STOP called for early is due when it begins
            due = deadline + min(late, 0.0)
            now = self._tick()
            took = boottime() - due
            self.lateness.add(took)
            self._note_late(now, took)
            if not ready:
                self._notifier.ready()
                ready = True
            self._notifier.alive(self._status)
            # a tick that STOP called for early takes no other's place
            if late >= 0:
                deadline = self._time.next_tick(self.runner.engine, deadline)
            await self._between(now, deadline)
            if self._failure is not None:
                raise self._failure

    def _tick(self) -> Instant:
        now = self._time.instant()
        acts = self.server.take()
        done = self.runner.tick(now, acts)
        self.server.owe(done.replies)
        self._owes_frame = True
        self._note_plans(now, acts, done.step.answers)
        return now

    async def _between(self, now: Instant, deadline: float) -> None:
        """What is not the rig's: answers, snapshots, and the clients' turn."""
        self._wake.clear()
        await asyncio.sleep(0)
        while not self._wake.is_set():
            self.server.give(self.runner.record.durable_seq)
            here = boottime()
            if self._owes_frame and here - self._frame_at >= FRAME:
                self._show(now, here)
            if here >= deadline:
                return
            until = min(deadline, here + DISK_GLANCE) if self.server.owes() else deadline
            if self._owes_frame:
                until = min(until, self._frame_at + FRAME)
            with suppress(TimeoutError):
                async with asyncio.timeout(until - here):
                    await self._wake.wait()

    def _show(self, now: Instant, here: float) -> None:
        self._owes_frame, self._frame_at = False, here
        shown = self.runner.snapshot(now, self._zone, self._name, self._time.pace)
        self.server.show(replace(shown, ticks=self.lateness.shown()))

    def _hurry(self) -> None:
        self._wake.set()

    def _status(self) -> str:
        run = self.runner.engine.rig.run
        stage = "no batch" if run is None else f"{run.sheet.name}: {run.stage}"
        return f"{stage}; {self.lateness.line()}"

    def _note_late(self, now: Instant, late: float) -> None:
        if self._time.pace is not None or late < LATE or now.mono - self._late_told < LATE_EACH:
            return
        self._late_told = now.mono
        text = f"A tick was done {late:.1f} s after its time; one is due each {BEAT:.0f} s."
        self._note(now, text, None, {"late_s": round(late, 3)})

    def _note_plans(self, now: Instant, acts: Sequence[Act], answers: Sequence[Answer]) -> None:
        """Each record says whether it was a real rig, so that a demo cannot pass for one."""
        accepted = {answer.act for answer in answers if answer.accepted}
        rig = f"The rig is {'SIMULATED' if self._gate.simulated else 'real'}: {self._name}."
        for act in acts:
            if act.kind is ActKind.PLAN and act.id in accepted:
                batch = str(act.values["id"])
                self._note(now, rig, batch, {"simulated": self._gate.simulated})

    def _note(
        self, now: Instant, text: str, batch: str | None, data: dict[str, float | bool]
    ) -> None:
        stage = None if batch is None else str(Stage.PLANNED)
        note = Event(now.rig, EventKind.NOTE, batch, stage, text, data)
        stamp = Stamp(
            at=now.rig,
            told_utc=now.told_utc,
            mono=now.mono,
            boot_id=now.boot_id,
            clock_trusted=now.trusted,
        )
        self.runner.record.write(Entry(stamp=stamp, events=(note,)))
