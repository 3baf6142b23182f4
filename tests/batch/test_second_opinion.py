"""The face seen from afar: a probe half off its seat is found, a healthy one is left alone."""

from dataclasses import replace

import pytest
from made import ZERO, made_facts, made_sheet
from tale import ROOM, YES, Tale, heated, in_stage, run_in, with_coat
from test_stories import fit_to_be_seen

from controller.batch import second_opinion
from controller.batch.acts import ActKind
from controller.batch.believing import PROBE_AGE
from controller.batch.events import EventKind
from controller.batch.second_opinion import (
    APART,
    DARK,
    FIRST_LOOK,
    GUN_WAIT,
    LOOK_EACH,
    LOOK_LONGEST,
    READS,
    SURE,
    TOGETHER,
)
from controller.batch.signals import Readings, RigFacts, Sample, Wiring
from controller.batch.stages import Stage
from controller.batch.state import LampState

CLOSE = made_facts(close_watch=True)


class Seen(Tale):
    """A tale whose face is also seen from afar, and whose probe may sit badly."""

    share = 1.0
    """Of the face's rise that the probe reads."""
    off = 0.0
    """What is seen from afar is this much too high, [K]."""
    wired = True
    seen: Sample | None = None

    def _readings(self) -> Readings:
        self.probe_off_by = (self.share - 1.0) * (self.cells[0] - ROOM)
        readings = super()._readings()
        if self.wired and not self.lamp:
            self.seen = Sample(self.cells[0] + self.off, self.now)
        return self.told(replace(readings, infrared=self.seen))


def heated_from_afar(
    *, facts: RigFacts | None = None, share: float = 1.0, flux: float = 700.0
) -> Seen:
    """In PREHEAT, the lamp just proved."""
    tale = Seen(run_in(Stage.PLANNED), facts)
    tale.share, tale.flux = share, flux
    tale.step()
    tale.does(ActKind.START, **YES)
    while not tale.run.lamp.proved:
        tale.step()
        assert tale.now < 80
    return tale


def soaking(
    facts: RigFacts | None = None, *, share: float = 1.0, off: float = 0.0, wired: bool = True
) -> Seen:
    """In SOAK, with the pause for the gun just begun on a rig in close watch."""
    sheet = made_sheet()
    slow = replace(sheet.coats[0].heat, lamp_on=3000.0, target_mean=60 + ZERO)
    tale = Seen(run_in(Stage.PLANNED, sheet=with_coat(sheet, heat=slow)), facts)
    tale.share, tale.off, tale.wired = share, off, wired
    if share < 1.0:
        tale.flux = 1400.0
    tale.step()
    tale.does(ActKind.START, **YES)
    while tale.stage is Stage.PREHEAT:
        tale.step()
        if tale.now % 200 == 0:
            tale.does(ActKind.PRESENT)
        assert tale.now < 2500
    assert tale.stage is Stage.SOAK, tale.run.stop_cause
    tale.does(ActKind.PRESENT)
    return tale


def to_the_next_look(tale: Seen) -> None:
    limit = tale.now + 310.0
    while tale.run.lamp.look_from is None:
        tale.step()
        assert tale.now < limit


def test_a_probe_half_off_its_seat_is_found_while_the_board_is_still_cool() -> None:
    tale = heated_from_afar(share=0.5, flux=1400.0)
    tale.until(Stage.STOPPED, 140)
    assert tale.raised() == ["probe disagrees"] and tale.run.stop_cause == "probe disagrees"
    assert tale.rig.alarms[0].values["seen"] < 50 + ZERO
    assert tale.last is not None and not tale.last.commands.dead_man
    fit_to_be_seen(tale)
    assert "still stands" in tale.refused(ActKind.RE_ARM, **YES)
    tale.does(ActKind.ACKNOWLEDGE, alarm="probe disagrees")
    tale.does(ActKind.RE_ARM, **YES)


def test_a_healthy_heat_and_its_cool_down_raise_nothing_with_another_look_at_the_face() -> None:
    for off in (0.0, 2.5, -2.5):
        tale = soaking(off=off)
        for _ in range(600):
            tale.step()
            if tale.now % 250 == 0:
                tale.does(ActKind.PRESENT)
        tale.does(ActKind.ENOUGH)
        tale.wait(240)
        assert not tale.raised(), off


def test_a_share_that_is_nearly_whole_is_found_as_the_board_warms() -> None:
    tale = heated_from_afar(share=0.75, flux=1000.0)
    for _ in range(1500):
        if tale.stage is Stage.STOPPED:
            break
        tale.step()
        if tale.now % 250 == 0:
            tale.does(ActKind.PRESENT)
    assert tale.raised() == ["probe disagrees"]
    assert tale.cells[0] < 55 + ZERO


def test_the_lamp_pauses_for_a_quarter_of_a_minute_each_five_minutes_and_stays_proved() -> None:
    tale = heated_from_afar()
    began, paused, starts = tale.now, 0, 0
    was = False
    while tale.now - began < 720:
        tale.step()
        looks = tale.run.lamp.look_from is not None
        paused, starts, was = paused + looks, starts + (looks and not was), looks
        assert not (looks and tale.lamp)
        if tale.now % 250 == 0:
            tale.does(ActKind.PRESENT)
    assert starts == 2 and paused <= 30
    assert tale.run.lamp.proved and not tale.raised()


def test_a_thermometer_that_fell_silent_ends_its_pause_after_half_a_minute() -> None:
    tale = heated_from_afar(facts=CLOSE)
    tale.told = lambda readings: replace(readings, infrared=Sample(300.0, 1.0))
    to_the_next_look(tale)
    tale.wait(35)
    assert tale.run.lamp.blind and tale.lamp
    while tale.stage is Stage.PREHEAT:
        tale.does(ActKind.PRESENT)
        tale.wait(5)
        assert tale.now < 2000
    assert tale.run.lamp.gun_asked_at is not None, "then a gun is asked for"


def test_two_readings_apart_are_a_spike_and_three_are_not() -> None:
    tale = heated_from_afar()
    to_the_next_look(tale)
    tale.wait(10)
    tale.off = APART + 6.0
    while tale.run.lamp.apart < 2:
        tale.step()
    tale.off = 0.0
    tale.step()
    assert tale.run.lamp.apart == 0 and not tale.raised()
    to_the_next_look(tale)
    tale.off = APART + 6.0
    tale.wait(15)
    assert tale.raised() == ["probe disagrees"]


def test_in_the_cool_down_it_stands_as_long_as_they_disagree_and_is_told_once() -> None:
    tale = soaking()
    tale.does(ActKind.ENOUGH)
    tale.off = 9.0
    tale.wait(60)
    assert tale.stage is Stage.COOLDOWN and tale.active() == {"probe disagrees"}
    for off in (5.0, 7.0) * 20:
        tale.off = off
        tale.step()
    assert tale.raised() == ["probe disagrees"]
    tale.off = 0.0
    tale.step()
    assert tale.alarms() == {"probe disagrees"} and not tale.active()


def test_a_board_carried_off_in_the_cool_down_is_no_probe_that_disagrees() -> None:
    carried = soaking()
    carried.does(ActKind.ENOUGH)
    carried.off = -25.0
    carried.wait(60)
    assert not carried.raised(), "nothing was pressed yet, and it sees the bench"
    carried.does(ActKind.UNPLUGGED)
    carried.off = 25.0
    carried.wait(60)
    assert not carried.raised()


def test_a_board_that_is_gone_from_under_the_lamp_in_a_heat_is_found_in_the_next_look() -> None:
    tale = heated_from_afar(flux=1000.0)
    tale.off = -15.0
    tale.until(Stage.STOPPED, 140)
    assert tale.raised() == ["probe disagrees"]


@pytest.mark.parametrize("why", ["old", "lamp fed", "probe old", "flipping", "probe off"])
def test_what_cannot_be_held_against_the_probe_is_not(why: str) -> None:
    tale = soaking()
    tale.does(ActKind.ENOUGH)
    tale.off = 20.0
    if why == "old":
        old = Sample(tale.cells[0] + 20.0, tale.now)
        tale.wired = False
        tale.told = lambda readings: replace(readings, infrared=old)
    elif why == "lamp fed":
        tale.told = lambda readings: replace(readings, lamp_fed=tale.now % 2 < 1)
    elif why == "probe old":
        tale.silent = {"face"}
        tale.wait(5)
    elif why == "flipping":
        tale.run.lamp.flipping = True
    else:
        tale.does(ActKind.PROBE_OFF)
    tale.wait(9 if why != "lamp fed" else 1)
    before = tale.run.lamp.apart
    tale.step()
    assert before == 0 and not tale.raised()


@pytest.mark.parametrize(
    ("was", "difference", "then"),
    [
        (0, APART, 0),
        (1, APART + 0.1, 2),
        (2, APART, 0),
        (READS, APART + 0.1, READS),
        (READS, APART, READS),
        (READS, TOGETHER, READS),
        (READS, TOGETHER - 0.1, 0),
    ],
)
def test_what_disagreed_is_believed_again_only_well_inside(was, difference, then) -> None:
    for sign in (1.0, -1.0):
        state = LampState(apart=was)
        second_opinion._compare(state, 512.0, 512.0 + sign * difference)
        assert state.apart == then


def cooling() -> Seen:
    """In COOLDOWN, the lamp just off."""
    tale = soaking()
    tale.does(ActKind.ENOUGH)
    return tale


def believed(tale: Seen, readings: Readings) -> float | None:
    return second_opinion.believed_face(tale.run, tale.now, readings, tale.facts, tale.engine.heat)


def test_the_face_is_held_against_another_from_ten_seconds_of_dark_and_while_it_is_sure(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    tale = cooling()
    tale.wait(30)
    off, readings = tale.run.lamp.changed_at, tale._readings()
    assert off is not None
    assert believed(tale, readings) == pytest.approx(tale.cells[0], abs=1.5)
    tale.run.lamp.changed_at = tale.now - DARK
    assert believed(tale, readings) is not None
    tale.run.lamp.changed_at = tale.now - DARK + 0.1
    assert believed(tale, readings) is None
    tale.run.lamp.changed_at = off
    for age, told in ((PROBE_AGE, True), (PROBE_AGE + 0.1, False)):
        older = replace(readings, face=Sample(tale.cells[0], tale.now - age))
        assert (believed(tale, older) is not None) is told
    for fed, told in ((False, True), (True, False)):
        assert (believed(tale, replace(readings, lamp_fed=fed)) is not None) is told
    for sure, told in ((SURE, True), (SURE + 0.01, False)):
        monkeypatch.setattr(type(tale.engine.heat), "face_sd", sure)
        assert (believed(tale, readings) is not None) is told


def test_a_board_six_kelvin_cooler_than_its_probe_may_still_lie_there() -> None:
    run = cooling().run
    assert not second_opinion._may_miss(run, 512.0, 512.0 - APART)
    assert second_opinion._may_miss(run, 512.0, 512.0 - APART - 0.1)


def test_a_reading_from_afar_counts_until_it_is_as_old_as_a_probes_may_be() -> None:
    for age, looks in ((PROBE_AGE, 1), (PROBE_AGE + 0.1, 0)):
        tale = cooling()
        tale.wait(30)
        tale.run.lamp.looks, tale.wired = 0, False
        tale.seen = None
        old = Sample(tale.cells[0], tale.now + 1.0 - age)
        tale.told = lambda readings, old=old: replace(readings, infrared=old)
        tale.step()
        assert tale.run.lamp.looks == looks, age


@pytest.mark.parametrize(
    ("looks", "apart", "lasted", "over", "blind"),
    [
        (READS, 0, 1.0, True, False),
        (READS - 1, 0, 1.0, False, False),
        (READS, 1, 1.0, False, False),
        (0, 0, LOOK_LONGEST - 0.1, False, False),
        (0, 0, LOOK_LONGEST, True, True),
        (READS, 1, LOOK_LONGEST, True, False),
    ],
)
def test_a_pause_ends_when_three_readings_agree_or_half_a_minute_is_up(
    looks, apart, lasted, over, blind
) -> None:
    run = heated_from_afar().run
    state = run.lamp
    state.looks, state.apart, state.look_from = looks, apart, 512.0 - lasted
    second_opinion._look(run, 512.0, made_facts(), True)
    assert (state.look_from is None, state.blind) == (over, blind)


def test_from_one_pause_to_the_next_five_minutes_go_by() -> None:
    for since, begins in ((LOOK_EACH - 0.1, False), (LOOK_EACH, True)):
        run = heated_from_afar().run
        run.lamp.looked_at = 512.0 - since
        second_opinion._look(run, 512.0, made_facts(), True)
        assert (run.lamp.look_from == 512.0) is begins


@pytest.mark.parametrize("why", ["no heat", "not wired", "lamp by hand", "flipping"])
def test_a_pause_ends_where_there_is_nothing_to_look_at(why: str) -> None:
    run = heated_from_afar().run
    run.lamp.look_from, run.lamp.flipping = 511.0, why == "flipping"
    run.stage = Stage.COOLDOWN if why == "no heat" else run.stage
    facts = made_facts(lamp=Wiring.BY_HAND) if why == "lamp by hand" else made_facts()
    second_opinion._look(run, 512.0, facts, why != "not wired")
    assert run.lamp.look_from is None


def test_the_first_pause_comes_two_minutes_after_the_proof() -> None:
    for proved, looked_at in ((False, None), (True, 512.0 - LOOK_EACH + FIRST_LOOK)):
        run = heated_from_afar().run
        run.lamp.looked_at, run.lamp.proved = None, proved
        second_opinion._look(run, 512.0, made_facts(), True)
        assert run.lamp.looked_at == looked_at


# --- the gun


@pytest.mark.parametrize(("waited", "over"), [(GUN_WAIT - 0.1, False), (GUN_WAIT, True)])
def test_the_gun_is_waited_for_two_minutes(waited, over) -> None:
    tale = soaking(CLOSE, wired=False)
    tale.wait(5)
    tale.run.lamp.gun_asked_at = tale.now + 1.0 - waited
    tale.step()
    assert tale.run.lamp.gun_over is over


def test_close_watch_pauses_the_lamp_once_a_heat_for_a_gun() -> None:
    tale = soaking(CLOSE, wired=False)
    tale.wait(2)
    shown = tale.shown()
    assert not tale.lamp and "infrared gun" in shown.lamp.why
    assert shown.press is not None and (shown.press.act, shown.press.due) == ("READING", True)
    assert list(shown.press.asks) == ["value_c"]
    assert "infrared gun" in shown.sentence.text and "READING" in shown.sentence.text
    tale.wait(9)
    fit_to_be_seen(tale)
    answer = tale.does(ActKind.READING, value_c=round(tale.cells[0] - ZERO, 1))
    assert answer.text.startswith("Written down: the gun reads")
    assert tale.run.lamp.gun_over
    assert tale.run.lamp.proved, "the probe sits where it sat"
    tale.wait(120)
    assert tale.lamp, "once a heat is enough"
    assert tale.run.lamp.gun_over and not tale.raised()


def test_a_gun_that_disagrees_stops_the_heat() -> None:
    tale = soaking(CLOSE, share=0.6, wired=False)
    tale.wait(12)
    gun, face = round(tale.cells[0] - ZERO, 1), tale.engine.heat
    assert face is not None
    answer = tale.does(ActKind.READING, role="gun", value_c=gun)
    reads = f"The gun reads {gun:.1f} C and the probe has {face.face - ZERO:.1f} C: one of them is"
    assert answer.text.startswith(reads)
    assert (tale.stage, tale.raised()) == (Stage.STOPPED, ["probe disagrees"])
    tale.step()
    assert not tale.active() and tale.alarms() == {"probe disagrees"}


def test_a_heat_whose_gun_nobody_read_goes_on_and_the_record_says_so() -> None:
    tale = soaking(CLOSE, wired=False)
    tale.wait(GUN_WAIT - 5)
    assert not tale.lamp
    tale.wait(60)
    assert tale.lamp
    texts = [event.text for event in tale.of_kind(EventKind.NOTE)]
    assert texts == [
        "The lamp pauses for one reading with an infrared gun.",
        "Nobody read the face with a gun: nothing checked the probe in this heat.",
    ]


def test_each_heat_and_each_face_is_looked_at_anew() -> None:
    tale = soaking(CLOSE, wired=False)
    tale.wait(GUN_WAIT + 5)
    assert tale.run.lamp.gun_over
    tale.does(ActKind.FLIP)
    tale.does(ActKind.FLIPPED)
    assert not tale.run.lamp.gun_over
    tale.wait(5)
    assert tale.run.lamp.gun_asked_at is not None
    tale.does(ActKind.STOP)
    tale.does(ActKind.RE_ARM, **YES)
    assert tale.run.lamp.gun_asked_at is None


def test_no_pause_with_a_wired_infrared_or_out_of_close_watch() -> None:
    for facts, wired in ((CLOSE, True), (made_facts(), False)):
        tale = soaking(facts, wired=wired)
        tale.wait(100)
        assert tale.run.lamp.gun_asked_at is None and tale.stage is Stage.SOAK


def test_a_gun_reading_is_taken_at_any_time_the_lamp_has_been_dark_for_ten_seconds() -> None:
    tale = soaking(wired=False)
    assert "dark for 10 s" in tale.refused(ActKind.READING, role="gun", value_c=45.0)
    tale.does(ActKind.ENOUGH)
    tale.wait(5)
    assert "dark for 10 s" in tale.refused(ActKind.READING, role="gun", value_c=45.0)
    tale.wait(10)
    assert "'value_c'" in tale.refused(ActKind.READING, role="gun", value_c=True)
    for ago in (60.0, DARK + 0.1):
        assert "dark for 10 s" in tale.refused(ActKind.READING, role="gun", value_c=45.0, ago=ago)
    tale.does(ActKind.READING, role="gun", value_c=round(tale.cells[0] - ZERO, 1), ago=DARK)
    tale.does(ActKind.READING, role="gun", value_c=80.0)
    assert tale.raised() == ["probe disagrees"] and tale.stage is Stage.COOLDOWN


@pytest.mark.parametrize(("off", "wrong"), [(0.0, False), (0.01, True)])
def test_a_gun_may_be_six_kelvin_off_and_no_more(off, wrong, monkeypatch) -> None:
    tale = soaking(CLOSE, wired=False)
    tale.wait(12)
    monkeypatch.setattr(type(tale.engine.heat), "face", ZERO + 40.0)
    answer = tale.press(ActKind.READING, role="gun", value_c=40.0 + APART + off)
    assert answer.accepted and ("one of them is wrong" in answer.text) is wrong


def test_a_gun_without_a_board_under_the_lamp_tells_nothing() -> None:
    for tale in (Tale(), in_stage(Stage.PLANNED), in_stage(Stage.HOLD)):
        assert "PREHEAT to COOLDOWN" in tale.refused(ActKind.READING, role="gun", value_c=45.0)
    assert "'role' is" in in_stage(Stage.HOLD).refused(ActKind.READING, value_c=45.0)


def test_every_heat_in_close_watch_says_what_no_software_sees() -> None:
    watched, proved = Tale(run_in(Stage.PLANNED), CLOSE), Tale(run_in(Stage.PLANNED))
    for tale in (watched, proved):
        tale.step()
    assert "no software sees" in watched.does(ActKind.START, **YES).text
    assert "no software sees" not in proved.does(ActKind.START, **YES).text
    assert heated().run.lamp.proved
