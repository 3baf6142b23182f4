"""What keeps the pump off whatever the bag asks for: each alone, and taken away it runs."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import pytest
from tale import AIR, Tale, in_stage

from controller.batch import pumping, rig_acts
from controller.batch.acts import ActKind
from controller.batch.events import EventKind
from controller.batch.signals import Sample
from controller.batch.stages import Form, Stage


@dataclass(frozen=True)
class Story:
    """A bag that asks for the pump, and one thing that bars it."""

    stage: Stage
    wrong: Callable[[Tale], None]


def nothing(tale: Tale) -> None:
    pass


def presses_stop(tale: Tale) -> None:
    tale.stop = True


def came_back_too_often(tale: Tale) -> None:
    tale.rig.rest_until = tale.now + 900.0


def fills_the_trap(tale: Tale) -> None:
    tale.told = lambda readings: replace(readings, trap_full=True)
    tale.wait(2)


def must_be_proved(tale: Tale) -> None:
    tale.bag = 90e3
    tale.run.bag.prove_by = tale.now + 60.0


def sets(tale: Tale) -> None:
    tale.run.age = tale.run.coat.resin.gel_late


def lets_up(tale: Tale) -> None:
    tale.bag, tale.run.form = 60e3, Form.LET_UP


def is_pulled_dry_for_an_hour(tale: Tale) -> None:
    tale.bag, tale.run.since = 60e3, tale.now - 3600.0


def stands_still(tale: Tale) -> None:
    tale.bag, tale.leak = 60e3, 0.0
    tale.run.bag.same_value, tale.run.bag.frozen = tale.bag, True


BARS: dict[str, Story] = {
    "this is no stage for the pump": Story(Stage.BAG, nothing),
    "the STOP button is down": Story(Stage.PULLDOWN, presses_stop),
    "the controller came back too often in ten minutes": Story(Stage.PULLDOWN, came_back_too_often),
    "the trap is full: the pump waits until it is empty and ACKNOWLEDGE is pressed": Story(
        Stage.PULLDOWN, fills_the_trap
    ),
    "the resin has set: vacuum moves nothing any more": Story(Stage.PULLDOWN, sets),
    "an hour of dry pull tells all that it can": Story(Stage.DRYPULL, is_pulled_dry_for_an_hour),
    "the gauge has to prove the bag first": Story(Stage.HOLD, must_be_proved),
    "there is no vacuum to hold": Story(Stage.HOLD, lets_up),
    "the gauge stands still, and nothing says how deep the pump would pull": Story(
        Stage.HOLD, stands_still
    ),
}
"""Each reason, and a story in which it is the only one."""


def barred(monkeypatch: pytest.MonkeyPatch, why: str) -> Tale:
    # the button's own act would halt the batch, and with it the pump
    monkeypatch.setitem(rig_acts.RIG_ACTS, ActKind.STOP, lambda desk, act: "Not now.")
    story = BARS[why]
    tale = in_stage(story.stage)
    story.wrong(tale)
    tale.step()
    return tale


@pytest.mark.parametrize("why", BARS)
def test_what_bars_the_pump_has_it_off_and_says_so(
    monkeypatch: pytest.MonkeyPatch, why: str
) -> None:
    tale = barred(monkeypatch, why)
    assert not tale.pump
    view = tale.engine.view
    assert view is not None and pumping.barred(tale.rig, tale.run, view) == why
    told = [event.text for event in tale.of_kind(EventKind.OUTPUT)]
    assert told in ([], ["Pump on.", f"Pump off: {why}."])


@pytest.mark.parametrize("why", BARS)
def test_without_it_the_pump_runs(monkeypatch: pytest.MonkeyPatch, why: str) -> None:
    asked = pumping.barred
    monkeypatch.setattr(
        pumping,
        "barred",
        lambda rig, run, view: None if (said := asked(rig, run, view)) == why else said,
    )
    assert barred(monkeypatch, why).pump


@pytest.mark.parametrize("stage", [Stage.DRYPULL, Stage.PULLDOWN, Stage.HOLD])
def test_stop_has_the_pump_off_by_its_stage_too(stage: Stage) -> None:
    tale = in_stage(stage)
    tale.bag = 60e3
    tale.step()
    assert tale.pump
    tale.stop = True
    tale.step()
    assert tale.stage is Stage.STOPPED and not tale.pump


# --- a bag that was never tight, and a resin that did not wait for it


def test_a_resin_that_sets_under_a_bag_that_never_was_tight_is_taken_as_it_lies() -> None:
    tale = in_stage(Stage.PULLDOWN)
    tale.bag, tale.leak = 100e3, 0.0
    tale.wait(10)
    assert tale.pump
    tale.run.age = tale.run.coat.resin.gel_late
    tale.wait(10)
    assert not tale.pump
    shown = tale.shown()
    assert "The resin has set before the bag was found tight" in shown.sentence.text
    assert shown.press is not None and shown.press.act == ActKind.ACCEPT
    assert ActKind.RESEAL not in [press.act for press in shown.others]
    assert "the resin has set" in tale.refused(ActKind.RESEAL)
    told = tale.does(ActKind.ACCEPT, reason="it is what it is")
    assert told.text == "Taken as it lies: the resin has set, so the pump stays off."
    tale.wait(60)
    assert tale.stage is Stage.HOLD and not tale.pump
    assert "No vacuum on it any more; the resin has set." in tale.shown().sentence.text
    assert not tale.alarms()


@pytest.mark.parametrize("stage", [Stage.DRYPULL, Stage.PULLDOWN])
def test_a_full_trap_in_a_pull_is_what_the_page_speaks_of(stage: Stage) -> None:
    tale = in_stage(stage)
    tale.told = lambda readings: replace(readings, trap_full=True)
    tale.wait(5)
    assert "The trap is full and the pump waits: empty it" in tale.shown().sentence.text


def test_a_bag_that_was_never_pulled_is_not_tight_because_nothing_comes_in() -> None:
    tale = in_stage(Stage.PULLDOWN)
    tale.leak = 0.0
    tale.told = lambda readings: replace(readings, trap_full=True)
    tale.wait(900)
    assert not tale.pump and tale.bag > 90e3
    assert (tale.stage, tale.run.bag.verdict) == (Stage.PULLDOWN, "not tested")


# --- a pull that comes to nothing


def the_pump_draws_nothing(tale: Tale) -> None:
    tale.told = lambda readings: replace(readings, bag=Sample(AIR, tale.now))


def acts(tale: Tale) -> dict[str, bool]:
    """What is offered, and whether it is due."""
    shown = tale.shown()
    return {
        press.act: press is shown.press
        for press in (shown.press, *shown.others)
        if press is not None
    }


def test_a_dry_pull_that_tells_nothing_is_over_after_an_hour() -> None:
    tale = in_stage(Stage.DRYPULL)
    the_pump_draws_nothing(tale)
    tale.wait(3590)
    assert "does not come down" not in tale.shown().sentence.text
    assert "pump does not pull" in tale.alarms()
    tale.wait(610)
    assert not tale.pump and tale.run.bag.verdict == "not tested"
    shown = tale.shown()
    assert shown.sentence.text.startswith("An hour told nothing of this bag, and the pump is off.")
    assert shown.pump.why == "an hour of dry pull tells all that it can"
    assert shown.press is not None and (shown.press.act, shown.press.due) == ("DRY PULL DONE", True)
    tale.does(ActKind.DRY_PULL_DONE)
    assert tale.stage is Stage.PLANNED and tale.run.bag.dry_rise is None


def test_a_dry_pull_says_that_its_gauge_is_lost_and_is_over_after_an_hour() -> None:
    tale = in_stage(Stage.DRYPULL)
    tale.wait(60)
    tale.silent.add("bag")
    tale.wait(1900)
    assert not tale.pump
    shown = tale.shown()
    assert shown.sentence.text == "The bag gauge gives no reading. Look at its plug."
    assert shown.pump.why == "the gauge gives no reading"
    assert shown.press is None or not shown.press.due
    tale.wait(1700)
    shown = tale.shown()
    assert "An hour told nothing" in shown.sentence.text
    assert shown.press is not None and shown.press.due


def test_an_hour_of_dry_pull_that_found_something_says_what() -> None:
    tale = in_stage(Stage.DRYPULL)
    tale.run.bag.verdict, tale.run.since = "leaking", tale.now - 3600.0
    tale.step()
    assert "The dry bag leaks" in tale.shown().sentence.text


def test_a_bag_that_does_not_come_down_may_be_accepted_after_ten_minutes() -> None:
    tale = in_stage(Stage.PULLDOWN)
    the_pump_draws_nothing(tale)
    tale.wait(190)
    assert not tale.pump and tale.shown().pump.why == "it rests before it pulls again"
    tale.wait(410)
    assert "ACCEPT" not in acts(tale)
    tale.wait(10)
    assert "Still at {bag}: this bag does not come down." in tale.shown().sentence.text
    assert acts(tale)["ACCEPT"] is False
    tale.does(ActKind.RESEAL)
    tale.wait(20)
    assert tale.stage is Stage.BAG
    tale.does(ActKind.SEALED)
    tale.wait(300)
    assert "Pulling down" in tale.shown().sentence.text and "ACCEPT" not in acts(tale)


def test_a_pull_that_was_halted_is_given_its_ten_minutes_again() -> None:
    tale = in_stage(Stage.PULLDOWN)
    the_pump_draws_nothing(tale)
    tale.wait(610)
    assert "does not come down" in tale.shown().sentence.text
    tale.does(ActKind.STOP)
    tale.does(ActKind.RESUME)
    tale.wait(300)
    assert "Pulling down" in tale.shown().sentence.text


def test_a_pump_that_is_off_says_why() -> None:
    tale = in_stage(Stage.PULLDOWN)
    tale.leak = 0.0
    while not tale.run.bag.reached:
        tale.step()
    tale.wait(20)
    assert not tale.pump and tale.shown().pump.why == "the bag holds"
    tale.run.bag.verdict, tale.bag = "cannot tell yet", 60e3
    tale.run.bag.retest_at = tale.now + 900.0
    tale.wait(2)
    assert not tale.pump and tale.shown().pump.why == "the bag is being watched"
