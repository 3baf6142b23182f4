"""The tables: every stage has a row, every act a handler, and what is open where."""

import re
from dataclasses import asdict

import pytest
from made import made_sheet
from tale import YES, Tale, in_stage, run_in

from controller.batch import cautions, hearing, presses
from controller.batch.acts import CARRIES, ActKind
from controller.batch.engine import LONG_WAIT
from controller.batch.stages import HALTED, ORDER, WET, Stage, Trigger, Use, after
from controller.errors import StageError
from controller.planning.sheet_json import sheet_to_json

WARM = frozenset({Stage.PREHEAT, Stage.SOAK})
ANY = frozenset(Stage)

ACCEPTED: dict[ActKind, frozenset[Stage]] = {
    ActKind.PLAN: frozenset({Stage.PLANNED, Stage.FINISHED}),
    ActKind.DRY_PULL: frozenset({Stage.PLANNED}),
    ActKind.DRY_PULL_DONE: frozenset({Stage.DRYPULL}),
    ActKind.START: frozenset({Stage.PLANNED}),
    ActKind.PRESENT: ANY,
    ActKind.FLIP: WARM,
    ActKind.FLIPPED: frozenset(),
    ActKind.ENOUGH: frozenset({Stage.SOAK}),
    ActKind.MIXED: WARM | {Stage.COOLDOWN},
    ActKind.UNPLUGGED: frozenset({Stage.COOLDOWN, *HALTED}),
    ActKind.REHEAT: frozenset({Stage.COOLDOWN}),
    ActKind.THINNED: frozenset({Stage.COOLDOWN}),
    ActKind.PROBE_OFF: frozenset({Stage.COOLDOWN, Stage.COAT}),
    ActKind.COATING: frozenset({Stage.COOLDOWN}),
    ActKind.COATED: frozenset({Stage.COAT}),
    ActKind.SEALED: frozenset({Stage.BAG}),
    ActKind.RESEAL: frozenset({Stage.PULLDOWN, Stage.HOLD}),
    ActKind.ACCEPT: frozenset({Stage.PULLDOWN}),
    ActKind.LET_UP: frozenset({Stage.HOLD}),
    ActKind.OPENED: frozenset({Stage.HOLD}),
    ActKind.TIDIED: WET - {Stage.COAT} | {Stage.FINISHED},
    ActKind.MOVED_OUT: frozenset({Stage.FLASHOFF, Stage.FINISHED}),
    ActKind.WEIGHED: ANY,
    ActKind.NEXT_COAT: frozenset({Stage.FINISHED}),
    ActKind.READING: ANY,
    ActKind.LAMP_ON: frozenset(),
    ActKind.LAMP_OFF: frozenset(),
    ActKind.PUMP_ON: frozenset(),
    ActKind.PUMP_OFF: frozenset(),
    ActKind.STOP: ANY,
    ActKind.RE_ARM: HALTED,
    ActKind.RESUME: frozenset(),
    ActKind.ABANDON: HALTED,
    ActKind.ACKNOWLEDGE: frozenset(),
    ActKind.SHELVE: frozenset(),
    ActKind.MUTE: ANY,
}
"""Where an act is accepted that is pressed with all it asks for."""

SAYS = {
    ActKind.PLAN: {"sheet": sheet_to_json(made_sheet()), "id": "batch-2"},
    ActKind.START: YES,
    ActKind.OPENED: {"reason": "the film lifts"},
    ActKind.MOVED_OUT: {"place": "loft"},
    ActKind.WEIGHED: {"mass_g": 1500.0},
    ActKind.READING: {"role": "film", "value_c": 19.0},
    ActKind.ACKNOWLEDGE: {"alarm": "no rise"},
    ActKind.SHELVE: {"alarm": "too cold to set", "reason": "the heater is on its way"},
}


def test_every_stage_has_a_row_and_leads_somewhere() -> None:
    assert set(ORDER) == set(Stage)
    assert all(row.moves and row.step_cap > 0 for row in ORDER.values())
    led_to = {stage for row in ORDER.values() for stage in row.moves.values()} | {Stage.STOPPED}
    assert led_to == set(Stage)


def test_every_cause_and_stage_act_stands_in_the_table() -> None:
    used = {why for row in ORDER.values() for why in row.moves}
    assert {why for why in used if isinstance(why, Trigger)} == set(Trigger)


def test_every_act_has_one_handler_and_every_press_its_words() -> None:
    assert {*hearing.OF_A_BATCH, *hearing.OF_THE_RIG} == set(ActKind)
    assert not set(hearing.OF_A_BATCH) & set(hearing.OF_THE_RIG)
    shell_only = {ActKind.PLAN, ActKind.STOP, ActKind.ACKNOWLEDGE, ActKind.MUTE}
    assert set(presses.SAYS) == set(ActKind) - shell_only
    assert set(CARRIES) <= set(ActKind)


def test_no_stage_lets_both_outputs_run() -> None:
    for row in ORDER.values():
        assert not (row.lamp is Use.ALLOWED and row.pump is Use.ALLOWED)
    for stage in WET:
        assert ORDER[stage].lamp is Use.LOCKED
    for stage in HALTED:
        assert ORDER[stage].lamp is ORDER[stage].pump is Use.OFF


@pytest.mark.parametrize("stage", Stage)
def test_stop_leads_to_stopped_from_anywhere_but_the_end(stage: Stage) -> None:
    expected = Stage.FINISHED if stage is Stage.FINISHED else Stage.STOPPED
    assert after(stage, ActKind.STOP) is expected


@pytest.mark.parametrize("left", [stage for stage in Stage if stage not in HALTED])
def test_resume_leads_back_but_never_under_a_lamp(left: Stage) -> None:
    if ORDER[left].lamp is Use.ALLOWED:
        with pytest.raises(StageError, match="RE-ARM"):
            after(Stage.STOPPED, ActKind.RESUME, left)
    else:
        assert after(Stage.STOPPED, ActKind.RESUME, left) is left


def test_resume_without_a_stage_left_and_moves_off_the_table_are_refused() -> None:
    with pytest.raises(StageError, match="RESUME does not belong to STOPPED"):
        after(Stage.STOPPED, ActKind.RESUME)
    with pytest.raises(StageError, match="COATED does not belong to HOLD"):
        after(Stage.HOLD, ActKind.COATED)


def test_a_halted_batch_that_is_stopped_again_keeps_the_stage_it_left() -> None:
    run = run_in(Stage.STOPPED, left=Stage.HOLD)
    run.move(5.0, ActKind.STOP)
    assert run.stage is Stage.STOPPED and run.left is Stage.HOLD


def test_a_simulated_tick_is_as_long_as_loses_nothing() -> None:
    assert Tale().engine.tick == 1.0
    assert in_stage(Stage.SOAK).engine.tick == 1.0
    assert in_stage(Stage.HOLD).engine.tick == 10.0
    for stage in set(Stage) - HALTED:
        assert in_stage(stage).engine.tick <= ORDER[stage].step_cap


@pytest.mark.parametrize(
    ("stage", "left"),
    [
        (Stage.PLANNED, None),
        (Stage.COOLDOWN, None),
        (Stage.COAT, None),
        (Stage.BAG, None),
        (Stage.STOPPED, Stage.SOAK),
        (Stage.STOPPED, Stage.HOLD),
        (Stage.INTERRUPTED, Stage.PULLDOWN),
    ],
)
def test_a_long_wait_in_long_ticks_tells_what_it_tells_second_by_second(
    stage: Stage, left: Stage | None
) -> None:
    told = [_waited(stage, left, fine) for fine in (True, False)]
    assert [what for what, _ in told[0]] == [what for what, _ in told[1]]
    assert told[0], "something is told at all"
    # a tick until it is seen, and one until it has stood for as long as it must
    later = 2 * ORDER[stage].step_cap
    for (_, fine), (what, coarse) in zip(*told, strict=True):
        assert fine <= coarse <= fine + later, what


def _waited(stage: Stage, left: Stage | None, fine: bool) -> list[tuple[str, float]]:
    """What twenty minutes tell in the midst of a long wait, and when: the pot life ends, the lamp's
    line comes alive for a while, STOP is pressed."""
    tale = in_stage(stage, left=left)
    tale.run.since -= LONG_WAIT
    tale.run.age = tale.run.coat.resin.pot_life - 100.0
    began, edges = tale.now, (500.0, 800.0, 1000.0, 1050.0, 1200.0)
    assert tale.engine.tick == ORDER[stage].step_cap
    while (gone := tale.now - began) < edges[-1]:
        tale.lamp_fed = edges[0] <= gone < edges[1]
        tale.stop = edges[2] <= gone < edges[3]
        next_edge = min(edge for edge in edges if edge > gone) - gone
        tale.step(min(1.0 if fine else tale.engine.tick, next_edge))
    return [(f"{event.kind} {event.text}", event.at) for event in tale.events]


def in_order(stage: Stage) -> Tale:
    """A story in the stage, with what the acts there want: the plug out, a coat still to come."""
    left = Stage.PREHEAT if stage in HALTED else None
    tale = in_stage(stage, left=left, sheet=made_sheet(coats=2))
    if stage is Stage.COOLDOWN:
        tale.run.unplugged = True
    if tale.pump:
        # the first look at a run of the pump is behind it
        tale.step()
    return tale


@pytest.mark.parametrize("kind", ActKind)
@pytest.mark.parametrize("stage", Stage)
def test_each_act_is_taken_where_the_table_says_and_changes_nothing_where_not(
    stage: Stage, kind: ActKind
) -> None:
    tale = in_order(stage)
    before = asdict(tale.run)
    answer = tale.press(kind, seconds=0.0, **SAYS.get(kind, {}))
    assert answer.accepted == (stage in ACCEPTED[kind]), answer.text
    assert answer.text and "\n" not in answer.text
    if not answer.accepted and stage not in (*WARM, Stage.COOLDOWN):
        assert asdict(tale.run) == before


@pytest.mark.parametrize("stage", Stage)
def test_stop_works_in_every_stage_and_both_outputs_are_off_in_the_same_step(stage: Stage) -> None:
    tale = in_order(stage)
    step = tale.step(1.0, tale.act(ActKind.STOP, stage="HOLD", batch="somebody else's"))
    assert not step.commands.lamp and not step.commands.pump
    assert step.answers[0].accepted
    assert tale.stage in (Stage.STOPPED, Stage.FINISHED, Stage.INTERRUPTED)
    tale.wait(30)
    assert not tale.lamp and not tale.pump


def test_sentences_and_cautions_know_every_stage() -> None:
    for stage in Stage:
        tale = in_order(stage)
        words = tale.shown().sentence
        assert words.text
        assert set(re.findall(r"\{(\w+)\}", words.text)) == set(words.values)
        assert len(tale.shown().cautions) <= 2
    assert set(cautions.CAUTIONS) == set(Stage) - {Stage.FINISHED}
