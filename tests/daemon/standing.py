"""A runner on a bench that reads what it is told, put into any stage, with a calendar to set."""

from dataclasses import replace

from made import made_facts
from pydantic import TypeAdapter
from tale import in_stage

from controller.batch.acts import Act, ActKind
from controller.batch.engine import Engine
from controller.batch.signals import OUTPUTS_OFF, Commands, Readings, Sample
from controller.batch.stages import HALTED, Stage
from controller.batch.state import RigState
from controller.instant import Instant
from controller.planning.sheet_json import sheet_to_json
from controller.runner import Runner, Tick
from controller.store.log import Record
from controller.store.rows import Entry, NewBatch, Stamp

UTC = 1_780_000_000.0
YES = {"plug_in_reach": True, "smoke_alarm": True, "aired": True}
ROOM, HELD, AIR = 293.15, 28e3, 101_325.0
STATE = TypeAdapter(RigState)


class StillBench:
    """A rig that reads what a test says, and remembers what it was told to switch."""

    simulated = True

    def __init__(self) -> None:
        self.face: float | None = ROOM
        self.bag: float | None = AIR
        self.switched = OUTPUTS_OFF

    def read(self, now: float) -> Readings:
        room = Sample(ROOM, now)
        return Readings(
            face=None if self.face is None else Sample(self.face, now),
            room=room,
            film=room,
            bag=None if self.bag is None else Sample(self.bag, now),
            barometer=Sample(AIR, now),
        )

    def apply(self, commands: Commands) -> None:
        self.switched = commands

    def outputs(self) -> Commands:
        return self.switched

    def off(self) -> None:
        self.switched = OUTPUTS_OFF

    def close(self) -> None:
        self.off()


class Bench(StillBench):
    """One whose bag leaks [Pa/s] and whose pump pulls."""

    def __init__(self) -> None:
        super().__init__()
        self.leak = 0.0
        self._read_at = 0.0

    def read(self, now: float) -> Readings:
        seconds, self._read_at = now - self._read_at, now
        if self.bag is not None:
            rise = (12e3 - self.bag) / 20.0 if self.switched.pump else self.leak
            self.bag += rise * min(seconds, 10.0)
        return super().read(now)


class InFront:
    """Somebody in front of a runner."""

    def __init__(self, runner: Runner, now: Instant) -> None:
        self.runner = runner
        self.now = now
        self._count = 0

    def go(self, *acts: Act, seconds: float = 1.0, clock: float = 0.0) -> Tick:
        """One tick; `clock` is how far the calendar was set meanwhile, [s]."""
        here = self.now
        self.now = replace(
            here,
            rig=here.rig + seconds,
            told_utc=here.told_utc + seconds + clock,
            mono=here.mono + seconds,
        )
        return self.runner.tick(self.now, acts)

    def act(self, kind: ActKind, **values: str | float | bool) -> Act:
        run = self.runner.engine.rig.run
        self._count += 1
        batch, stage = (None, None) if run is None else (run.id, str(run.stage))
        name = f"{kind}-{self.now.boot_id}-{self._count}"
        return Act(id=name, kind=kind, batch=batch, stage=stage, by="test", values=values)


class Stand(InFront):
    """A runner on a bench of its own, and somebody in front of it."""

    def __init__(self, record: Record, now: Instant) -> None:
        self.bench = Bench()
        self.record = record
        super().__init__(Runner(self.bench, record, lambda now: made_facts(), now), now)

    @property
    def rig(self) -> RigState:
        return self.runner.engine.rig


def at_start(rig: float = 0.0, told_utc: float = UTC, boot: str = "boot-1") -> Instant:
    return Instant(rig, told_utc, 100.0, boot, True)


def state_in(stage: Stage) -> RigState:
    """What the engine remembers in this stage, one step in, with the day's check made."""
    left = None
    if stage in HALTED:
        left = Stage.HOLD if stage is Stage.INTERRUPTED else Stage.PREHEAT
    return in_stage(stage, left=left).engine.state()


def put_down(
    record: Record, state: RigState, *, told_utc: float = UTC, trusted: bool = True
) -> None:
    """A log whose newest checkpoint is this."""
    stamp = Stamp(at=state.now, told_utc=told_utc, mono=50.0, boot_id="b", clock_trusted=trusted)
    run = state.run
    batches: tuple[NewBatch, ...] = ()
    if run is not None:
        batches = (NewBatch(id=run.id, name=run.sheet.name, sheet=sheet_to_json(run.sheet)),)
    record.write(Entry(stamp=stamp, batches=batches, state=STATE.dump_json(state).decode()))


def put_in(stand: Stand, state: RigState) -> None:
    """Let the engine go on from this state, its batch told to the log."""
    put_down(stand.record, state)
    stand.runner.engine = Engine(state)
