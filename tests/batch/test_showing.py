"""The snapshot: what it shows of old, lost and reckoned figures, and of both outputs."""

import pytest
from made import HOUR, ZERO, made_facts, made_sheet
from tale import Tale, heated, in_stage, run_in, with_coat
from test_stories import fit_to_be_seen

from controller.batch.acts import ActKind
from controller.batch.engine import Engine
from controller.batch.showing import Surroundings, press_named, snapshot
from controller.batch.signals import Role
from controller.batch.stages import Form, Stage
from controller.batch.state import RigState


def test_nothing_is_shown_before_the_first_step() -> None:
    around = Surroundings(seq=1, told_utc=0.0, time_zone="UTC", pace=None, rig="bench")
    with pytest.raises(ValueError, match="no step"):
        snapshot(Engine(RigState(now=0.0)), around)


@pytest.mark.parametrize("name", ["face", "room", "film", "bag"])
def test_a_reading_grows_old_with_its_age_and_is_lost_after_thirty_seconds(name: str) -> None:
    tale = in_stage(Stage.PULLDOWN)
    tale.run.probe_off = False
    tale.film = 20.0 + ZERO
    tale.step()
    tale.silent = {name}
    tale.wait(29)
    shown = getattr(tale.shown(), name)
    assert shown.value is not None and shown.age_s == pytest.approx(29.0)
    tale.wait(2)
    shown = getattr(tale.shown(), name)
    assert shown.value is None and shown.source == "lost" and shown.age_s == pytest.approx(31.0)


def test_a_role_without_a_probe_has_nothing_to_show() -> None:
    shown = in_stage(Stage.PULLDOWN, facts=made_facts(probes=frozenset({Role.ROOM}))).shown()
    assert shown.back.value is None and shown.back.age_s is None and shown.back.source == "lost"


def test_from_probe_off_the_face_is_an_estimate_and_says_so() -> None:
    tale = heated()
    tale.until(Stage.SOAK, 1500)
    tale.does(ActKind.ENOUGH)
    tale.does(ActKind.PROBE_OFF)
    tale.face = 5.0 + ZERO
    tale.wait(20)
    face = tale.shown().face
    assert face.source == "estimate" and face.value is not None and face.value > 25.0
    tale.does(ActKind.UNPLUGGED)
    tale.does(ActKind.COATING)
    assert tale.shown().face.source == "estimate"


def test_the_estimate_ends_in_a_hold_when_a_film_probe_knows_better_or_the_board_is_cold() -> None:
    tale = in_stage(Stage.COAT)
    tale.engine.heat = None
    warm = heated()
    warm.until(Stage.SOAK, 1500)
    for kind in (ActKind.ENOUGH, ActKind.UNPLUGGED, ActKind.COATING, ActKind.COATED):
        warm.does(kind)
    warm.does(ActKind.SEALED)
    warm.step()
    assert warm.engine.view is not None and warm.engine.view.film > 25 + ZERO
    warm.run.stage, warm.run.form = Stage.HOLD, Form.HELD
    warm.step()
    assert warm.engine.heat is not None
    warm.film = 24.0 + ZERO
    warm.step()
    assert warm.engine.heat is None and warm.engine.view.film == 24.0 + ZERO
    # the probe hangs beside the board by now: its reading is nobody's face
    assert warm.shown().face.value is None and warm.shown().face.source == "lost"


def test_outputs_say_what_they_do_and_why() -> None:
    tale = heated()
    lamp = tale.shown().lamp
    assert (lamp.on, lamp.word, lamp.why) == (True, "on", "the band asks for it")
    tale.until(Stage.SOAK, 1500)
    while tale.lamp:
        tale.step()
    assert tale.shown().lamp.word == "off" and tale.shown().lamp.why == "the band is held"
    tale.does(ActKind.FLIP)
    assert tale.shown().lamp.word == "off, locked"
    assert tale.shown().lamp.why == "the board is being turned"
    hold = in_stage(Stage.HOLD)
    assert hold.shown().lamp.word == "off, locked"
    assert (hold.shown().pump.word, hold.shown().pump.why) == ("off", "the bag holds")
    hold.bag = 40e3
    hold.wait(2)
    assert (hold.shown().pump.word, hold.shown().pump.why) == ("on", "pulling")
    hold.does(ActKind.LET_UP)
    assert hold.shown().pump.why == "there is no vacuum to hold"


def test_the_word_left_is_counted_down_to_nothing() -> None:
    tale = heated()
    heat = tale.shown().heat
    assert heat is not None and heat.presence_left_s == pytest.approx(840, abs=2)
    tale.wait(1000)
    heat = tale.shown().heat
    assert heat is not None and heat.presence_left_s == 0.0
    tale.run.word_at = None
    tale.step()
    assert tale.shown().heat.presence_left_s is None  # type: ignore[union-attr]


def test_presence_and_mixing_become_due_in_their_time() -> None:
    tale = heated()
    assert tale.shown().press is None or not tale.shown().press.due  # type: ignore[union-attr]
    tale.until(Stage.SOAK, 1500)
    while tale.now - (tale.run.word_at or 0) < 720:
        tale.step()
    assert press_named(tale.shown(), "PRESENT").due  # type: ignore[union-attr]
    while not press_named(tale.shown(), "MIXED").due:  # type: ignore[union-attr]
        if tale.now % 300 == 0:
            tale.does(ActKind.PRESENT)
        tale.step()
        assert tale.stage is Stage.SOAK
    assert "Mix A and B now" in tale.shown().sentence.text
    tale.does(ActKind.MIXED)
    assert press_named(tale.shown(), "MIXED") is None
    assert "Mix A and B" not in tale.shown().sentence.text


def test_a_soak_that_gains_little_more_says_flip_or_enough() -> None:
    tale = heated()
    tale.until(Stage.SOAK, 1500)
    assert tale.engine.view is not None
    object.__setattr__(tale.engine.view, "soak_left", None)
    assert "FLIP or ENOUGH" in tale.shown().sentence.text
    object.__setattr__(tale.engine.view, "mean", None)
    fit_to_be_seen(tale)


def test_a_lamp_that_cannot_reach_the_band_is_said_before_it_is_lit() -> None:
    sheet = made_sheet()
    heat = type(sheet.coats[0].heat)(
        **{
            **{n: getattr(sheet.coats[0].heat, n) for n in sheet.coats[0].heat.__slots__},
            "reachable": False,
        }
    )
    tale = Tale(run_in(Stage.PLANNED, sheet=with_coat(sheet, heat=heat)))
    tale.step()
    assert "Change lamp or band first" in tale.shown().sentence.text
    fit_to_be_seen(tale)


def test_due_things_stand_in_order_with_their_batch() -> None:
    tale = in_stage(Stage.HOLD)
    due = tale.shown().due
    assert [one.what for one in due] == ["may be opened"]
    assert due[0].until is not None and due[0].until > due[0].at
    tale.film = tale.room = 5.0 + ZERO
    tale.step()
    assert not tale.shown().due, "too cold to say when"
    done = in_stage(Stage.FINISHED)
    done.run.outcome = "finished"
    assert not [one for one in done.shown().due if one.what != "check the lamp's zone"]
    plain = in_stage(Stage.FLASHOFF)
    plain.run.film_off_at = None
    assert not plain.shown().due
    open_air = Tale(run_in(Stage.FLASHOFF, sheet=made_sheet(thinner=0.0)))
    open_air.run.stage = Stage.HOLD
    open_air.step()
    open_air.run.stage = Stage.FLASHOFF
    assert [one.what for one in open_air.shown().due] == ["weigh-in"]


def test_clocks_in_a_sentence_are_on_the_calendar() -> None:
    tale = in_stage(Stage.HOLD)
    clock = tale.shown().sentence.values["opens"]
    assert clock.kind == "clock" and clock.value > 1_780_000_000
    tale.run.age = 5 * HOUR
    tale.step()
    assert tale.shown().sentence.values["gel"].value > 1_780_000_000


def test_the_finish_says_what_is_left_to_do() -> None:
    tale = in_stage(Stage.FINISHED)
    assert "Finished" in tale.shown().sentence.text
    more = in_stage(Stage.FINISHED, sheet=made_sheet(coats=2))
    assert "NEXT COAT" in more.shown().sentence.text
    more.run.outcome = "abandoned"
    assert "Given up" in more.shown().sentence.text


def test_what_the_gate_said_is_not_shown_of_a_bag_that_is_off() -> None:
    held = in_stage(Stage.HOLD)
    assert held.shown().bagging is not None
    held.does(ActKind.OPENED, reason="the film has come off")
    assert held.shown().bagging is None
    assert in_stage(Stage.FINISHED).shown().bagging is None


def test_a_coat_without_an_estimate_still_has_its_words() -> None:
    tale = in_stage(Stage.COAT)
    assert "scrape the rest off" in tale.shown().sentence.text
    assert tale.engine.heat is None


def test_a_halt_in_a_dry_stage_and_one_in_the_bagging_say_what_is_off() -> None:
    for left, words in ((Stage.DRYPULL, "RESUME or ABANDON"), (Stage.BAG, "goes on setting")):
        assert words in in_stage(Stage.STOPPED, left=left).shown().sentence.text
