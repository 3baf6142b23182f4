"""Causes that no other room of the tests tells a story of: a pump that runs on, resin that heats
itself, a lamp beside solvent, what a restart and the calendar bring."""

from dataclasses import replace

import pytest
from made import HOUR, ZERO, made_facts, made_sheet
from tale import AIR, PlantTale, Tale, in_stage, run_in
from test_stories import fit_to_be_seen

from controller.batch import pump_off
from controller.batch.acts import ActKind
from controller.batch.bag_view import BagView
from controller.batch.events import EventKind
from controller.batch.signals import Role, Sample, Wiring
from controller.batch.stages import Stage
from controller.batch.state import BagState
from controller.hardware.faults import FAULTS


def welded(tale: Tale, end: float = 8e3) -> None:
    """From now on the pump runs whatever it is told."""
    pressure = [tale.bag]

    def runs_on(readings):
        pressure[0] += (end - pressure[0]) / 35.0
        return replace(readings, bag=Sample(pressure[0], tale.now))

    tale.told = runs_on


def pulled() -> Tale:
    tale = in_stage(Stage.PULLDOWN)
    while not tale.run.bag.reached:
        tale.step()
    return tale


def test_a_pump_that_runs_on_is_told_and_the_gate_says_that_it_cannot_tell() -> None:
    tale = pulled()
    welded(tale)
    tale.wait(150)
    assert tale.raised() == ["pump does not go off"] and tale.sounds
    fit_to_be_seen(tale)
    tale.wait(400)
    assert tale.stage is Stage.PULLDOWN and tale.run.bag.verdict == "cannot tell yet"
    assert "ACCEPT" in tale.open_acts()
    assert tale.raised() == ["pump does not go off"], "once"
    tale.told = lambda readings: readings
    tale.bag, tale.leak = 8e3, 20.0
    tale.wait(80)
    assert not tale.active(), "its plug is out, and the bag rises"


def test_a_welded_pump_is_known_by_where_it_stays_after_a_restart_and_wakes_after_the_gel() -> None:
    tale = in_stage(Stage.HOLD)
    tale.run.age = 8 * HOUR
    tale.bag, tale.leak = 8.1e3, 0.0
    tale.run.bag.pump_changed_at = None
    tale.wait(200)
    assert tale.raised() == ["pump does not go off"] and tale.sounds


@pytest.mark.parametrize("leak", [0.1, 1.0, 20.0, 200.0])
def test_no_healthy_pump_is_taken_for_one_that_runs_on(leak: float) -> None:
    tale = pulled()
    tale.leak = leak
    tale.wait(900)
    assert "pump does not go off" not in tale.raised()
    held = in_stage(Stage.HOLD)
    held.leak = -1.0  # board and room cool
    held.wait(3000)
    assert "pump does not go off" not in held.raised()


@pytest.mark.parametrize("facts", [{"gauge": Wiring.BY_HAND}, {"pump": Wiring.BY_HAND}])
def test_a_pump_or_gauge_in_a_persons_hand_tells_nothing_of_a_relay(facts: dict) -> None:
    state, plan = BagState(), made_sheet().coats[0].bag
    assert plan is not None
    for second in range(200):
        sample = Sample(27e3 - 100.0 * second, float(second))
        seen = BagView(float(second), sample, AIR, plan, made_facts(**facts))
        pump_off.follow(state, seen)
    assert not state.runs_on


def test_a_gauge_that_says_nothing_tells_nothing_of_the_pump() -> None:
    state, plan = BagState(), made_sheet().coats[0].bag
    assert plan is not None
    for second in range(200):
        pump_off.follow(state, BagView(float(second), None, AIR, plan, made_facts()))
    assert state.rest_first is None and not state.runs_on


# --- resin that heats itself


def warming(tale: Tale, start: float, per_minute: float, minutes: float) -> None:
    for second in range(int(minutes * 60)):
        tale.film = start + ZERO + per_minute * second / 60.0
        tale.step()


@pytest.mark.parametrize("stage", [Stage.BAG, Stage.PULLDOWN, Stage.HOLD])
def test_a_film_that_gets_hotter_than_board_and_room_shouts(stage: Stage) -> None:
    tale = in_stage(stage)
    warming(tale, 40.0, 2.0, 4.0)
    assert tale.raised() == ["exotherm"] and tale.sounds
    assert tale.shown().alarms[0].priority == "P1"
    fit_to_be_seen(tale)
    tale.film = 30.0 + ZERO
    tale.wait(300)
    assert tale.shown().alarms[0].state == "latched"
    tale.does(ActKind.ACKNOWLEDGE, alarm="exotherm")
    assert not tale.alarms()


def test_a_probe_laid_on_a_warm_board_or_a_heated_room_is_no_exotherm() -> None:
    laid = in_stage(Stage.BAG)
    warming(laid, 18.0, 6.0, 3.4)
    assert laid.film is not None and laid.film > 38 + ZERO
    warm_room = in_stage(Stage.HOLD)
    for second in range(900):
        warm_room.room = warm_room.film = 30.0 + ZERO + second / 45.0
        warm_room.step()
    slow = in_stage(Stage.HOLD)
    warming(slow, 38.0, 0.8, 10.0)
    for tale in (laid, warm_room, slow):
        assert not tale.raised()


def test_sixty_degrees_shout_at_once_but_one_reading_does_not() -> None:
    tale = in_stage(Stage.HOLD)
    tale.film = 30.0 + ZERO
    tale.wait(30)
    tale.film = 70.0 + ZERO
    tale.wait(9)
    tale.film = 30.0 + ZERO
    tale.wait(30)
    assert not tale.raised()
    tale.film = 61.0 + ZERO
    tale.wait(25)
    assert tale.raised() == ["exotherm"]


def test_a_film_that_nothing_reads_is_no_exotherm_and_begins_anew() -> None:
    tale = in_stage(Stage.HOLD)
    warming(tale, 40.0, 2.0, 2.0)
    tale.silent = {"film"}
    tale.wait(120)
    assert not tale.run.warmth
    blind = in_stage(Stage.HOLD, facts=made_facts(probes=frozenset({Role.FACE})))
    blind.film = 90.0 + ZERO
    blind.wait(60)
    assert not blind.raised() and not blind.run.warmth


def test_a_batch_stopped_under_the_film_is_still_watched_and_one_that_was_not_heated_too() -> None:
    tale = in_stage(Stage.STOPPED, left=Stage.HOLD)
    tale.run.mean_at_off = None
    warming(tale, 30.0, 2.0, 4.0)
    assert tale.raised() == ["exotherm"]


# --- the calendar and restarts


@pytest.mark.parametrize(("due", "told"), [(None, False), (3.1, False), (3.0, True), (-5.0, True)])
def test_a_check_that_runs_out_within_three_days_is_a_note(due: float | None, told: bool) -> None:
    tale = Tale(None, made_facts(check_due_in=due))
    tale.wait(5)
    assert tale.raised() == (["check due"] if told else [])
    assert not tale.sounds


def test_a_record_whose_state_is_lost_wakes_until_it_is_heard() -> None:
    tale = Tale()
    tale.engine.found = "record damaged"
    tale.wait(60)
    assert tale.raised() == ["record damaged"] and tale.sounds
    fit_to_be_seen(tale)
    tale.does(ActKind.ACKNOWLEDGE, alarm="record damaged")
    assert not tale.alarms() and not tale.sounds


# --- one fault, few alarms


@pytest.mark.parametrize("fault", FAULTS)
@pytest.mark.parametrize("stage", [Stage.PREHEAT, Stage.PULLDOWN])
def test_one_fault_raises_three_alarms_at_most_in_ten_minutes(stage: Stage, fault: str) -> None:
    tale = PlantTale(run_in(stage))
    tale.rig.day_check_at = 0.0
    tale.plant.person_did("LAMP IN" if stage is Stage.PREHEAT else "LAMP OUT")
    if stage is Stage.PULLDOWN:
        tale.plant.plant.coat(0.035, 0.004)
        tale.plant.person_did(str(ActKind.SEALED))
    tale.wait(40)
    tale.plant.add_fault(fault)
    tale.wait(600)
    assert len(tale.raised()) <= 3, tale.raised()
    assert [e.kind for e in tale.events].count(EventKind.ALARM_RAISED) == len(tale.raised())
