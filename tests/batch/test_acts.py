"""What people tell: late, of batches set aside, of the zone, and sheets that will not do."""

from dataclasses import replace

import pytest
from made import HOUR, ZERO, made_facts, made_sheet
from tale import ROOM, YES, Tale, heated, in_stage, run_in, with_coat
from test_stories import fit_to_be_seen

from controller.batch import flash_off
from controller.batch.acts import ActKind
from controller.batch.events import Event, EventKind
from controller.batch.sheet_check import fault_of
from controller.batch.stages import Stage
from controller.planning.sheet import BatchSheet
from controller.planning.sheet_json import sheet_to_json


def last(tale: Tale, kind: EventKind) -> Event:
    return tale.of_kind(kind)[-1]


# --- told late


def test_an_act_told_late_is_true_then_in_the_state_its_own_line_and_the_stages() -> None:
    tale = in_stage(Stage.COAT)
    tale.wait(600)
    tale.does(ActKind.COATED, ago=360.0)
    then = tale.now - 360.0
    assert tale.run.coated_at == tale.run.since == then
    assert last(tale, EventKind.ACT).happened_at == then
    assert last(tale, EventKind.STAGE).happened_at == then
    tale.does(ActKind.SEALED)
    assert last(tale, EventKind.STAGE).happened_at is None


@pytest.mark.parametrize(
    ("stage", "kind", "fact"),
    [
        (Stage.COOLDOWN, ActKind.COATING, "coating_at"),
        (Stage.COAT, ActKind.COATED, "coated_at"),
        (Stage.BAG, ActKind.SEALED, "sealed_at"),
    ],
)
def test_no_act_is_true_before_the_last_fact_known(stage: Stage, kind: ActKind, fact: str) -> None:
    tale = in_stage(stage)
    tale.run.unplugged = True
    tale.run.since = tale.run.lamp_off_at = tale.now - 100.0
    tale.does(kind, ago=5000.0)
    bound = tale.now - 101.0
    assert getattr(tale.run, fact) == bound
    assert last(tale, EventKind.ACT).happened_at == bound
    assert last(tale, EventKind.STAGE).happened_at == bound


def test_resin_may_have_been_mixed_before_the_stage_but_not_before_start() -> None:
    tale = heated()
    tale.until(Stage.SOAK, 1500)
    began = tale.run.started_at
    tale.does(ActKind.MIXED, ago=300.0)
    assert tale.run.mixed_at == tale.now - 300.0 < tale.run.since
    assert tale.run.age == pytest.approx(300 * 0.69, rel=0.1), "the cup has been setting"
    tale.does(ActKind.MIXED, ago=80000.0)
    assert tale.run.mixed_at == began
    tale.room = None
    tale.wait(70)
    tale.does(ActKind.MIXED, ago=100.0)
    assert tale.run.age == pytest.approx(100.0), "nobody reads the room: as at the reference"


@pytest.mark.parametrize("ago", [-1.0, 86401.0, float("nan"), float("inf")])
def test_an_impossible_time_is_refused_but_never_a_stop(ago: float) -> None:
    tale = in_stage(Stage.COAT)
    assert "within a day" in tale.refused(ActKind.COATED, ago=ago)
    assert "within a day" in tale.refused(ActKind.READING, ago=ago, role="room", value_c=20.0)
    tale.does(ActKind.STOP, ago=ago)
    assert tale.stage is Stage.STOPPED


# --- who is meant


def test_acts_must_name_the_batch_and_the_stage_they_were_pressed_in() -> None:
    tale = in_stage(Stage.COAT)
    assert "at the rig is Washboard" in tale.refused(ActKind.COATED, batch="other", stage=None)
    assert "pressed in BAG" in tale.refused(ActKind.COATED, stage="BAG")
    assert last(tale, EventKind.REFUSED).batch == "batch-1"
    tale.does(ActKind.PRESENT, stage="SOAK")
    tale.does(ActKind.COATED, stage=None)
    assert "no batch at the rig" in Tale().refused(ActKind.COATED)


def test_two_moves_in_one_step_are_both_told() -> None:
    tale = in_stage(Stage.COAT)
    tale.step(1.0, tale.act(ActKind.COATED), tale.act(ActKind.SEALED, stage="BAG"))
    assert [event.stage for event in tale.of_kind(EventKind.STAGE)] == ["BAG", "PULLDOWN"]


def aside() -> Tale:
    """A first batch flashing off in the loft, a second one planned at the rig."""
    tale = in_stage(Stage.FLASHOFF, sheet=made_sheet(coats=2))
    tale.does(ActKind.TIDIED)
    assert "'place'" in tale.refused(ActKind.MOVED_OUT)
    assert "'place'" in tale.refused(ActKind.MOVED_OUT, place="  ")
    tale.does(ActKind.MOVED_OUT, place=" loft ")
    assert tale.rig.run is None and tale.rig.aside[0].place == "loft"
    return tale


def test_a_batch_moved_out_keeps_its_own_clock_name_and_lines() -> None:
    tale = aside()
    told = last(tale, EventKind.ACT)
    assert (told.batch, told.stage) == ("batch-1", "FLASHOFF")
    assert "moved out" in tale.shown().sentence.text
    assert tale.engine.tick == 600.0
    tale.does(ActKind.PLAN, sheet=sheet_to_json(made_sheet()), id="batch-2")
    assert last(tale, EventKind.BATCH_PLANNED).batch == "batch-2"
    tale.does(ActKind.WEIGHED, batch="batch-1", stage="FLASHOFF", mass_g=1500.0)
    told = last(tale, EventKind.ACT)
    assert (told.batch, told.stage) == ("batch-1", "FLASHOFF")
    assert len(tale.rig.aside[0].weigh_ins) == 1
    tale.does(ActKind.MOVED_OUT, batch="batch-1", stage="FLASHOFF", place="cellar")
    assert tale.rig.aside[0].place == "cellar" and tale.run.id == "batch-2"
    assert "1500" not in tale.refused(ActKind.WEIGHED, batch="batch-1", stage="HOLD", mass_g=-1.0)
    flashed = tale.rig.aside[0].flashed
    tale.wait(3600, each=10)
    assert tale.rig.aside[0].flashed == pytest.approx(flashed + 3600 * 0.9, rel=0.05)
    shown = tale.shown()
    assert [batch.id for batch in shown.aside] == ["batch-1"]
    assert {"weigh-in", "solvent out"} <= {due.what for due in shown.due}


def test_a_batch_aside_finishes_there_and_takes_its_next_coat_back_to_the_rig() -> None:
    tale = aside()
    tale.rig.aside[0].flashed = 54 * HOUR
    tale.step()
    assert tale.rig.aside[0].stage is Stage.FINISHED and tale.rig.aside[0].outcome is None
    assert last(tale, EventKind.STAGE).batch == "batch-1"
    tale.does(ActKind.PLAN, sheet=sheet_to_json(made_sheet()), id="batch-2")
    assert "is at the rig" in tale.refused(ActKind.NEXT_COAT, batch="batch-1", stage="FINISHED")
    tale.does(ActKind.STOP)
    tale.does(ActKind.ABANDON)
    tale.does(ActKind.NEXT_COAT, batch="batch-1", stage="FINISHED")
    assert tale.run.id == "batch-1" and tale.run.coat.number == 2 and not tale.rig.aside
    told = tale.events[-2:]
    assert [(e.kind, e.batch, e.stage) for e in told] == [
        (EventKind.ACT, "batch-1", "PLANNED"),
        (EventKind.STAGE, "batch-1", "PLANNED"),
    ]


# --- PLAN


def test_a_new_sheet_takes_the_place_of_one_not_started_or_over() -> None:
    tale = in_stage(Stage.PLANNED)
    sheet = sheet_to_json(made_sheet())
    assert "carries 'sheet'" in tale.refused(ActKind.PLAN, sheet=sheet)
    assert "here already" in tale.refused(ActKind.PLAN, sheet=sheet, id="batch-1")
    tale.does(ActKind.PLAN, sheet=sheet, id="batch-2")
    assert tale.run.id == "batch-2" and not tale.rig.aside
    busy = in_stage(Stage.HOLD)
    assert "is in HOLD" in busy.refused(ActKind.PLAN, sheet=sheet, id="batch-2")


def test_a_finished_coat_waits_aside_for_its_next_one_and_what_is_over_leaves() -> None:
    sheet = sheet_to_json(made_sheet())
    tale = in_stage(Stage.FINISHED, sheet=made_sheet(coats=2))
    tale.does(ActKind.PLAN, sheet=sheet, id="batch-2")
    assert [run.id for run in tale.rig.aside] == ["batch-1"]
    assert "here already" in tale.refused(ActKind.PLAN, sheet=sheet, id="batch-1")
    tale.rig.aside[0].outcome = "finished"
    tale.does(ActKind.PLAN, sheet=sheet, id="batch-3")
    assert not tale.rig.aside


def changed(**heat: float) -> BatchSheet:
    sheet = made_sheet()
    return with_coat(sheet, heat=replace(sheet.coats[0].heat, **heat))


def bagged(**bag: float) -> BatchSheet:
    sheet = made_sheet()
    assert sheet.coats[0].bag is not None
    return with_coat(sheet, bag=replace(sheet.coats[0].bag, **bag))


def of_board(**board: float) -> BatchSheet:
    sheet = made_sheet()
    return with_coat(sheet, board=replace(sheet.coats[0].board, **board))


GOOD = made_sheet()
UNFIT = [
    (replace(GOOD, name="Wash{board}"), "sheet.name: write it without braces"),
    (replace(GOOD, shop="two\nlines"), "sheet.shop"),
    (changed(advice="{x}"), "sheet.coats.0.heat.advice"),  # type: ignore[arg-type]
    (changed(soak=float("nan")), "sheet.coats.0.heat.soak is no number"),
    (replace(GOOD, coats=()), "no coat"),
    (changed(band_high=50.1 + ZERO), "50 C at most"),
    (changed(band_low=48 + ZERO), "preheat band"),
    (changed(trip=60.1 + ZERO), "60 C at most"),
    (changed(trip=46 + ZERO), "above the band"),
    (changed(window_low=39 + ZERO), "upside down"),
    (changed(lamp_on=0.0), "more than nothing"),
    (of_board(moisture=0.3), "moisture"),
    (bagged(boil_limit=28e3), "boil limit"),
    (bagged(restart=26e3), "restart"),
    (of_board(density=-1.0), "all must be above 0"),
    (
        with_coat(GOOD, flash_off=replace(GOOD.coats[0].flash_off, activation_energy=1.0)),
        "activation energy",
    ),
    (with_coat(GOOD, resin=replace(GOOD.coats[0].resin, activation_energy=1.0)), "activation"),
]


@pytest.mark.parametrize(("sheet", "words"), UNFIT)
def test_a_sheet_that_cannot_be_worked_from_is_refused_at_plan(
    sheet: BatchSheet, words: str
) -> None:
    found = fault_of(sheet, made_facts())
    assert found is not None and words in found


def test_a_good_sheet_has_no_fault_and_a_bad_one_does_not_stop_the_engine() -> None:
    assert fault_of(GOOD, made_facts()) is None
    assert fault_of(made_sheet(bagged=False, thinner=0.0), made_facts()) is None
    tale = Tale()
    assert "no batch sheet" in tale.refused(ActKind.PLAN, sheet="{}", id="x")
    text = sheet_to_json(replace(GOOD, name="{"))
    assert "cannot be worked from" in tale.refused(ActKind.PLAN, sheet=text, id="x")
    assert tale.rig.run is None


def test_braces_in_a_senders_name_stay_out_of_the_sentence() -> None:
    tale = in_stage(Stage.COAT)
    tale.does(ActKind.STOP, by="{phone}")
    assert "STOP from (phone)" in tale.shown().sentence.text
    fit_to_be_seen(tale)


# --- the zone


def test_the_zone_is_locked_until_tidied_moved_out_and_aired() -> None:
    tale = in_stage(Stage.COOLDOWN)
    assert "nothing wet" in tale.refused(ActKind.TIDIED)
    tale.run.unplugged = True
    tale.does(ActKind.THINNED)
    assert "still in use" in tale.refused(ActKind.TIDIED)
    tale.does(ActKind.COATING)
    tale.does(ActKind.COATED)
    tale.does(ActKind.SEALED)
    assert tale.shown().zone_locked and tale.shown().zone_free_at is None
    tale.does(ActKind.TIDIED)
    tale.wait(900)
    assert tale.shown().zone_locked, "the bagged board lies in it"
    tale.run.stage, tale.run.may_open = Stage.HOLD, True
    tale.does(ActKind.OPENED)
    tale.does(ActKind.MOVED_OUT, place="loft")
    free = tale.now + 600
    assert tale.shown().zone_free_at == free
    assert "check the lamp's zone" in {due.what for due in tale.shown().due}
    tale.does(ActKind.PLAN, sheet=sheet_to_json(made_sheet()), id="batch-2")
    assert "check the lamp's zone" in {due.what for due in tale.shown().due}
    assert "solvent" in tale.refused(ActKind.START, **YES)
    tale.wait(free - tale.now - 1)
    assert tale.rig.zone.wet
    tale.step()
    assert not tale.rig.zone.wet
    assert last(tale, EventKind.NOTE).text == "The lamp's zone is clear again."
    tale.does(ActKind.START, **YES)


def test_the_purge_counts_from_tidied_when_that_comes_last() -> None:
    tale = in_stage(Stage.FLASHOFF)
    tale.does(ActKind.MOVED_OUT, place="loft")
    tale.does(ActKind.PLAN, sheet=sheet_to_json(made_sheet()), id="batch-2")
    tale.wait(1000)
    assert tale.shown().press.act == "TIDIED"  # type: ignore[union-attr]
    tale.does(ActKind.TIDIED)
    assert tale.shown().zone_free_at == tale.now + 600


def test_a_batch_given_up_while_wet_does_not_lock_the_zone_for_ever() -> None:
    tale = in_stage(Stage.COAT)
    tale.does(ActKind.STOP)
    assert "zone is locked until" in tale.does(ActKind.ABANDON).text
    assert tale.run.outcome == "abandoned" and tale.stage is Stage.FINISHED
    tale.step()
    assert {"TIDIED", "MOVED OUT"} <= tale.open_acts()
    assert "NEXT COAT" not in tale.open_acts()
    fit_to_be_seen(tale)
    tale.does(ActKind.TIDIED)
    tale.does(ActKind.MOVED_OUT, place="yard")
    assert "nothing to move" in tale.refused(ActKind.MOVED_OUT, place="yard")
    tale.wait(605)
    assert not tale.rig.zone.wet
    dry = in_stage(Stage.STOPPED, left=Stage.PREHEAT)
    assert "zone" not in dry.does(ActKind.ABANDON).text


# --- the brush


def test_a_face_too_hot_or_too_cool_is_told_with_the_first_stroke_and_after_it() -> None:
    hot = in_stage(Stage.COOLDOWN)
    hot.cells = [45.0 + ZERO] * 8
    hot.engine.heat = None
    hot.run.unplugged = True
    hot.wait(2)
    assert "hotter than the coat window" in hot.does(ActKind.COATING).text
    hot.step()
    assert "over the coat window" in hot.shown().sentence.text
    fit_to_be_seen(hot)
    cool = in_stage(Stage.COOLDOWN)
    cool.run.unplugged = True
    assert cool.face == ROOM
    assert "Less thin now" in cool.shown().sentence.text
    assert "under the coat window" in cool.does(ActKind.COATING).text


def test_a_cup_near_the_end_of_its_pot_life_is_told_then_called_wherever_it_stands() -> None:
    tale = in_stage(Stage.COAT)
    tale.run.age = 0.8 * 40 * 60
    tale.step()
    assert "of its pot life" in tale.shown().sentence.text
    tale.run.age = 41 * 60.0
    tale.step()
    assert tale.active() == {"pot life"}
    tale.does(ActKind.STOP)
    assert tale.active() == {"pot life"}, "it goes on setting in the cup"
    tale.does(ActKind.RESUME)
    tale.does(ActKind.COATED)
    assert not tale.active()


def test_a_sealed_mass_that_cannot_be_is_left_out() -> None:
    for wrong in (float("nan"), float("inf"), -3.0, True, "31 g"):
        tale = in_stage(Stage.BAG)
        tale.does(ActKind.SEALED, used_g=wrong)
        assert tale.run.used is None


def test_probe_off_in_coat_without_an_estimate_is_only_written_down() -> None:
    tale = in_stage(Stage.COAT)
    tale.run.probe_off = False
    tale.engine.heat = None
    tale.does(ActKind.PROBE_OFF)
    assert tale.run.probe_off and tale.shown().face.source == "lost"


# --- weigh-ins and flash-off


def weighed(*pairs: tuple[float, str, float]) -> Tale:
    tale = Tale(run_in(Stage.FLASHOFF), now=0.0)
    tale.run.flashed = 40 * HOUR
    tale.run.weigh_ins = [(days * 86400.0, what, kg) for days, what, kg in pairs]
    return tale


def test_flat_weigh_ins_of_the_board_end_the_flash_off_after_its_early_end() -> None:
    falling = weighed((0, "board", 1.5), (1, "board", 1.49), (2, "board", 1.48))
    assert not flash_off.weigh_ins_flat(falling.run) and not flash_off.done(falling.run)
    flat = weighed((0, "board", 1.5), (1, "board", 1.4999), (2, "board", 1.4998))
    assert flash_off.done(flat.run)
    flat.run.flashed = 30 * HOUR
    assert not flash_off.done(flat.run)
    assert not flash_off.weigh_ins_flat(weighed((0, "board", 1.5), (1, "board", 1.5)).run)
    hasty = weighed((0, "board", 1.5), (0.1, "board", 1.5), (0.2, "board", 1.5))
    assert not flash_off.weigh_ins_flat(hasty.run)


def test_the_sisters_own_change_is_the_rooms_damp_and_is_taken_off() -> None:
    board = [(0.0, "board", 1.5), (1.0, "board", 1.49), (2.0, "board", 1.48)]
    sister = [(0.0, "sister", 1.0), (1.0, "sister", 0.9935), (2.0, "sister", 0.987)]
    assert flash_off.weigh_ins_flat(weighed(*board, *sister).run)


def test_weigh_ins_from_before_the_film_came_off_do_not_count() -> None:
    tale = weighed((0, "board", 1.5), (1, "board", 1.5), (2, "board", 1.5))
    tale.run.film_off_at = 1.5 * 86400
    assert not flash_off.weigh_ins_flat(tale.run)
    tale.run.film_off_at = None
    assert flash_off.weigh_ins_flat(tale.run)


def test_a_weigh_in_is_asked_for_a_day_after_the_film_or_the_last_one() -> None:
    tale = in_stage(Stage.FLASHOFF)
    tale.run.weigh_ins = [(-5000.0, "board", 1.4)]
    tale.wait(80000, each=600)
    assert not [p for p in tale.shown().others if p.act == "WEIGHED" and p.due]
    tale.wait(7000, each=600)
    tale.does(ActKind.TIDIED)
    assert tale.shown().press.act == "WEIGHED"  # type: ignore[union-attr]
    assert "'mass_g'" in tale.refused(ActKind.WEIGHED)
    assert "'mass_g'" in tale.refused(ActKind.WEIGHED, mass_g=0.0)
    assert "board, sister" in tale.refused(ActKind.WEIGHED, mass_g=3.0, what="dog")
    tale.does(ActKind.WEIGHED, mass_g=1510)
    tale.does(ActKind.WEIGHED, mass_g=1511.0, ago=600.0)
    assert [at for at, _, _ in tale.run.weigh_ins] == sorted(at for at, _, _ in tale.run.weigh_ins)
    tale.does(ActKind.STOP)
    assert "WEIGHED" not in tale.open_acts()
