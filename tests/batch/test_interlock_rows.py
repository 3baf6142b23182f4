"""Each row of the interlock table, taken out, lights the lamp that nothing else holds dark."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import pytest
from made import ZERO, made_facts
from tale import ROOM, YES, Tale, heated, in_stage, run_in

from controller.batch import interlocks, moving, rig_acts
from controller.batch.acts import ActKind
from controller.batch.engine import BEAT, PUNCTUAL, TOO_LATE
from controller.batch.interlocks import INTERLOCKS, Interlock, LampView
from controller.batch.lamp_acts import ARMS
from controller.batch.recovery import RESTARTS_LIMIT, after_restart
from controller.batch.signals import Wiring
from controller.batch.stages import HALTED, ORDER, Stage, Use
from controller.batch.state import RigState, Zone

LAMP_STAGES = [stage for stage in Stage if ORDER[stage].lamp is Use.ALLOWED]


class Table:
    """The interlock table as the engine asks it, and what each row said at the last question."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, without: tuple[str, ...] = ()) -> None:
        self.forbidding: list[str] = []
        left = tuple(row for row in INTERLOCKS if row.id not in without)
        ask = interlocks.lamp_forbidden

        def asked(view: LampView) -> Interlock | None:
            self.forbidding = [row.id for row in INTERLOCKS if row.forbids(view)]
            return ask(view)

        monkeypatch.setattr(interlocks, "INTERLOCKS", left)
        monkeypatch.setattr(interlocks, "lamp_forbidden", asked)


@dataclass(frozen=True)
class Story:
    """What makes one row forbid and no other."""

    begin: Callable[[], Tale]
    """Up to where it is about to happen."""
    wrong: Callable[[Tale], None]
    """It happens, or is about to in the next step."""
    steps: int = 1
    """For so long the row stands alone."""
    taken_away: Callable[[pytest.MonkeyPatch], None] = lambda monkeypatch: None
    """What stands before the row and has to go first."""


def burning() -> Tale:
    tale = heated()
    assert tale.lamp
    return tale


def cooling() -> Tale:
    tale = heated()
    tale.until(Stage.SOAK, 1500)
    tale.does(ActKind.ENOUGH)
    return tale


def without_a_lamp() -> Tale:
    tale = Tale(run_in(Stage.PLANNED), made_facts(lamp=Wiring.ABSENT))
    tale.step()
    tale.does(ActKind.START, **YES)
    return tale


def probe_back_after_a_silence() -> Tale:
    tale = heated()
    tale.silent = {"face"}
    tale.wait(10)
    tale.silent = set()
    return tale


def read_by_hand() -> Tale:
    """A lamp in a person's hand, under which the face was told just before it is too old."""
    tale = Tale(run_in(Stage.PLANNED), made_facts(lamp=Wiring.BY_HAND, probes=frozenset()))
    tale.step()
    tale.does(ActKind.START, **YES)
    tale.does(ActKind.READING, role="face", value_c=ROOM - ZERO)
    tale.wait(300)
    assert tale.lamp
    return tale


def kept_on_by_its_relay() -> Tale:
    """The relay may not open yet, so that the band alone would keep the lamp on."""
    return heated(made_facts(lamp_min_on=900.0))


def soaking_in_close_watch() -> Tale:
    tale = heated(made_facts(close_watch=True))
    while tale.run.lamp.gun_asked_at is None:
        tale.step()
        if tale.now % 200 == 0:
            tale.does(ActKind.PRESENT)
    return tale


def seen_from_afar() -> Tale:
    """An infrared thermometer that agrees with the probe, and is about to be asked."""
    tale = heated()
    tale.told = lambda readings: replace(readings, infrared=readings.face)
    tale.wait(1)
    while tale.now - (tale.run.lamp.looked_at or 0.0) < 300.0:
        tale.step()
    return tale


def nothing(tale: Tale) -> None:
    pass


def sets(**readings: object) -> Callable[[Tale], None]:
    def happen(tale: Tale) -> None:
        tale.told = lambda real: replace(real, **readings)  # type: ignore[arg-type]

    return happen


def turns(**facts: object) -> Callable[[Tale], None]:
    def happen(tale: Tale) -> None:
        tale.facts = replace(tale.facts, **facts)  # type: ignore[arg-type]

    return happen


def too_hot_once(tale: Tale) -> None:
    tale.face = 57.5 + ZERO


def last_word_fades(tale: Tale) -> None:
    tale.run.word_at = tale.now - interlocks.PRESENCE_LIMIT


def flips(tale: Tale) -> None:
    tale.does(ActKind.FLIP)


def comes_late(tale: Tale) -> None:
    tale.step(BEAT + TOO_LATE)


def pulls_the_plug(tale: Tale) -> None:
    tale.run.unplugged = True


def presses_stop(tale: Tale) -> None:
    tale.stop = True


def spends_its_lamp_time(tale: Tale) -> None:
    tale.run.lamp.seconds["A"] = interlocks.lamp_budget(tale.run.coat.heat.lamp_on)


def came_back_too_often(tale: Tale) -> None:
    tale.rig.rest_until = tale.now + 900.0


def solvent_in_its_zone(tale: Tale) -> None:
    tale.rig.zone = Zone(wet=True)


def days_check_wears_off(tale: Tale) -> None:
    tale.rig.day_check_at = tale.now - interlocks.DAY


def a_stop_that_does_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(rig_acts.RIG_ACTS, ActKind.STOP, lambda desk, act: "Not now.")


def a_heat_that_goes_on_for_ever(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(moving, "_budget_spent", lambda run: False)


ALONE: dict[str, Story] = {
    "I-1 stage": Story(cooling, nothing, 300),
    "I-1 none": Story(without_a_lamp, nothing, 10),
    "I-1 zone": Story(burning, turns(zone_clear=False), 10),
    "I-17 tilt": Story(burning, sets(tilted=True)),
    "I-18 cut-out": Story(burning, sets(cut_out_open=True)),
    "I-5 latch": Story(probe_back_after_a_silence, nothing, 30),
    "I-2 reading": Story(read_by_hand, nothing, 30),
    "I-5 trip": Story(kept_on_by_its_relay, too_hot_once),
    "I-7 presence": Story(burning, last_word_fades, 30),
    "I-4 hands": Story(burning, flips, 10),
    "I-19 gun": Story(soaking_in_close_watch, nothing, 100),
    "I-20 look": Story(seen_from_afar, nothing, 2),
    "I-14 late": Story(burning, comes_late, PUNCTUAL - 1),
    "I-16 record": Story(burning, turns(record_in_date=False), 10),
}
"""Each row that may be all that keeps a lamp dark, and how it comes to that."""


def stop_halts_the_batch_in_the_same_step() -> None:
    for stage in Stage:
        tale = in_stage(stage, left=Stage.PREHEAT if stage in HALTED else None)
        tale.stop = True
        tale.step()
        assert tale.stage not in LAMP_STAGES and not tale.lamp
    tale = in_stage(Stage.STOPPED, left=Stage.PREHEAT)
    tale.stop = True
    tale.refused(ActKind.RE_ARM)
    assert tale.stage is Stage.STOPPED


BEFORE_ARMING = {
    ActKind.START: (Stage.PLANNED, None),
    ActKind.REHEAT: (Stage.COOLDOWN, None),
    ActKind.RE_ARM: (Stage.STOPPED, Stage.PREHEAT),
}
"""Where each arming act is pressed: the stage, and the one that was left."""


def arming_is_the_only_way_in_and_means_the_plug_is_in() -> None:
    ways_in = {
        why
        for stage, row in ORDER.items()
        for why, to in row.moves.items()
        if to in LAMP_STAGES and stage not in LAMP_STAGES
    }
    assert ways_in == ARMS == set(BEFORE_ARMING)
    for kind, (stage, left) in BEFORE_ARMING.items():
        tale = in_stage(stage, left=left)
        tale.run.unplugged = True
        tale.does(kind, **YES)
        assert tale.stage in LAMP_STAGES and not tale.run.unplugged
        assert "this belongs to" in tale.refused(ActKind.UNPLUGGED)
        tale.does(ActKind.STOP)
        assert "press RE-ARM" in tale.refused(ActKind.RESUME)


def the_same_figure_ends_the_heat_in_the_same_step() -> None:
    for stage in LAMP_STAGES:
        tale = in_stage(stage)
        spends_its_lamp_time(tale)
        tale.step()
        assert tale.stage not in LAMP_STAGES and not tale.lamp


def a_restart_halts_the_heat_and_rest_refuses_every_arming() -> None:
    for stage in Stage:
        left = Stage.PREHEAT if stage in HALTED else None
        rig = RigState(0.0, run_in(stage, left=left))
        for back in range(RESTARTS_LIMIT + 1):
            after_restart(rig, 10.0 * back, 5.0)
        assert rig.rest_until is not None and rig.run is not None
        assert rig.run.stage not in LAMP_STAGES
    for kind, (stage, left) in BEFORE_ARMING.items():
        tale = in_stage(stage, left=left)
        came_back_too_often(tale)
        assert "came back too often" in tale.refused(kind, **YES)


NEVER_ALONE: dict[str, tuple[Callable[[], None], Story]] = {
    "I-15 stop": (
        stop_halts_the_batch_in_the_same_step,
        Story(burning, presses_stop, 10, a_stop_that_does_nothing),
    ),
    "I-11 plug": (
        arming_is_the_only_way_in_and_means_the_plug_is_in,
        Story(burning, pulls_the_plug, 10),
    ),
    "I-6 budget": (
        the_same_figure_ends_the_heat_in_the_same_step,
        Story(burning, spends_its_lamp_time, 10, a_heat_that_goes_on_for_ever),
    ),
    "I-21 restarts": (
        a_restart_halts_the_heat_and_rest_refuses_every_arming,
        Story(burning, came_back_too_often, 10),
    ),
}
"""Each row that is a second wall: what always stands before it, and a story in which, by a state
or an act that cannot be, that is gone."""
OTHER_HALF: dict[str, Story] = {
    "I-1 zone": Story(burning, solvent_in_its_zone, 10),
    "I-16 record": Story(burning, days_check_wears_off, 10),
}
"""The second thing that a row of two looks at, where the first is told above."""
STORIES = [
    *ALONE.items(),
    *((row, story) for row, (_, story) in NEVER_ALONE.items()),
    *OTHER_HALF.items(),
]


def test_every_row_of_the_table_has_its_story() -> None:
    assert {row for row, _ in STORIES} == {row.id for row in INTERLOCKS} and not set(ALONE) & set(
        NEVER_ALONE
    )


@pytest.mark.parametrize("row", NEVER_ALONE)
def test_this_row_is_never_alone_because(row: str) -> None:
    because, _ = NEVER_ALONE[row]
    because()


@pytest.mark.parametrize(("row", "story"), STORIES)
def test_with_the_row_in_the_lamp_is_dark_by_it_and_nothing_else(
    monkeypatch: pytest.MonkeyPatch, row: str, story: Story
) -> None:
    table = Table(monkeypatch)
    story.taken_away(monkeypatch)
    tale = story.begin()
    story.wrong(tale)
    for _ in range(story.steps):
        tale.step()
        assert table.forbidding == [row]
        assert not tale.lamp


@pytest.mark.parametrize(("row", "story"), STORIES)
def test_with_the_row_taken_out_the_lamp_burns(
    monkeypatch: pytest.MonkeyPatch, row: str, story: Story
) -> None:
    table = Table(monkeypatch, without=(row,))
    story.taken_away(monkeypatch)
    tale = story.begin()
    story.wrong(tale)
    lit = []
    for _ in range(story.steps):
        tale.step()
        lit.append(tale.lamp and row in table.forbidding)
    assert any(lit)


def test_a_reading_too_old_under_a_lamp_the_rig_switches_latches_in_the_same_step(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    table, tale = Table(monkeypatch), burning()
    tale.silent = {"face"}
    while tale.lamp:
        tale.step()
    assert table.forbidding == ["I-5 latch", "I-2 reading"]
    Table(monkeypatch, without=("I-5 latch", "I-2 reading"))
    tale.wait(30)
    assert tale.lamp
