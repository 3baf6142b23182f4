"""The alarm table and the book: what stands, what sounds, and for how long."""

import re

import pytest
from tale import Tale, heated, in_stage

from controller.batch import conditions
from controller.batch.acts import ActKind
from controller.batch.alarm_book import AlarmBook, muted, state_of
from controller.batch.alarms import ALARMS, Priority
from controller.batch.events import EventKind
from controller.batch.showing import KINDS
from controller.batch.stages import Stage
from controller.batch.state import AlarmState


@pytest.mark.parametrize("name", ALARMS)
def test_every_alarm_says_what_follows_what_to_do_and_how_soon(name: str) -> None:
    row = ALARMS[name]
    assert row.says and row.consequence and row.do and row.minutes_to_act > 0
    assert set(re.findall(r"\{(\w+)\}", row.says)) <= set(KINDS)
    if row.priority is Priority.P1:
        assert row.latched


def test_there_are_few_alarms_and_fewest_that_shout() -> None:
    assert len(ALARMS) <= 30
    shouting = [row for row in ALARMS.values() if row.priority is Priority.P1]
    assert len(shouting) <= 7, "heat or an output out of hand, a probe that misleads, a lamp fallen"


def test_a_standing_alarm_goes_through_its_states() -> None:
    book = AlarmBook([])
    raised, _ = book.update(0.0, {"vacuum lost": {"bag": 1.0}})
    alarm = raised[0]
    assert state_of(alarm) == "unacknowledged"
    assert book.update(1.0, {"vacuum lost": {"bag": 2.0}}) == ([], [])
    assert alarm.values == {"bag": 2.0}
    book.acknowledge(2.0, "vacuum lost")
    assert state_of(alarm) == "acknowledged"
    _, cleared = book.update(3.0, {})
    assert cleared == [alarm] and not book.standing


def test_an_alarm_whose_cause_went_unheard_returns_and_may_come_again() -> None:
    book = AlarmBook([])
    book.update(0.0, {"vacuum lost": {}})
    book.update(1.0, {})
    assert state_of(book.standing[0]) == "returned"
    raised, _ = book.update(2.0, {"vacuum lost": {}})
    assert len(raised) == 1 and len(book.standing) == 1
    book.update(3.0, {})
    assert book.acknowledge(4.0, "vacuum lost") is not None
    assert not book.standing
    assert book.acknowledge(5.0, "vacuum lost") is None


def test_a_latched_alarm_holds_until_cause_and_ear() -> None:
    book = AlarmBook([])
    book.update(0.0, {"probe fell": {}})
    book.update(1.0, {})
    assert state_of(book.standing[0]) == "latched" and book.latch() == "probe fell"
    book.acknowledge(2.0, "probe fell")
    assert book.latch() is None
    book.update(3.0, {"pot life": {}})
    assert book.latch() is None, "this one does not hold the lamp"


def test_the_sounder_speaks_until_heard_and_again_after_ten_minutes() -> None:
    book = AlarmBook([])
    book.update(0.0, {"vacuum lost": {}})
    assert book.sounding(0.0, None)
    book.acknowledge(10.0, "vacuum lost")
    assert not book.sounding(609.0, None)
    assert book.sounding(610.0, None)
    quiet = AlarmBook([AlarmState("record not written", 0.0)])
    assert not quiet.sounding(0.0, None)


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
    for tale in (Tale(), in_stage(Stage.HOLD)):
        tale.facts = type(tale.facts)(
            **{**{n: getattr(tale.facts, n) for n in tale.facts.__slots__}, "log_trouble": "full"}
        )
        tale.step()
        assert tale.active() == {"record not written"}
        assert tale.of_kind(EventKind.ALARM_RAISED)[-1].data["priority"] == "P3"


def test_a_guard_without_a_reading_has_no_figure_for_it() -> None:
    tale = in_stage(Stage.PREHEAT)
    assert tale.engine.view is not None
    tale.silent = {"face"}
    tale._kept.clear()
    tale.step()
    found = conditions.active(conditions.Situation(tale.engine.view, tale.rig, "no rise", None))
    assert set(found["no rise"]) == {"settles"}


def test_steady_work_raises_no_alarm_in_any_stage_for_ten_minutes() -> None:
    for stage in Stage:
        left = Stage.HOLD if stage is Stage.STOPPED else None
        if stage is Stage.INTERRUPTED:
            continue
        tale = in_stage(stage, left=left)
        tale.wait(600)
        assert tale.raised() in ([], ["pot life"]), stage
