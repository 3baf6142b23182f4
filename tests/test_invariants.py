"""Each rule fires when what keeps it is broken, and none fires while the table is whole."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from onlooked import act, seen
from tale import YES

from controller.batch import interlocks, lamp, lamp_guards, rig_acts
from controller.batch.acts import Act, ActKind
from controller.batch.alarms import ALARMS
from controller.batch.desk import Desk
from controller.batch.events import Event, EventKind
from controller.batch.recovery import Restart
from controller.batch.signals import Commands, Role, Sample
from controller.batch.stages import Stage
from controller.hardware.simulated import SimulatedRig
from controller.invariants import LATCHING, Breach, Invariants
from controller.planning.sheet_json import sheet_to_json
from controller.rehearsal.run import BATCH, Rehearsal
from controller.rehearsal.scenario import Outage, scenario
from controller.runner import Tick

ZERO = 273.15

# --- the onlooker by itself


def armed() -> Invariants:
    """An onlooker who has seen START and a healthy lamp."""
    onlooker = Invariants()
    onlooker.see(seen(0.0, lamp=False, stage="PLANNED"))
    onlooker.heard(1.0, act(ActKind.START, **YES))
    onlooker.see(seen(1.0))
    assert onlooker.unsafe == []
    return onlooker


def alarm(kind: EventKind, name: str, priority: str = "P1", at: float = 0.0) -> Event:
    return Event(at, kind, "b", "PREHEAT", "", {"alarm": name, "priority": priority})


GONE: dict[str, dict[str, object]] = {
    "no good sample": {"face": None},
    "the face is at the trip": {"face": Sample(330.0, 2.0)},
    "the record is out of date": {"record_in_date": False},
}


@pytest.mark.parametrize("why", GONE)
def test_a_lamp_lit_without_a_reason_is_a_breach_at_once(why):
    onlooker = armed()
    onlooker.see(seen(2.0, lamp=False))
    onlooker.see(seen(2.0, **GONE[why]))
    assert onlooker.unsafe == [Breach("S1", 2.0, f"the lamp is energised: {why}")]


@pytest.mark.parametrize("why", GONE)
def test_a_burning_lamp_has_two_seconds_to_go_off(why):
    onlooker = armed()
    gone = dict(GONE[why])
    for now in (2.0, 3.0, 4.0):
        onlooker.see(seen(now, **gone))
    assert onlooker.unsafe == []
    onlooker.see(seen(4.1, **gone))
    onlooker.see(seen(5.0, **gone))
    assert onlooker.unsafe == [Breach("S2", 4.1, f"the lamp stays energised: {why}")]


@pytest.mark.parametrize("why", GONE)
def test_the_dead_man_line_moves_by_the_rules_of_the_lamp(why):
    onlooker = armed()
    onlooker.see(seen(2.0, lamp=False))
    onlooker.see(seen(2.0, lamp=False, dead_man=True, **GONE[why]))
    assert onlooker.unsafe == [Breach("S1", 2.0, f"the dead-man line moves: {why}")]
    held = armed()
    held.see(seen(2.0, lamp=False, dead_man=True))
    gone = dict(GONE[why])
    for now in (3.0, 4.0, 5.0, 5.1, 6.0):
        held.see(seen(now, lamp=False, dead_man=True, **gone))
    assert held.unsafe == [Breach("S2", 5.1, f"the dead-man line goes on moving: {why}")]


def test_the_dead_man_line_stands_still_after_stop_and_until_somebody_armed():
    onlooker = armed()
    onlooker.heard(2.0, act(ActKind.STOP))
    onlooker.see(seen(3.1, lamp=False, dead_man=True, stage="STOPPED"))
    assert [breach.rule for breach in onlooker.unsafe] == ["STOP"]
    fresh = Invariants()
    fresh.see(seen(0.0, lamp=False, dead_man=True))
    assert [breach.rule for breach in fresh.unsafe] == ["S4"]


def test_a_line_that_moves_with_every_reason_is_no_breach_whether_the_lamp_burns_or_not():
    onlooker = armed()
    for now in range(2, 60):
        onlooker.see(seen(float(now), lamp=now % 10 < 5, dead_man=True))
    assert onlooker.unsafe == []


def test_a_lamp_out_of_its_stages_is_a_breach_at_once():
    onlooker = armed()
    onlooker.see(seen(2.0, stage="COOLDOWN"))
    assert onlooker.unsafe == [Breach("S1", 2.0, "the lamp is energised: the stage is COOLDOWN")]


def test_a_lamp_nobody_armed_is_a_breach():
    onlooker = Invariants()
    onlooker.see(seen(0.0))
    assert [breach.rule for breach in onlooker.unsafe] == ["S4"]


def test_a_restart_takes_the_arming_and_the_word():
    onlooker = armed()
    onlooker.restarted(9.0)
    onlooker.heard(2.0, act(ActKind.PRESENT))
    onlooker.see(seen(2.0))
    assert [breach.rule for breach in onlooker.unsafe] == ["S4"]
    onlooker.heard(3.0, act(ActKind.RE_ARM))
    onlooker.see(seen(3.0))
    assert len(onlooker.unsafe) == 1


@pytest.mark.parametrize("outputs", [{"lamp": True}, {"lamp": False, "pump": True}])
@pytest.mark.parametrize(
    ("restarts", "apart", "soon", "bad"),
    [
        (4, 100.0, 899.0, True),
        (4, 100.0, 901.0, False),
        (3, 100.0, 9.0, False),
        (4, 200.0, 9.0, False),
        (4, 199.9, 9.0, True),
        (4, 100.0, 900.0, False),
    ],
)
def test_an_output_soon_after_too_many_restarts_is_a_breach(outputs, restarts, apart, soon, bad):
    onlooker = armed()
    for n in range(restarts):
        onlooker.restarted(9.0)
        onlooker.see(seen(10.0 + apart * n, lamp=False))
    now = 10.0 + apart * (restarts - 1) + soon
    onlooker.heard(now, act(ActKind.RE_ARM))
    onlooker.see(seen(now, **outputs))
    assert any("too often" in breach.what for breach in onlooker.unsafe) is bad


def test_leaving_the_lamps_stages_takes_the_arming():
    onlooker = armed()
    onlooker.see(seen(2.0, lamp=False, stage="STOPPED"))
    onlooker.see(seen(3.0))
    assert [breach.rule for breach in onlooker.unsafe] == ["S4"]


@pytest.mark.parametrize(("close_watch", "limit"), [(False, 900.0), (True, 300.0)])
def test_a_word_holds_for_15_minutes_or_5_in_close_watch(close_watch, limit):
    onlooker = armed()
    onlooker.see(seen(1.0 + limit, close_watch=close_watch))
    onlooker.see(seen(1.0 + limit + 1, close_watch=close_watch))
    assert onlooker.unsafe == []
    onlooker.see(seen(1.0 + limit + 4, close_watch=close_watch))
    assert onlooker.unsafe[0].what.endswith("nobody's word holds")


def test_no_trip_of_a_sheet_gets_past_60_degrees():
    onlooker = armed()
    onlooker.see(seen(2.0, lamp=False))
    onlooker.see(seen(3.0, face=Sample(60.0 + ZERO, 3.0), trip=400.0))
    assert onlooker.unsafe[0].what.endswith("the face is at the trip")


@pytest.mark.parametrize(("output"), ["lamp", "pump"])
def test_an_output_on_a_second_after_stop_is_a_breach(output):
    onlooker = armed()
    onlooker.heard(2.0, act(ActKind.STOP))
    still = {"lamp": False, "stage": "STOPPED"} | {output: True}
    onlooker.see(seen(2.0, lamp=False, stage="STOPPED"))
    onlooker.see(seen(3.0, lamp=False, stage="STOPPED"))
    onlooker.see(seen(3.1, **still))
    assert [breach.rule for breach in onlooker.unsafe] == ["STOP"]


def test_after_resume_the_pump_may_run_again():
    onlooker = armed()
    onlooker.heard(2.0, act(ActKind.STOP))
    onlooker.heard(60.0, act(ActKind.RESUME))
    onlooker.see(seen(61.0, lamp=False, pump=True, stage="HOLD"))
    assert onlooker.unsafe == []


@pytest.mark.parametrize("name", ["probe fell", *sorted(LATCHING)])
def test_a_latched_alarm_holds_until_it_is_heard_and_gone(name):
    priority = "P1" if name == "probe fell" else "P2"
    for first, second in (("heard", "gone"), ("gone", "heard")):
        onlooker = armed()
        onlooker.happened(alarm(EventKind.ALARM_RAISED, name, priority))
        for ease in (first, second):
            assert list(onlooker.latches) == [name]
            if ease == "gone":
                onlooker.happened(alarm(EventKind.ALARM_CLEARED, name))
            else:
                onlooker.heard(2.0, act(ActKind.ACKNOWLEDGE, alarm=name))
        assert not onlooker.latches


def test_an_alarm_of_the_pump_latches_nothing():
    onlooker = armed()
    onlooker.happened(alarm(EventKind.ALARM_RAISED, "bag leaks", "P2"))
    assert not onlooker.latches


def test_each_side_of_a_board_has_its_own_hour_of_lamp():
    onlooker = armed()
    now = 1.0
    for side, spent in (("A", 3000.0), ("B", 3000.0), ("A", 620.0)):
        end = now + spent
        while now < end:
            now += 10.0
            onlooker.heard(now, act(ActKind.PRESENT))
            onlooker.see(seen(now))
        if side != "A" or spent == 3000.0:
            assert onlooker.unsafe == []
            onlooker.heard(now, act(ActKind.FLIPPED))
    assert onlooker.unsafe[0].what.endswith("the face has had its lamp time")


def test_the_zone_is_clear_when_tidied_moved_out_aired_and_waited_for():
    onlooker = armed()
    onlooker.heard(10.0, act(ActKind.THINNED, "wet"))
    onlooker.heard(100.0, act(ActKind.TIDIED, "wet"))
    onlooker.heard(150.0, act(ActKind.MOVED_OUT, "another"))
    onlooker.see(seen(800.0, lamp=False))
    onlooker.see(seen(800.0))
    assert onlooker.unsafe[-1].what.endswith("the zone is not clear")
    onlooker.heard(200.0, act(ActKind.MOVED_OUT, "wet"))
    onlooker.see(seen(799.0, lamp=False))
    onlooker.see(seen(799.0))
    assert len(onlooker.unsafe) == 2
    onlooker.see(seen(801.0, lamp=False))
    onlooker.see(seen(801.0))
    assert len(onlooker.unsafe) == 2


@pytest.mark.parametrize(("left", "clear"), [("FLASHOFF", True), ("STOPPED", False)])
def test_a_finished_batch_leaves_the_zone_when_its_solvent_is_out_not_when_given_up(left, clear):
    onlooker = armed()
    onlooker.heard(10.0, act(ActKind.COATING, "wet"))
    onlooker.heard(20.0, act(ActKind.TIDIED, "wet"))
    onlooker.happened(Event(30.0, EventKind.STAGE, "wet", "FINISHED", "", {"from": left}))
    onlooker.see(seen(700.0, lamp=False))
    onlooker.see(seen(700.0))
    assert (onlooker.unsafe == []) is clear


def test_the_onlooker_knows_every_alarm_that_holds_the_lamp_off():
    serious = {name for name, row in ALARMS.items() if row.latched and row.priority != "P1"}
    assert serious == LATCHING


# --- the engine with a row of its table gone


class Story(Rehearsal):
    """A rehearsal driven by hand, one tick a second."""

    count = 0
    burned = False

    def tick(self, acts: list[Act]) -> Tick:
        done = super().tick(acts)
        self.burned = self.burned or self.rig.outputs().lamp
        return done

    def press(self, kind: ActKind, **values: str | float | bool) -> None:
        """The act of whatever batch and stage are at the rig."""
        run = self.runner.engine.rig.run
        self.count += 1
        self.now += 1.0
        told = Act(
            id=f"hand-{self.count}",
            kind=kind,
            batch=None if run is None else run.id,
            stage=None if run is None else run.stage,
            by="hand",
            values=values,
        )
        self.tick([told])
        assert self.story.refused == []

    def go(self, seconds: float, step: float = 1.0) -> None:
        """On, with nothing pressed."""
        end = self.now + seconds
        while self.now < end:
            self.now += step
            self.tick([])

    def until(self, stage: Stage) -> None:
        """On until a stage is reached, somebody there all the while."""
        for second in range(3000):
            if self.stage == stage:
                return
            if second % 240 == 239:
                self.press(ActKind.PRESENT)
            self.go(1.0)
        raise AssertionError(f"{stage} was never reached; it is {self.stage}")


Maker = Callable[..., Story]


@pytest.fixture
def story(tmp_path: Path) -> Iterator[Maker]:
    """Makes a story; extras change its scenario."""
    made: list[Story] = []

    def make(make_rig: object = None, **extras: object) -> Story:
        told = scenario("good-night").model_copy(update=extras)
        made.append(Story(told, 1, tmp_path / f"log-{len(made)}.db", make_rig))  # type: ignore[arg-type]
        return made[-1]

    yield make
    for each in made:
        each.close()


def run_wild(monkeypatch: pytest.MonkeyPatch) -> None:
    """The lamp's own reasoning and its guards gone: only the interlocks are left."""

    def always(state: lamp.LampState, now: float, *rest: object) -> bool:
        state.proved = True
        return True

    monkeypatch.setattr(lamp, "wanted", always)
    monkeypatch.setattr(lamp_guards, "tripped", lambda *given: None)


def without(monkeypatch: pytest.MonkeyPatch, *rows: str) -> None:
    """The table with these rows gone."""
    known = {row.id for row in interlocks.INTERLOCKS}
    assert set(rows) <= known, f"no such row among {known}"
    left = tuple(row for row in interlocks.INTERLOCKS if row.id not in rows)
    monkeypatch.setattr(interlocks, "INTERLOCKS", left)


def out_of_stage(here: Story) -> None:
    here.press(ActKind.START, **YES)
    here.until(Stage.SOAK)
    here.press(ActKind.ENOUGH)
    here.go(5.0)


def no_word(here: Story) -> None:
    here.press(ActKind.START, **YES)
    here.go(320.0, step=2.0)


def old_sample(here: Story) -> None:
    here.press(ActKind.START, **YES)
    here.go(60.0)
    here.rig.add_fault("bus_silent")
    here.go(20.0)


def too_hot(here: Story) -> None:
    here.press(ActKind.START, **YES)
    here.rig.add_fault("lamp_strong", 3.0)
    here.go(500.0)


def wet_zone(here: Story) -> None:
    """A coat, moved out at once, and the next board before anything is tidied."""
    here.press(ActKind.START, **YES)
    here.until(Stage.SOAK)
    here.press(ActKind.ENOUGH)
    for kind in (ActKind.UNPLUGGED, ActKind.MIXED, ActKind.THINNED, ActKind.COATING):
        here.press(kind)
    for kind in (ActKind.COATED, ActKind.SEALED):
        here.press(kind)
    here.press(ActKind.ACCEPT, reason="a story")
    here.press(ActKind.OPENED, reason="a story")
    here.press(ActKind.MOVED_OUT, place="loft rack")
    here.press(ActKind.PLAN, sheet=sheet_to_json(here.sheet), id="batch-2")
    here.go(1200.0, step=10.0)
    here.press(ActKind.START, **YES)
    here.go(10.0)


def latched(here: Story) -> None:
    here.press(ActKind.START, **YES)
    here.go(60.0)
    here.rig.add_fault("bus_silent")
    here.go(15.0)
    here.rig.clear_fault("bus_silent")
    here.go(15.0)


def lamp_time(here: Story) -> None:
    """The end of a face's lamp time; what went before is told to the engine and the onlooker."""
    here.press(ActKind.START, **YES)
    run = here.runner.engine.rig.run
    assert run is not None
    allowed = min(interlocks.lamp_budget(run.coat.heat.lamp_on), 3600.0)
    run.lamp.seconds["A"], here.onlooker.burned["A"] = allowed - 20.0, 3580.0
    here.go(60.0)


def old_record(here: Story) -> None:
    here.press(ActKind.START, **YES)
    here.go(30.0)
    facts = here.runner.facts
    here.runner.facts = lambda now: replace(facts(now), record_in_date=False)
    here.go(5.0)


WEAK = {"lamp_flux": 150.0}
"""A lamp that never gets the board into the band."""

BROKEN: dict[str, tuple[tuple[str, ...], Callable[[Story], None], dict[str, object], str]] = {
    "stage": (("I-1 stage",), out_of_stage, {}, "the stage is COOLDOWN"),
    "word": (("I-7 presence",), no_word, WEAK, "nobody's word holds"),
    # a probe that is lost also latches its alarm: two rows forbid, and both have to go
    "sample": (("I-2 reading", "I-5 latch"), old_sample, {}, "no good sample"),
    "trip": (("I-5 trip",), too_hot, {}, "the face is at the trip"),
    "zone": (("I-1 zone",), wet_zone, {}, "the zone is not clear"),
    "latch": (("I-5 latch",), latched, {}, "latched: face probe lost"),
    "budget": (("I-6 budget",), lamp_time, {}, "the face has had its lamp time"),
    "record": (("I-16 record",), old_record, {}, "the record is out of date"),
}
"""Term of S1: rows that keep it, a story that provokes it, the scenario's extras, the breach."""


def break_around(monkeypatch: pytest.MonkeyPatch, term: str) -> None:
    """What else stands before a row, so that the row is all that is left."""
    run_wild(monkeypatch)
    if term == "zone":
        monkeypatch.setattr(Desk, "zone_locked", lambda desk: False)


@pytest.mark.parametrize("term", BROKEN)
def test_a_lamp_without_this_interlock_is_seen_to_be_unsafe(monkeypatch, story, term):
    rows, provoke, extras, what = BROKEN[term]
    break_around(monkeypatch, term)
    without(monkeypatch, *rows)
    if term == "budget":
        # the same figure halts a preheat and ends a soak
        monkeypatch.setattr(interlocks, "lamp_budget", lambda expected: float("inf"))
    here = story(**extras)
    provoke(here)
    assert here.onlooker.unsafe
    assert here.onlooker.unsafe[0].rule in ("S1", "S2")
    assert here.onlooker.unsafe[0].what.endswith(what)


@pytest.mark.parametrize("term", BROKEN)
def test_with_the_table_whole_the_same_story_is_safe(monkeypatch, story, term):
    _, provoke, extras, _ = BROKEN[term]
    break_around(monkeypatch, term)
    here = story(**extras)
    provoke(here)
    assert here.onlooker.unsafe == []
    assert here.burned, "a lamp that never burns is always safe"


def cut(here: Story) -> None:
    here.press(ActKind.START, **YES)
    here.go(60.0)
    power = {"stage": "PREHEAT", "after": "1 min", "lasts": "20 s"}
    here.lose_power(Outage.model_validate(power))
    here.go(30.0)


def test_a_lamp_that_comes_back_by_itself_after_a_restart_is_seen(monkeypatch, story):
    monkeypatch.setattr("controller.runner.after_restart", lambda *given: Restart((), None))
    # the step over the outage would halt the heat as well
    monkeypatch.setattr("controller.batch.engine.TOO_LATE", float("inf"))
    here = story()
    cut(here)
    assert here.onlooker.unsafe[0].rule == "S4"


def test_after_a_proper_restart_a_wild_lamp_stays_dark(monkeypatch, story):
    run_wild(monkeypatch)
    here = story()
    cut(here)
    assert here.onlooker.unsafe == []
    assert not here.rig.outputs().lamp


def heat_and_stop(here: Story) -> None:
    here.press(ActKind.START, **YES)
    here.go(20.0)
    assert here.rig.outputs().lamp
    here.press(ActKind.STOP)
    here.go(3.0)


def pull_and_stop(here: Story) -> None:
    here.press(ActKind.DRY_PULL)
    here.go(20.0)
    assert here.rig.outputs().pump
    here.press(ActKind.STOP)
    here.go(3.0)


@pytest.mark.parametrize("provoke", [heat_and_stop, pull_and_stop])
def test_a_stop_that_does_nothing_is_seen(monkeypatch, story, provoke):
    monkeypatch.setitem(rig_acts.RIG_ACTS, ActKind.STOP, lambda desk, act: "Not now.")
    here = story()
    provoke(here)
    assert [breach.rule for breach in here.onlooker.unsafe] == ["STOP"]


@pytest.mark.parametrize("provoke", [heat_and_stop, pull_and_stop])
def test_a_proper_stop_is_safe(story, provoke):
    here = story()
    provoke(here)
    assert here.onlooker.unsafe == []


class Lying(SimulatedRig):
    """Says OFF and leaves the contact as it was."""

    says = Commands()

    def apply(self, commands: Commands) -> None:
        self.says = commands
        was = super().outputs()
        lamp, pump = commands.lamp or was.lamp, commands.pump or was.pump
        super().apply(replace(commands, lamp=lamp, pump=pump))

    def outputs(self) -> Commands:
        return self.says


@pytest.mark.parametrize("provoke", [heat_and_stop, pull_and_stop])
def test_what_the_plant_does_counts_not_what_the_rig_says(story, provoke):
    here = story(lambda plant, seed: Lying(plant, tuple(Role), seed))
    provoke(here)
    assert not here.rig.outputs().lamp and not here.rig.outputs().pump
    assert "STOP" in [breach.rule for breach in here.onlooker.unsafe]


@pytest.mark.parametrize(
    ("fault", "provoke"), [("lamp_stuck_on", heat_and_stop), ("pump_stuck_on", pull_and_stop)]
)
def test_a_contact_that_sticks_is_not_the_controllers_breach(story, fault, provoke):
    here = story()
    here.rig.add_fault(fault)
    provoke(here)
    assert here.onlooker.unsafe == []


def test_the_batch_of_a_story_is_the_rehearsals(story):
    run = story().runner.engine.rig.run
    assert run is not None and run.id == BATCH
