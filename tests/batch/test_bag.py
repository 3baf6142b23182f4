"""The bag: gate, hold band, leaks, a lost gauge, and what each does to the pump."""

import pytest
from made import HOUR, ZERO, made_facts, made_sheet
from tale import AIR, Tale, aged, in_stage, run_in, with_coat
from test_stories import fit_to_be_seen

from controller.batch import bag
from controller.batch.acts import ActKind
from controller.batch.bag_view import BagView
from controller.batch.events import EventKind
from controller.batch.showing import press_named
from controller.batch.signals import Sample, Wiring
from controller.batch.stages import Form, Stage
from controller.batch.state import BagState

TARGET, RESTART = 27e3, 37e3


def view(now: float, pressure: float | None, **facts: object) -> BagView:
    plan = made_sheet().coats[0].bag
    assert plan is not None
    sample = None if pressure is None else Sample(pressure, now)
    return BagView(now, sample, AIR, plan, made_facts(**facts))


def pulled(leak: float = 1.0) -> Tale:
    """A bag in PULLDOWN that has reached its target."""
    tale = in_stage(Stage.PULLDOWN)
    tale.leak = leak
    while not tale.run.bag.reached:
        tale.step()
        assert tale.now < 200
    return tale


# --- the gate


def test_a_tight_bag_passes_the_gate_after_five_minutes_with_the_pump_off() -> None:
    tale = pulled()
    fit_to_be_seen(tale)
    assert "five minutes" in tale.shown().sentence.text
    began = tale.now
    tale.until(Stage.HOLD, 400)
    assert 300 <= tale.now - began <= 310
    assert tale.run.form is Form.HELD and tale.run.bag.verdict == "tight"
    assert tale.run.bag.accepted_rise == pytest.approx(1.0, abs=0.05)
    assert [e.text for e in tale.of_kind(EventKind.GATE)] == ["Leak gate: tight."]
    assert not tale.raised()


def test_a_hole_is_called_leaking_and_the_person_reseals() -> None:
    tale = pulled(leak=15.0)
    tale.wait(320)
    assert tale.stage is Stage.PULLDOWN and tale.run.bag.verdict == "leaking"
    fit_to_be_seen(tale)
    assert "The bag leaks" in tale.shown().sentence.text
    assert tale.shown().press.act == "ACCEPT"  # type: ignore[union-attr]
    tale.does(ActKind.RESEAL)
    assert tale.stage is Stage.BAG and not tale.pump
    assert tale.of_kind(EventKind.OUTPUT) == [] or tale.of_kind(EventKind.OUTPUT)[-1].data == {
        "pump": False
    }
    tale.leak = 1.0
    tale.does(ActKind.SEALED)
    tale.until(Stage.HOLD, 700)


def test_a_pump_that_rested_too_little_waits_after_a_reseal() -> None:
    tale = in_stage(Stage.PULLDOWN)
    tale.wait(5)
    assert tale.pump
    tale.does(ActKind.RESEAL)
    off_at = tale.now
    assert not tale.pump
    tale.does(ActKind.SEALED)
    while not tale.pump:
        tale.step()
    assert tale.now - off_at >= 60.0


def test_a_steep_leak_needs_no_five_minutes() -> None:
    tale = pulled(leak=220.0)
    tale.wait(60)
    assert tale.run.bag.verdict == "leaking"
    tale.wait(400)
    assert tale.pump or tale.run.bag.starts, "a leaking bag is kept in its band meanwhile"


def test_a_gate_whose_gauge_stays_lost_asks_the_person_in_a_quarter_of_an_hour() -> None:
    tale = pulled()
    tale.silent.add("bag")
    tale.wait(15)
    press = press_named(tale.shown(), "ACCEPT")
    assert press is not None and not press.due
    tale.wait(900, each=10)
    press = press_named(tale.shown(), "ACCEPT")
    assert press is not None and press.due and tale.stage is Stage.PULLDOWN
    tale.does(ActKind.ACCEPT, reason="the dial says so")
    assert tale.stage is Stage.HOLD


def test_accept_holds_a_leaking_bag_by_what_it_leaks() -> None:
    tale = pulled(leak=15.0)
    tale.wait(320)
    tale.does(ActKind.ACCEPT, reason="good enough")
    assert tale.stage is Stage.HOLD
    assert tale.run.bag.accepted_rise == pytest.approx(15.0, abs=0.5)
    tale.wait(900)
    assert "bag leaks" not in tale.raised()


def test_wood_that_gives_off_air_cannot_be_told_yet_and_is_asked_again() -> None:
    tale = pulled()
    began = tale.now
    while tale.run.bag.verdict == "not tested":
        tale.leak = max(40.0 * 0.5 ** ((tale.now - began) / 90.0), 0.5)
        tale.step()
    assert tale.run.bag.verdict == "cannot tell yet"
    fit_to_be_seen(tale)
    assert "cannot tell yet" in tale.shown().sentence.text
    assert "ACCEPT" in tale.open_acts()
    assert tale.shown().bagging.asked_again_at == pytest.approx(tale.now + 900)  # type: ignore[union-attr]
    tale.until(Stage.HOLD, 2000)
    assert tale.run.bag.verdict == "tight"


def test_a_bag_that_is_never_pulled_down_is_called_leaking() -> None:
    tale = in_stage(Stage.PULLDOWN)
    tale.told = lambda r: type(r)(**{**_fields(r), "bag": Sample(60e3 + tale.now % 7, tale.now)})
    tale.wait(605)
    assert tale.run.bag.verdict == "leaking"
    assert tale.raised() == ["pump does not pull"], "there is vacuum, only not enough"


def _fields(readings):
    return {name: getattr(readings, name) for name in type(readings).__dataclass_fields__}


def test_a_pump_without_effect_calls_rests_and_tries_again() -> None:
    tale = in_stage(Stage.PULLDOWN)
    tale.told = lambda r: type(r)(**{**_fields(r), "bag": Sample(AIR - 2e3, tale.now)})
    tale.wait(100)
    assert tale.raised() == ["pump does not pull"]
    ran = [tale.pump]
    for _ in range(600):
        tale.step()
        ran.append(tale.pump)
    starts = [n for n in range(1, len(ran)) if ran[n] and not ran[n - 1]]
    assert len(starts) >= 2, "it tries again and again"
    assert tale.raised() == ["pump does not pull"], "it is told once, through all its rests"
    assert tale.active() == {"pump does not pull"}
    tale.told = lambda r: r
    tale.bag, tale.leak = 60e3, 0.0
    tale.wait(20)
    assert not tale.active()
    rest = starts[0] - max(n for n in range(starts[0]) if ran[n])
    assert rest >= 120


# --- the hold


def held() -> Tale:
    tale = pulled()
    tale.until(Stage.HOLD, 400)
    return tale


def test_a_hold_keeps_its_band_with_few_starts() -> None:
    tale = held()
    tale.leak = 5.0
    least, most, starts, was = AIR, 0.0, 0, False
    for _ in range(2 * 3600):
        tale.step()
        least, most = min(least, tale.bag), max(most, tale.bag)
        starts += tale.pump and not was
        was = tale.pump
    assert TARGET - 3e3 < least and most < RESTART + 200
    assert 2 <= starts <= 6
    assert not tale.raised()


def test_a_leak_that_opens_in_the_hold_is_called_and_clears_when_the_bag_is_tight_again() -> None:
    tale = held()
    tale.leak = 20.0
    tale.wait(700)
    assert tale.active() == {"bag leaks"}
    alarm = tale.shown().alarms[0]
    assert alarm.says.values["rise"].value == pytest.approx(20.0, rel=0.1)
    fit_to_be_seen(tale)
    tale.leak = 0.5
    tale.wait(1800)
    assert not tale.active()
    assert tale.raised() == ["bag leaks"]


def test_a_hose_off_loses_the_vacuum_wears_the_pump_and_says_so_once_each() -> None:
    tale = held()
    tale.told = lambda r: type(r)(**{**_fields(r), "bag": Sample(60e3, tale.now)})
    tale.wait(70)
    assert "vacuum lost" in tale.active()
    fit_to_be_seen(tale)
    tale.wait(200)
    assert tale.raised().count("vacuum lost") == 1
    tale.told = lambda r: r
    tale.bag = 30e3
    tale.wait(20)
    assert "vacuum lost" not in tale.active()


def test_a_pump_that_starts_too_often_calls() -> None:
    tale = held()
    tale.run.bag.accepted_rise = 500.0
    tale.leak = 90.0
    tale.wait(1500)
    assert tale.raised() == ["pump starts too often"]


def test_after_the_gel_a_lost_vacuum_is_for_the_morning_but_a_useless_pump_is_not() -> None:
    tale = held()
    tale.run.age = 7 * HOUR
    tale.leak = 20.0
    tale.wait(900)
    assert tale.run.gelled and not tale.raised()
    tale.told = lambda r: type(r)(**{**_fields(r), "bag": Sample(AIR - 1e3, tale.now)})
    tale.wait(200)
    told = [
        (str(e.data["priority"]), e.data["alarm"]) for e in tale.of_kind(EventKind.ALARM_RAISED)
    ]
    assert sorted(told) == [("P2", "pump does not pull"), ("P3", "vacuum lost")]


def test_a_lost_gauge_leaves_the_pump_as_it_was_then_rests_it() -> None:
    tale = in_stage(Stage.PULLDOWN)
    tale.wait(3)
    assert tale.pump
    tale.silent = {"bag"}
    tale.wait(25)
    assert tale.pump and tale.active() == {"bag gauge lost"}
    assert "no reading" in tale.shown().sentence.text
    tale.wait(1800)
    assert not tale.pump
    resting = held()
    resting.silent = {"bag"}
    resting.wait(60)
    assert not resting.pump and resting.active() == {"bag gauge lost"}
    assert "nothing reads the bag" in resting.shown().sentence.text
    resting.silent = set()
    resting.wait(17)
    assert not resting.active()


def test_a_gauge_is_lost_ten_seconds_after_its_last_good_reading_and_the_pump_after_half_an_hour():
    tale = in_stage(Stage.PULLDOWN)
    tale.wait(3)
    tale.silent = {"bag"}
    last = tale.now
    tale.wait(10)
    assert not tale.raised()
    tale.step()
    assert tale.raised() == ["bag gauge lost"] and tale.sounds
    while tale.pump:
        tale.step()
    assert tale.now - last == 1800.0


def test_a_gauge_that_never_read_is_lost_after_ten_seconds():
    tale = in_stage(Stage.PULLDOWN)
    tale.told = lambda r: type(r)(**{**_fields(r), "bag": None})
    tale.wait(11)
    assert tale.raised() == ["bag gauge lost"]


# --- let up, reseal, open


def test_let_up_is_offered_only_to_sealed_wood_before_the_gel_and_ends_all_vacuum() -> None:
    tale = held()
    assert "LET UP" in tale.open_acts()
    assert "LET UP, if you will, by {latest}" in tale.shown().sentence.text
    tale.does(ActKind.LET_UP)
    tale.leak = 3000.0
    tale.wait(400)
    tale.silent = {"bag"}
    tale.wait(100)
    assert not tale.pump and not tale.raised()
    assert "LET UP" not in tale.open_acts() and "RESEAL" not in tale.open_acts()
    assert "no vacuum" in tale.refused(ActKind.LET_UP)
    assert "LET UP" in tale.refused(ActKind.RESEAL)
    fit_to_be_seen(tale)
    late = held()
    late.run.age = 3 * HOUR
    late.step()
    assert "LET UP" not in late.open_acts()
    assert "may have gelled" in late.refused(ActKind.LET_UP)
    bare = in_stage(Stage.HOLD, sheet=_bare())
    assert "LET UP" not in bare.open_acts()
    assert "bare" in bare.refused(ActKind.LET_UP)


def _bare():
    sheet = made_sheet()
    plan = sheet.coats[0].bag
    assert plan is not None
    return with_coat(
        sheet, bag=type(plan)(**{**{n: getattr(plan, n) for n in plan.__slots__}, "let_up": False})
    )


def test_reseal_is_for_liquid_resin() -> None:
    tale = held()
    assert "RESEAL" in tale.open_acts()
    tale.run.age = 7 * HOUR
    tale.step()
    assert "RESEAL" not in tale.open_acts()
    assert "has set" in tale.refused(ActKind.RESEAL)


def test_opening_early_wants_a_reason_and_then_counts_from_when_it_was_done() -> None:
    tale = held()
    assert "say why" in tale.refused(ActKind.OPENED)
    assert "say why" in tale.refused(ActKind.OPENED, reason="  ")
    tale.wait(100)
    tale.does(ActKind.OPENED, reason="the film lifts", ago=40.0)
    assert tale.stage is Stage.FLASHOFF
    assert tale.run.film_off_at == tale.run.since == tale.now - 40.0


def test_a_hold_says_it_may_be_opened_and_goes_on_holding() -> None:
    tale = held()
    aged(tale.run, 12 * HOUR)
    tale.wait(5)
    assert tale.of_kind(EventKind.MAY_OPEN) and tale.of_kind(EventKind.GEL)
    assert tale.shown().press.act == "TIDIED" or tale.shown().press.act == "OPENED"  # type: ignore[union-attr]
    assert "may be opened" in tale.shown().sentence.text
    tale.leak = 30.0
    tale.wait(900)
    assert tale.bag < RESTART + 1e3, "it is still held"


def test_a_stop_in_the_hold_says_that_minutes_matter_and_does_not_nag() -> None:
    tale = held()
    tale.does(ActKind.STOP)
    tale.leak = 50.0
    tale.wait(1200)
    assert not tale.raised() and not tale.pump
    assert "minutes matter" in tale.shown().sentence.text
    tale.does(ActKind.RESUME)
    tale.wait(5)
    assert tale.stage is Stage.HOLD and tale.pump
    tale.run.age = 7 * HOUR
    tale.does(ActKind.STOP)
    assert "minutes matter" not in tale.shown().sentence.text
    assert "resin goes on setting" in tale.shown().sentence.text


def test_cold_stops_the_clock_and_is_called_in_half_an_hour() -> None:
    tale = held()
    tale.film = tale.room = 8.0 + ZERO
    tale.step()
    age = tale.run.age
    tale.wait(1700, each=10)
    assert not tale.raised()
    tale.wait(200, each=10)
    assert tale.active() == {"too cold to set"}
    assert tale.run.age == age
    assert "Too cold to set" in tale.shown().sentence.text
    assert not tale.sounds, "a P3 does not wake anybody"
    assert tale.shown().batch.setting.stalled  # type: ignore[union-attr]
    fit_to_be_seen(tale)
    tale.film = tale.room = 20.0 + ZERO
    tale.wait(62)
    assert not tale.active()


# --- the rules themselves


def test_without_a_gauge_a_wired_pump_runs_through() -> None:
    blind = view(0.0, None, gauge=Wiring.ABSENT)
    assert bag.pump_wanted(BagState(), blind, testing=True)


def test_a_stretch_is_kept_ten_minutes_long_and_thinned() -> None:
    state = BagState(reached=True)
    bag.set_pump(state, 0.0, True)
    bag.set_pump(state, 10.0, False)
    for second in range(11, 1500):
        bag.follow(state, view(float(second), 28e3 + second))
    assert state.times[-1] - state.times[0] <= bag.KEPT
    assert len(state.times) <= bag.KEPT / bag.SPACING + 1
    assert state.rise == pytest.approx(1.0, abs=0.01)


def test_the_hold_is_not_judged_before_there_is_a_rise() -> None:
    state = BagState(reached=True)
    bag.watch_hold(state, view(0.0, 28e3))
    assert state.leak is None


def test_a_gauge_must_show_a_good_share_of_the_vacuum_to_prove_a_bag() -> None:
    assert not bag.proved(view(0.0, None))
    assert not bag.proved(view(0.0, 85e3))
    assert bag.proved(view(0.0, 78e3))


def test_a_dry_bag_that_leaks_is_said_to() -> None:
    tale = Tale(run_in(Stage.DRYPULL))
    tale.leak = 60.0
    tale.wait(600)
    assert "dry bag leaks" in tale.shown().sentence.text
    assert not tale.raised()
