"""The band that the lamp holds and its relay's own times, each at its own edge."""

from dataclasses import dataclass
from typing import cast

import pytest
from made import made_facts

from controller.batch import lamp
from controller.batch.heat import HeatEstimate
from controller.batch.lamp import (
    CYCLE,
    HAND_GRACE,
    HAND_RATE,
    HYSTERESIS,
    PROBE_SETTLES,
    PROOF_PULSE,
    STUCK_RISE,
    STUCK_WAIT,
    STUCK_WATCH,
    Goal,
)
from controller.batch.signals import Sample
from controller.batch.state import LampState

NOW = 512.0
LOW, HIGH = 310.0, 318.0
FACTS = made_facts()


@dataclass
class Believed:
    """An estimate that says what a test has it say."""

    face: float
    later: float

    def face_after(self, seconds: float, lamp_seconds: float = 0.0) -> float:
        return self.later


def asks(
    state: LampState,
    *,
    face: float = 312.0,
    later: float = 312.0,
    reads: float = 312.0,
    now: float = NOW,
) -> bool:
    """Whether the band asks for the lamp."""
    heat = cast(HeatEstimate, Believed(face, later))
    return lamp.wanted(state, now, Sample(reads, now), heat, Goal(LOW, HIGH, 330.0), FACTS)


def proved(on: bool, since: float = 100.0, closed: float = 200.0) -> LampState:
    return LampState(
        on=on,
        changed_at=NOW - since,
        closed_at=NOW - closed,
        proof_from=0.0,
        proof_start=300.0,
        proved=True,
    )


@pytest.mark.parametrize(
    ("later", "reads", "on"),
    [
        (HIGH - HYSTERESIS, 312.0, False),
        (HIGH - HYSTERESIS - 0.01, 312.0, True),
        (312.0, HIGH, False),
        (312.0, HIGH - 0.01, True),
    ],
)
def test_a_burning_lamp_goes_off_under_the_bands_top(later, reads, on) -> None:
    assert asks(proved(on=True), later=later, reads=reads) is on


@pytest.mark.parametrize(
    ("later", "reads", "on"),
    [
        (LOW + HYSTERESIS, 312.0, True),
        (LOW + HYSTERESIS + 0.01, 312.0, False),
        (LOW, HIGH, False),
        (LOW, HIGH - 0.01, True),
    ],
)
def test_a_dark_lamp_comes_on_above_the_bands_bottom(later, reads, on) -> None:
    assert asks(proved(on=False), later=later, reads=reads) is on


def test_the_relay_keeps_its_own_times() -> None:
    least_on, least_off = FACTS.lamp_min_on, FACTS.lamp_min_off
    for since, on in ((least_on - 0.1, True), (least_on, False)):
        assert asks(proved(on=True, since=since), later=HIGH) is on
    for since, on in ((least_off - 0.1, False), (least_off, True)):
        assert asks(proved(on=False, since=since), later=LOW) is on
    for closed, on in ((CYCLE - 0.1, False), (CYCLE, True)):
        assert asks(proved(on=False, closed=closed), later=LOW) is on


def test_a_relay_that_never_moved_has_waited_long_enough() -> None:
    state = LampState(proof_from=0.0, proof_start=300.0, proved=True)
    assert asks(state, later=LOW, now=1.0)


def test_the_proof_pulse_is_thirty_seconds_and_ends_at_the_bands_top() -> None:
    for since, face, on in (
        (PROOF_PULSE - 0.1, 300.0, True),
        (PROOF_PULSE, 300.0, False),
        (1.0, HIGH - 0.1, True),
        (1.0, HIGH, False),
    ):
        state = LampState(on=True, changed_at=NOW - since, proof_from=NOW - since, proof_start=300)
        assert asks(state, face=face) is on


def test_a_proof_begins_at_the_bands_bottom_and_not_above_it() -> None:
    state = LampState()
    assert not asks(state, face=LOW + 0.01) and state.proof_from is None
    assert asks(state, face=LOW, reads=309.5)
    assert (state.proof_from, state.proof_start) == (NOW, 309.5)


def test_a_lamp_in_a_persons_hand_has_two_minutes_to_be_told_off() -> None:
    for since, left in ((12.0, False), (HAND_GRACE, False), (HAND_GRACE + 0.1, True)):
        assert lamp.left_burning(LampState(changed_at=NOW - since), NOW, True) is left
    assert lamp.left_burning(LampState(), NOW, True)
    assert not lamp.left_burning(LampState(changed_at=0.0), NOW, False)
    assert not lamp.left_burning(LampState(on=True, changed_at=0.0), NOW, True)


def test_a_hand_at_the_probe_puts_the_watch_off_until_it_has_settled() -> None:
    state = LampState(changed_at=NOW - STUCK_WAIT - 1.0)
    assert not lamp.does_not_go_off(state, NOW, Sample(300.0, NOW))
    assert state.off_reading == 300.0
    assert not lamp.does_not_go_off(state, NOW + 2.0, Sample(303.0, NOW + 2.0))
    assert (state.off_from, state.off_reading) == (NOW + 2.0 + PROBE_SETTLES, None)


def test_the_watch_on_a_lamp_told_off_begins_and_ends_on_the_second() -> None:
    for late, burns in ((0.0, True), (0.1, False)):
        state, end = LampState(changed_at=NOW - STUCK_WAIT), NOW + STUCK_WATCH + late
        assert not lamp.does_not_go_off(state, NOW, Sample(300.0, NOW))
        assert state.off_reading == 300.0
        assert lamp.does_not_go_off(state, end, Sample(303.0, end)) is burns


def test_a_slow_rise_is_no_hand_and_an_old_reading_still_counts() -> None:
    state = LampState(changed_at=NOW - STUCK_WAIT)
    lamp.does_not_go_off(state, NOW, Sample(0.0, NOW))
    lamp.does_not_go_off(state, NOW + 1.0, Sample(HAND_RATE, NOW + 1.0))
    assert state.off_reading == 0.0
    old = LampState(changed_at=NOW - STUCK_WAIT)
    lamp.does_not_go_off(old, NOW, Sample(300.0, NOW - STUCK_WATCH))
    assert old.off_reading == 300.0


@pytest.mark.parametrize(
    ("known", "rise", "burns"),
    [
        (False, STUCK_RISE, False),
        (False, STUCK_RISE + 0.1, True),
        (True, 0.0, False),
        (True, 0.1, True),
    ],
)
def test_two_kelvin_in_the_watch_find_it_and_it_stands_until_it_is_cooler(
    known, rise, burns
) -> None:
    state = LampState(changed_at=NOW - STUCK_WAIT)
    lamp.does_not_go_off(state, NOW, Sample(256.0, NOW))
    state.burns_on = known
    later = NOW + 60.0
    assert lamp.does_not_go_off(state, later, Sample(256.0 + rise, later)) is burns


def test_a_command_that_changes_something_says_so_and_begins_the_watch_anew() -> None:
    state = LampState(off_from=1.0, off_reading=300.0, burns_on=True)
    assert lamp.command(state, NOW, True)
    assert (state.on, state.changed_at, state.closed_at) == (True, NOW, NOW)
    assert (state.off_from, state.off_reading, state.burns_on) == (None, None, False)
    assert not lamp.command(state, NOW + 1.0, True)
    assert state.changed_at == NOW
