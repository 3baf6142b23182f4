"""The calendar jumps, stops or is nonsense, in every stage: no timer moves, and it is told once."""

import pytest
from standing import STATE, UTC, YES, Stand, at_start, put_down, put_in, state_in

from controller.batch.acts import ActKind
from controller.batch.events import EventKind
from controller.batch.stages import Stage
from controller.instant import Instant, resume_at
from controller.store.log import MEMORY, Log

DAY = 86400.0
MOVES = {
    "+1 s": 1.0,
    "-1 s": -1.0,
    "+1 h": 3600.0,
    "-1 h": -3600.0,
    "+200 d": 200 * DAY,
    "-200 d": -200 * DAY,
    "to 1970": -UTC,
    "before 1970": -UTC - DAY,
    "beyond 2038": 2_240_000_000.0 - UTC,
}
TICKS = 20
NUDGE = 2.0
"""A change of the clock up to this is no step, [s]."""


def stands(stage: Stage) -> tuple[Stand, Stand]:
    """The same work twice: one whose calendar is left alone, and one to play with."""
    made = []
    for _ in range(2):
        stand = Stand(Log.open(MEMORY), at_start())
        put_in(stand, state_in(stage))
        stand.bench.bag = 30e3
        made.append(stand)
    return made[0], made[1]


def together(left: Stand, right: Stand, seconds: float, clock: float = 0.0) -> None:
    """One tick of both, which must not differ in anything but what the clock was."""
    one, other = left.go(seconds=seconds), right.go(seconds=seconds, clock=clock)
    assert other.step.commands == one.step.commands
    assert other.applied == one.applied
    assert other.step.events == one.step.events
    assert STATE.dump_json(right.runner.engine.state()) == STATE.dump_json(
        left.runner.engine.state()
    )


def told(stand: Stand) -> list[tuple[float, float]]:
    """The steps of the clock in the log: rig time, and by how much."""
    rows = stand.record._connection.execute(  # type: ignore[attr-defined]
        "SELECT at_ms, json_extract(data, '$.moved_s') FROM event WHERE kind = ?",
        (EventKind.CLOCK_STEP,),
    )
    return [(at / 1000, moved) for at, moved in rows]


@pytest.mark.parametrize("move", MOVES)
@pytest.mark.parametrize("stage", list(Stage))
def test_a_step_of_the_clock_moves_no_timer_and_is_told_once(stage: Stage, move: str) -> None:
    left, right = stands(stage)
    seconds = 10.0 if stage is Stage.HOLD else 1.0
    for _ in range(3):
        together(left, right, seconds)
    together(left, right, seconds, clock=MOVES[move])
    stepped = right.now.rig
    for _ in range(TICKS):
        together(left, right, seconds)
    expected = [] if abs(MOVES[move]) <= NUDGE else [(stepped, pytest.approx(MOVES[move]))]
    assert told(right) == expected
    assert told(left) == []


@pytest.mark.parametrize("stage", list(Stage))
def test_a_calendar_that_stands_still_stops_nothing(stage: Stage) -> None:
    left, right = stands(stage)
    for _ in range(3 * TICKS):
        together(left, right, 1.0, clock=-1.0)
    assert right.now.told_utc == UTC


def test_a_clock_that_is_set_to_and_fro_is_told_each_time() -> None:
    _, stand = stands(Stage.HOLD)
    for clock in (3600.0, 0.0, -3600.0, 0.0, 3600.0):
        stand.go(clock=clock)
    assert [moved for _, moved in told(stand)] == pytest.approx([3600.0, -3600.0, 3600.0])


@pytest.mark.parametrize("move", MOVES)
def test_whatever_the_calendar_says_each_event_has_both_times(move: str) -> None:
    stand = Stand(Log.open(MEMORY), at_start(told_utc=UTC + MOVES[move]))
    put_in(stand, state_in(Stage.PLANNED))
    stand.go(stand.act(ActKind.START, **YES), seconds=7.0)
    rows = stand.record._connection.execute(  # type: ignore[attr-defined]
        "SELECT at_ms, at_utc_ms, mono_ms FROM event WHERE kind = 'act'"
    ).fetchall()
    assert rows == [(7000, round(1000 * (UTC + MOVES[move] + 7.0)), 107_000)]


@pytest.mark.parametrize("now", [True, False], ids=["trusted now", "in doubt now"])
@pytest.mark.parametrize("then", [True, False], ids=["trusted then", "in doubt then"])
@pytest.mark.parametrize("move", MOVES)
def test_an_outage_is_known_only_between_two_trusted_clocks(
    move: str, then: bool, now: bool
) -> None:
    """And never when the calendar says that it ended before it began."""
    log = Log.open(MEMORY)
    put_down(log, state_in(Stage.FLASHOFF), trusted=then)
    again = Log(log._connection, throwaway=True)
    rig, outage = resume_at(again, UTC + MOVES[move], now)
    stood = again.last_at
    assert stood is not None
    if then and now and MOVES[move] >= 0:
        assert outage == MOVES[move] and rig == stood + MOVES[move]
    else:
        assert outage is None and rig == stood


def test_rig_time_never_goes_back_whatever_the_calendar_says() -> None:
    log = Log.open(MEMORY)
    put_down(log, state_in(Stage.HOLD))
    rig = 0.0
    for boot, calendar in enumerate([UTC + 60, UTC - 200 * DAY, 0.0, UTC + 120, UTC - 1]):
        again = Log(log._connection, throwaway=True)
        resumed, _ = resume_at(again, calendar, True)
        assert resumed >= rig
        stand = Stand(again, at_start(resumed, calendar, f"boot-{boot}"))
        for _ in range(3):
            stand.go()
        stand.record.flush()
        rig = stand.now.rig


@pytest.mark.parametrize("move", MOVES)
def test_a_restart_within_one_boot_is_as_long_as_the_machines_own_clock_says(move: str) -> None:
    """A rig that is never online has no trusted calendar; a crash at night is 7 s all the same."""
    log = Log.open(MEMORY)
    put_down(log, state_in(Stage.HOLD), trusted=False)
    again = Log(log._connection, throwaway=True)
    stood = again.last_at
    assert stood is not None
    calendar = UTC + MOVES[move]
    assert resume_at(again, calendar, False, ("b", 57.0)) == (stood + 7.0, 7.0)
    assert resume_at(again, calendar, False, ("another", 57.0)) == (stood, None)
    assert resume_at(again, calendar, False, ("b", 49.0)) == (stood, None)
    started = Instant(stood + 7.0, calendar, 57.0, "b", False)
    stand = Stand(again, started)
    stand.bench.bag = 28e3
    stand.go()
    assert stand.rig.run is not None and stand.rig.run.stage is Stage.HOLD
