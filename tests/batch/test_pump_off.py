"""A pump that does not go off: where the bag's fall, its rise and its place begin to tell."""

from dataclasses import replace

import pytest
from made import made_facts, made_sheet
from tale import AIR, in_stage

from controller.batch import pump_off
from controller.batch.bag_view import BagView
from controller.batch.recovery import after_restart
from controller.batch.signals import Sample, Wiring
from controller.batch.stages import Stage
from controller.batch.state import BagState

PLAN = made_sheet().coats[0].bag
assert PLAN is not None
TARGET = PLAN.target
END = 8e3
"""The pump's own end, where a story does not say another, [Pa]."""
TOLD_OFF = 5000.0
"""When the pump is, rig time, [s]."""


def look(state: BagState, at: float, pressure: float | None, end: float = END) -> bool:
    """One reading, so long after the pump was told off; whether it seems to run on."""
    assert PLAN is not None
    now = TOLD_OFF + at
    sample = None if pressure is None else Sample(pressure, now)
    pump_off.follow(state, BagView(now, sample, AIR, PLAN, made_facts(pump_ultimate=end)))
    return state.runs_on


def resting(first: float, end: float = END, **known: object) -> BagState:
    """The first reading that counts was this."""
    state = BagState(**known)  # type: ignore[arg-type]
    look(state, 0.0, 90e3, end)
    look(state, 20.0, first, end)
    assert (state.rest_from, state.rest_first, state.rest_lowest) == (TOLD_OFF, first, first)
    return state


def test_the_first_twenty_seconds_in_which_the_hose_evens_out_are_left_out() -> None:
    state = BagState()
    look(state, 0.0, 40e3)
    look(state, 19.9, 30e3)
    look(state, 20.0, None)
    assert state.rest_first is None and state.rest_lowest is None
    assert not look(state, 21.0, 28e3)
    assert state.rest_first == state.rest_lowest == 28e3


@pytest.mark.parametrize(
    ("at", "fall", "runs_on"),
    [(60.0, 500.0, False), (60.0, 500.5, True), (140.0, 500.5, True), (140.5, 2000.0, False)],
)
def test_a_fall_that_no_rest_makes_in_two_minutes_is_a_pump(
    at: float, fall: float, runs_on: bool
) -> None:
    assert look(resting(40e3), at, 40e3 - fall) is runs_on


@pytest.mark.parametrize(("rise", "runs_on"), [(500.0, True), (500.5, False)])
def test_a_rise_above_the_lowest_shows_the_pump_at_rest_after_all(
    rise: float, runs_on: bool
) -> None:
    state = resting(26e3, runs_on=True)
    look(state, 300.0, 25e3)
    assert state.rest_lowest == 25e3
    look(state, 310.0, 25e3 + rise)
    assert state.runs_on is runs_on and state.rest_lowest == 25e3


@pytest.mark.parametrize(
    ("end", "first", "then", "runs_on"),
    [
        (END, 9000.0, 9000.0, True),
        (END, 9000.5, 9000.5, False),
        (END, 8900.0, 8999.5, True),
        (END, 8900.0, 9000.0, False),
        (23.5e3, TARGET - 3000.5, TARGET - 3000.5, True),
        (23.5e3, TARGET - 3000.0, TARGET - 3000.0, False),
    ],
    ids=["at its end", "above it", "flat", "rising", "far below", "not far below"],
)
def test_a_bag_that_stays_at_the_pumps_end_is_pumped(
    end: float, first: float, then: float, runs_on: bool
) -> None:
    state = resting(first, end)
    assert not look(state, 140.0, then, end), "not before the look is over"
    assert look(state, 140.5, then, end) is runs_on


def test_while_the_pump_is_told_on_and_where_a_person_has_it_nothing_is_looked_at() -> None:
    assert PLAN is not None
    seen = BagView(0.0, Sample(30e3, 0.0), AIR, PLAN, made_facts())
    on, by_hand, read = BagState(pump_on=True), BagState(), BagState()
    pump_off.follow(on, seen)
    pump_off.follow(by_hand, replace(seen, facts=made_facts(pump=Wiring.BY_HAND)))
    pump_off.follow(read, replace(seen, facts=made_facts(gauge=Wiring.BY_HAND)))
    assert on.rest_from is by_hand.rest_from is read.rest_from is None


def test_half_of_what_is_remembered_is_nothing() -> None:
    state = BagState(rest_from=TOLD_OFF, rest_first=40e3)
    assert not look(state, 30.0, 30e3)
    assert state.rest_first == state.rest_lowest == 30e3


def test_a_bag_that_cooled_before_a_restart_is_not_taken_for_pumped_after_it() -> None:
    tale = in_stage(Stage.HOLD)
    tale.leak = -0.5
    tale.wait(2000)
    after_restart(tale.rig, tale.now + 5.0, 5.0)
    tale.step(5.0)
    tale.wait(200)
    assert not tale.run.bag.runs_on and not tale.raised()
