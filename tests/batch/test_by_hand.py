"""Rigs where a person is the relay or the gauge: a command becomes a sentence and a press."""

from dataclasses import replace

import pytest
from made import ZERO, made_facts, made_sheet
from tale import ROOM, YES, Tale, in_stage, run_in
from test_stories import fit_to_be_seen

from controller.batch.acts import ActKind
from controller.batch.believing import believed
from controller.batch.signals import Readings, Role, Sample, Wiring
from controller.batch.stages import Stage

NO_FACE = frozenset({Role.ROOM, Role.FILM})


def hand_heat(**more: object) -> Tale:
    facts = made_facts(lamp=Wiring.BY_HAND, **more)
    tale = Tale(run_in(Stage.PLANNED), facts)
    tale.step()
    assert "may be warmed now" in tale.does(ActKind.START, **YES).text
    tale.wait(3)
    return tale


def follow_the_words(tale: Tale) -> None:
    """Do with the switches what the first sentence says, and say so."""
    shown = tale.shown()
    if shown.press is not None and shown.press.act in ("LAMP ON", "LAMP OFF"):
        tale.lamp_by_hand = shown.press.act == "LAMP ON"
        tale.does(ActKind(shown.press.act))


def test_a_hand_switched_lamp_warms_a_board_into_the_band_and_out_again() -> None:
    tale = hand_heat()
    words = tale.shown()
    assert words.sentence.text.startswith("Switch the lamp on and press LAMP ON.")
    assert words.lamp.word == "switch it on" and words.press.act == "LAMP ON"  # type: ignore[union-attr]
    tale.wait(90)
    assert not tale.raised(), "nobody has switched it yet: no proof is asked of it"
    assert tale.run.lamp.seconds == {}, "and no lamp time is spent"
    for _ in range(3000):
        tale.step()
        follow_the_words(tale)
        if tale.now % 600 == 0:
            tale.does(ActKind.PRESENT)
        if tale.stage is Stage.COOLDOWN:
            break
    assert tale.stage is Stage.COOLDOWN
    fit_to_be_seen(tale)
    if tale.lamp_by_hand:
        follow_the_words(tale)
    tale.step()
    assert not tale.lamp_by_hand and tale.run.lamp_off_at is not None
    tale.does(ActKind.UNPLUGGED)
    tale.does(ActKind.COATING)
    assert set(tale.raised()) <= set()


def test_the_cool_down_of_a_lamp_left_on_by_hand_waits_and_calls() -> None:
    tale = hand_heat()
    follow_the_words(tale)
    tale.until(Stage.SOAK, 1500)
    tale.does(ActKind.ENOUGH)
    tale.step()
    assert tale.run.lamp_off_at is None
    assert tale.shown().sentence.text.startswith(
        "Switch the lamp off and press LAMP OFF. Then pull"
    )
    tale.does(ActKind.UNPLUGGED)
    assert "the lamp is on" in tale.refused(ActKind.THINNED)
    tale.wait(120)
    assert tale.active() == {"lamp does not go off"}
    tale.lamp_by_hand = False
    tale.does(ActKind.LAMP_OFF)
    assert not tale.active() and tale.run.lamp_off_at is not None


def test_a_stop_on_a_hand_switched_rig_asks_for_both_switches() -> None:
    tale = hand_heat()
    follow_the_words(tale)
    tale.does(ActKind.STOP)
    assert not tale.lamp
    assert tale.shown().press.act == "LAMP OFF"  # type: ignore[union-attr]
    assert tale.shown().sentence.text.startswith("Switch the lamp off")


def test_a_face_told_by_hand_is_asked_for_holds_five_minutes_and_warms_on() -> None:
    tale = hand_heat(probes=NO_FACE)
    shown = tale.shown()
    assert shown.press is not None and shown.press.act == "READING" and shown.press.due
    assert "tell its READING" in shown.sentence.text
    assert not tale.lamp
    tale.does(ActKind.READING, role="face", value_c=18.0)
    tale.step()
    assert tale.lamp and tale.shown().press.act == "LAMP ON"  # type: ignore[union-attr]
    follow_the_words(tale)
    tale.wait(310)
    assert not tale.lamp, "the reading is too old"
    tale.does(ActKind.READING, role="face", value_c=33.0)
    tale.does(ActKind.READING, role="face", value_c=44.0)
    assert tale.stage is Stage.SOAK, "two readings far apart are no jump when told"
    assert not tale.raised()
    assert tale.shown().face.source == "by hand"
    fit_to_be_seen(tale)


def test_two_told_readings_over_the_trip_halt_the_heat() -> None:
    tale = hand_heat(probes=NO_FACE)
    tale.does(ActKind.READING, role="face", value_c=18.0)
    tale.wait(60)
    tale.does(ActKind.READING, role="face", value_c=58.0)
    assert not tale.lamp and not tale.raised()
    tale.wait(5)
    tale.does(ActKind.READING, role="face", value_c=58.5)
    assert tale.stage is Stage.STOPPED and tale.raised() == ["face over trip"]


def test_a_wired_lamp_never_burns_on_a_told_reading() -> None:
    tale = Tale(run_in(Stage.PREHEAT), made_facts(probes=NO_FACE))
    tale.rig.day_check_at = 0.0
    tale.does(ActKind.READING, role="face", value_c=30.0)
    tale.wait(5)
    assert not tale.lamp
    dead = Tale(run_in(Stage.PREHEAT))
    dead.rig.day_check_at = 0.0
    dead.silent = {"face"}
    dead.does(ActKind.READING, role="face", value_c=30.0)
    dead.wait(5)
    assert not dead.lamp and dead.active() == {"face probe lost"}


def test_a_rig_without_a_lamp_goes_on_when_the_board_is_warm() -> None:
    tale = Tale(run_in(Stage.PLANNED), made_facts(lamp=Wiring.ABSENT, probes=NO_FACE))
    tale.step()
    tale.does(ActKind.START, **YES)
    tale.wait(5)
    assert not tale.lamp and tale.shown().lamp.word == "none"
    assert "no lamp" in tale.shown().sentence.text
    tale.does(ActKind.READING, role="face", value_c=44.0)
    assert tale.stage is Stage.SOAK
    tale.does(ActKind.ENOUGH)
    tale.step()
    assert "UNPLUGGED" not in tale.open_acts()
    tale.does(ActKind.THINNED)
    tale.does(ActKind.COATING)


def test_a_hand_switched_pump_without_a_gauge_is_accepted_and_held() -> None:
    tale = in_stage(Stage.BAG, facts=made_facts(pump=Wiring.BY_HAND, gauge=Wiring.ABSENT))
    tale.does(ActKind.SEALED)
    assert tale.shown().press.act == "PUMP ON"  # type: ignore[union-attr]
    assert tale.shown().sentence.text.startswith("Switch the pump on and press PUMP ON.")
    tale.does(ActKind.PUMP_ON)
    assert "Nothing reads the bag" in tale.shown().sentence.text
    tale.wait(30)
    fit_to_be_seen(tale)
    tale.does(ActKind.ACCEPT, reason="hissing stopped")
    tale.wait(4000, each=10)
    assert tale.stage is Stage.HOLD and not tale.raised()
    assert tale.shown().bag.source == "lost"
    tale.does(ActKind.OPENED, reason="hard")
    assert tale.shown().press.act == "PUMP OFF"  # type: ignore[union-attr]
    tale.does(ActKind.PUMP_OFF)


def test_a_bag_without_a_pump_is_never_commanded() -> None:
    tale = in_stage(Stage.PULLDOWN, facts=made_facts(pump=Wiring.ABSENT))
    tale.wait(60)
    assert not tale.pump


def test_a_gauge_read_by_hand_is_offered_and_shown_with_its_age() -> None:
    tale = in_stage(Stage.HOLD, facts=made_facts(gauge=Wiring.BY_HAND))
    assert "READING" in tale.open_acts()
    tale.does(ActKind.READING, role="bag", value_pa=30e3, ago=20.0)
    tale.wait(100)
    shown = tale.shown().bag
    assert shown.value == 30e3 and shown.source == "by hand"
    assert shown.age_s == pytest.approx(120.0)


def test_outputs_that_are_wired_have_nothing_to_be_told() -> None:
    tale = in_stage(Stage.SOAK)
    for kind in (ActKind.LAMP_ON, ActKind.LAMP_OFF, ActKind.PUMP_ON, ActKind.PUMP_OFF):
        assert "wired" in tale.refused(kind)


# --- readings


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({}, "'role' is"),
        ({"role": "nose", "value_c": 20.0}, "'role' is"),
        ({"role": "room"}, "'value_c'"),
        ({"role": "room", "value_c": True}, "'value_c'"),
        ({"role": "room", "value_c": "20"}, "'value_c'"),
        ({"role": "room", "value_c": 200.0}, "from -20 to 110"),
        ({"role": "room", "value_c": float("nan")}, "read it again"),
        ({"role": "barometer", "value_pa": 30e3}, "from 50000"),
    ],
)
def test_a_reading_that_cannot_be_is_refused(values: dict[str, object], words: str) -> None:
    assert words in Tale().refused(ActKind.READING, **values)


def test_a_told_room_holds_for_hours_and_an_older_one_does_not_take_its_place() -> None:
    tale = Tale(run_in(Stage.FLASHOFF), made_facts(probes=frozenset()))
    tale.does(ActKind.READING, role="room", value_c=25.0)
    assert "newer reading" in tale.does(ActKind.READING, role="room", value_c=5.0, ago=600).text
    tale.wait(3600, each=600)
    assert tale.engine.view is not None and tale.engine.view.room == 25.0 + ZERO
    tale.wait(6 * 3600, each=600)
    assert tale.engine.view.room == 18.0 + ZERO


def test_a_told_barometer_stands_in_where_none_is_wired() -> None:
    tale = in_stage(Stage.HOLD)
    tale.does(ActKind.READING, role="barometer", value_pa=90e3)
    assert tale.shown().air_pa == 90e3


def test_only_values_a_sensor_can_mean_are_believed_and_none_from_the_future() -> None:
    facts = made_facts()

    def seen(value: float, at: float = 10.0) -> Sample | None:
        return believed(Readings(face=Sample(value, at)), 10.0, {}, facts).face

    assert seen(ROOM) is not None and seen(ROOM, 11.9) is not None
    assert seen(ROOM, 20.0) is None
    for value in (float("nan"), float("inf"), -1.0, 253.0, 384.0):
        assert seen(value) is None
    deep = believed(Readings(bag=Sample(0.0, 10.0)), 10.0, {}, facts)
    assert deep.bag is None
    unwired = believed(Readings(face=Sample(ROOM, 10.0)), 10.0, {}, replace(facts, probes=NO_FACE))
    assert unwired.face is None, "a probe that is not wired has nothing to say"


def test_an_estimate_far_from_its_probe_does_not_call_the_coat() -> None:
    tale = in_stage(Stage.COOLDOWN)
    tale.face = 50.0 + ZERO
    tale.wait(12)
    tale.face = 36.0 + ZERO
    tale.wait(1)
    view = tale.engine.view
    assert view is not None and view.face == pytest.approx(36.0 + ZERO, abs=0.5)
    assert view.opens is None and view.moment is not None and view.moment.seconds_left is None
    fit_to_be_seen(tale)
    assert made_sheet().coats[0].heat.window_high > 36.0 + ZERO


@pytest.mark.parametrize("gauge", [Wiring.ABSENT, Wiring.BY_HAND])
def test_a_dry_pull_that_nothing_reads_is_judged_by_the_person_alone(gauge: Wiring) -> None:
    tale = in_stage(Stage.PLANNED, facts=made_facts(gauge=gauge))
    tale.does(ActKind.DRY_PULL)
    tale.does(ActKind.READING, role="bag", value_pa=25e3)
    tale.wait(1200)
    shown = tale.shown()
    assert shown.press is not None and (shown.press.act, shown.press.due) == ("DRY PULL DONE", True)
    assert shown.sentence.text.startswith("Nothing reads the bag here.")
    assert tale.run.bag.verdict == "not tested"
