"""What a restart means, row by row, and the first steps after it."""

import pytest
from made import HOUR, made_facts, made_sheet
from pydantic import TypeAdapter
from tale import YES, Tale, heated, in_stage, run_in

from controller.batch.acts import ActKind
from controller.batch.alarm_state import AlarmState, Shelf
from controller.batch.engine import Engine
from controller.batch.events import EventKind
from controller.batch.recovery import after_restart
from controller.batch.signals import Wiring
from controller.batch.stages import Form, Stage
from controller.batch.state import RigState

STORED = TypeAdapter(RigState)


def came_back(tale: Tale, outage: float | None) -> Tale:
    """The same rig after the process was away, its state read back as it is stored."""
    state = STORED.validate_json(STORED.dump_json(tale.engine.state()))
    tale.now += outage or 0.0
    restart = after_restart(state, tale.now, outage)
    tale.engine = Engine(state)
    tale.engine.found = restart.found
    tale.events = list(restart.events)
    tale.last = None
    tale.step()
    return tale


TABLE = [
    (Stage.PLANNED, Stage.PLANNED, []),
    (Stage.DRYPULL, Stage.PLANNED, []),
    (Stage.PREHEAT, Stage.INTERRUPTED, ["work interrupted"]),
    (Stage.SOAK, Stage.INTERRUPTED, ["work interrupted"]),
    (Stage.COOLDOWN, Stage.COOLDOWN, ["work interrupted"]),
    (Stage.COAT, Stage.COAT, ["work interrupted"]),
    (Stage.BAG, Stage.BAG, ["work interrupted"]),
    (Stage.PULLDOWN, Stage.INTERRUPTED, ["pump left to a person"]),
    (Stage.HOLD, Stage.HOLD, []),
    (Stage.FLASHOFF, Stage.FLASHOFF, ["flash-off unwatched"]),
    (Stage.FINISHED, Stage.FINISHED, []),
    (Stage.STOPPED, Stage.STOPPED, []),
]


@pytest.mark.parametrize(("stage", "then", "alarms"), TABLE)
def test_each_stage_comes_back_as_the_table_says(
    stage: Stage, then: Stage, alarms: list[str]
) -> None:
    left = Stage.PREHEAT if stage is Stage.STOPPED else None
    tale = came_back(in_stage(stage, left=left), 30.0)
    assert tale.stage is then
    assert not tale.lamp
    assert tale.raised() == alarms
    assert tale.of_kind(EventKind.RESTART)[0].data == {"outage_s": 30.0}
    tale.wait(300)
    assert not tale.lamp, "never without a person"
    assert tale.raised() == alarms, "one fault, one alarm"
    if tale.stage is not Stage.HOLD:
        assert not tale.pump


def test_every_stage_but_interrupted_is_in_the_table_and_that_one_stays() -> None:
    assert {row[0] for row in TABLE} == set(Stage) - {Stage.INTERRUPTED}
    tale = came_back(in_stage(Stage.INTERRUPTED, left=Stage.PREHEAT), 30.0)
    assert tale.stage is Stage.INTERRUPTED and tale.run.left is Stage.PREHEAT


def test_a_heat_goes_on_only_at_a_persons_re_arm_and_keeps_what_it_spent() -> None:
    tale = heated()
    spent = tale.run.lamp.seconds["A"]
    came_back(tale, 20.0)
    assert tale.run.word_at is None and tale.engine.heat is not None
    assert "the controller restarted" in tale.shown().sentence.text
    tale.does(ActKind.RE_ARM)
    tale.wait(10)
    assert tale.lamp and tale.run.lamp.seconds["A"] >= spent


def test_an_unknown_outage_forgets_the_days_check() -> None:
    tale = came_back(heated(), None)
    assert "RE-ARM needs a yes" in tale.refused(ActKind.RE_ARM)
    tale.does(ActKind.RE_ARM, **YES)


@pytest.mark.parametrize(("outage", "left"), [(30.0, 570.0), (None, 0.0)])
def test_what_was_put_aside_comes_back_where_nobody_knows_how_long_it_lay(
    outage: float | None, left: float
) -> None:
    tale = in_stage(Stage.HOLD)
    shelf = Shelf(tale.now + 600.0, "seen to", 4)
    tale.rig.alarms.append(AlarmState("bag leaks", tale.now, shelf=shelf))
    after_restart(tale.rig, tale.now + 30.0, outage)
    assert shelf.until - tale.rig.now == left


def test_a_held_bag_is_pulled_again_by_itself_when_the_gauge_proves_it() -> None:
    tale = in_stage(Stage.HOLD)
    tale.bag = 38e3
    came_back(tale, 40.0)
    assert tale.stage is Stage.HOLD and tale.run.bag.prove_by is None
    assert "proves the bag" in tale.of_kind(EventKind.NOTE)[0].text
    assert tale.pump and not tale.raised()


def test_a_longer_outage_is_told_to_a_person_though_the_bag_is_whole() -> None:
    tale = in_stage(Stage.HOLD)
    came_back(tale, 900.0)
    assert tale.stage is Stage.HOLD and tale.raised() == ["power was away"]
    set_hard = in_stage(Stage.HOLD)
    set_hard.run.age = 10 * HOUR
    came_back(set_hard, 900.0)
    assert not set_hard.raised()


def test_a_bag_the_gauge_does_not_prove_in_a_minute_is_left_to_a_person() -> None:
    tale = in_stage(Stage.HOLD)
    tale.bag, tale.leak = 95e3, 100.0
    came_back(tale, 40.0)
    assert not tale.pump
    assert tale.shown().pump.why == "the gauge has to prove the bag first"
    for _ in range(58):
        tale.step()
        assert not tale.pump and tale.stage is Stage.HOLD
    tale.step()
    assert tale.stage is Stage.INTERRUPTED and tale.active() == {"pump left to a person"}
    assert "did not prove" in tale.shown().sentence.text
    assert "minutes matter" in tale.shown().sentence.text
    tale.does(ActKind.RESUME)
    tale.wait(3)
    assert tale.stage is Stage.HOLD and tale.pump and not tale.active()


@pytest.mark.parametrize("stopped", [False, True])
def test_a_leak_test_that_an_outage_ended_begins_anew_with_resume(stopped: bool) -> None:
    tale = in_stage(Stage.PULLDOWN)
    while not tale.run.bag.reached or tale.pump:
        tale.step()
        assert tale.now < 200
    tale.wait(60)
    if stopped:
        tale.does(ActKind.STOP)
    came_back(tale, 20.0)
    tale.does(ActKind.RESUME)
    began = tale.now
    tale.until(Stage.HOLD, 400)
    assert tale.now - began >= 300 and tale.run.bag.verdict == "tight"


@pytest.mark.parametrize("outage", [None, 1801.0])
def test_an_outage_too_long_or_unknown_leaves_the_pump_to_a_person(outage: float | None) -> None:
    tale = came_back(in_stage(Stage.HOLD), outage)
    assert tale.stage is Stage.INTERRUPTED and not tale.pump
    assert tale.raised() == ["pump left to a person"]


def test_after_the_gel_a_pump_left_to_a_person_is_for_the_morning() -> None:
    tale = in_stage(Stage.HOLD)
    tale.run.age = 10 * HOUR
    came_back(tale, None)
    assert tale.stage is Stage.INTERRUPTED and not tale.raised()


def test_more_than_three_restarts_in_ten_minutes_pull_nothing_by_themselves() -> None:
    tale = in_stage(Stage.HOLD)
    for _ in range(3):
        came_back(tale, 10.0)
        assert tale.stage is Stage.HOLD
    came_back(tale, 10.0)
    assert tale.stage is Stage.INTERRUPTED
    (told,) = tale.of_kind(EventKind.RESTART)
    assert "4 times in ten minutes: everything stays off for 15 min" in told.text
    assert "came back too often" in tale.shown().sentence.text
    assert "off for another 15 min" in tale.refused(ActKind.RESUME)
    tale.wait(880, each=10)
    assert not tale.pump and "came back too often" in tale.refused(ActKind.RESUME)
    tale.wait(600, each=10)
    assert not tale.pump and tale.stage is Stage.INTERRUPTED, "and then waits for a person"
    tale.does(ActKind.RESUME)
    tale.wait(60, each=10)
    assert tale.stage is Stage.HOLD
    came_back(tale, 10.0)
    assert tale.stage is Stage.HOLD, "the others are long ago"


@pytest.mark.parametrize("stage", [Stage.PREHEAT, Stage.SOAK])
def test_after_too_many_restarts_a_heat_is_armed_a_quarter_of_an_hour_later(stage: Stage) -> None:
    tale = in_stage(stage)
    for _ in range(4):
        came_back(tale, 5.0)
    assert "look at its supply" in tale.refused(ActKind.RE_ARM, **YES)
    tale.wait(890)
    assert "look at its supply" in tale.refused(ActKind.RE_ARM, **YES)
    tale.wait(20)
    assert not tale.lamp
    tale.does(ActKind.RE_ARM, **YES)
    tale.wait(3)
    assert tale.lamp


def test_after_too_many_restarts_neither_pump_nor_lamp_begins_a_new_work() -> None:
    tale = in_stage(Stage.PLANNED)
    for _ in range(4):
        came_back(tale, 5.0)
    for kind in (ActKind.START, ActKind.DRY_PULL):
        assert "came back too often" in tale.refused(kind, **(YES if kind is ActKind.START else {}))
    bagged = in_stage(Stage.BAG)
    for _ in range(4):
        came_back(bagged, 5.0)
    # sealed in the meantime, the bag waits
    told = bagged.does(ActKind.SEALED)
    assert "for another 15 min and then starts by itself" in told.text
    bagged.wait(880)
    assert bagged.stage is Stage.PULLDOWN and not bagged.pump
    assert "came back too often" in bagged.shown().pump.why
    bagged.wait(30)
    assert bagged.pump


@pytest.mark.parametrize("form", [Form.LET_UP, Form.UNBAGGED])
def test_a_hold_without_vacuum_goes_on_as_it_was(form: Form) -> None:
    tale = in_stage(Stage.HOLD)
    tale.run.form = form
    came_back(tale, None)
    assert tale.stage is Stage.HOLD and tale.run.form is form
    tale.wait(60)
    assert not tale.pump and not tale.raised()


def test_stopped_stays_off_across_a_restart_until_resume() -> None:
    tale = in_stage(Stage.STOPPED, left=Stage.HOLD)
    came_back(tale, 20.0)
    tale.wait(60)
    assert tale.stage is Stage.STOPPED and not tale.pump


def test_a_known_outage_ages_the_resin_on_the_cool_side_and_an_unknown_one_not_at_all() -> None:
    known = in_stage(Stage.HOLD)
    known.wait(60)
    age = known.run.age
    came_back(known, 1200.0)
    assert 0.4 * 1200 < known.run.age - age < 0.8 * 1200
    unknown = in_stage(Stage.HOLD)
    unknown.wait(60)
    age = unknown.run.age
    came_back(unknown, None)
    assert unknown.run.age - age < 2.0


def test_flash_off_counts_no_outage_here_or_elsewhere() -> None:
    tale = in_stage(Stage.FLASHOFF, sheet=made_sheet())
    tale.does(ActKind.MOVED_OUT, place="loft")
    tale.wait(600, each=600)
    before = tale.rig.aside[0].flashed
    came_back(tale, 86400.0)
    assert tale.rig.aside[0].flashed - before < 2.0
    assert tale.of_kind(EventKind.RESTART)[0].batch is None


def test_hand_switched_outputs_are_taken_as_off_until_told() -> None:
    tale = Tale(run_in(Stage.PLANNED), made_facts(lamp=Wiring.BY_HAND))
    tale.rig.lamp_by_hand = tale.rig.pump_by_hand = True
    came_back(tale, 5.0)
    assert not tale.rig.lamp_by_hand and not tale.rig.pump_by_hand
