"""A scenario from start to end: the runner, the pretend rig, the operator and the onlooker."""

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter
from typing import Any

from controller.batch.acts import Act, ActKind
from controller.batch.alarms import ALARMS
from controller.batch.events import Event, EventKind
from controller.batch.signals import OUTPUTS_OFF, Role
from controller.batch.snapshot import Snapshot
from controller.hardware.simulated import SimulatedRig
from controller.invariants import Breach, Invariants, Seen
from controller.planning.sheet import BatchSheet
from controller.planning.sheet_json import sheet_to_json
from controller.rehearsal.operator import Operator
from controller.rehearsal.rig import (
    SIMULATED_RECORD,
    facts_for,
    plant_for,
    settings_for,
    sheet_for,
)
from controller.rehearsal.scenario import Moment, Outage, Scenario, ScriptedFault
from controller.runner import Instant, Runner, resume_at
from controller.store.log import Log

LONGEST = 10 * 86400.0
"""Rig time after which a story that has not ended is given up, [s]. Own."""
BATCH = "batch-1"
"""The batch's id in a rehearsal."""
BOOT = "rehearsal"
"""The boot id's start in a rehearsal."""


@dataclass(slots=True)
class Story:
    """What is gathered on the way."""

    stages: list[tuple[str, float, float | None]] = field(default_factory=list)
    alarms: list[dict[str, Any]] = field(default_factory=list)
    truth: dict[str, float | None] = field(
        default_factory=lambda: {
            "face_max_c": None,
            "mean_at_lamp_off_c": None,
            "face_at_first_stroke_c": None,
            "gel_at_s": None,
            "opened_at_s": None,
            "leak_pa_s": None,
            "solvent_left_g": None,
        }
    )
    refused: list[str] = field(default_factory=list)

    def stage(self, name: str, now: float) -> None:
        """The stage now; a new one closes the last."""
        if self.stages and self.stages[-1][0] == name:
            return
        if self.stages:
            last = self.stages[-1]
            self.stages[-1] = (last[0], last[1], now)
        self.stages.append((name, now, None))

    def began(self, name: str) -> float | None:
        """When a stage was first reached, [s]."""
        return next((start for stage, start, _ in self.stages if stage == name), None)


@dataclass(frozen=True, slots=True)
class Outcome:
    """How a rehearsal went."""

    scenario: str
    seed: int
    outcome: str
    """FINISHED, ABANDONED or NOT ENDED."""
    as_expected: bool
    """The outcome and the alarms are the scenario's, and nothing was unsafe."""
    simulated_s: float
    wall_s: float
    story: Story
    unsafe: tuple[Breach, ...]

    def as_json(self) -> dict[str, Any]:
        """Plain data, times rounded to what the tick can know."""
        return {
            "scenario": self.scenario,
            "seed": self.seed,
            "outcome": self.outcome,
            "as_expected": self.as_expected,
            "simulated_s": round(self.simulated_s, 1),
            "wall_s": round(self.wall_s, 2),
            "stages": [
                {"stage": name, "from_s": round(start, 1), "to_s": end and round(end, 1)}
                for name, start, end in self.story.stages
            ],
            "alarms": self.story.alarms,
            "truth": {
                name: None if value is None else round(value, 3)
                for name, value in self.story.truth.items()
            },
            "unsafe": [
                {"rule": breach.rule, "at_s": breach.at, "what": breach.what}
                for breach in self.unsafe
            ],
        }


class Rehearsal:
    """One scenario being played."""

    def __init__(
        self, scenario: Scenario, seed: int, log_path: Path, make_rig: "RigMaker | None" = None
    ) -> None:
        """make_rig: another back end over the same plant; the simulated one when left out"""
        self.scenario = scenario
        self.settings = settings_for(scenario)
        self.sheet = sheet_for(scenario, self.settings)
        plant = plant_for(self.sheet, scenario, self.settings, seed)
        self.rig = (make_rig or _simulated)(plant, seed)
        self.story = Story()
        self.onlooker = Invariants()
        self.operator = Operator(
            seed, scale=self._weigh, mend=self._mend, dry_pull=scenario.dry_pull
        )
        self.shown: Snapshot | None = None
        self.now = 0.0
        self._boots = 0
        self._log_path = log_path
        self._faults = list(scenario.faults)
        self._outages = list(scenario.outages)
        self._away_until = 0.0
        self._away = list(scenario.away)
        self._log = Log.open(log_path, throwaway=True)
        self.runner = self._boot()
        self.tick([_plan(self.sheet)])

    # --- the world

    def _instant(self, now: float) -> Instant:
        told = self.scenario.starts_at.timestamp() + now
        return Instant(now, told, now, f"{BOOT}-{self._boots}", True)

    def _boot(self) -> Runner:
        self._boots += 1
        here = self._instant(self.now)
        rig_time, _ = resume_at(self._log, here.told_utc, True)
        self.now = max(self.now, rig_time)
        record = None if self.scenario.record == "none" else SIMULATED_RECORD
        facts = facts_for(
            self.settings,
            frozenset(Role),
            simulated=True,
            record=record,
            in_date=self.scenario.record == "in date",
        )
        runner = Runner(self.rig, self._log, facts, self._instant(self.now))
        runner.on_accepted = self._accepted
        return runner

    def _weigh(self) -> float:
        """The board on the scale, [g]."""
        truth, board = self.rig.truth(), self.rig.plant.parameters.board
        wood = board.length * board.width * board.thickness * board.density
        resin = self.rig.plant.parameters.coat.resin if truth.coated else 0.0
        return 1000.0 * (wood + resin + truth.solvent_left)

    def _mend(self, alarm: str) -> None:
        for fault in self.scenario.faults:
            if fault.mended:
                self.rig.clear_fault(fault.name, fault.role)

    def _accepted(self, act: Act) -> None:
        self.onlooker.heard(self.now, act)
        if act.kind is ActKind.COATING:
            self.story.truth["face_at_first_stroke_c"] = self.rig.truth().face - 273.15
        if act.kind is ActKind.OPENED:
            self.story.truth["opened_at_s"] = self.now
        self.rig.person_did(str(act.kind))

    # --- time

    def tick(self, acts: list[Act]) -> None:
        """One tick at `now`, seen by the onlooker."""
        here = self._instant(self.now)
        done = self.runner.tick(here, acts)
        for event in done.step.events:
            self._event(event)
        self.story.refused += [a.text for a in done.step.answers if not a.accepted]
        self.shown = self.runner.snapshot(here, self.settings.shop.time_zone, "rehearsal", None)
        self._see()

    def _event(self, event: Event) -> None:
        self.onlooker.happened(event)
        name = str(event.data.get("alarm", ""))
        if event.kind is EventKind.ALARM_RAISED:
            priority = str(ALARMS[name].priority)
            self.story.alarms.append(
                {"id": name, "priority": priority, "at_s": event.at, "cleared_s": None}
            )
        elif event.kind is EventKind.ALARM_CLEARED:
            for alarm in reversed(self.story.alarms):
                if alarm["id"] == name:
                    alarm["cleared_s"] = event.at
                    break

    def _see(self) -> None:
        run, view = self.runner.engine.rig.run, self.runner.engine.view
        truth, outputs = self.rig.truth(), self.rig.outputs()
        stage = "PLANNED" if run is None else str(run.stage)
        lit_before = self.story.began("COOLDOWN") is None
        self.story.stage(stage, self.now if run is None else run.since)
        figures = self.story.truth
        figures["face_max_c"] = max(figures["face_max_c"] or -273.15, truth.face - 273.15)
        if lit_before and stage == "COOLDOWN":
            figures["mean_at_lamp_off_c"] = truth.mean - 273.15
        figures["gel_at_s"] = truth.gel_at
        figures["leak_pa_s"] = truth.leak
        figures["solvent_left_g"] = 1000.0 * truth.solvent_left
        self.onlooker.see(
            Seen(
                now=self.now,
                lamp=outputs.lamp,
                pump=outputs.pump,
                stage=stage,
                face=None if view is None else view.readings.face,
                trip=0.0 if run is None else run.coat.heat.trip,
                record_in_date=self.scenario.record == "in date",
                close_watch=self.settings.rig.close_watch,
            )
        )

    def play(self, each: Callable[[Snapshot], None] | None = None) -> str:
        """Play to the end: FINISHED, ABANDONED or NOT ENDED."""
        while self.now < LONGEST:
            shown = self.shown
            if shown is not None and each is not None:
                each(shown)
            if shown is not None and shown.batch is not None and shown.batch.outcome is not None:
                return shown.batch.outcome.upper()
            step = min(self.runner.engine.tick, self._until_next())
            self.now += max(step, 0.1)
            self._scripted()
            here = self.now < self._away_until or shown is None
            act = None if here or shown is None else self.operator.looks(shown)
            self.tick([] if act is None else [act])
        return "NOT ENDED"

    def _due(self, moment: Moment) -> float | None:
        began = self.story.began(moment.stage)
        return None if began is None else began + moment.after

    def _until_next(self) -> float:
        """Time to the next thing in the script, so that no long tick runs over it, [s]."""
        dues = [self._due(m) for m in (*self._faults, *self._outages, *self._away)]
        ahead = [due - self.now for due in dues if due is not None and due > self.now]
        return min(ahead, default=LONGEST)

    def _scripted(self) -> None:
        for fault in [f for f in self._faults if self._has_come(f)]:
            self._faults.remove(fault)
            self._break(fault)
        for outage in [o for o in self._outages if self._has_come(o)]:
            self._outages.remove(outage)
            self._lose_power(outage)
        for away in [a for a in self._away if self._has_come(a)]:
            self._away.remove(away)
            self._away_until = self.now + away.lasts

    def _has_come(self, moment: Moment) -> bool:
        due = self._due(moment)
        return due is not None and self.now >= due

    def _break(self, fault: ScriptedFault) -> None:
        self.rig.add_fault(fault.name, fault.value, fault.role)

    def _lose_power(self, outage: Outage) -> None:
        """Everything that needs mains is off and nobody looks; then the controller boots."""
        self.rig.apply(OUTPUTS_OFF)
        self._log.close()
        self.now += outage.lasts
        self.rig.read(self.now)
        self.onlooker.restarted()
        self._log = Log.open(self._log_path, throwaway=True)
        self.runner = self._boot()

    def close(self) -> None:
        """Outputs off, the record closed."""
        self.rig.close()
        self._log.close()


RigMaker = Callable[[Any, int], SimulatedRig]


def _simulated(plant: Any, seed: int) -> SimulatedRig:
    return SimulatedRig(plant, seed=seed)


def _plan(sheet: BatchSheet) -> Act:
    values: dict[str, str | float | bool] = {"sheet": sheet_to_json(sheet), "id": BATCH}
    return Act(id="plan-1", kind=ActKind.PLAN, batch=None, stage=None, by="operator", values=values)


def rehearse(
    scenario: Scenario,
    seed: int | None = None,
    *,
    log: Path | None = None,
    each: Callable[[Snapshot], None] | None = None,
    make_rig: "RigMaker | None" = None,
) -> Outcome:
    """Play a scenario and judge it.

    log: where the record goes; thrown away when left out       each: sees every snapshot
    """
    chosen = scenario.seed if seed is None else seed
    started = perf_counter()
    with TemporaryDirectory(prefix="warmdraw-") as folder:
        path = log or Path(folder) / "log.db"
        rehearsal = Rehearsal(scenario, chosen, path, make_rig)
        try:
            outcome = rehearsal.play(each)
        finally:
            rehearsal.close()
    serious = {a["id"] for a in rehearsal.story.alarms if a["priority"] != "P3"}
    unsafe = tuple(rehearsal.onlooker.unsafe)
    expected = outcome == scenario.expected and serious == set(scenario.alarms)
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
