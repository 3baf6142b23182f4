"""What a restart means, as one table: each stage, each length of the outage, what the gauge shows,
and how often it has happened; from a log on the disk to what the rig does in the minutes
after.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import product
from pathlib import Path

import pytest
from standing import AIR, Stand, at_start, put_down, state_in
from tale import aged

from controller.batch.alarms import ALARMS
from controller.batch.events import EventKind
from controller.batch.signals import OUTPUTS_OFF
from controller.batch.stages import Form, Stage
from controller.batch.state import RigState
from controller.instant import resume_at
from controller.runner import Tick
from controller.store.log import Log

BY_ITSELF = 60.0
"""Within this after the start the pump runs again by itself or not at all, [s]."""
WATCHED = 90
"""Ticks looked at after the start."""
RESTART_PUMP = 38e3
"""A bag above the hold band, which wants the pump, and proves that it is whole, [Pa]."""
OUTAGES = {"5 s": 5.0, "60 s": 60.0, "61 s": 61.0, "30 min": 1800.0, "31 min": 1860.0, "?": None}
SHORT, MIDDLING = ("5 s", "60 s"), ("61 s", "30 min")
GAUGES = {"proves": RESTART_PUMP, "shows air": AIR, "is silent": None}


@dataclass(frozen=True)
class Row:
    """One line of the table."""

    then: Stage
    """Where the work stands after the restart."""
    alarm: str | None
    """Raised at the start."""
    pumps: bool = False
    """By itself."""
    later: tuple[Stage, str | None] | None = None
    """Stage and alarm once the gauge has had its minute without proving the bag."""


UNWATCHED = "flash-off unwatched"
"""A note for the day: hours are missing, and nobody needs to come."""
INTERRUPTED_HEAT = Row(Stage.INTERRUPTED, "work interrupted")
INTERRUPTED_PULL = Row(Stage.INTERRUPTED, "pump left to a person")


def row(
    stage: Stage, form: Form | None, set_hard: bool, outage: str, gauge: str, boots: int
) -> Row:
    """The table."""
    if stage is not Stage.HOLD:
        return {
            Stage.PLANNED: Row(Stage.PLANNED, None),
            Stage.DRYPULL: Row(Stage.PLANNED, None),
            Stage.PREHEAT: INTERRUPTED_HEAT,
            Stage.SOAK: INTERRUPTED_HEAT,
            Stage.COOLDOWN: Row(Stage.COOLDOWN, "work interrupted"),
            Stage.COAT: Row(Stage.COAT, "work interrupted"),
            Stage.BAG: Row(Stage.BAG, "work interrupted"),
            Stage.PULLDOWN: INTERRUPTED_PULL,
            Stage.FLASHOFF: Row(Stage.FLASHOFF, UNWATCHED),
            Stage.FINISHED: Row(Stage.FINISHED, None),
            Stage.STOPPED: Row(Stage.STOPPED, None),
            # its alarm stands since before
            Stage.INTERRUPTED: Row(Stage.INTERRUPTED, None),
        }[stage]
    if form is not Form.HELD:
        return Row(Stage.HOLD, None)
    # after the late end of gel a vacuum that is gone is a note for the morning
    loud = None if set_hard else "pump left to a person"
    if outage not in SHORT + MIDDLING or boots > 3:
        return Row(Stage.INTERRUPTED, loud)
    away = None if outage in SHORT or set_hard else "power was away"
    if gauge == "proves":
        return Row(Stage.HOLD, away, pumps=True)
    return Row(Stage.HOLD, away, later=(Stage.INTERRUPTED, loud))


CASES = [
    *product(set(Stage) - {Stage.HOLD}, [None], [False], ["5 s", "31 min", "?"], ["proves"], [1]),
    *product([Stage.HOLD], [Form.HELD], [False, True], OUTAGES, GAUGES, [1]),
    *product([Stage.HOLD], [Form.HELD], [False, True], ["5 s"], GAUGES, [2, 3, 4, 5]),
    *product([Stage.HOLD], [Form.LET_UP, Form.UNBAGGED], [False], ["5 s", "?"], ["proves"], [1, 4]),
]
CASES.sort(key=str)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "log.db"


@pytest.fixture
def logs(path: Path) -> Iterator[list[Log]]:
    """Logs opened one after the other; only the newest is open."""
    opened: list[Log] = []
    yield opened
    for log in opened:
        log.let_go()


def up_again(path: Path, logs: list[Log], outage: float | None) -> Stand:
    """The process after it was killed, `outage` seconds after the newest checkpoint."""
    for log in logs:
        log.let_go()
    log = Log.open(path, throwaway=True)
    logs.append(log)
    assert log.last_checkpoint is not None
    calendar = log.last_checkpoint.stamp.told_utc + (outage or 0.0)
    rig, _ = resume_at(log, calendar, outage is not None)
    start = at_start(rig, calendar, f"boot-{len(logs)}")
    return Stand(log, replace(start, trusted=outage is not None))


def work(stage: Stage, form: Form | None, set_hard: bool) -> RigState:
    state = state_in(stage)
    assert state.run is not None
    if form is not None:
        state.run.form = form
    if set_hard:
        aged(state.run, 40 * 3600.0)
        state.run.gelled = True
    # what must not outlive the process, whatever the stage
    state.run.lamp.on = state.run.bag.pump_on = True
    return state


@pytest.mark.parametrize(
    ("stage", "form", "set_hard", "outage", "gauge", "boots"),
    CASES,
    ids=[" ".join(str(part) for part in case) for case in CASES],
)
def test_after_a_restart_the_rig_does_what_the_table_says(
    path: Path,
    logs: list[Log],
    stage: Stage,
    form: Form | None,
    set_hard: bool,
    outage: str,
    gauge: str,
    boots: int,
) -> None:
    log = Log.open(path, throwaway=True)
    logs.append(log)
    put_down(log, work(stage, form, set_hard))
    stand = up_again(path, logs, OUTAGES[outage])
    for _ in range(boots - 1):
        stand = up_again(path, logs, OUTAGES[outage])
    assert stand.bench.switched == OUTPUTS_OFF
    expected = row(stage, form, set_hard, outage, gauge, boots)

    if form is not None:
        stand.bench.bag, stand.bench.leak = GAUGES[gauge], 1.0 if gauge == "proves" else 0.0
    ticks = [stand.go()]
    run = stand.rig.run
    assert run is not None and run.stage is expected.then
    assert raised(ticks) == ([] if expected.alarm is None else [expected.alarm])
    ticks += [stand.go() for _ in range(WATCHED)]
    assert not any(tick.applied.lamp or tick.applied.dead_man for tick in ticks)
    pumped = [n for n, tick in enumerate(ticks) if tick.applied.pump]
    assert bool(pumped) is expected.pumps
    assert not pumped or pumped[0] <= BY_ITSELF
    then, later = expected.later or (expected.then, None)
    assert run.stage is then
    assert raised(ticks) == [name for name in (expected.alarm, later) if name is not None]
    assert all(ALARMS[name].priority == "P2" for name in raised(ticks) if name != UNWATCHED)


def raised(ticks: list[Tick]) -> list[str]:
    """Names of the alarms raised, but for the one that says that a silent gauge is silent."""
    return [
        str(event.data["alarm"])
        for tick in ticks
        for event in tick.step.events
        if event.kind is EventKind.ALARM_RAISED and event.data["alarm"] != "bag gauge lost"
    ]
