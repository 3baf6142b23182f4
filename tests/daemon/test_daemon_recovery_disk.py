"""The disk fails, hangs or is full while the rig is at work: control goes on, and says so.

Nothing here waits: a disk that hangs is a writer's thread that stands at a gate, and the seconds
that go by are rig time.
"""

import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from boatworks import Failing, Gated
from made import made_sheet
from standing import UTC, YES, Stand, at_start, put_down, state_in
from standing import put_in as put_in_stage

from controller.batch.acts import ActKind
from controller.batch.alarms import ALARMS
from controller.batch.events import Event, EventKind
from controller.batch.stages import Stage
from controller.planning.sheet_json import sheet_to_json
from controller.store.log import Log
from controller.store.queries import LogReader
from controller.store.rows import Entry, Stamp
from controller.store.writer import LogWriter

TICK_MOST = 1.5
"""What a tick may take at its worst, [s]; it is due each second."""
HANGS = 20
"""Seconds that the disk hangs."""
LONG = 20.0
SEEN_WELL = round(ALARMS["record not written"].off_delay) + 2
"""Ticks after which a record that is written again is no alarm any more."""


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "log.db"


class Timed:
    """Somebody who looks at a watch at each tick."""

    def __init__(self, stand: Stand) -> None:
        self.stand = stand
        self.worst = 0.0

    def go(self, *acts: ActKind, **values: bool | str) -> list[tuple[str, bool, int]]:
        """One tick with these acts: of each answer the act, whether accepted, and its entry."""
        given = [self.stand.act(kind, **values) for kind in acts]
        began = time.perf_counter()
        done = self.stand.go(*given)
        self.worst = max(self.worst, time.perf_counter() - began)
        return [(reply.answer.act, reply.answer.accepted, reply.seq) for reply in done.replies]


@pytest.fixture
def gate() -> Iterator[type[Gated]]:
    kind = Gated.closable()
    yield kind
    kind.open()


def at_work(
    path: Path, kind: type, stage: Stage, clock: Callable[[], float] = lambda: 0.0
) -> tuple[LogWriter, Timed]:
    """A rig in this stage whose record goes through `kind` of connection."""
    writer = LogWriter(Log.open(path, connection=kind), retry=0.001, clock=clock)
    stand = Stand(writer, at_start())
    put_in_stage(stand, state_in(stage))
    stand.bench.bag = 28e3 if stage in (Stage.PULLDOWN, Stage.HOLD) else 101_325.0
    assert writer.flush(LONG)
    return writer, Timed(stand)


@pytest.mark.parametrize("stage", list(Stage))
def test_a_disk_that_hangs_holds_up_no_tick_and_is_told(
    path: Path, gate: type[Gated], stage: Stage
) -> None:
    now = 0.0
    writer, here = at_work(path, gate, stage, lambda: now)
    here.go()
    gate.shut()
    here.go(ActKind.MUTE)
    assert gate.reached.wait(LONG)
    for _ in range(HANGS):
        now += 1.0
        here.go()
    assert here.worst < TICK_MOST
    assert writer.trouble is not None and "check the memory card" in writer.trouble
    assert "record not written" in {alarm.id for alarm in here.stand.rig.alarms}
    gate.open()
    assert writer.flush(LONG)
    assert writer.trouble is None
    for _ in range(SEEN_WELL):
        here.go()
    standing = {alarm.id for alarm in here.stand.rig.alarms if alarm.active}
    assert "record not written" not in standing
    assert writer.close(LONG) and writer.dropped == 0
    lines = LogReader(path).events(limit=10_000)
    raised = [line.event.data.get("alarm") for line in lines if line.event is not None]
    assert raised.count("record not written") == 2, "raised once and cleared once"


def test_while_the_disk_hangs_the_lamp_stays_dark_and_off_does_not_wait(
    path: Path, gate: type[Gated]
) -> None:
    writer, here = at_work(path, gate, Stage.PLANNED)
    gate.shut()
    ((_, accepted, seq),) = here.go(ActKind.START, **YES)
    assert accepted and seq > writer.durable_seq, "nobody is told before it is on the disk"
    for _ in range(HANGS):
        here.go()
        assert not here.stand.bench.switched.lamp
    gate.open()
    assert writer.flush(LONG) and seq <= writer.durable_seq
    here.go()
    assert here.stand.bench.switched.lamp
    assert writer.flush(LONG)
    gate.shut()
    here.go(ActKind.STOP)
    assert not here.stand.bench.switched.lamp and not here.stand.bench.switched.dead_man
    gate.open()
    assert writer.close(LONG) and here.worst < TICK_MOST


def test_while_the_disk_takes_nothing_a_heat_is_not_started_and_a_hold_goes_on(path: Path) -> None:
    kind = Failing.told(0)
    writer, here = at_work(path, kind, Stage.HOLD)
    here.stand.bench.leak = 200.0
    kind.arm()
    kind.nth, kind.sticky = 1, True
    here.go(ActKind.MUTE)
    assert not writer.flush(0.05) and writer.trouble is not None
    pumped = 0
    for _ in range(600):
        here.go()
        pumped += here.stand.bench.switched.pump
    assert 0 < pumped < 600 and here.worst < TICK_MOST
    put_in_stage(here.stand, state_in(Stage.PLANNED))
    here.stand.bench.bag = 101_325.0
    here.go()
    ((_, accepted, _),) = here.go(ActKind.START, **YES)
    assert not accepted
    kind.nth = 0
    assert writer.flush(LONG) and writer.trouble is None
    ((_, accepted, _),) = here.go(ActKind.START, **YES)
    assert accepted and writer.close(LONG)


STORY = (ActKind.START, ActKind.PRESENT, ActKind.STOP, ActKind.ABANDON)
EVERY = pytest.param(1, marks=pytest.mark.volume)


@pytest.mark.parametrize("stride", [3, EVERY])
@pytest.mark.parametrize("sticky", [False, True], ids=["once", "sticky"])
def test_whichever_call_fails_control_goes_on_and_loses_nothing(
    tmp_path: Path, sticky: bool, stride: int, record_property: Callable[[str, object], None]
) -> None:
    """The n-th call of SQLite fails, n = 1 and on until the story is over before it."""
    nth, hit, plays = 1 - stride, True, 0
    while hit:
        nth, plays = nth + stride, plays + 1
        path = tmp_path / f"{nth}.db"
        kind = Failing.told(0)
        writer = LogWriter(Log.open(path, connection=kind, throwaway=True), retry=0.0005)
        here = Timed(Stand(writer, at_start()))
        kind.arm()
        kind.nth, kind.sticky = nth, sticky
        sheet = sheet_to_json(made_sheet())
        acked = answered(here.go(ActKind.PLAN, sheet=sheet, id="b1"))
        said = False
        for kind_of_act in STORY:
            acked += answered(here.go(kind_of_act, **YES))
            for _ in range(10):
                here.go()
            if sticky:
                settle(writer)
            else:
                writer.flush(LONG)
            said = said or writer.trouble is not None
        hit = kind.calls >= nth
        assert said or not (sticky and hit)
        kind.nth = 0
        assert writer.close(LONG) and writer.trouble is None
        assert here.worst < TICK_MOST and writer.dropped == 0
        lines = LogReader(path).events(limit=10_000)
        acts = [line.event.data.get("id") for line in lines if line.event is not None]
        assert set(acked) <= set(acts)
        assert [acts.count(act) for act in acked] == [1] * len(acked)
        rows = len(list(LogReader(path).samples("b1", 0, 100)))
        assert rows == 1 + 11 * len(STORY)
    # the fewer retries a busy machine has time for, the fewer calls there are
    assert nth > 15
    record_property("nth", ("SQLite", nth - stride, plays - 1, 0))


def settle(writer: LogWriter) -> None:
    """Wait until all is on the disk, or the disk was found to take nothing."""
    until = time.monotonic() + LONG
    while not writer.flush(0.002) and writer.trouble is None:
        assert time.monotonic() < until


def answered(replies: list[tuple[str, bool, int]]) -> list[str]:
    assert replies
    return [act for act, _, _ in replies]


def test_a_damaged_log_is_told_in_the_new_one_and_the_batch_goes_on(path: Path) -> None:
    """With the last state carried over, its batch is told to the new log, samples and all."""
    log = Log.open(path, throwaway=True)
    put_down(log, state_in(Stage.HOLD))
    for at in range(40):
        told = Event(at=at, kind=EventKind.NOTE, batch=None, stage=None, text="UPSET" * 100)
        log.write(
            Entry(
                stamp=Stamp(at=at, told_utc=UTC, mono=at, boot_id="b", clock_trusted=True),
                events=(told,),
            )
        )
    log.close()
    data = path.read_bytes()
    torn = data.index(b"UPSET") // 4096 * 4096
    path.write_bytes(data[:torn] + bytes(4096) + data[torn + 4096 :])
    log = Log.open(path)
    stand = Stand(log, at_start(1000.0))
    stand.bench.bag = 28e3
    for _ in range(20):
        stand.go()
    assert stand.rig.run is not None and stand.rig.run.stage is Stage.HOLD
    log.close()
    reader = LogReader(path)
    assert [line.id for line in reader.batches()] == ["batch-1"]
    assert len(list(reader.samples("batch-1", 0, 2000))) == 20
    notes = [
        line.event.text
        for line in reader.events()
        if line.event is not None and line.event.kind is EventKind.NOTE
    ]
    assert any("its newest sound state was carried over" in note for note in notes)
