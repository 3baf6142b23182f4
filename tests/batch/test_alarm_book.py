"""The book: states, delays, chatter, what came first, and what a person puts aside."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made import HOUR
from tale import Tale, in_stage, run_in

from controller.batch.acts import ActKind, Answer
from controller.batch.alarm_book import AlarmBook, first_out, state_of
from controller.batch.alarm_row import Cause
from controller.batch.alarm_state import AlarmState
from controller.batch.alarms import ALARMS
from controller.batch.events import EventKind
from controller.batch.stages import Form, Stage
from controller.batch.state import Run

THERE = Cause()


def books() -> AlarmBook:
    return AlarmBook([], {})


def holding(age: float = 0.0) -> Run:
    run = run_in(Stage.HOLD)
    run.age = age
    return run


def names(alarms: list[AlarmState]) -> list[str]:
    return [alarm.id for alarm in alarms]


def test_a_standing_alarm_goes_through_its_states() -> None:
    book, run = books(), holding()
    raised, _ = book.update(0.0, {"power was away": Cause({"bag": 1.0})}, run)
    alarm = raised[0]
    assert state_of(alarm) == "unacknowledged"
    assert book.update(1.0, {"power was away": Cause({"bag": 2.0})}, run) == ([], [])
    assert alarm.values == {"bag": 2.0}
    book.acknowledge(2.0, "power was away")
    assert state_of(alarm) == "acknowledged"
    _, cleared = book.update(3.0, {}, run)
    assert cleared == [alarm] and not book.standing


def test_an_alarm_whose_cause_went_unheard_returns_and_may_come_again() -> None:
    book, run = books(), holding()
    book.update(0.0, {"gauge frozen": THERE}, run)
    book.update(1.0, {}, run)
    assert state_of(book.standing[0]) == "returned"
    assert book.update(1.5, {}, run) == ([], []), "it has cleared once"
    assert book.standing[0].cleared_at == 1.0
    raised, _ = book.update(2.0, {"gauge frozen": THERE}, run)
    assert names(raised) == ["gauge frozen"] and len(book.standing) == 1
    assert book.standing[0].since == 2.0
    book.update(3.0, {}, run)
    assert book.acknowledge(4.0, "gauge frozen") is not None
    assert book.acknowledge(5.0, "pot life") is None


def test_a_latched_alarm_holds_until_cause_and_ear() -> None:
    book = books()
    book.update(0.0, {"probe fell": Cause(once=True)}, None)
    book.update(1.0, {}, None)
    assert state_of(book.standing[0]) == "latched" and book.latch() == "probe fell"
    book.acknowledge(2.0, "probe fell")
    assert book.latch() is None
    book.update(3.0, {"record not written": THERE}, None)
    assert book.latch() is None, "this one does not hold the lamp"


def test_the_sounder_speaks_until_heard_and_again_after_ten_minutes() -> None:
    book, run = books(), holding()
    book.update(0.0, {"gauge frozen": THERE}, run)
    assert book.sounding(0.0, None)
    book.acknowledge(10.0, "gauge frozen")
    assert not book.sounding(609.0, None)
    assert book.sounding(610.0, None)
    quiet = AlarmBook([AlarmState("record not written", 0.0)], {})
    assert not quiet.sounding(0.0, None)


# --- delays and deadbands


def test_a_cause_must_last_its_on_delay_and_be_gone_its_off_delay() -> None:
    book, run = books(), holding()
    row = ALARMS["vacuum lost"]
    wrong = {"vacuum lost": Cause({"bag": 1.0}, 500.0)}
    assert book.update(0.0, wrong, run) == ([], [])
    assert book.update(59.5, wrong, run) == ([], [])
    book.update(59.9, {"vacuum lost": Cause({}, -1.0)}, run)
    assert book.update(60.0, wrong, run) == ([], []), "it begins anew"
    assert names(book.update(60.0 + row.on_delay, wrong, run)[0]) == ["vacuum lost"]
    within = {"vacuum lost": Cause({}, 1.0 - row.deadband)}
    assert book.update(200.0, within, run) == ([], []), "not back by the deadband"
    back = {"vacuum lost": Cause({}, -row.deadband)}
    assert book.update(300.0, back, run) == ([], [])
    assert book.update(300.0 + row.off_delay - 1.0, back, run) == ([], [])
    assert names(book.update(300.0 + row.off_delay, back, run)[1]) == ["vacuum lost"]


def test_a_cause_that_goes_at_time_zero_is_gone_since_then() -> None:
    book, run = books(), holding()
    lost = {"bag gauge lost": THERE}
    book.update(-10.0, lost, run)
    assert book.update(0.0, {}, run) == book.update(14.5, {}, run) == ([], [])
    assert names(book.update(15.0, {}, run)[1]) == ["bag gauge lost"]


def test_where_nothing_can_tell_what_stands_stands_and_nothing_new_is_raised() -> None:
    book, run = books(), holding()
    unknown = {"pump does not pull": Cause({}, None)}
    assert book.update(0.0, unknown, run) == ([], [])
    book.update(1.0, {"pump does not pull": Cause({}, 1.0)}, run)
    for now in (2.0, 300.0, 3000.0):
        assert book.update(now, unknown, run) == ([], [])
        assert book.standing[0].active


@settings(max_examples=150, deadline=None)
@given(
    name=st.sampled_from(sorted(set(ALARMS) - {"pump left to a person", "work interrupted"})),
    noise=st.lists(
        st.tuples(
            st.sampled_from([1.0, 3.0, 20.0, 70.0]),
            st.sampled_from([-1e9, -3e3, -1.0, -0.01, 0.0, 0.01, 1.0, 3e3, None]),
            st.booleans(),
        ),
        min_size=30,
        max_size=120,
    ),
)
def test_no_noise_at_a_limit_raises_an_alarm_three_times_in_ten_minutes(
    name: str, noise: list[tuple[float, float | None, bool]]
) -> None:
    """Unless a person says of a latched one that it was seen to, which ends the hold."""
    book, now, raised = books(), 0.0, []
    run = run_in(Stage.PREHEAT if name in ("face probe lost", "nobody there") else Stage.HOLD)
    if name == "pot life":
        run = run_in(Stage.COAT)
    for seconds, past, heard in noise:
        now += seconds
        if book.update(now, {name: Cause({}, past)}, run)[0]:
            raised.append(now)
        if heard and not ALARMS[name].latched:
            book.acknowledge(now, name)
    for first, third in zip(raised, raised[2:], strict=False):
        assert third - first >= 600.0


def test_a_latched_alarm_that_chatters_lets_go_of_the_lamp_when_it_was_heard_and_is_gone() -> None:
    book, run = books(), run_in(Stage.PREHEAT)
    raised = []
    for now in range(20):
        raised += book.update(float(now), {"face probe lost": THERE} if now % 2 else {}, run)[0]
    assert len(raised) == 2, "then it stands through the gaps"
    book.acknowledge(20.0, "face probe lost")
    book.update(21.0, {}, run)
    assert book.latch() is None


@pytest.mark.parametrize("heard", [False, True])
def test_the_second_time_in_ten_minutes_stands_until_the_first_is_ten_minutes_ago(
    heard: bool,
) -> None:
    book, run = books(), holding()
    for now in (0.0, 300.0):
        assert names(book.update(now, {"gauge frozen": THERE}, run)[0]) == ["gauge frozen"]
        book.update(now + 1.0, {}, run)
    if heard:
        book.acknowledge(301.5, "gauge frozen")
    for now in (302.0, 599.0):
        assert book.update(now, {}, run) == ([], []) and book.standing[0].active
    assert names(book.update(600.0, {}, run)[1]) == ["gauge frozen"]


# --- stages


def test_a_stage_that_an_alarm_means_nothing_in_silences_it() -> None:
    book, run = books(), holding()
    book.update(0.0, {"bag leaks": THERE}, run)
    assert book.sounding(0.0, None)
    run.form = Form.LET_UP
    _, cleared = book.update(1.0, {"bag leaks": THERE}, run)
    assert names(cleared) == ["bag leaks"]
    assert state_of(book.standing[0]) == "suppressed" and not book.sounding(1.0, None)
    book.acknowledge(2.0, "bag leaks")
    assert book.update(3.0, {"bag leaks": THERE}, run) == ([], []) and not book.standing
    assert book.update(4.0, {"bag leaks": THERE}, None) == ([], []), "no batch, no bag"


def test_what_latches_stays_latched_and_loud_in_a_stage_without_a_lamp() -> None:
    book, run = books(), run_in(Stage.PREHEAT)
    book.update(0.0, {"face probe lost": THERE}, run)
    run.stage = Stage.COOLDOWN
    book.update(1.0, {"face probe lost": THERE}, run)
    assert state_of(book.standing[0]) == "latched" and book.sounding(1.0, None)


@pytest.mark.parametrize(
    ("age", "priority", "wakes"),
    [(0.0, "P2", True), (4 * HOUR, "P2", True), (8 * HOUR, "P3", False)],
    ids=["before the gel", "near it", "after it"],
)
def test_a_lost_vacuum_wakes_until_the_gel_and_is_a_note_after_it(
    age: float, priority: str, wakes: bool
) -> None:
    tale = in_stage(Stage.HOLD)
    tale.run.age = age
    tale.bag, tale.leak = 60e3, 0.0
    # the pump has just stopped, and may not start again for long
    tale.facts = replace(tale.facts, pump_min_off=1e6)
    tale.run.bag.pump_changed_at = tale.now
    tale.wait(65)
    event = tale.of_kind(EventKind.ALARM_RAISED)[-1]
    assert (event.data["alarm"], event.data["priority"]) == ("vacuum lost", priority)
    assert tale.sounds is wakes
    assert tale.shown().alarms[0].priority == priority


def test_a_lost_vacuum_that_wakes_falls_silent_with_the_gel_and_a_rise_is_heard_anew() -> None:
    book, run = books(), holding()
    lost = {"vacuum lost": Cause({}, 1.0)}
    book.update(0.0, lost, run)
    book.update(60.0, lost, run)
    assert book.sounding(60.0, None)
    run.age = 8 * HOUR
    assert book.update(61.0, lost, run) == ([], [])
    assert not book.sounding(61.0, None) and book.standing[0].priority == "P3"
    book.acknowledge(62.0, "vacuum lost")
    run.age = 0.0
    assert names(book.update(63.0, lost, run)[0]) == ["vacuum lost"]
    assert book.sounding(63.0, None) and state_of(book.standing[0]) == "unacknowledged"


# --- what came first


def test_of_alarms_one_cause_brings_the_first_is_known_and_read_first() -> None:
    book, run = books(), holding()
    book.update(0.0, {"trap full": THERE}, run)
    book.update(50.0, {"trap full": THERE, "bag leaks": THERE}, run)
    book.update(110.0, {"trap full": THERE, "exotherm": THERE}, run)
    book.update(900.0, {"gauge frozen": THERE}, run)
    follows = {alarm.id: alarm.follows for alarm in book.standing}
    assert follows == {
        "trap full": None,
        "bag leaks": "trap full",
        "exotherm": "trap full",
        "gauge frozen": None,
    }
    read = names(first_out(book.standing))
    assert read == ["trap full", "bag leaks", "exotherm", "gauge frozen"]


@pytest.mark.parametrize(("later", "follows"), [(120.0, "trap full"), (120.5, None)])
def test_two_minutes_after_the_first_an_alarm_has_a_cause_of_its_own(
    later: float, follows: str | None
) -> None:
    book, run = books(), holding()
    book.update(1000.0, {"trap full": THERE}, run)
    raised, _ = book.update(1000.0 + later, {"trap full": THERE, "bag leaks": THERE}, run)
    assert [alarm.follows for alarm in raised] == [follows]


def test_a_warning_does_not_follow_from_a_note() -> None:
    book, run = books(), holding()
    book.update(0.0, {"controller late": THERE}, run)
    book.update(1.0, {"controller late": THERE, "check due": THERE, "trap full": THERE}, run)
    follows = {alarm.id: alarm.follows for alarm in book.standing}
    assert follows["trap full"] is None
    assert names(first_out(book.standing))[0] == "trap full"


def test_alarms_of_one_moment_follow_the_one_the_table_names_first() -> None:
    book = books()
    book.update(0.0, {"gauge frozen": THERE, "bag leaks": THERE}, holding())
    assert {alarm.id: alarm.follows for alarm in book.standing} == {
        "bag leaks": None,
        "gauge frozen": "bag leaks",
    }


def test_the_first_is_shown_first_and_written_down() -> None:
    tale = in_stage(Stage.HOLD)
    tale.silent = {"bag"}
    tale.wait(8)
    tale.run.bag.leak = 30.0
    tale.wait(4)
    shown = tale.shown().alarms
    assert [(alarm.id, alarm.follows) for alarm in shown] == [
        ("bag leaks", None),
        ("bag gauge lost", "bag leaks"),
    ]
    told = [event.data["follows"] for event in tale.of_kind(EventKind.ALARM_RAISED)]
    assert told == [None, "bag leaks"]


# --- put aside


def shelved(**said: object) -> tuple[Tale, Answer]:
    """A story whose gauge is gone, and that was put aside."""
    tale = in_stage(Stage.HOLD)
    tale.silent = {"bag"}
    tale.wait(12)
    assert tale.sounds
    said = {"alarm": "bag gauge lost", "reason": "the dial is read by hand", **said}
    return tale, tale.does(ActKind.SHELVE, **said)


def test_a_warning_put_aside_is_silent_and_comes_back_by_itself() -> None:
    tale, answer = shelved(minutes=10.0)
    assert "10 min" in answer.text
    assert not tale.sounds
    shown = tale.shown().alarms[0]
    assert (shown.state, shown.shelve) == ("shelved", None)
    assert shown.shelved_until == pytest.approx(tale.now + 600.0)
    told = tale.of_kind(EventKind.ACT)[-1].data
    assert told["told_reason"] == "the dial is read by hand"
    tale.wait(590)
    assert not tale.sounds
    tale.wait(15)
    assert tale.sounds and tale.shown().alarms[0].state == "unacknowledged"
    assert tale.raised() == ["bag gauge lost"] * 2


def test_it_is_an_hour_where_nothing_is_said_and_gone_where_its_cause_is() -> None:
    tale, answer = shelved()
    assert "60 min" in answer.text
    tale.silent = set()
    tale.wait(3590, each=10.0)
    assert tale.shown().alarms[0].state == "shelved", "it would still be silent"
    tale.wait(20, each=10.0)
    assert not tale.alarms() and not tale.sounds


def test_a_stage_in_which_it_matters_more_brings_it_back_at_once() -> None:
    book, run = books(), run_in(Stage.PULLDOWN)
    lost = {"bag gauge lost": THERE}
    book.update(0.0, lost, run)
    book.shelve(0.0, book.standing[0], 3600.0, "told", run)
    assert book.update(10.0, lost, run) == ([], []) and not book.sounding(10.0, None)
    run.stage, run.form = Stage.HOLD, Form.HELD
    assert names(book.update(11.0, lost, run)[0]) == ["bag gauge lost"]
    assert book.sounding(11.0, None)
    book.shelve(12.0, book.standing[0], 3600.0, "told", run)
    run.stage = Stage.BAG
    book.update(13.0, lost, run)
    assert state_of(book.standing[0]) == "shelved"
    run.stage = Stage.PULLDOWN
    book.update(14.0, lost, run)
    assert book.sounding(14.0, None), "it matters again"


def test_what_was_put_aside_comes_back_when_its_time_is_up() -> None:
    book, run = books(), holding()
    lost = {"bag gauge lost": THERE}
    book.update(0.0, lost, run)
    book.shelve(100.0, book.standing[0], 600.0, "told", run)
    assert book.update(699.5, lost, run) == ([], [])
    assert names(book.update(700.0, lost, run)[0]) == ["bag gauge lost"]


def test_a_rising_priority_brings_it_back_at_once() -> None:
    book, run = books(), holding(8 * HOUR)
    lost = {"vacuum lost": Cause({}, 1.0)}
    book.update(0.0, lost, run)
    book.update(60.0, lost, run)
    book.shelve(60.0, book.standing[0], 3600.0, "told", run)
    run.age = 0.0
    assert names(book.update(61.0, lost, run)[0]) == ["vacuum lost"]
    assert book.sounding(61.0, None)


@pytest.mark.parametrize("name", sorted(ALARMS))
def test_only_what_is_neither_heat_nor_holds_the_lamp_may_be_put_aside(name: str) -> None:
    tale = in_stage(Stage.HOLD)
    tale.rig.alarms.append(AlarmState(name, tale.now, active=False))
    said = {"alarm": name, "reason": "seen to"}
    if ALARMS[name].latched:
        assert "never put aside" in tale.refused(ActKind.SHELVE, **said)
        assert tale.shown().alarms[0].shelve is None
    else:
        assert tale.shown().alarms[0].shelve is not None
        tale.does(ActKind.SHELVE, **said)


def test_putting_aside_wants_an_alarm_a_reason_and_an_hour_at_most() -> None:
    tale = in_stage(Stage.HOLD)
    tale.silent = {"bag"}
    tale.wait(12)
    said = {"alarm": "bag gauge lost", "reason": "seen to"}
    assert "no alarm 'x'" in tale.refused(ActKind.SHELVE, alarm="x", reason="y")
    assert "say in 'reason'" in tale.refused(ActKind.SHELVE, alarm="bag gauge lost", reason="  ")
    for minutes in (0.0, 60.01, True, "ten", float("nan")):
        assert "60 at most" in tale.refused(ActKind.SHELVE, **said, minutes=minutes)
    tale.does(ActKind.SHELVE, **said, minutes=60.0)


def test_a_second_warning_put_aside_is_said_large() -> None:
    tale, _ = shelved()
    assert tale.shown().blind is None
    tale.run.bag.leak = 30.0
    tale.rig.alarms.append(AlarmState("check due", tale.now))
    tale.does(ActKind.SHELVE, alarm="check due", reason="tomorrow")
    assert tale.shown().blind is None, "a note wakes nobody anyway"
    tale.step()
    tale.does(ActKind.SHELVE, alarm="bag leaks", reason="heard it")
    said = str(tale.shown().blind)
    assert "bag leaks" in said and "bag gauge lost" in said and "check" not in said
