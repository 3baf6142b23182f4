"""Where each alarm means something: by stage, after LET UP, after the gel, and where it matters
most."""

import pytest
from tale import run_in

from controller.batch.alarm_row import Priority
from controller.batch.alarm_stages import MEANS, priority_now, urgency
from controller.batch.alarms import ALARMS
from controller.batch.stages import HALTED, Form, Stage
from controller.batch.state import Run

LAMP = {Stage.PREHEAT, Stage.SOAK}
PUMP = {Stage.DRYPULL, Stage.PULLDOWN, Stage.HOLD}
WHERE: dict[str, set[Stage]] = {
    "face probe lost": LAMP,
    "nobody there": LAMP,
    "pot life": LAMP | {Stage.COOLDOWN, Stage.COAT},
    "work interrupted": {Stage.INTERRUPTED, Stage.COOLDOWN, Stage.COAT, Stage.BAG},
    "pump left to a person": {Stage.INTERRUPTED},
    "pump feels no bag": PUMP,
    "pump does not pull": PUMP,
    "bag gauge lost": PUMP,
    "gauge frozen": PUMP,
    "trap full": PUMP,
    "vacuum lost": {Stage.HOLD},
    "bag leaks": {Stage.HOLD},
    "pump starts too often": {Stage.HOLD},
    "too cold to set": {Stage.HOLD},
}
"""In which stages; those that are not named mean the same everywhere."""
ONLY_WITH_VACUUM = {
    "pump feels no bag",
    "pump does not pull",
    "bag gauge lost",
    "gauge frozen",
    "trap full",
    "vacuum lost",
    "bag leaks",
    "pump starts too often",
}
"""Those that mean nothing once the vacuum was let up."""
NOT_AFTER_THE_GEL = {
    "pump left to a person",
    "pump feels no bag",
    "bag gauge lost",
    "gauge frozen",
    "trap full",
    "bag leaks",
    "pump starts too often",
}
MOST_IN_THE_HOLD = {
    "pump feels no bag",
    "pump does not pull",
    "bag gauge lost",
    "gauge frozen",
    "trap full",
}


def run(stage: Stage, left: Stage | None = Stage.PLANNED, *, set_hard: bool = False) -> Run:
    made = run_in(stage, left=left if stage in HALTED else None)
    made.age = made.coat.resin.gel_late if set_hard else 0.0
    return made


def priorities(stage: Stage, **more: bool) -> dict[str, Priority | None]:
    return {name: priority_now(name, run(stage, **more)) for name in WHERE}


def test_every_alarm_that_does_not_mean_something_everywhere_stands_above() -> None:
    assert set(WHERE) == set(MEANS)
    assert priority_now("gauge zero moved", None) is Priority.P3
    assert all(priority_now(name, None) is None for name in WHERE), "no batch, nothing to lose"


@pytest.mark.parametrize("stage", Stage)
def test_an_alarm_means_something_in_its_stages_alone(stage: Stage) -> None:
    due = {name: ALARMS[name].priority if stage in at else None for name, at in WHERE.items()}
    assert priorities(stage) == due


@pytest.mark.parametrize("stage", HALTED)
@pytest.mark.parametrize("left", [Stage.COAT, Stage.HOLD])
def test_of_what_was_halted_the_cup_alone_goes_on_setting(stage: Stage, left: Stage) -> None:
    halted = {name for name in WHERE if priority_now(name, run(stage, left)) is not None}
    cup = {"pot life"} if left is Stage.COAT else set()
    interrupted = {"work interrupted", "pump left to a person"}
    assert halted == cup | (interrupted if stage is Stage.INTERRUPTED else set())


@pytest.mark.parametrize("form", [None, *Form])
def test_a_vacuum_is_wanted_until_it_is_let_up(form: Form | None) -> None:
    held = run(Stage.HOLD)
    held.form = form
    silent = {name for name in ONLY_WITH_VACUUM if priority_now(name, held) is None}
    assert silent == (set() if form in (None, Form.HELD) else ONLY_WITH_VACUUM)
    assert priority_now("too cold to set", held) is Priority.P3


@pytest.mark.parametrize("stage", [Stage.PULLDOWN, Stage.HOLD, Stage.INTERRUPTED])
def test_once_the_resin_has_set_the_vacuum_matters_no_more(stage: Stage) -> None:
    before, after = priorities(stage), priorities(stage, set_hard=True)
    assert {name for name in WHERE if after[name] is None and before[name] is not None} == {
        name for name in NOT_AFTER_THE_GEL if before[name] is not None
    }
    changed = {name for name in WHERE if after[name] not in (None, before[name])}
    assert changed == ({"vacuum lost"} if stage is Stage.HOLD else set())
    assert after["vacuum lost"] in (Priority.P3, None)


def test_a_record_that_is_not_written_wakes_only_while_a_bag_is_held_before_the_gel() -> None:
    note = "record not written"
    for stage in set(Stage) - {Stage.HOLD}:
        left = Stage.PREHEAT if stage in HALTED else None
        assert priority_now(note, run_in(stage, left=left)) is Priority.P3, stage
    assert priority_now(note, None) is Priority.P3
    run = run_in(Stage.HOLD)
    assert priority_now(note, run) is Priority.P2
    run.form = Form.LET_UP
    assert priority_now(note, run) is Priority.P3
    run.form, run.age = Form.HELD, run.coat.resin.gel_late
    assert priority_now(note, run) is Priority.P3


def test_how_much_an_alarm_matters_is_one_scale_that_the_record_keeps() -> None:
    assert urgency("exotherm", None) == 6
    assert urgency("gauge zero moved", None) == 2
    assert urgency("bag leaks", None) == 0
    assert urgency("bag leaks", run(Stage.HOLD)) == 4
    for name in WHERE:
        assert urgency(name, None) == 0
        for stage in Stage:
            here = run(stage)
            matters = {None: 0, Priority.P3: 2, Priority.P2: 4}[priority_now(name, here)]
            most = (name in MOST_IN_THE_HOLD and stage is Stage.HOLD) or (
                name == "pot life" and stage is Stage.COAT
            )
            assert urgency(name, here) == matters + most
    gelled = run(Stage.HOLD, set_hard=True)
    assert urgency("bag gauge lost", gelled) == 0, "also where it would matter most"
