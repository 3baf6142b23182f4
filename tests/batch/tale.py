"""A way to tell the engine a story: a made-up board, bag and shop, and a person's presses."""

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

from made import HOUR, ZERO, made_facts, made_sheet

from controller.batch.acts import Act, ActKind, Answer
from controller.batch.engine import Engine, Step
from controller.batch.events import Event, EventKind
from controller.batch.showing import Surroundings, snapshot
from controller.batch.signals import Readings, RigFacts, Sample
from controller.batch.snapshot import Snapshot
from controller.batch.stages import HALTED, Form, Stage
from controller.batch.state import RigState, Run, Zone
from controller.hardware.plant import Plant
from controller.hardware.simulated import SimulatedRig
from controller.planning.cure_model import cure_model
from controller.planning.sheet import BatchSheet
from controller.science.kinetics import cured

ROOM = 18.0 + ZERO
CELLS = 8
AIR = 101325.0
YES = {"plug_in_reach": True, "smoke_alarm": True, "aired": True}
TOLD_UTC = 1_780_000_000.0
LETS_AIR_IN = (ActKind.DRY_PULL_DONE, ActKind.OPENED)
ORDER_OF_WORK = tuple(stage for stage in Stage if stage not in HALTED)
WET_FROM = ORDER_OF_WORK.index(Stage.COAT)


class Tale:
    """One rig, one engine, and as much of a shop as a story needs."""

    def __init__(
        self,
        run: Run | None = None,
        facts: RigFacts | None = None,
        *,
        wet: bool = False,
        now: float = 0.0,
    ) -> None:
        self.now = now
        self.facts = made_facts() if facts is None else facts
        self.engine = Engine(RigState(now=now, run=run, zone=Zone(wet=wet)))
        self.cells = [ROOM] * CELLS
        self.probe_off_by = 0.0
        self.room: float | None = ROOM
        self.film: float | None = None
        self.bag = AIR
        self.leak = 1.0
        self.flux = 700.0
        self.silent: set[str] = set()
        self.lamp_by_hand = self.pump_by_hand = False
        self.stop = self.next = False
        self.lamp_fed: bool | None = None
        self.told: Callable[[Readings], Readings] = lambda readings: readings
        self.events: list[Event] = []
        self.last: Step | None = None
        self._kept: dict[str, Sample | None] = {}
        self._count = 0

    @property
    def rig(self) -> RigState:
        return self.engine.rig

    @property
    def run(self) -> Run:
        assert self.rig.run is not None
        return self.rig.run

    @property
    def stage(self) -> Stage:
        return self.run.stage

    @property
    def face(self) -> float:
        """What the face probe reads, [K]; setting it moves the probe, not the board."""
        return self.cells[0] + self.probe_off_by

    @face.setter
    def face(self, kelvin: float) -> None:
        self.probe_off_by = kelvin - self.cells[0]

    @property
    def lamp(self) -> bool:
        return self.last is not None and self.last.commands.lamp

    @property
    def pump(self) -> bool:
        return self.last is not None and self.last.commands.pump

    @property
    def sounds(self) -> bool:
        return self.last is not None and self.last.commands.sounder

    def step(self, seconds: float = 1.0, *acts: Act) -> Step:
        self._shop(seconds)
        self.now += seconds
        self.last = self.engine.step(self.now, self._readings(), acts, self.facts)
        self.next = False
        self.events += self.last.events
        accepted = {answer.act for answer in self.last.answers if answer.accepted}
        if any(act.id in accepted and act.kind in LETS_AIR_IN for act in acts):
            self.bag = AIR
        return self.last

    def wait(self, seconds: float, each: float = 1.0) -> None:
        until = self.now + seconds
        while self.now < until - 1e-9:
            self.step(min(each, until - self.now))

    def until(self, stage: Stage, within: float, each: float = 1.0) -> None:
        limit = self.now + within
        while self.stage is not stage:
            assert self.now < limit, f"still in {self.stage} after {within} s"
            self.step(each)

    def act(
        self,
        kind: ActKind,
        *,
        ago: float = 0.0,
        stage: str | None = "now",
        batch: str | None = "here",
        by: str = "phone",
        **values: str | float | bool,
    ) -> Act:
        self._count += 1
        run = self.rig.run
        if batch == "here":
            batch = None if run is None else run.id
        if stage == "now":
            stage = None if run is None or batch != run.id else str(run.stage)
        return Act(
            id=f"act-{self._count}",
            kind=kind,
            batch=batch,
            stage=stage,
            by=by,
            ago=ago,
            values=values,
        )

    def press(self, kind: ActKind, seconds: float = 1.0, **more: object) -> Answer:
        """One act in one step, and its answer."""
        step = self.step(seconds, self.act(kind, **more))  # type: ignore[arg-type]
        return step.answers[0]

    def does(self, kind: ActKind, **more: object) -> Answer:
        """The same, and it must be accepted."""
        answer = self.press(kind, **more)  # type: ignore[arg-type]
        assert answer.accepted, f"{kind}: {answer.text}"
        return answer

    def refused(self, kind: ActKind, **more: object) -> str:
        """The same, and it must be refused; the words."""
        answer = self.press(kind, **more)  # type: ignore[arg-type]
        assert not answer.accepted, f"{kind} was accepted: {answer.text}"
        return answer.text

    def alarms(self) -> set[str]:
        return {alarm.id for alarm in self.rig.alarms}

    def active(self) -> set[str]:
        return {alarm.id for alarm in self.rig.alarms if alarm.active}

    def of_kind(self, kind: EventKind) -> list[Event]:
        return [event for event in self.events if event.kind is kind]

    def raised(self) -> list[str]:
        return [str(event.data["alarm"]) for event in self.of_kind(EventKind.ALARM_RAISED)]

    def shown(self) -> Snapshot:
        return snapshot(
            self.engine,
            Surroundings(
                seq=1,
                told_utc=TOLD_UTC + self.now,
                time_zone="Europe/Copenhagen",
                pace=None,
                rig="bench",
            ),
        )

    def open_acts(self) -> set[str]:
        shown = self.shown()
        return {press.act for press in (shown.press, *shown.others) if press is not None}

    def _shop(self, seconds: float) -> None:
        lamp = self.lamp if self.facts.lamp == "wired" else self.lamp_by_hand
        pump = self.pump if self.facts.pump == "wired" else self.pump_by_hand
        room = ROOM if self.room is None else self.room
        left = seconds
        while left > 0:
            self._warm(min(left, 5.0), self.flux if lamp else 0.0, room)
            left -= 5.0
        if pump:
            self.bag += (12e3 - self.bag) * min(seconds / 20.0, 1.0)
        else:
            self.bag = min(self.bag + self.leak * seconds, AIR)

    def _warm(self, seconds: float, flux: float, room: float) -> None:
        """An explicit step of the sheet's board, its back lined."""
        cells, board = self.cells, made_sheet().coats[0].board
        width = board.thickness / CELLS
        mass = board.density * board.heat_capacity * width
        along = [board.conductivity / width * (b - a) for a, b in pairwise(cells)]
        into_face = flux - board.face_loss * (cells[0] - room)
        out_of_back = board.back_loss * (cells[-1] - room)
        gains = [b - a for a, b in pairwise([-into_face, *along, -out_of_back])]
        self.cells = [c + seconds * gain / mass for c, gain in zip(cells, gains, strict=True)]

    def _readings(self) -> Readings:
        values = {"face": self.face, "room": self.room, "film": self.film, "bag": self.bag}
        for name, value in values.items():
            if name not in self.silent:
                self._kept[name] = None if value is None else Sample(value, self.now)
        return self.told(
            Readings(
                **{name: self._kept.get(name) for name in values},
                lamp_fed=self.lamp_fed,
                stop_pressed=self.stop,
                next_pressed=self.next,
            )
        )


class PlantTale(Tale):
    """The same over the pretend rig's own plant, which a person's accepted acts are done to."""

    def __init__(self, run: Run | None = None, facts: RigFacts | None = None) -> None:
        super().__init__(run, facts)
        self.plant = SimulatedRig(
            Plant(), seed=3, infrared=True, lamp_sense=True, tilt=True, cut_out=True, stop=True
        )

    def step(self, seconds: float = 1.0, *acts: Act) -> Step:
        step = super().step(seconds, *acts)
        self.plant.apply(step.commands)
        for act, answer in zip(acts, step.answers, strict=False):
            if answer.accepted:
                self.plant.person_did(str(act.kind))
        return step

    def _shop(self, seconds: float) -> None:
        self.bag = self.plant.truth().bag

    def _readings(self) -> Readings:
        return self.plant.read(self.now)


def run_in(
    stage: Stage, *, left: Stage | None = None, sheet: BatchSheet | None = None, now: float = 0.0
) -> Run:
    """A batch that came to this stage in the usual way; `left` is what a halted one was in."""
    sheet = made_sheet() if sheet is None else sheet
    run = Run(id="batch-1", sheet=sheet, coat_index=0, stage=stage, since=now)
    at_work = stage if left is None else left
    run.left = left
    reached = ORDER_OF_WORK.index(at_work)
    if reached >= ORDER_OF_WORK.index(Stage.PREHEAT):
        run.started_at = run.word_at = now
    if reached >= ORDER_OF_WORK.index(Stage.COOLDOWN):
        run.lamp_off_at, run.mean_at_off, run.mixed_at = now, 38 + ZERO, now
    if reached >= WET_FROM:
        run.unplugged = run.thinner_open = run.probe_off = True
        run.coating_at = now
    if reached > WET_FROM:
        run.coated_at = now
    if reached >= ORDER_OF_WORK.index(Stage.PULLDOWN):
        run.sealed_at = now
    if at_work is Stage.HOLD:
        run.form = Form.HELD if run.coat.bag is not None else Form.UNBAGGED
        run.bag.reached, run.bag.verdict, run.bag.accepted_rise = True, "tight", 1.0
    if reached > ORDER_OF_WORK.index(Stage.HOLD):
        run.film_off_at = now
        run.gelled = run.may_open = True
        aged(run, 30 * HOUR)
    return run


def aged(run: Run, age: float) -> None:
    """The mix as if it had stood at its reference temperature this long, [s]."""
    resin = run.coat.resin
    run.age = age
    run.conversion = cured(cure_model(resin), 0.0, [(age, resin.reference)])


def in_stage(stage: Stage, *, facts: RigFacts | None = None, **more: object) -> Tale:
    """A story that begins in a stage, one step in, with the day's check made."""
    run = run_in(stage, **more)  # type: ignore[arg-type]
    at_work = stage if run.left is None else run.left
    wet = at_work in ORDER_OF_WORK and ORDER_OF_WORK.index(at_work) >= WET_FROM
    tale = Tale(run, facts, wet=wet)
    tale.rig.day_check_at = 0.0
    if at_work is Stage.HOLD:
        tale.bag = 28e3
    tale.step()
    return tale


def heated(facts: RigFacts | None = None, sheet: BatchSheet | None = None) -> Tale:
    """A story whose lamp has just proved itself in PREHEAT."""
    tale = Tale(run_in(Stage.PLANNED, sheet=sheet), facts)
    tale.step()
    tale.does(ActKind.START, **YES)
    tale.wait(60)
    assert tale.stage is Stage.PREHEAT and tale.run.lamp.proved
    return tale


def with_coat(sheet: BatchSheet, **changes: object) -> BatchSheet:
    """The sheet with its first coat changed."""
    first = replace(sheet.coats[0], **changes)  # type: ignore[arg-type]
    return replace(sheet, coats=(first, *sheet.coats[1:]))
