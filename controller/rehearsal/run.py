"""A scenario from start to end: the runner, the pretend rig, the operator and the onlooker."""

from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter

from controller.batch.acts import Act, ActKind
from controller.batch.signals import OUTPUTS_OFF
from controller.batch.snapshot import Snapshot
from controller.batch.state import Run
from controller.hardware.plant import Plant
from controller.hardware.rig import wired_probes
from controller.instant import Instant, resume_at
from controller.invariants import Invariants
from controller.planning.sheet import BatchSheet
from controller.planning.sheet_json import sheet_to_json
from controller.rehearsal.beyond import seen, stage_of
from controller.rehearsal.operator import Operator
from controller.rehearsal.outcome import Outcome, Story
from controller.rehearsal.rig import (
    SIMULATED_RECORD,
    PretendRig,
    do_by_hand,
    facts_for,
    plant_for,
    settings_for,
    sheet_for,
    wired_as,
)
from controller.rehearsal.scenario import Moment, Outage, Scenario
from controller.rehearsal.script import Script
from controller.rehearsal.tools import Tools
from controller.runner import CHECKPOINT_EACH, Runner, Tick
from controller.settings import Settings
from controller.store.log import Log

LONGEST = 10 * 86400.0
"""Rig time after which a story that has not ended is given up, [s]. Own."""
UNREAD_CHECKPOINT_EACH = 3600.0
"""Rig time between two checkpoints of a job without outage and without a log that is kept, [s]: no
one reads them. Own."""
BATCH = "batch-1"
"""The batch's id in a rehearsal."""
BOOT = "rehearsal"
"""The boot id's start in a rehearsal."""
GLANCES = {"COOLDOWN": 1.0, "HOLD": 60.0, "FLASHOFF": 600.0}
"""How often the operator looks at the page of itself in a stage, [s]. Own."""
GLANCE = 5.0
"""The same in other stages, and wherever an alarm stands, [s]. Own."""

RigMaker = Callable[[Plant, int], PretendRig]
"""Makes a back end over a plant, with a seed."""


class Rehearsal:
    """One scenario being played."""

    def __init__(
        self,
        scenario: Scenario,
        seed: int,
        log_path: Path,
        make_rig: RigMaker | None = None,
        settings: Settings | None = None,
        checkpoint_each: float = CHECKPOINT_EACH,
    ) -> None:
        """make_rig: another back end over the same plant      settings: of another shop
        checkpoint_each: rig time between two checkpoints where nothing happens, [s]
        """
        self.scenario = scenario
        self._starts_utc = scenario.starts_at.timestamp()
        self._checkpoint_each = checkpoint_each
        self.settings = settings_for(scenario) if settings is None else settings
        self._probes = frozenset(wired_probes(self.settings))
        self.sheet = sheet_for(scenario, self.settings)
        plant = plant_for(self.sheet, scenario, self.settings, seed)
        make = make_rig or (lambda plant, seed: wired_as(self.settings, plant, seed, self._probes))
        self.rig: PretendRig = make(plant, seed)
        self._tools = Tools(self.rig)
        self.story = Story()
        self.onlooker = Invariants()
        self.operator = Operator(
            seed,
            scale=self._tools.scale,
            gun=self._tools.gun,
            dial=self._tools.dial,
            mend=self._mend,
            dry_pull=scenario.dry_pull,
        )
        self.shown: Snapshot | None = None
        """The newest snapshot."""
        self.now = 0.0
        """Rig time, [s]."""
        self._boots = 0
        self.away: float | None = None
        """How long the last outage was as the clocks tell it, [s]; None where they cannot."""
        self._log_path = log_path
        self._script = Script(scenario, self.story.began)
        self._looked_at = 0
        self._glanced_at = 0.0
        self._watched = True
        self._log = Log.open(log_path, throwaway=True)
        self.runner = self._boot()
        self.tick([_plan(self.sheet)])

    @property
    def stage(self) -> str:
        """Of the batch at the rig."""
        return stage_of(self.runner.engine.rig.run)

    # --- the world

    def _instant(self, now: float) -> Instant:
        return Instant(now, self._starts_utc + now, now, f"{BOOT}-{self._boots}", True)

    def _boot(self) -> Runner:
        self._boots += 1
        here = self._instant(self.now)
        rig_time, self.away = resume_at(self._log, here.told_utc, here.trusted)
        self.now = max(self.now, rig_time)
        record = None if self.scenario.record == "none" else SIMULATED_RECORD
        in_date = self.scenario.record == "in date"
        facts = facts_for(
            self.settings, self._probes, simulated=True, record=record, in_date=in_date
        )
        here = self._instant(self.now)
        runner = Runner(self.rig, self._log, facts, here, self._checkpoint_each)
        runner.on_accepted = self._accepted
        return runner

    def _mend(self, alarm: str) -> None:
        for fault in self.scenario.faults:
            if fault.mended:
                self.rig.clear_fault(fault.name, fault.role)

    def _accepted(self, act: Act, run: Run | None) -> None:
        coat = None if run is None else run.coat
        self.onlooker.heard(self.now, act)
        if act.kind is ActKind.COATING:
            self.story.truth["face_at_first_stroke_c"] = self._tools.gun()
        if act.kind is ActKind.OPENED:
            self.story.truth["opened_at_s"] = self.now
        if act.kind is ActKind.COATED and coat is not None:
            self._tools.resin += coat.mix.coat
        do_by_hand(self.rig, act.kind, coat)

    # --- time

    def tick(self, acts: list[Act]) -> Tick:
        """One tick at `now`, seen by the onlooker; what it did."""
        here = self._instant(self.now)
        done = self.runner.tick(here, acts)
        for event in done.step.events:
            self.onlooker.happened(event)
            self.story.happened(event)
        for answer in done.step.answers:
            self.operator.hears(answer)
            if not answer.accepted:
                self.story.refused.append(answer.text)
        if done.step.events or done.step.answers or self._glances(here):
            zone = self.settings.shop.time_zone
            self.shown = self.runner.snapshot(here, zone, "rehearsal", None)
            self._glanced_at = self.now
        self._see(here)
        return done

    def _glances(self, here: Instant) -> bool:
        """Making a snapshot costs as much as a step, and nobody stares at the page all night."""
        shown = self.shown
        if shown is None:
            return True
        each = GLANCE if shown.alarms else GLANCES.get(shown.stage, GLANCE)
        if self.now - self._glanced_at < each:
            return False
        if self._watched or not self._looks_away(here, shown):
            return True
        # the look that was due then is over, so that the next is when it would have been
        self._glanced_at = self.now
        return False

    def _looks_away(self, here: Instant, shown: Snapshot) -> bool:
        """Nobody would see what stands on the page now; the stage and the alarms do not change
        without an event, and that is always shown."""
        if self.now < self._script.away_until:
            return True
        zone = self.settings.shop.time_zone
        return not shown.alarms and self.operator.asleep(shown.stage, here.told_utc, zone)

    def _see(self, here: Instant) -> None:
        run, stage = self.runner.engine.rig.run, self.stage
        before = self.story.stages[-1][0] if self.story.stages else stage
        self.story.stage(stage, self.now if run is None else run.since)
        truth = self.rig.truth()
        self.story.measured(truth, before)
        self.onlooker.see(seen(here, self.runner, self.rig, truth, self.settings))

    def play(self, each: Callable[[Snapshot], None] | None = None) -> str:
        """Play to the end: FINISHED, ABANDONED, REFUSED or NOT ENDED.

        each: sees every snapshot that is made
        """
        while self.now < LONGEST:
            ended = self.turn(each=each)
            if ended is not None:
                return ended
        return "NOT ENDED"

    def turn(
        self, until: float = LONGEST, each: Callable[[Snapshot], None] | None = None
    ) -> str | None:
        """One look at the page and one tick; how the story ended, None while it goes on.

        until: rig time past which the tick does not run, [s]
        """
        act, shown, self._watched = None, self.shown, each is not None
        if shown is not None and shown.seq != self._looked_at:
            self._looked_at = shown.seq
            if each is not None:
                each(shown)
            if shown.batch is not None and shown.batch.outcome is not None:
                return shown.batch.outcome.upper()
            if self.operator.gives_up:
                return "REFUSED"
            if self.now >= self._script.away_until:
                act = self.operator.looks(shown)
        event = self._script.until_next(self.now)
        ahead = min(self.runner.engine.tick, until - self.now)
        ahead = ahead if event is None else min(ahead, event)
        self.now += max(ahead, 0.1)
        if self._scripted():
            # the page was dark; nothing is pressed on what stood there before
            act, self._looked_at = None, 0
        self.tick([] if act is None else [act])
        return None

    def comes(self, moment: Moment) -> None:
        """Put one more thing into the script: a fault, an outage or an absence."""
        self._script.comes(moment)

    def _scripted(self) -> bool:
        """What the script says for now; True when the power was away."""
        self._script.breaks(self.now, self.rig)
        outages = self._script.outages(self.now)
        for outage in outages:
            self.lose_power(outage)
        return bool(outages)

    def lose_power(self, outage: Outage) -> None:
        """Everything that needs mains is off and nobody looks; then the controller boots."""
        self.rig.apply(OUTPUTS_OFF)
        self.now += outage.lasts
        self.rig.read(self.now)
        self.shown = None
        self._log = self._log.again(self._log_path)
        self.runner = self._boot()
        self.onlooker.restarted(self.away)

    def close(self) -> None:
        """Outputs off, the record closed."""
        self.rig.close()
        self._log.close()


def _plan(sheet: BatchSheet) -> Act:
    values: dict[str, str | float | bool] = {"sheet": sheet_to_json(sheet), "id": BATCH}
    return Act(id="plan-1", kind=ActKind.PLAN, batch=None, stage=None, by="operator", values=values)


def rehearse(
    scenario: Scenario,
    seed: int | None = None,
    *,
    log: Path | None = None,
    each: Callable[[Snapshot], None] | None = None,
    make_rig: RigMaker | None = None,
    settings: Settings | None = None,
) -> Outcome:
    """Play a scenario and judge it.

    log: where the record goes; thrown away when left out
    each: sees every snapshot that is made
    make_rig, settings: another rig than the simulated one, another shop than the scenario's
    """
    chosen = scenario.seed if seed is None else seed
    started = perf_counter()
    with TemporaryDirectory(prefix="warmdraw-") as folder:
        path = log or Path(folder) / "log.db"
        read_back = log is not None or scenario.outages
        each_time = CHECKPOINT_EACH if read_back else UNREAD_CHECKPOINT_EACH
        rehearsal = Rehearsal(scenario, chosen, path, make_rig, settings, each_time)
        try:
            outcome = rehearsal.play(each)
        finally:
            rehearsal.close()
    serious = {a["id"] for a in rehearsal.story.alarms if a["priority"] != "P3"}
    unsafe = tuple(rehearsal.onlooker.unsafe)
    expected = scenario.expected is None or (
        outcome == scenario.expected and serious == set(scenario.alarms)
    )
    return Outcome(
        scenario=scenario.name,
        seed=chosen,
        outcome=outcome,
        as_expected=expected and not unsafe,
        simulated_s=rehearsal.now,
        wall_s=perf_counter() - started,
        story=rehearsal.story,
        unsafe=unsafe,
    )
