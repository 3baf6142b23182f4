"""What must hold after every tick, whoever pressed what: stages by the table, answers that stand.

Kept apart from the engine's own bookkeeping: it knows the events, the answers and the log's file.
"""

import sqlite3
from collections import Counter
from collections.abc import Iterable
from pathlib import Path

from controller.batch.acts import Act, Answer
from controller.batch.events import Event, EventKind
from controller.batch.signals import Commands
from controller.batch.stages import HALTED, ORDER, Stage, Trigger, Use
from controller.batch.state import RigState
from controller.runner import Reply
from controller.store import tables
from controller.store.queries import LogReader


class Watch:
    """One rig's batches and answers, as they were told."""

    def __init__(self, rig: RigState) -> None:
        """rig: where the batches stand at the begin"""
        self.stages: dict[str, Stage] = {}
        """Stage of each batch, by its id."""
        self.left: dict[str, Stage] = {}
        """Stage a halted batch was in."""
        self.answers: dict[str, Answer] = {}
        """The first answer to each act."""
        for run in (rig.run, *rig.aside):
            if run is not None:
                self.stages[run.id] = run.stage

    # --- stages

    def ticked(self, events: Iterable[Event], outputs: Commands, rig: RigState) -> None:
        """A tick is over: each batch went along the table, and the lamp keeps to its stages."""
        for event in events:
            batch = str(event.batch)
            if event.kind is EventKind.BATCH_PLANNED:
                self.stages[batch] = Stage.PLANNED
            elif event.kind is EventKind.STAGE:
                self._went(batch, Stage(str(event.data["from"])), Stage(str(event.stage)))
        for run in (rig.run, *rig.aside):
            if run is not None:
                assert run.stage is self.stages[run.id], f"{run.id} moved and no event says so"
        stage = None if rig.run is None else rig.run.stage
        lit = outputs.lamp or outputs.dead_man
        assert not lit or (stage is not None and ORDER[stage].lamp is Use.ALLOWED)
        assert not outputs.pump or (stage is not None and ORDER[stage].pump is Use.ALLOWED)

    def restarted(self, outputs: Commands, rig: RigState) -> None:
        """The controller came back: everything off, and the batch where the table puts it."""
        assert not (outputs.lamp or outputs.pump or outputs.dead_man)
        run = rig.run
        if run is None:
            return
        before = self.stages[run.id]
        if run.stage is not before:
            assert run.stage is ORDER[before].moves[Trigger.RESTART]
            self._stands(run.id, before, run.stage)

    def _went(self, batch: str, before: Stage, now: Stage) -> None:
        assert self.stages[batch] is before, f"{batch} was in {self.stages[batch]}, not {before}"
        allowed = {Stage.STOPPED, *ORDER[before].moves.values()}
        if before in HALTED and ORDER[self.left[batch]].lamp is not Use.ALLOWED:
            allowed.add(self.left[batch])
        assert now in allowed, f"no row leads from {before} to {now}"
        self._stands(batch, before, now)

    def _stands(self, batch: str, before: Stage, now: Stage) -> None:
        if now in HALTED and before not in HALTED:
            self.left[batch] = before
        self.stages[batch] = now

    # --- answers

    def answered(self, acts: Iterable[Act], replies: Iterable[Reply], durable: int) -> None:
        """Each act was answered once, as it was the first time, and its answer is durable."""
        told = Counter(reply.answer.act for reply in replies)
        assert told >= Counter({act.id for act in acts})
        for reply in replies:
            answer = reply.answer
            assert self.answers.setdefault(answer.act, answer) == answer
            assert reply.seq <= durable

    def in_the_log(self, path: Path, acts: Iterable[str]) -> None:
        """The answers to these acts are in the file, as another program sees it."""
        connection = sqlite3.connect(f"file:{path}?mode=ro", uri=True)
        try:
            for act in acts:
                assert tables.answer_to(connection, act) == self.answers[act]
        finally:
            connection.close()

    def had_one_effect(self, path: Path) -> None:
        """Each accepted act stands in the record once, and no refused one does."""
        with_effect: Counter[str] = Counter()
        for logged in LogReader(path).events(limit=1_000_000):
            assert logged.event is not None
            if logged.event.kind is EventKind.ACT:
                with_effect[str(logged.event.data["id"])] += 1
        for act, answer in self.answers.items():
            assert with_effect[act] == int(answer.accepted), f"{act}: {answer.text}"
