"""What a run of the pump tells: that it gets no further, or that it feels no bag."""

from dataclasses import replace
from math import exp, log

import pytest
from made import HOUR, made_facts, made_sheet
from tale import AIR, Tale, in_stage
from test_stories import fit_to_be_seen

from controller.batch import pump_run
from controller.batch.acts import ActKind
from controller.batch.bag_view import BagView
from controller.batch.signals import Sample, Wiring
from controller.batch.stages import Stage
from controller.batch.state import BagState

PLAN = made_sheet().coats[0].bag
assert PLAN is not None
END = 8e3
"""The pump's own end in these stories, [Pa]."""


def seen(at: float, pressure: float | None, **facts: object) -> BagView:
    sample = None if pressure is None else Sample(pressure, at)
    assert PLAN is not None
    return BagView(at, sample, AIR, PLAN, made_facts(pump_ultimate=END, **facts))


def draw(state: BagState, began: float, start: float, rate: float, seconds: int) -> float:
    """The pump runs on a bag that falls as the law says, and is then off; the last pressure."""
    state.pump_on, pressure = True, start
    for second in range(seconds + 1):
        pressure = END + (start - END) * exp(-rate * second)
        pump_run.follow(state, seen(began + second, pressure))
    state.reached, state.pump_on = True, False
    pump_run.follow(state, seen(began + seconds + 1.0, pressure))
    return pressure


def test_the_rate_is_that_of_the_law() -> None:
    # worked example: 12 L at 10 L/min is 72 s
    state = BagState()
    draw(state, 0.0, 101_325.0, 1 / 72.0, 150)
    assert state.pull.quickest == pytest.approx(1 / 72.0, rel=1e-9)
    assert state.pull.learnt


@pytest.mark.parametrize(
    ("times", "small"), [(0.3, False), (1.0, False), (3.9, False), (4.1, True)]
)
def test_a_bag_cannot_be_drawn_down_four_times_as_fast_as_at_first(
    times: float, small: bool
) -> None:
    state = BagState()
    draw(state, 0.0, 101_325.0, 0.01, 200)
    draw(state, 500.0, 40e3, 0.01 * times, 80)
    assert state.pull.small is small
    draw(state, 900.0, 40e3, 0.01, 80)
    assert not state.pull.small, "the hose is free again"


def test_a_hose_alone_is_at_the_pumps_end_within_one_reading() -> None:
    state = BagState()
    draw(state, 0.0, 101_325.0, 0.01, 200)
    state.pump_on = True
    pump_run.follow(state, seen(500.0, 37e3))
    pump_run.follow(state, seen(510.0, END))
    assert state.pull.small


def test_a_run_of_one_reading_is_reckoned_from_the_last_at_rest() -> None:
    state = BagState()
    draw(state, 0.0, 101_325.0, 0.01, 200)
    pump_run.follow(state, seen(500.0, 37e3))
    state.pump_on = True
    pump_run.follow(state, seen(510.0, END))
    assert state.pull.small


def test_the_first_pull_is_learnt_and_judged_by_nothing() -> None:
    state = BagState()
    draw(state, 0.0, 101_325.0, 1.0, 5)
    assert not state.pull.small


def test_one_reading_told_twice_is_one_reading() -> None:
    state = BagState(pump_on=True)
    pump_run.follow(state, seen(0.0, 50e3))
    again = replace(seen(1.0, 50e3), sample=Sample(50e3, 0.0))
    pump_run.follow(state, again)
    pump_run.follow(state, seen(10.0, END + 42e3 * exp(-0.1)))
    assert state.pull.quickest == pytest.approx(0.01)


def test_two_figures_of_one_moment_are_no_rate() -> None:
    state = BagState(pump_on=True)
    pump_run.follow(state, seen(0.0, 50e3))
    pump_run.follow(state, seen(0.0, 40e3))
    assert state.pull.quickest is None and state.pull.piece_pressure == 50e3


def test_a_piece_of_which_half_is_known_begins_anew() -> None:
    state = BagState(pump_on=True)
    state.pull.piece_pressure = 50e3
    pump_run.follow(state, seen(10.0, 40e3))
    assert state.pull.quickest is None and state.pull.piece_at == 10.0


def test_just_four_times_as_fast_is_not_yet_too_fast() -> None:
    first = BagState(pump_on=True)
    for at, pressure in ((0.0, 50e3), (10.0, 40e3)):
        pump_run.follow(first, seen(at, pressure))
    assert first.pull.quickest is not None
    for share, small in ((4.0, False), (4.001, True)):
        again = BagState(pump_on=True)
        again.pull.quickest, again.pull.learnt = first.pull.quickest / share, True
        for at, pressure in ((0.0, 50e3), (10.0, 40e3)):
            pump_run.follow(again, seen(at, pressure))
        assert again.pull.small is small


def test_a_new_dry_pull_learns_the_bag_anew_and_a_reseal_does_not() -> None:
    state = BagState()
    draw(state, 0.0, 101_325.0, 0.01, 200)
    sealed = state.anew(2.0)
    assert sealed.pull.learnt and sealed.pull.quickest == state.pull.quickest
    assert sealed.pull.lowest is None and not sealed.pull.small
    tale = in_stage(Stage.PLANNED)
    tale.run.bag = state
    tale.does(ActKind.DRY_PULL)
    assert tale.run.bag.pull.quickest is None


def test_a_gauge_that_is_not_wired_tells_nothing() -> None:
    state = BagState(pump_on=True)
    for second in range(100):
        pump_run.follow(state, seen(float(second), 50e3, gauge=Wiring.BY_HAND))
    assert state.pull.lowest is None


@pytest.mark.parametrize(
    ("left", "fall", "stalled"),
    [
        (2e3, 0.0, True),
        (2e3, 3.2, True),
        (2e3, 3.5, False),
        (20e3, 0.0, True),
        (20e3, 15.5, True),
        (20e3, 16.5, False),
        (20e3, 100.0, False),
    ],
)
def test_a_pump_that_gets_no_further_for_a_minute_has_stalled(
    left: float, fall: float, stalled: bool
) -> None:
    state = BagState(pump_on=True)
    assert PLAN is not None
    for second in range(61):
        now = seen(float(second), PLAN.target + left - fall * second)
        pump_run.follow(state, now)
    assert pump_run.stalled(state, now) is stalled
    assert not pump_run.stalled(state, seen(61.0, PLAN.target)), "it is there"
    by_hand = seen(now.now, now.pressure, pump=Wiring.BY_HAND)
    assert not pump_run.stalled(state, by_hand), "it may not run yet"
    assert not pump_run.stalled(state, seen(61.0, None)), "nothing can tell"


@pytest.mark.parametrize(
    ("left", "fall", "further"),
    [(3e3, 200.0, False), (3e3, 200.5, True), (21e3, 1e3, False), (21e3, 1000.5, True)],
)
def test_a_pump_gets_further_by_a_share_of_what_is_left_and_two_hundred_pascal(
    left: float, fall: float, further: bool
) -> None:
    state = BagState(pump_on=True)
    start = PLAN.target + left
    pump_run.follow(state, seen(100.0, start))
    pump_run.follow(state, seen(110.0, start - fall))
    assert state.pull.lowest_at == (110.0 if further else 100.0)
    assert state.pull.lowest == (start - fall if further else start)


@pytest.mark.parametrize(
    ("stood", "same", "stalled"),
    [(59.5, None, False), (60.0, None, True), (60.0, 29.5, True), (60.0, 30.0, False)],
)
def test_a_stall_takes_a_minute_and_a_gauge_that_moves(
    stood: float, same: float | None, stalled: bool
) -> None:
    state = BagState(pump_on=True, same_from=None if same is None else 500.0 - same)
    state.pull.lowest, state.pull.lowest_at = 50e3, 500.0 - stood
    assert pump_run.stalled(state, seen(500.0, 50e3)) is stalled


def test_a_pump_told_off_a_run_not_begun_and_a_gauge_gone_are_no_stall() -> None:
    state = BagState(pump_on=True)
    assert not pump_run.stalled(state, seen(500.0, 50e3))
    state.pull.lowest, state.pull.lowest_at = 50e3, 400.0
    assert pump_run.stalled(state, seen(500.0, 50e3))
    assert not pump_run.stalled(state, seen(500.0, None))
    state.pump_on = False
    assert not pump_run.stalled(state, seen(500.0, 50e3))


@pytest.mark.parametrize(("fall", "told"), [(2999.5, False), (3000.0, True)])
def test_a_rate_is_reckoned_from_a_fall_of_three_kilopascal(fall: float, told: bool) -> None:
    state = BagState(pump_on=True)
    pump_run.follow(state, seen(100.0, 50e3))
    pump_run.follow(state, seen(110.0, 50e3 - fall))
    if told:
        assert state.pull.quickest == pytest.approx(log(42e3 / (42e3 - fall)) / 10.0)
        assert (state.pull.piece_at, state.pull.piece_pressure) == (110.0, 50e3 - fall)
    else:
        assert state.pull.quickest is None and state.pull.piece_at == 100.0


def test_a_piece_begins_anew_where_the_bag_rises_and_goes_on_where_it_stands() -> None:
    state = BagState(pump_on=True)
    pump_run.follow(state, seen(100.0, 50e3))
    pump_run.follow(state, seen(110.0, 50e3))
    assert state.pull.piece_at == 100.0
    pump_run.follow(state, seen(120.0, 50001.0))
    assert (state.pull.piece_at, state.pull.piece_pressure) == (120.0, 50001.0)


@pytest.mark.parametrize(
    ("start", "end", "ratio"), [(13e3, END + 1000.5, 5000 / 1000.5), (13e3, END + 500.0, 5.0)]
)
def test_within_a_kilopascal_of_the_pumps_end_the_law_is_not_followed_further(
    start: float, end: float, ratio: float
) -> None:
    state = BagState(pump_on=True)
    pump_run.follow(state, seen(100.0, start))
    pump_run.follow(state, seen(110.0, end))
    assert state.pull.quickest == pytest.approx(log(ratio) / 10.0, rel=1e-9)


def test_a_pull_that_is_not_over_is_judged_by_nothing_however_it_quickens() -> None:
    state = BagState(pump_on=True)
    for at, pressure in ((0.0, 90e3), (100.0, 80e3), (101.0, 20e3)):
        pump_run.follow(state, seen(at, pressure))
    assert not state.pull.small and not state.pull.learnt


@pytest.mark.parametrize(("reached", "learnt"), [(True, True), (False, False)])
def test_a_pull_is_learnt_once_the_target_was_reached(reached: bool, learnt: bool) -> None:
    state = BagState(pump_on=True)
    pump_run.follow(state, seen(0.0, 90e3))
    pump_run.follow(state, seen(10.0, 50e3))
    state.pump_on, state.reached = False, reached
    pump_run.follow(state, seen(11.0, 50e3))
    assert state.pull.learnt is learnt
    assert state.pull.lowest is state.pull.lowest_at is None
    assert (state.pull.piece_at, state.pull.piece_pressure) == (11.0, 50e3)


def test_a_reading_too_old_ends_the_piece() -> None:
    state = BagState(pump_on=True)
    pump_run.follow(state, seen(0.0, 50e3))
    pump_run.follow(state, replace(seen(10.5, 50e3), sample=Sample(50e3, 0.0)))
    assert state.pull.lowest is state.pull.piece_at is None


def test_a_pump_that_ran_without_a_rate_has_taught_nothing() -> None:
    state = BagState(reached=True)
    pump_run.follow(state, seen(0.0, 50e3))
    assert not state.pull.learnt


# --- as it is told


def fixed(tale: Tale, pressure: float) -> None:
    """The bag stays there, but for a gauge's noise."""
    tale.told = lambda readings: replace(readings, bag=Sample(pressure + tale.now % 7, tale.now))


def test_a_pump_that_stalls_in_the_midst_of_a_pull_is_told_once() -> None:
    tale = in_stage(Stage.PULLDOWN)
    while tale.bag > 60e3:
        tale.step()
    fixed(tale, 60e3)
    tale.wait(70)
    assert tale.raised() == ["pump does not pull"] and tale.sounds
    fit_to_be_seen(tale)
    tale.wait(500)
    assert tale.raised() == ["pump does not pull"]
    tale.told = lambda readings: readings
    tale.wait(150)
    assert not tale.active()


def pinched(tale: Tale) -> None:
    tale.does(ActKind.RESEAL)
    tale.bag = AIR
    tale.does(ActKind.SEALED)
    while not tale.pump:
        tale.step()
        assert tale.now < HOUR
    tale.step()
    fixed(tale, END)


def learnt() -> Tale:
    tale = in_stage(Stage.PULLDOWN)
    while not tale.run.bag.reached:
        tale.step()
        assert tale.now < HOUR
    tale.wait(5)
    return tale


def test_a_pinched_hose_is_told_and_the_gate_does_not_call_it_tight() -> None:
    tale = learnt()
    pinched(tale)
    tale.wait(30)
    assert tale.raised() == ["pump feels no bag"] and tale.sounds
    fit_to_be_seen(tale)
    tale.wait(400)
    assert tale.stage is Stage.PULLDOWN and tale.run.bag.verdict == "cannot tell yet"
    assert "ACCEPT" in tale.open_acts()


def test_after_the_gel_nobody_is_woken_for_it() -> None:
    for stage in (Stage.PULLDOWN, Stage.HOLD):
        tale = in_stage(stage)
        tale.run.age = 30 * HOUR
        tale.run.bag.pull.small = True
        tale.wait(30)
        assert tale.run.has_set() and not tale.raised()


def test_a_gauge_that_is_low_before_the_pump_ever_ran_is_no_pulled_bag() -> None:
    tale = in_stage(Stage.BAG)
    fixed(tale, END)
    tale.does(ActKind.SEALED)
    assert not tale.run.bag.reached
    tale.wait(5)
    assert tale.run.bag.starts and tale.run.bag.reached
