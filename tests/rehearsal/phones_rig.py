"""A pretend rig with many phones in front of it, begun in any stage, stopped dead at any time."""

import shutil
from copy import deepcopy
from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import mkdtemp

from phones_watch import Watch

from controller.batch.acts import Act, ActKind
from controller.batch.signals import OUTPUTS_OFF
from controller.batch.snapshot import Snapshot
from controller.batch.stages import Stage
from controller.instant import Instant
from controller.rehearsal.chance import STARTS
from controller.rehearsal.operator import STEADY_HANDS
from controller.rehearsal.run import Rehearsal
from controller.rehearsal.scenario import scenario
from controller.runner import Tick
from controller.store.log import Log

BEGINS = tuple(stage for stage in STARTS if stage is not Stage.FLASHOFF)
"""Stages a story may begin in, in the order they are reached."""
NOT_DUE = {
    Stage.PLANNED: (ActKind.DRY_PULL, Stage.DRYPULL),
    Stage.SOAK: (ActKind.ENOUGH, Stage.COOLDOWN),
}
"""What is pressed though it is not due, to get to the stage beside it."""


class ManyPhones(Rehearsal):
    """One rig; whoever presses, the watch looks on."""

    watch: Watch
    clock = 0.0
    """How far the calendar was set since the start, [s]."""
    trusted = True
    """The calendar is synced."""

    def _instant(self, now: float) -> Instant:
        here = super()._instant(now)
        return replace(here, told_utc=here.told_utc + self.clock, trusted=self.trusted)

    def tick(self, acts: list[Act]) -> Tick:
        done = super().tick(acts)
        rig = self.runner.engine.rig
        if not hasattr(self, "watch"):
            self.watch = Watch(rig)
        self.watch.ticked(done.step.events, self.rig.outputs(), rig)
        self.watch.answered(acts, done.replies, self._log.durable_seq)
        return done

    def send(self, *acts: Act) -> None:
        """A second goes by, with these acts in it."""
        self.now += 1.0
        self.tick(list(acts))
        self.watch.in_the_log(self._log_path, {act.id for act in acts})

    def wait(self, seconds: float) -> None:
        """Time goes by in the ticks of the stage."""
        end = self.now + seconds
        while self.now < end:
            self.now += max(min(self.runner.engine.tick, end - self.now), 0.1)
            self.tick([])

    def page(self) -> Snapshot:
        """What a phone is shown now; after a start nothing is, before the first step."""
        if self.runner.engine.view is None:
            self.wait(1.0)
        return self.runner.snapshot(self._instant(self.now), "UTC", "phones", None)

    def press_stop(self, down: bool) -> None:
        """The wired STOP button: what is on at the rig goes off whatever the controller does."""
        self.rig.person_did("PRESS STOP" if down else "LET GO STOP")

    def stop_dead(self, seconds: float, *, mains: bool) -> None:
        """The controller dies between two ticks and comes back; nothing that waited is written.

        mains: what was switched on stays on meanwhile; without, everything is dark
        """
        if not mains:
            self.rig.apply(OUTPUTS_OFF)
        self._log.let_go()
        self.now += seconds
        self.rig.read(self.now)
        self.shown = None
        self._log = Log.open(self._log_path, throwaway=True)
        self.runner = self._boot()
        self.onlooker.restarted(self.away)
        self.watch.restarted(self.rig.outputs(), self.runner.engine.rig)
        self.watch.in_the_log(self._log_path, self.watch.answers)

    def again(self, folder: Path) -> "ManyPhones":
        """The same rig once more, with a log of its own in that folder."""
        self._log.flush()
        path = folder / "log.db"
        for part in self._log_path.parent.glob(f"{self._log_path.name}*"):
            shutil.copy(part, folder / part.name)
        log = Log.open(path, throwaway=True)
        log.durable_seq = self._log.durable_seq
        shared = (self.scenario, self.settings, self.sheet)
        memo = {id(self._log): log, **{id(each): each for each in shared}}
        twin = deepcopy(self, memo)
        twin._log_path = path
        return twin


@cache
def _reached() -> dict[Stage, ManyPhones]:
    """A rig in each stage, to be copied: brought there by one who presses what is due at once."""
    found: dict[Stage, ManyPhones] = {}
    folder = Path(mkdtemp(prefix="warmdraw-phones-"))
    here = ManyPhones(scenario("good-night"), 1, folder / "log.db")
    while len(found) < len(BEGINS):
        page = here.page()
        stage = Stage(page.stage)
        if stage not in found:
            own = folder / stage
            own.mkdir()
            found[stage] = here.again(own)
        due = [ActKind(press.act) for press in (page.press, *page.others) if press and press.due]
        if stage in NOT_DUE and NOT_DUE[stage][1] not in found:
            due = [NOT_DUE[stage][0]]
        here.send(*(_press(f"begin-{here.now}", kind, page) for kind in due[:1]))
    here.close()
    return found


def _press(name: str, kind: ActKind, shown: Snapshot) -> Act:
    return act(name, kind, shown, **STEADY_HANDS.get(kind, {}))


def rig_in(stage: Stage, folder: Path) -> ManyPhones:
    """A rig whose batch has come to this stage on a healthy evening."""
    return _reached()[stage].again(folder)


def act(name: str, kind: ActKind, shown: Snapshot | None, ago: float = 0.0, **said: object) -> Act:
    """A press on what a phone shows: the batch and stage it saw, which may have gone by."""
    batch = None if shown is None or shown.batch is None else shown.batch.id
    stage = None if shown is None or shown.batch is None else shown.stage
    return Act(id=name, kind=kind, batch=batch, stage=stage, by="phone", ago=ago, values=said)  # type: ignore[arg-type]
