"""The alarm table and the book: what stands, what sounds, and for how long."""

import re

import pytest
from tale import Tale, heated, in_stage, run_in

from controller.batch import conditions
from controller.batch.acts import ActKind
from controller.batch.alarm_book import MUTE_TIME, muted
from controller.batch.alarm_row import Cause, Danger, Priority
from controller.batch.alarm_stages import MEANS, priority_now
from controller.batch.alarm_state import AlarmState
from controller.batch.alarms import ALARMS
from controller.batch.events import EventKind
from controller.batch.showing_alarms import KINDS
from controller.batch.stages import HALTED, Stage
from controller.invariants import LATCHING


@pytest.mark.parametrize("name", ALARMS)
def test_every_alarm_says_why_what_follows_what_to_do_and_how_soon(name: str) -> None:
    row = ALARMS[name]
    assert row.says and row.cause and row.consequence and row.minutes_to_act > 0
    assert row.do, "what has no action is an event, no alarm"
    assert len({row.says, row.cause, row.consequence, row.do}) == 4
    assert all(words.endswith((".", "?")) for words in (row.says, row.cause, row.do))
    assert set(re.findall(r"\{(\w+)\}", row.says)) <= set(KINDS)


MINUTES_TO_ACT: dict[float, set[str]] = {
    1: {"face over trip", "lamp does not go off", "lamp live beside solvent", "lamp tilted"},
    2: {
        "probe fell",
        "probe astray",
        "probe jumped",
        "probe frozen",
        "probe disagrees",
        "cut-out open",
    },
    5: {"face probe lost", "lamp too strong", "nobody there", "exotherm", "pot life"},
    10: {
        "lamp not seen",
        "lamp not fed",
        "no rise",
        "pump does not pull",
        "pump feels no bag",
        "vacuum lost",
        "trap full",
        "pump left to a person",
        "work interrupted",
        "controller late",
    },
    15: {"lamp time spent", "bag gauge lost", "gauge frozen", "record damaged"},
    20: {"pump does not go off", "bag leaks", "power was away"},
    30: {"pump starts too often"},
    120: {"too cold to set"},
    600: {"gauge zero moved", "flash-off unwatched", "record not written", "check due"},
}
"""How long there is for each, written a second time so that none changes by a slip."""
WAITS: dict[str, tuple[float, float, float]] = {
    "exotherm": (0.0, 60.0, 0.0),
    "pump does not pull": (0.0, 15.0, 2e3),
    "pump feels no bag": (0.0, 15.0, 0.0),
    "pump does not go off": (0.0, 15.0, 0.0),
    "vacuum lost": (60.0, 15.0, 2e3),
    "bag leaks": (0.0, 15.0, 0.0),
    "pump starts too often": (0.0, 0.0, 2.0),
    "bag gauge lost": (0.0, 15.0, 0.0),
    "gauge zero moved": (10.0, 0.0, 200.0),
    "too cold to set": (0.0, 60.0, 1.0),
    "record not written": (0.0, 10.0, 0.0),
    "check due": (0.0, 60.0, 0.0),
}
"""On-delay [s], off-delay [s] and deadband of those that have any, written a second time."""


@pytest.mark.parametrize("name", ALARMS)
def test_delays_and_deadbands_are_what_they_were_meant_to_be(name: str) -> None:
    row = ALARMS[name]
    assert (row.on_delay, row.off_delay, row.deadband) == WAITS.get(name, (0.0, 0.0, 0.0))
    assert {minutes for minutes, those in MINUTES_TO_ACT.items() if name in those} == {
        row.minutes_to_act
    }


def test_what_holds_the_lamp_off_is_every_shout_and_what_an_onlooker_knows_of() -> None:
    shouting = {name for name, row in ALARMS.items() if row.priority is Priority.P1}
    assert {name for name, row in ALARMS.items() if row.latched} == shouting | LATCHING


@pytest.mark.parametrize(
    ("past", "stands", "deadband", "there"),
    [
        (0.0, False, 0.0, True),
        (-0.5, False, 2.0, False),
        (-0.5, True, 2.0, True),
        (-2.0, True, 2.0, False),
        (0.0, True, 0.0, True),
        (-0.5, True, 0.0, False),
        (None, True, 2.0, True),
        (None, False, 2.0, False),
    ],
)
def test_a_cause_is_there_at_its_limit_and_until_it_is_back_by_the_deadband(
    past: float | None, stands: bool, deadband: float, there: bool
) -> None:
    assert Cause(past=past).there(stands, deadband) is there


def test_a_cause_of_which_nothing_is_said_is_there_and_lasts() -> None:
    assert Cause() == Cause({}, 0.0, False)
    fresh = AlarmState("trap full", 0.0)
    assert fresh.active and not fresh.suppressed


def test_there_are_few_alarms_and_fewest_that_shout() -> None:
    assert len(ALARMS) <= 40
    shouting = [row for row in ALARMS.values() if row.priority is Priority.P1]
    assert len(shouting) <= 10
    assert {row.danger for row in shouting} == set(Danger) and len(Danger) <= 6
    assert all(row.latched for row in shouting)
    assert all(row.danger is None for row in ALARMS.values() if row.priority is not Priority.P1)


def test_what_guards_a_lamp_waits_for_nothing_and_is_never_suppressed() -> None:
    for name, row in ALARMS.items():
        if row.latched:
            assert row.on_delay == row.deadband == 0.0, name
        if row.priority is Priority.P1:
            assert name not in MEANS
            for stage in Stage:
                left = Stage.PREHEAT if stage in HALTED else None
                assert priority_now(name, run_in(stage, left=left)) is Priority.P1
            assert priority_now(name, None) is Priority.P1


def test_every_stage_in_which_an_alarm_matters_most_is_one_in_which_it_means_something() -> None:
    assert set(MEANS) <= set(ALARMS)
    for name, means in MEANS.items():
        assert means.stages and means.most <= means.stages, name
        assert means.stages != frozenset(Stage), name


@pytest.mark.parametrize(
    ("since", "now", "quiet"),
    [(100.0, 100.0, True), (100.5, 101.0, False), (0.0, 699.5, True), (0.0, 700.0, False)],
)
def test_a_mute_pressed_at_a_moment_is_for_what_stood_then_and_ten_minutes(
    since: float, now: float, quiet: bool
) -> None:
    assert muted(since, now, 100.0 + MUTE_TIME) is quiet
    assert not muted(since, now, None)


def test_mute_is_ten_minutes_for_what_stood_and_not_for_what_comes() -> None:
    assert not muted(0.0, 5.0, None)
    tale = in_stage(Stage.HOLD)
    tale.silent = {"bag"}
    tale.wait(30)
    assert tale.sounds
    tale.does(ActKind.MUTE)
    assert not tale.sounds and tale.shown().muted_until == pytest.approx(tale.now + 600)
    tale.does(ActKind.STOP)
    tale.does(ActKind.RESUME)
    tale.rig.alarms.append(AlarmState("power was away", tale.now))
    tale.engine.found = "power was away"
    tale.step()
    assert tale.sounds, "something new"
    tale.rig.alarms.pop()
    tale.wait(610)
    assert tale.sounds and tale.shown().muted_until is None


def test_the_coat_call_can_be_muted_and_sounds_without_any_alarm() -> None:
    tale = heated()
    tale.until(Stage.SOAK, 1500)
    tale.does(ActKind.ENOUGH)
    while not tale.sounds:
        tale.step()
        assert tale.now < 3000
    assert not tale.alarms()
    assert tale.last is not None and tale.last.announcements.coat_now
    assert "COAT NOW" in tale.shown().sentence.text
    tale.does(ActKind.MUTE)
    assert not tale.sounds


def test_acknowledging_what_does_not_stand_is_refused_and_present_hears_its_own() -> None:
    tale = in_stage(Stage.HOLD)
    assert "no alarm 'x'" in tale.refused(ActKind.ACKNOWLEDGE, alarm="x")
    tale.rig.alarms.append(AlarmState("nobody there", 0.0))
    assert "Nothing is heated" in tale.does(ActKind.PRESENT).text
    assert not tale.alarms()


def test_a_record_that_cannot_be_written_is_told_with_and_without_a_batch() -> None:
    for tale, priority in ((Tale(), "P3"), (in_stage(Stage.HOLD), "P2")):
        tale.facts = type(tale.facts)(
            **{**{n: getattr(tale.facts, n) for n in tale.facts.__slots__}, "log_trouble": "full"}
        )
        tale.step()
        assert tale.active() == {"record not written"}
        assert tale.of_kind(EventKind.ALARM_RAISED)[-1].data["priority"] == priority


def test_a_guard_without_a_reading_has_no_figure_for_it() -> None:
    tale = in_stage(Stage.PREHEAT)
    assert tale.engine.view is not None
    tale.silent = {"face"}
    tale._kept.clear()
    tale.step()
    found = conditions.active(conditions.Situation(tale.engine.view, tale.rig, "no rise", None))
    assert set(found["no rise"].values) == {"settles"}


def test_steady_work_raises_no_alarm_in_any_stage_for_ten_minutes() -> None:
    for stage in Stage:
        left = Stage.HOLD if stage is Stage.STOPPED else None
        if stage is Stage.INTERRUPTED:
            continue
        tale = in_stage(stage, left=left)
        tale.wait(600)
        assert tale.raised() in ([], ["pot life"]), stage


@pytest.mark.parametrize("heats_itself", [False, True])
def test_a_rise_under_a_film_that_heats_itself_is_no_leak(heats_itself: bool) -> None:
    tale = in_stage(Stage.HOLD)
    assert tale.engine.view is not None
    tale.run.bag.leak, tale.run.heats_itself = 20.0, heats_itself
    found = conditions.active(conditions.Situation(tale.engine.view, tale.rig, None, None))
    assert ("bag leaks" in found) is not heats_itself
    assert ("exotherm" in found) is heats_itself
