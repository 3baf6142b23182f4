"""Contacts beside the probes: a lamp that leans, its cut-out, its live line, and the trap."""

from collections.abc import Callable
from dataclasses import replace

import pytest
from made import HOUR, made_facts, made_sheet
from tale import YES, Tale, heated, in_stage, run_in
from test_bag import held
from test_stories import fit_to_be_seen

from controller.batch.acts import ActKind
from controller.batch.events import EventKind
from controller.batch.signals import Readings, Wiring
from controller.batch.stages import Stage

OPENED = [
    ("lamp tilted", "tilted", "the lamp leans or lies"),
    ("cut-out open", "cut_out_open", "its thermal cut-out is open"),
]


def sensed(**wrong: bool | None) -> Callable[[Readings], Readings]:
    """Readings with these contacts."""
    return lambda readings: replace(readings, **wrong)  # type: ignore[arg-type]


@pytest.mark.parametrize(("alarm", "contact", "why"), OPENED)
def test_a_lamp_that_leans_or_was_cut_out_is_dark_at_once_and_stays_so_until_a_person_came(
    alarm: str, contact: str, why: str
) -> None:
    tale = heated()
    assert tale.lamp
    tale.told = sensed(**{contact: True})
    tale.step()
    assert not tale.lamp and tale.shown().lamp.why == why
    assert tale.last is not None and not tale.last.commands.dead_man
    tale.step()
    assert (tale.stage, tale.run.stop_cause) == (Stage.STOPPED, alarm)
    assert tale.active() == {alarm} and tale.sounds
    fit_to_be_seen(tale)
    tale.does(ActKind.ACKNOWLEDGE, alarm=alarm)
    assert "lamp" in tale.refused(ActKind.RE_ARM, **YES)
    assert tale.alarms() == {alarm}, "heard, and its cause is there"
    tale.told = sensed(**{contact: False})
    tale.step()
    assert not tale.alarms()
    tale.does(ActKind.RE_ARM, **YES)
    tale.wait(40)
    assert tale.run.lamp.proved and tale.raised() == [alarm]


@pytest.mark.parametrize(("alarm", "contact", "why"), OPENED)
def test_a_contact_that_closes_again_is_still_an_alarm_until_it_was_heard(
    alarm: str, contact: str, why: str
) -> None:
    tale = heated()
    tale.told = sensed(**{contact: True})
    tale.wait(3)
    tale.told = sensed(**{contact: False})
    tale.wait(3)
    assert tale.alarms() == {alarm} and not tale.active()
    assert "still stands" in tale.refused(ActKind.RE_ARM, **YES)


@pytest.mark.parametrize(("alarm", "contact", "why"), OPENED)
def test_a_knock_of_one_reading_darkens_the_lamp_and_is_no_alarm(
    alarm: str, contact: str, why: str
) -> None:
    tale = heated()
    tale.told = sensed(**{contact: True})
    tale.step()
    assert not tale.lamp
    tale.told = sensed(**{contact: False})
    tale.wait(10)
    assert tale.lamp and tale.stage is Stage.PREHEAT and not tale.raised()


@pytest.mark.parametrize(("alarm", "contact", "why"), OPENED)
def test_no_heat_begins_under_a_lamp_that_leans_or_was_cut_out(
    alarm: str, contact: str, why: str
) -> None:
    tale = Tale(run_in(Stage.PLANNED))
    tale.told = sensed(**{contact: True})
    tale.wait(3)
    assert not tale.raised(), "nothing is heated yet"
    assert "lamp" in tale.refused(ActKind.START, **YES)
    tale.told = sensed(**{contact: False})
    tale.does(ActKind.START, **YES)


def test_a_hot_lamp_may_not_fall_but_one_that_is_unplugged_may_be_laid_down() -> None:
    for unplugged, alarms in ((False, {"lamp tilted"}), (True, set())):
        tale = in_stage(Stage.COOLDOWN)
        tale.run.unplugged = unplugged
        tale.told = sensed(tilted=True)
        tale.wait(3)
        assert tale.alarms() == alarms and tale.stage is Stage.COOLDOWN


def test_contacts_that_are_not_wired_say_nothing() -> None:
    tale = heated()
    tale.told = sensed(tilted=None, cut_out_open=None, trap_full=None, lamp_fed=None)
    tale.wait(60)
    assert tale.lamp and not tale.raised()


# --- the lamp's live line


def test_a_lamp_told_on_whose_line_stays_dead_is_taken_back_within_four_seconds() -> None:
    tale = heated()
    tale.told = sensed(lamp_fed=False)
    began = tale.now
    tale.until(Stage.STOPPED, 10)
    assert tale.now - began <= 4.0
    assert tale.raised() == ["lamp not fed"] and tale.run.stop_cause == "lamp not fed"
    fit_to_be_seen(tale)
    assert "still stands" in tale.refused(ActKind.RE_ARM, **YES)
    tale.does(ActKind.ACKNOWLEDGE, alarm="lamp not fed")
    tale.told = lambda readings: replace(readings, lamp_fed=tale.lamp)
    tale.does(ActKind.RE_ARM, **YES)
    tale.wait(100)
    assert tale.run.lamp.proved and tale.raised() == ["lamp not fed"]


def test_a_line_that_is_dark_for_two_seconds_after_the_command_is_no_alarm() -> None:
    tale = heated()
    tale.told = sensed(lamp_fed=False)
    tale.wait(2)
    tale.told = sensed(lamp_fed=True)
    tale.wait(10)
    assert tale.lamp and not tale.raised()


def test_a_lamp_that_waits_for_the_disk_has_no_dead_line() -> None:
    tale = heated()
    tale.facts = replace(tale.facts, lamp_held=True)
    tale.told = sensed(lamp_fed=False)
    tale.wait(30)
    assert tale.stage is Stage.PREHEAT and not tale.raised()


@pytest.mark.parametrize("stage", [None, Stage.PLANNED, Stage.HOLD, Stage.FINISHED])
def test_a_line_that_is_live_without_a_command_calls_in_any_stage(stage: Stage | None) -> None:
    tale = Tale() if stage is None else in_stage(stage)
    tale.told = sensed(lamp_fed=True)
    tale.wait(2)
    assert not tale.raised()
    tale.step()
    wet = stage in (Stage.HOLD, Stage.FINISHED)
    alarm = "lamp live beside solvent" if wet else "lamp does not go off"
    assert tale.raised() == [alarm] and tale.sounds
    tale.told = sensed(lamp_fed=False)
    tale.step()
    assert tale.alarms() == {alarm} and not tale.active()


def test_a_lamp_in_a_persons_hand_is_not_held_against_a_line() -> None:
    facts = made_facts(lamp=Wiring.BY_HAND)
    tale = in_stage(Stage.PREHEAT, facts=facts)
    for fed in (True, False):
        tale.told = sensed(lamp_fed=fed)
        tale.wait(10)
    assert not tale.raised()


# --- the trap


def test_a_full_trap_stops_the_pump_and_wakes_and_waits_for_a_person() -> None:
    tale = in_stage(Stage.PULLDOWN)
    tale.wait(3)
    assert tale.pump
    tale.told = sensed(trap_full=True)
    tale.wait(2)
    assert not tale.pump and tale.active() == {"trap full"} and tale.sounds
    assert "the trap is full" in tale.shown().pump.why
    assert "the trap is full" in tale.of_kind(EventKind.OUTPUT)[-1].text
    fit_to_be_seen(tale)
    tale.told = sensed(trap_full=False)
    tale.wait(200)
    assert not tale.pump, "it is empty, and nobody has said so"
    tale.does(ActKind.ACKNOWLEDGE, alarm="trap full")
    tale.wait(2)
    assert tale.pump and tale.raised() == ["trap full"]


def test_a_trap_that_was_heard_and_is_still_full_keeps_the_pump_off() -> None:
    tale = held()
    tale.leak = 20.0
    tale.told = sensed(trap_full=True)
    tale.wait(5)
    tale.does(ActKind.ACKNOWLEDGE, alarm="trap full")
    while tale.bag < 40e3:
        tale.step()
    tale.wait(30)
    assert not tale.pump
    tale.told = sensed(trap_full=False)
    tale.wait(3)
    assert tale.pump


def test_after_the_gel_a_full_trap_is_no_alarm_and_the_pump_is_off_all_the_same() -> None:
    tale = held()
    tale.run.age = 7 * HOUR
    tale.bag = 40e3
    tale.told = sensed(trap_full=True)
    tale.wait(100)
    assert not tale.pump and not tale.raised()


def test_a_trap_says_nothing_where_no_pump_draws() -> None:
    for stage in (Stage.PREHEAT, Stage.BAG, Stage.FLASHOFF):
        tale = in_stage(stage, sheet=made_sheet())
        tale.told = sensed(trap_full=True)
        tale.wait(5)
        assert not tale.raised(), stage
