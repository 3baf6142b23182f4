"""One tick and one start-up, with a bench that does as it is told and a log on the disk."""

import sqlite3
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest
from standing import AIR, ROOM, STATE, UTC, YES, InFront, StillBench

from controller.batch.acts import Act, ActKind
from controller.batch.events import EventKind
from controller.batch.signals import (
    OUTPUTS_OFF,
    Commands,
    Corrections,
    RigFacts,
    Role,
)
from controller.batch.stages import Form, Stage
from controller.batch.state import RigState, Run
from controller.errors import InputError
from controller.instant import Instant, resume_at
from controller.planning.sheet import BatchSheet
from controller.planning.sheet_json import sheet_to_json
from controller.rehearsal.rig import facts_for, settings_for, sheet_for
from controller.rehearsal.scenario import scenario
from controller.runner import CHECKPOINT_EACH, Runner
from controller.store.log import Log
from controller.store.queries import LogReader
from controller.store.rows import Checkpoint, Entry, NewBatch, SampleRow, Stamp

BAG = 30e3


class Watched:
    """A real log whose disk may be held up, and whose entries are looked at on the way."""

    def __init__(self, log: Log) -> None:
        self._log = log
        self.notes, self.last_checkpoint, self.last_at = log.notes, log.last_checkpoint, log.last_at
        self.state_lost = log.state_lost
        self.held_at: int | None = None
        self.trouble: str | None = None
        self.entries: list[Entry] = []
        self.checkpoints: list[Checkpoint] = []
        self.answered, self.sample = log.answered, log.sample
        self.flush, self.close = log.flush, log.close

    @property
    def durable_seq(self) -> int:
        done = self._log.durable_seq
        return done if self.held_at is None else min(done, self.held_at)

    def hold(self) -> None:
        """From here on nothing more reaches the disk."""
        self.held_at = self._log.durable_seq

    def write(self, entry: Entry) -> int:
        self.entries.append(entry)
        return self._log.write(entry)

    def checkpoint(self, checkpoint: Checkpoint) -> None:
        self.checkpoints.append(checkpoint)
        self._log.checkpoint(checkpoint)


@pytest.fixture(scope="module")
def sheet() -> BatchSheet:
    story = scenario("good-night")
    return sheet_for(story, settings_for(story))


@pytest.fixture(scope="module")
def facts() -> Callable[[Instant], RigFacts]:
    settings = settings_for(scenario("good-night"))
    return facts_for(settings, frozenset(Role), simulated=True, record="r", in_date=True)


class Desk(InFront):
    """A runner, and a person in front of it."""

    def __init__(
        self, runner: Runner, rig: StillBench, record: Watched, sheet: BatchSheet, now: Instant
    ) -> None:
        super().__init__(runner, now)
        self.rig, self.record, self.sheet = rig, record, sheet

    def plan(self) -> Act:
        return self.act(ActKind.PLAN, sheet=sheet_to_json(self.sheet), id="b1")

    def lit(self) -> None:
        """A batch under a burning lamp."""
        self.go(self.plan())
        self.go(self.act(ActKind.START, **YES))
        self.go()
        assert self.rig.switched.lamp

    @property
    def run(self) -> Run:
        run = self.runner.engine.rig.run
        assert run is not None
        return run


Opener = Callable[..., Desk]


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "log.db"


@pytest.fixture
def desk(path, sheet, facts) -> Iterator[Opener]:
    """Starts the controller on the log, `outage` seconds of calendar after it was last up."""
    opened: list[Log] = []

    def start(outage: float = 0.0, *, trusted: bool = True, told_utc: float | None = None) -> Desk:
        for log in opened:
            log.close()
        log = Log.open(path)
        opened.append(log)
        last = log.last_checkpoint
        calendar = UTC if last is None else last.stamp.told_utc + outage
        calendar = calendar if told_utc is None else told_utc
        rig_time, _ = resume_at(log, calendar, trusted)
        now = Instant(rig_time, calendar, 100.0, f"boot-{len(opened)}", trusted)
        record, rig = Watched(log), StillBench()
        return Desk(Runner(rig, record, facts, now), rig, record, sheet, now)

    yield start
    for log in opened:
        log.close()


def texts(path: Path, kind: EventKind) -> list[str]:
    events = LogReader(path).events(limit=10_000)
    return [e.event.text for e in events if e.event is not None and e.event.kind is kind]


# --- acts and answers


def test_the_same_id_has_one_effect_and_the_same_answer(desk, path):
    here = desk()
    plan = here.plan()
    (first,) = here.go(plan).replies
    (again,) = here.go(plan).replies
    assert first.answer.accepted
    assert again.answer == first.answer
    assert len(texts(path, EventKind.ACT)) == 1


def test_an_act_that_came_twice_in_one_tick_is_heard_and_answered_once(desk, path):
    here = desk()
    plan = here.plan()
    done = here.go(plan, plan)
    assert [reply.answer.act for reply in done.replies] == [plan.id]
    assert len(texts(path, EventKind.ACT)) == 1


def test_the_same_id_has_the_same_answer_after_a_restart(desk, path):
    here = desk()
    plan, start = here.plan(), here.act(ActKind.STOP)
    answers = [reply.answer for act in (plan, start) for reply in here.go(act).replies]
    later = desk(30.0)
    done = later.go(plan, start)
    assert [reply.answer for reply in done.replies] == answers
    assert [reply.seq for reply in done.replies] == [0, 0]
    assert len(texts(path, EventKind.ACT)) == 2


def test_a_refusal_is_kept_like_any_answer(desk, path):
    here = desk()
    here.go(here.plan())
    start = here.act(ActKind.START)
    (first,) = here.go(start).replies
    (again,) = here.go(start).replies
    assert not first.answer.accepted and again.answer == first.answer
    assert len(texts(path, EventKind.REFUSED)) == 1


def test_a_reply_waits_for_the_entry_that_holds_it(desk):
    here = desk()
    here.record.hold()
    plan = here.plan()
    (reply,) = here.go(plan).replies
    assert reply.seq > here.record.durable_seq
    here.record.held_at = None
    assert reply.seq <= here.record.durable_seq


def test_events_answer_batch_and_checkpoint_are_one_entry(desk):
    here = desk()
    before = len(here.record.entries)
    done = here.go(here.plan())
    (entry,) = here.record.entries[before:]
    assert entry.events == done.step.events and len(entry.events) >= 2
    assert entry.answers == done.step.answers
    assert [batch.id for batch in entry.batches] == ["b1"]
    assert STATE.validate_json(entry.state).run.id == "b1"


def test_a_weigh_in_is_kept_with_the_time_it_was_true(desk, path, sheet):
    here = desk()
    here.go(here.plan())
    here.runner.engine.rig.run = in_stage(sheet, Stage.FLASHOFF, since=0.0)
    told = replace(here.act(ActKind.WEIGHED, mass_g=1500.5, what="board"), ago=0.5)
    assert here.go(told).replies[0].answer.accepted
    (kept,) = LogReader(path).weigh_ins("b1")
    assert (kept.mass, kept.what, kept.at) == (1.5005, "board", here.now.rig - 0.5)
    assert kept.told_utc == here.now.told_utc - 0.5


def test_a_weigh_in_told_too_late_is_kept_with_the_engines_own_time(desk, path, sheet):
    here = desk()
    here.go(here.plan())
    run = in_stage(sheet, Stage.FLASHOFF, since=0.5)
    here.runner.engine.rig.run = run
    told = replace(here.act(ActKind.WEIGHED, mass_g=1500.5, what="board"), ago=50_000.0)
    assert here.go(told).replies[0].answer.accepted
    (kept,) = LogReader(path).weigh_ins("b1")
    assert kept.at == run.weigh_ins[-1][0] == 0.5


def test_nothing_happened_is_no_entry_but_a_checkpoint_now_and_then(desk):
    here = desk()
    here.go(here.plan())
    entries = len(here.record.entries)
    for _ in range(int(3 * CHECKPOINT_EACH)):
        here.go()
    assert len(here.record.entries) == entries
    assert len(here.record.checkpoints) == 3


def test_hands_hear_what_was_accepted_and_nothing_else(desk):
    here, heard = desk(), []
    here.runner.on_accepted = lambda act, run: heard.append(act.kind)
    here.go(here.plan())
    here.go(here.act(ActKind.START))
    assert heard == [ActKind.PLAN]


# --- outputs


def test_the_lamp_comes_on_only_when_what_led_to_it_is_on_disk(desk):
    here = desk()
    here.go(here.plan())
    here.record.hold()
    here.go(here.act(ActKind.START, **YES))
    for _ in range(3):
        done = here.go()
        assert done.step.commands.lamp and not done.applied.lamp
        assert not here.rig.switched.lamp
    here.record.held_at = None
    assert here.go().applied.lamp
    assert here.rig.switched.lamp


def test_the_dead_man_line_moves_only_when_what_led_to_it_is_on_disk(desk):
    here = desk()
    here.go(here.plan())
    here.record.hold()
    here.go(here.act(ActKind.START, **YES))
    for _ in range(3):
        done = here.go()
        assert done.step.commands.dead_man and not done.applied.dead_man
        assert not here.rig.switched.dead_man
    here.record.held_at = None
    assert here.go().applied.dead_man and here.rig.switched.dead_man


def test_a_slow_disk_does_not_drop_the_contactor_of_a_heat(desk):
    here = desk()
    here.lit()
    here.record.hold()
    here.go(here.act(ActKind.PRESENT))
    assert here.rig.switched.dead_man
    here.runner.engine.rig.run.lamp.on = False
    here.rig.switched = replace(here.rig.switched, lamp=False)
    for _ in range(5):
        done = here.go()
        assert done.applied.dead_man, "the lamp waits, and its contactor stays in"


def test_the_dead_man_line_stands_still_at_once_on_stop(desk):
    here = desk()
    here.lit()
    here.record.hold()
    here.go(here.act(ActKind.STOP))
    assert not here.rig.switched.dead_man


def test_what_is_recorded_is_what_the_engine_believed(desk, path, facts):
    here = desk()
    here.go(here.plan())
    by = Corrections(face=-0.5, bag=250.0)
    here.runner.facts = lambda now: replace(facts(now), corrections=by)
    here.go()
    here.record.flush()
    with sqlite3.connect(path) as connection:
        rows = connection.execute("SELECT face_mdegc, bag_pa FROM sample ORDER BY at_ms").fetchall()
    connection.close()
    assert rows[-1] == (19_500, 101_575)


def test_a_lamp_that_waits_for_the_disk_is_not_taken_for_a_broken_one(desk):
    here = desk()
    here.go(here.plan())
    here.record.hold()
    here.go(here.act(ActKind.START, **YES))
    for _ in range(240):  # the proof pulse alone would be over after 75 s
        done = here.go()
    assert done.step.commands.lamp and not done.applied.lamp
    assert here.run.stage is Stage.PREHEAT and here.run.lamp.seconds == {}
    here.record.held_at = None
    here.go(here.act(ActKind.PRESENT))
    for _ in range(90):  # it burns now, and this bench's probe never sees it
        here.go()
    assert (here.run.stage, here.run.stop_cause) == (Stage.STOPPED, "lamp not seen")


def test_off_never_waits_for_the_disk(desk):
    here = desk()
    here.lit()
    here.record.hold()
    here.go(here.act(ActKind.STOP))
    assert not here.rig.switched.lamp and not here.rig.switched.pump


def test_a_burning_lamp_does_not_flicker_with_the_disk(desk):
    here = desk()
    here.lit()
    here.record.hold()
    here.go(here.act(ActKind.PRESENT))
    assert here.rig.switched.lamp


def test_the_pump_does_not_wait_for_the_disk(desk):
    here = desk()
    here.go(here.plan())
    here.record.hold()
    here.rig.bag = AIR
    here.go(here.act(ActKind.DRY_PULL))
    here.go()
    assert here.rig.switched.pump


def test_a_start_begins_with_every_output_off(path, sheet, facts):
    rig = StillBench()
    rig.switched = Commands(lamp=True, pump=True)
    log = Log.open(path)
    Runner(rig, log, facts, Instant(0.0, UTC, 0.0, "b", True))
    log.close()
    assert rig.switched == OUTPUTS_OFF


def test_on_disk_trouble_start_is_refused_and_control_goes_on(desk):
    here = desk()
    here.go(here.plan())
    here.record.trouble = "The log cannot be written: the disk is full: free some space."
    (reply,) = here.go(here.act(ActKind.START, **YES)).replies
    assert not reply.answer.accepted
    assert "the disk is full" in reply.answer.text
    assert [alarm.id for alarm in here.runner.engine.rig.alarms] == ["record not written"]
    (pull,) = here.go(here.act(ActKind.DRY_PULL)).replies
    assert pull.answer.accepted and here.run.stage is Stage.DRYPULL


def test_on_disk_trouble_a_burning_lamp_can_be_stopped(desk):
    here = desk()
    here.lit()
    here.record.hold()
    here.record.trouble = "The log cannot be written."
    assert here.go().applied.lamp
    here.go(here.act(ActKind.STOP))
    assert not here.rig.switched.lamp


# --- clocks


@pytest.mark.parametrize("moved", [3600.0, -3600.0, 200 * 86400.0, -UTC])
def test_a_step_of_the_clock_is_an_event_and_nothing_else(desk, path, moved):
    here = desk()
    here.lit()
    for _ in range(5):
        here.go()
    state = STATE.dump_json(here.runner.engine.state())
    assert here.go(clock=moved).step.events == ()
    assert here.rig.switched.lamp
    (said,) = texts(path, EventKind.CLOCK_STEP)
    assert said == f"The clock was set by {moved:+.0f} s. No timer here goes by it."
    here.go()
    assert len(texts(path, EventKind.CLOCK_STEP)) == 1
    told = STATE.validate_json(state)
    now = here.runner.engine.rig
    assert now.now == told.now + 2.0
    assert now.run.lamp.seconds["A"] == told.run.lamp.seconds["A"] + 2.0


def test_a_clock_that_is_nudged_is_no_event(desk, path):
    here = desk()
    for _ in range(10):
        here.go(clock=1.5)
    assert texts(path, EventKind.CLOCK_STEP) == []


def checkpoint(at: float, told_utc: float, trusted: bool = True) -> Checkpoint:
    stamp = Stamp(at=at, told_utc=told_utc, mono=0.0, boot_id="b", clock_trusted=trusted)
    return Checkpoint(stamp=stamp, state="{}")


@pytest.mark.parametrize(
    ("last", "last_at", "calendar", "trusted", "rig_time", "outage"),
    [
        (None, None, UTC, True, 0.0, None),
        (None, 70.0, UTC, True, 70.0, None),
        (checkpoint(50.0, UTC), 60.0, UTC + 100, True, 150.0, 100.0),
        (checkpoint(50.0, UTC), 60.0, UTC + 5, True, 60.0, 5.0),
        (checkpoint(50.0, UTC), None, UTC, True, 50.0, 0.0),
        (checkpoint(50.0, UTC), 60.0, UTC + 100, False, 60.0, None),
        (checkpoint(50.0, UTC, trusted=False), 60.0, UTC + 100, True, 60.0, None),
        (checkpoint(50.0, UTC), 60.0, UTC - 100, True, 60.0, None),
    ],
    ids=[
        "first start",
        "no checkpoint",
        "known",
        "short",
        "at once",
        "now in doubt",
        "then",
        "back",
    ],
)
def test_rig_time_goes_on_by_the_length_of_a_known_outage(
    last, last_at, calendar, trusted, rig_time, outage
):
    record = SimpleNamespace(last_checkpoint=last, last_at=last_at)
    assert resume_at(record, calendar, trusted) == (rig_time, outage)


# --- start-up from the log


def in_stage(sheet: BatchSheet, stage: Stage, form: Form | None = None, **more: object) -> Run:
    told: dict[str, object] = {"left": Stage.PREHEAT if stage is Stage.STOPPED else None}
    run = Run(id="b1", sheet=sheet, coat_index=0, stage=stage, since=900.0, form=form)
    for name, value in (told | more).items():
        setattr(run, name, value)
    run.lamp.on, run.bag.pump_on, run.word_at = True, True, 990.0
    return run


def went_down(path: Path, sheet: BatchSheet, run: Run, *, trusted: bool = True) -> None:
    """A log as it is after the power went at rig time 1000 s."""
    log = Log.open(path)
    stamp = Stamp(at=1000.0, told_utc=UTC, mono=1000.0, boot_id="b", clock_trusted=trusted)
    batch = NewBatch(id="b1", name=sheet.name, sheet=sheet_to_json(sheet))
    state = STATE.dump_json(RigState(now=1000.0, run=run)).decode()
    log.write(Entry(stamp=stamp, batches=(batch,), state=state))
    log.sample(SampleRow(at=1000.0, told_utc=UTC, batch="b1", stage=run.stage, coat=1))
    log.close()


MIXED: dict[str, object] = {"mixed_at": 500.0, "coating_at": 600.0, "coated_at": 700.0}
SEALED: dict[str, object] = MIXED | {"sealed_at": 800.0, "film": ROOM}
SET: dict[str, object] = SEALED | {"age": 10 * 86400.0, "gelled": True}
HELD, LET_UP = Form.HELD, Form.LET_UP

ROWS = [
    # stage, form, what the run knew, outage [s]; stage then, alarm, pump by itself
    (Stage.PLANNED, None, {}, 600.0, Stage.PLANNED, None, False),
    (Stage.DRYPULL, None, {}, 600.0, Stage.PLANNED, None, False),
    (Stage.PREHEAT, None, {}, 20.0, Stage.INTERRUPTED, "work interrupted", False),
    (Stage.SOAK, None, {}, 20.0, Stage.INTERRUPTED, "work interrupted", False),
    (Stage.COOLDOWN, None, {}, 20.0, Stage.COOLDOWN, "work interrupted", False),
    (Stage.COAT, None, MIXED, 20.0, Stage.COAT, "work interrupted", False),
    (Stage.BAG, None, MIXED, 20.0, Stage.BAG, "work interrupted", False),
    (Stage.PULLDOWN, None, SEALED, 20.0, Stage.INTERRUPTED, "pump left to a person", False),
    (Stage.HOLD, HELD, SEALED, 30.0, Stage.HOLD, None, True),
    (Stage.HOLD, HELD, SEALED, 720.0, Stage.HOLD, "power was away", True),
    (Stage.HOLD, HELD, SET, 720.0, Stage.HOLD, None, True),
    (Stage.HOLD, HELD, SEALED, 7200.0, Stage.INTERRUPTED, "pump left to a person", False),
    (Stage.HOLD, HELD, SEALED, None, Stage.INTERRUPTED, "pump left to a person", False),
    (Stage.HOLD, HELD, SET, 7200.0, Stage.INTERRUPTED, None, False),
    (Stage.HOLD, LET_UP, SEALED, 720.0, Stage.HOLD, None, False),
    (Stage.FLASHOFF, HELD, SET, 7200.0, Stage.FLASHOFF, "flash-off unwatched", False),
    (Stage.FINISHED, HELD, SET, 7200.0, Stage.FINISHED, None, False),
    (Stage.STOPPED, None, {}, 20.0, Stage.STOPPED, None, False),
]


@pytest.mark.parametrize(
    ("stage", "form", "knew", "outage", "then", "alarm", "pumps"),
    ROWS,
    ids=[f"{n} {row[0]} {row[1] or 'no form'} {row[3]} s" for n, row in enumerate(ROWS)],
)
def test_after_a_restart_the_work_stands_where_the_table_says(
    desk, path, sheet, stage, form, knew, outage, then, alarm, pumps
):
    went_down(path, sheet, in_stage(sheet, stage, form, **knew), trusted=outage is not None)
    here = desk(900.0 if outage is None else outage)
    assert here.rig.switched == OUTPUTS_OFF
    here.rig.bag = BAG
    first = here.go()
    assert not first.applied.lamp
    assert here.run.stage is then
    raised = [e.data["alarm"] for e in first.step.events if e.kind is EventKind.ALARM_RAISED]
    assert raised == ([] if alarm is None else [alarm])
    # the gauge shows a bag that wants the pump, and it may only run where the table says so
    here.rig.bag = sheet.coats[0].bag.restart + 1e3
    pumped = False
    for _ in range(90):
        applied = here.go().applied
        pumped = pumped or applied.pump
        assert not applied.lamp
    assert pumped is pumps
    away = "an unknown time" if outage is None else f"{outage:.0f} s"
    assert texts(path, EventKind.RESTART) == [
        f"The controller is back after {away}. The lamp is off."
    ]


def test_an_outage_is_no_gap_of_rig_time_when_its_length_is_not_known(desk, path, sheet):
    went_down(path, sheet, in_stage(sheet, Stage.FLASHOFF, HELD, **SET), trusted=False)
    here = desk(7200.0)
    assert here.now.rig == 1000.0
    here.go()
    assert here.runner.engine.rig.now == 1001.0


def test_a_damaged_checkpoint_is_said_and_the_one_before_it_used(desk, path):
    here = desk()
    here.go(here.plan())
    here.go(here.act(ActKind.DRY_PULL))
    here.record.close()
    with sqlite3.connect(path) as connection:
        connection.execute(
            "UPDATE checkpoint SET state = 'x' || substr(state, 2)"
            " WHERE number = (SELECT max(number) FROM checkpoint)"
        )
    connection.close()
    later = desk(30.0)
    assert later.run.stage is Stage.PLANNED
    assert texts(path, EventKind.NOTE) == [
        "A checkpoint in the log is damaged: the other one is used."
    ]


def test_a_checkpoint_of_another_version_is_refused_and_says_what_to_do(desk, path):
    log = Log.open(path)
    stamp = Stamp(at=5.0, told_utc=UTC, mono=0.0, boot_id="b", clock_trusted=True)
    log.write(Entry(stamp=stamp, state='{"now": "then"}'))
    log.close()
    with pytest.raises(InputError, match=r"move log\.db away"):
        desk(30.0)


def test_a_reading_too_old_to_be_true_is_not_recorded_as_a_sample(desk, path):
    here = desk()
    here.go(here.plan())
    here.go()
    here.rig.face = None
    here.go()
    here.record.flush()
    with sqlite3.connect(path) as connection:
        rows = connection.execute("SELECT face_mdegc, bag_pa FROM sample ORDER BY at_ms").fetchall()
    connection.close()
    assert rows[-2:] == [(20_000, 101_325), (None, 101_325)]


def test_a_snapshot_counts_up_and_shows_the_last_tick(desk):
    here = desk()
    here.go(here.plan())
    first = here.runner.snapshot(here.now, "UTC", "bench", None)
    here.go()
    second = here.runner.snapshot(here.now, "UTC", "bench", 60.0)
    assert (second.seq - first.seq, second.now) == (1, here.now.rig)
    assert (second.rig, second.pace, second.batch.id) == ("bench", 60.0, "b1")
