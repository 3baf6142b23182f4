"""The lamp: what keeps it dark, what its guards see, and who must be there."""

import itertools
from dataclasses import replace

import pytest
from made import ZERO, made_facts, made_sheet
from tale import ROOM, YES, Tale, heated, in_stage, run_in, with_coat

from controller.batch import interlocks, lamp, lamp_guards
from controller.batch.acts import ActKind
from controller.batch.engine import BEAT, PUNCTUAL, TOO_LATE
from controller.batch.events import EventKind
from controller.batch.heat import HeatEstimate
from controller.batch.interlocks import INTERLOCKS, LampView, lamp_forbidden
from controller.batch.lamp_guards import PROOF_LIMIT
from controller.batch.looking import first_estimate
from controller.batch.signals import Role, Sample, Wiring
from controller.batch.stages import Stage
from controller.batch.state import LampState

GOAL = lamp.Goal(43 + ZERO, 47 + ZERO, 57 + ZERO)
GOOD = LampView(
    now=1000.0,
    stage=Stage.SOAK,
    word_age=10.0,
    sample_age=1.0,
    sample_limit=5.0,
    reading=42 + ZERO,
    trip=57 + ZERO,
    lamp_seconds=100.0,
    budget=2000.0,
    latch=None,
    zone_locked=False,
    day_checked=True,
    flipping=False,
    unplugged=False,
    stop_down=False,
    tilted=False,
    cut_out_open=False,
    gun_asked=False,
    looking=False,
    late=False,
    resting=False,
    facts=made_facts(),
)
NAN = float("nan")
ONE_WRONG: list[tuple[str, dict[str, object]]] = [
    ("I-1 stage", {"stage": None}),
    *[("I-1 stage", {"stage": s}) for s in Stage if s not in (Stage.PREHEAT, Stage.SOAK)],
    ("I-15 stop", {"stop_down": True}),
    ("I-1 none", {"facts": made_facts(lamp=Wiring.ABSENT)}),
    ("I-1 zone", {"zone_locked": True}),
    ("I-1 zone", {"facts": made_facts(zone_clear=False)}),
    ("I-11 plug", {"unplugged": True}),
    ("I-17 tilt", {"tilted": True}),
    ("I-18 cut-out", {"cut_out_open": True}),
    ("I-19 gun", {"gun_asked": True}),
    ("I-20 look", {"looking": True}),
    ("I-5 latch", {"latch": "probe fell"}),
    ("I-2 reading", {"sample_age": None}),
    ("I-2 reading", {"sample_age": 5.1}),
    ("I-2 reading", {"sample_age": NAN}),
    ("I-2 reading", {"reading": None}),
    ("I-5 trip", {"reading": 57 + ZERO}),
    ("I-5 trip", {"reading": NAN}),
    ("I-5 trip", {"trip": None}),
    ("I-5 trip", {"trip": NAN}),
    ("I-7 presence", {"word_age": None}),
    ("I-7 presence", {"word_age": 900.5}),
    ("I-7 presence", {"word_age": NAN}),
    ("I-7 presence", {"word_age": 301.0, "facts": made_facts(close_watch=True)}),
    ("I-6 budget", {"lamp_seconds": 2000.0}),
    ("I-6 budget", {"budget": NAN}),
    ("I-4 hands", {"flipping": True}),
    ("I-14 late", {"late": True}),
    ("I-21 restarts", {"resting": True}),
    ("I-16 record", {"day_checked": False}),
    ("I-16 record", {"facts": made_facts(record_in_date=False)}),
]


def test_a_lamp_with_everything_in_order_may_burn() -> None:
    assert lamp_forbidden(GOOD) is None
    assert lamp_forbidden(replace(GOOD, stage=Stage.PREHEAT)) is None


@pytest.mark.parametrize(("row", "wrong"), ONE_WRONG)
def test_one_thing_wrong_or_unknown_keeps_the_lamp_dark_by_its_own_row(
    row: str, wrong: dict[str, object]
) -> None:
    found = lamp_forbidden(replace(GOOD, **wrong))  # type: ignore[arg-type]
    assert found is not None and found.id == row


def test_every_interlock_is_fired_by_some_row_above() -> None:
    assert {row.id for row in INTERLOCKS} == {name for name, _ in ONE_WRONG}


def test_no_setting_gets_a_trip_or_a_budget_past_its_limit() -> None:
    facts = made_facts()
    assert interlocks.trip_temperature(400.0, 320.0, facts) == 333.15
    assert interlocks.trip_temperature(330.0, 320.0, facts) == 330.0
    close = made_facts(close_watch=True)
    assert interlocks.trip_temperature(333.0, 320.0, close) == 325.0
    assert interlocks.lamp_budget(1000.0) == 1500.0
    assert interlocks.lamp_budget(9000.0) == 3600.0


def test_the_days_check_counts_for_just_a_day() -> None:
    checked = interlocks.day_checked
    assert checked(made_facts(), 100.0, 100.0 + 86400.0)
    assert not checked(made_facts(), 100.0, 100.5 + 86400.0)
    assert not checked(made_facts(), None, 100.0)
    assert checked(made_facts(day_check_done=True), None, 100.0)


def test_rest_ends_at_its_moment_and_one_that_is_not_known_does_not_end() -> None:
    assert not interlocks.resting(None, 100.0)
    assert interlocks.resting(100.0, 99.9) and not interlocks.resting(100.0, 100.0)
    assert interlocks.resting(NAN, 100.0)


def test_the_contactor_is_held_just_while_no_interlock_forbids_the_lamp_lit_or_not() -> None:
    tale = planned()
    seen = set()

    def goes_on(seconds: int) -> None:
        for _ in range(seconds):
            tale.step()
            view, commands = tale.engine.view, tale.last.commands  # type: ignore[union-attr]
            assert view is not None and commands.dead_man is (view.dark is None)
            seen.add((commands.dead_man, commands.lamp))

    goes_on(5)
    tale.does(ActKind.START, **YES)
    goes_on(800)
    tale.does(ActKind.FLIP)
    goes_on(5)
    tale.does(ActKind.FLIPPED)
    goes_on(5)
    tale.does(ActKind.STOP)
    goes_on(5)
    assert seen == {(False, False), (True, False), (True, True)}


# --- START


def planned(**changes: object) -> Tale:
    tale = Tale(run_in(Stage.PLANNED), made_facts(**changes))
    tale.step()
    return tale


def test_start_wants_three_confirmations_and_a_second_heat_of_the_day_one() -> None:
    tale = planned()
    assert "plug_in_reach, smoke_alarm, aired" in tale.refused(ActKind.START)
    assert "smoke_alarm" in tale.refused(ActKind.START, plug_in_reach=True, aired=True)
    tale.does(ActKind.START, **YES)
    again = planned(day_check_done=True)
    assert "aired" in again.refused(ActKind.START)
    assert "proves itself" in again.does(ActKind.START, aired=True).text
    again.wait(5)
    assert again.lamp


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"zone_clear": False}, "solvent"),
        ({"record_in_date": False}, "bench record"),
        ({"log_trouble": "disk full"}, "disk full"),
        ({"probes": frozenset({Role.ROOM})}, "wired face probe"),
    ],
)
def test_start_is_refused_and_says_what_is_missing(changes: dict[str, object], words: str) -> None:
    tale = planned(**changes)
    assert words in tale.refused(ActKind.START, **YES)
    assert tale.stage is Stage.PLANNED


def test_start_is_refused_without_a_reading_and_with_the_probe_on_another_board() -> None:
    tale = planned()
    tale.face = ROOM + 9.0
    assert "is the probe on this board" in tale.refused(ActKind.START, **YES)
    tale.room = None
    tale.does(ActKind.START, **YES)
    silent = Tale(run_in(Stage.PLANNED))
    silent.silent = {"face"}
    assert "does not read" in silent.refused(ActKind.START, **YES)


def test_start_is_refused_while_an_alarm_holds_the_lamp_off() -> None:
    tale = heated()
    tale.face -= 5.0
    tale.wait(3)
    assert tale.stage is Stage.STOPPED, "far under its highest, though it rises again"
    tale.does(ActKind.ABANDON)
    tale.run.stage = Stage.PLANNED
    assert "'probe fell' still stands" in tale.refused(ActKind.START, **YES)


# --- a healthy heat


def test_a_healthy_heat_reaches_the_band_holds_it_and_ends_hot_through() -> None:
    tale = heated()
    tale.until(Stage.SOAK, 1500)
    hottest = tale.face
    switched = 0
    was = tale.lamp
    while tale.stage is Stage.SOAK:
        tale.step()
        hottest = max(hottest, tale.face)
        switched += tale.lamp != was
        was = tale.lamp
        if tale.now - (tale.run.word_at or 0) > 600:
            tale.does(ActKind.PRESENT)
    assert tale.stage is Stage.COOLDOWN
    assert hottest < 47.5 + ZERO
    assert switched >= 2
    assert not tale.raised()
    stages = [event.stage for event in tale.of_kind(EventKind.STAGE)]
    assert stages == ["PREHEAT", "SOAK", "COOLDOWN"]


def test_the_relay_keeps_its_own_shortest_times() -> None:
    tale = heated(made_facts(lamp_min_on=40.0, lamp_min_off=90.0))
    tale.until(Stage.SOAK, 1500)
    changes, was = [], tale.lamp
    for _ in range(900):
        if tale.now % 300 == 0:
            tale.does(ActKind.PRESENT)
        tale.step()
        if tale.lamp != was:
            changes.append((tale.now, tale.lamp))
            was = tale.lamp
    pairs = list(itertools.pairwise(changes))
    assert len(pairs) >= 2
    for (at, lit), (then, _) in pairs:
        assert then - at >= (40.0 if lit else 90.0)


def test_a_board_that_is_in_its_band_already_is_not_lit_for_the_proofs_sake() -> None:
    tale = heated()
    while tale.face < GOAL.band_low + 1.0:
        tale.step()
    tale.does(ActKind.STOP)
    tale.does(ActKind.RE_ARM)
    assert tale.face > GOAL.band_low
    while not tale.lamp:
        tale.step()
        assert tale.stage is Stage.PREHEAT
    assert tale.face == pytest.approx(GOAL.band_low, abs=0.5)


# --- guards


def test_a_probe_that_stops_reading_has_the_lamp_off_before_its_last_sample_is_too_old() -> None:
    tale = heated()
    tale.silent = {"face"}
    last = tale.now
    for _ in range(20):
        tale.step()
        assert not tale.lamp or tale.now - last <= 5.0
    assert tale.active() == {"face probe lost"}
    assert tale.stage is Stage.PREHEAT
    tale.silent = set()
    tale.wait(5)
    assert not tale.lamp, "latched until somebody has looked"
    tale.does(ActKind.ACKNOWLEDGE, alarm="face probe lost")
    tale.wait(3)
    assert tale.lamp and not tale.alarms()


def test_a_probe_that_comes_back_cooler_after_a_silence_is_no_jump() -> None:
    tale = heated()
    tale.until(Stage.SOAK, 1500)
    tale.silent = {"face"}
    tale.wait(400)
    tale.silent = set()
    tale.face = 30.0 + ZERO
    tale.wait(5)
    assert tale.raised() == ["face probe lost"]


def tripped(tale: Tale, name: str) -> None:
    """The guard has halted the heat, latched its own alarm and no other, once."""
    assert tale.stage is Stage.STOPPED and not tale.lamp
    assert tale.run.stop_cause == name
    assert tale.raised() == [name]
    tale.wait(20)
    assert tale.raised() == [name]
    assert name in tale.shown().sentence.text


def test_a_falling_reading_under_a_burning_lamp_trips() -> None:
    tale = heated()
    tale.wait(20)
    for _ in range(5):
        tale.face -= 0.5
        tale.step()
    tripped(tale, "probe fell")
    assert "still stands" in tale.refused(ActKind.RE_ARM)
    tale.does(ActKind.ACKNOWLEDGE, alarm="probe fell")
    tale.does(ActKind.RE_ARM)
    assert tale.stage is Stage.PREHEAT


def test_one_spike_is_let_pass_and_a_jump_that_stays_trips() -> None:
    tale = heated()
    tale.face += 10.0
    tale.step()
    tale.face -= 10.0
    tale.wait(5)
    assert tale.stage is Stage.PREHEAT
    tale.face += 10.0
    tale.wait(3)
    tripped(tale, "probe jumped")


def test_two_readings_over_the_trip_trip_and_one_only_darkens() -> None:
    tale = heated()
    tale.face = 50.0 + ZERO
    tale.run.lamp.last_value = 56.0 + ZERO
    tale.face = 57.5 + ZERO
    tale.step()
    assert not tale.lamp and tale.stage is not Stage.STOPPED
    tale.step()
    tripped(tale, "face over trip")
    alarm = next(a for a in tale.shown().alarms)
    assert alarm.says.values["face"].value == pytest.approx(57.5 + ZERO, abs=0.2)


def test_a_lamp_the_probe_does_not_see_trips_after_its_pulse() -> None:
    tale = Tale(run_in(Stage.PLANNED))
    tale.step()
    tale.flux = 0.0
    tale.does(ActKind.START, **YES)
    lit = 0
    while tale.stage is Stage.PREHEAT:
        tale.step()
        lit += tale.lamp
        assert tale.now < 100
    assert lit <= 31
    tripped(tale, "lamp not seen")


def test_a_face_that_stays_where_it_is_well_under_the_band_trips() -> None:
    tale = heated()
    stood = tale.face
    tale.told = lambda readings: replace(
        readings, face=Sample(stood + 0.01 * (tale.now % 2), tale.now)
    )
    # as after a gap, in which the estimate is not held against the readings
    tale.run.lamp.astray_from = tale.now + 200.0
    tale.wait(130)
    tripped(tale, "no rise")
    assert "settles" in next(a for a in tale.shown().alarms).says.values


def test_a_frozen_reading_trips_where_a_working_one_would_have_moved() -> None:
    tale = heated()
    frozen = tale.face
    tale.told = lambda readings: replace(readings, face=Sample(frozen, tale.now))
    tale.wait(65)
    tripped(tale, "probe frozen")


def test_a_heat_that_spends_its_lamp_time_before_the_band_is_halted() -> None:
    tale = heated()
    tale.run.lamp.seconds["A"] = 1949.0
    tale.wait(4)
    assert tale.stage is Stage.STOPPED
    assert tale.raised() == ["lamp time spent"]
    tale.does(ActKind.RE_ARM)
    tale.step()
    assert tale.stage is Stage.STOPPED and not tale.lamp


def test_a_soak_that_spends_it_goes_on_to_the_cool_down_without_a_call() -> None:
    tale = heated()
    tale.until(Stage.SOAK, 1500)
    tale.run.lamp.seconds["A"] = 1949.0
    tale.until(Stage.COOLDOWN, 200)
    assert not tale.raised()


def test_a_lamp_that_burns_through_a_gap_spends_all_of_it() -> None:
    tale = heated()
    assert tale.lamp
    spent = tale.run.lamp.seconds["A"]
    tale.step(60.0)
    assert not tale.lamp, "a late step is a gap, and the lamp is off"
    assert tale.run.lamp.seconds["A"] == pytest.approx(spent + 60.0)
    gap = tale.of_kind(EventKind.GAP)[-1]
    assert gap.data == {"gap_s": 60.0, "counted_s": 2.0}


def test_after_a_step_that_was_a_little_late_the_lamp_waits_for_ten_in_time() -> None:
    tale = heated()
    tale.step(BEAT + TOO_LATE)
    for _ in range(PUNCTUAL - 1):
        assert not tale.lamp and "the controller was late" in tale.shown().sentence.text
        tale.step()
    tale.wait(2)
    assert tale.lamp and tale.run.lamp.proved, "the probe still sits where it sat"
    assert not tale.raised() and tale.stage is Stage.PREHEAT


@pytest.mark.parametrize("late", [2.1, 5.0, 20.0])
@pytest.mark.parametrize("stage", [Stage.PREHEAT, Stage.SOAK])
def test_a_heat_that_nobody_minded_for_two_seconds_is_halted_until_re_armed(
    stage: Stage, late: float
) -> None:
    tale = heated()
    tale.until(stage, 1500)
    tale.step(BEAT + late)
    assert not tale.lamp and not tale.last.commands.dead_man
    assert tale.stage is Stage.STOPPED and tale.run.left is stage
    assert tale.raised() == ["controller late"]
    tale.wait(30)
    tale.does(ActKind.PRESENT)
    tale.wait(30)
    assert not tale.lamp, "a word is not enough"
    tale.does(ActKind.RE_ARM)
    tale.wait(3)
    assert tale.stage is Stage.PREHEAT and tale.last.commands.dead_man


def test_re_arm_right_after_a_late_step_lights_nothing_before_ten_in_time() -> None:
    tale = heated()
    tale.step(10.0)
    tale.does(ActKind.RE_ARM)
    dark = 0
    while not tale.lamp:
        dark += 1
        assert dark < 60
        tale.step()
    assert dark >= PUNCTUAL - 2 and not tale.run.lamp.proved


def test_a_late_step_in_the_proof_pulse_does_not_fail_it() -> None:
    tale = heated()
    tale.does(ActKind.STOP)
    tale.wait(5)
    tale.does(ActKind.RE_ARM)
    tale.wait(8)
    assert tale.lamp and not tale.run.lamp.proved
    tale.step(BEAT + TOO_LATE)
    tale.wait(PROOF_LIMIT + 20)
    assert "lamp not seen" not in tale.raised() and tale.run.lamp.proved


def test_a_lamp_in_a_persons_hand_is_not_halted_for_lateness() -> None:
    tale = Tale(run_in(Stage.PREHEAT), made_facts(lamp=Wiring.BY_HAND))
    tale.step()
    tale.step(20.0)
    assert tale.stage is Stage.PREHEAT and "controller late" not in tale.raised()


def test_a_step_of_just_its_cap_is_no_gap() -> None:
    tale = heated()
    tale.step(2.0)
    assert tale.lamp and not tale.of_kind(EventKind.GAP)


@pytest.mark.parametrize(("close_watch", "limit"), [(False, 900.0), (True, 300.0)])
def test_without_a_word_the_lamp_goes_dark_and_a_word_lights_it_again(
    close_watch: bool, limit: float
) -> None:
    sheet = made_sheet()
    heat = replace(sheet.coats[0].heat, target_mean=46 + ZERO, lamp_on=2400.0)
    tale = heated(made_facts(close_watch=close_watch), with_coat(sheet, heat=heat))
    word = tale.run.word_at or 0.0
    while tale.now - word <= limit:
        assert not tale.raised()
        tale.step()
    tale.wait(3)
    assert not tale.lamp and tale.active() == {"nobody there"}
    assert tale.stage in (Stage.PREHEAT, Stage.SOAK)
    assert "nobody has said" in tale.shown().sentence.text
    tale.wait(60)
    assert not tale.lamp
    tale.does(ActKind.PRESENT)
    assert not tale.alarms()
    tale.wait(20)
    assert tale.lamp


# --- the lamp that does not go off


def test_a_board_that_goes_on_warming_after_lamp_off_calls() -> None:
    tale = heated()
    tale.until(Stage.SOAK, 1500)
    tale.does(ActKind.ENOUGH)
    for _ in range(300):
        tale.face += 0.07
        tale.step()
    assert tale.raised() == ["lamp does not go off"]
    assert tale.active(), "the cause lasts as long as the board is warmer than it was"
    tale.probe_off_by = 0.0
    tale.wait(900)
    assert tale.alarms() and not tale.active()


def test_a_live_sense_line_calls_at_once_and_a_probe_put_back_by_hand_does_not() -> None:
    tale = heated()
    tale.until(Stage.SOAK, 1500)
    tale.does(ActKind.ENOUGH)
    tale.lamp_fed = True
    tale.wait(4)
    assert tale.raised() == ["lamp does not go off"]
    hands = heated()
    hands.until(Stage.SOAK, 1500)
    hands.does(ActKind.ENOUGH)
    hands.wait(95)
    hands.face -= 8.0
    hands.wait(5)
    for _ in range(8):
        hands.face += 1.0
        hands.step()
    hands.wait(100)
    assert not hands.raised()


# --- flip


def test_flip_darkens_at_once_and_the_other_face_is_proved_anew() -> None:
    tale = heated()
    tale.until(Stage.SOAK, 1500)
    tale.does(ActKind.FLIP)
    assert not tale.lamp
    assert "Turn the board" in tale.shown().sentence.text
    assert tale.shown().press.act == "FLIPPED"  # type: ignore[union-attr]
    tale.wait(20)
    assert not tale.lamp
    tale.face -= 12.0
    tale.does(ActKind.FLIPPED)
    assert tale.run.lamp.side == "B" and not tale.run.lamp.proved
    tale.wait(40)
    assert tale.run.lamp.proved and tale.run.lamp.seconds["B"] > 0
    assert not tale.raised()
    assert "FLIP comes first" in tale.refused(ActKind.FLIPPED)
    tale.does(ActKind.FLIP)
    tale.does(ActKind.FLIPPED)
    assert tale.run.lamp.side == "A"


def test_a_board_turned_before_the_first_step_under_the_lamp_is_only_turned() -> None:
    tale = planned()
    acts = (ActKind.START, ActKind.FLIP, ActKind.FLIPPED)
    stages = ("PLANNED", "PREHEAT", "PREHEAT")
    told = [tale.act(k, stage=s, **YES) for k, s in zip(acts, stages, strict=True)]
    step = tale.step(1.0, *told)
    assert all(answer.accepted for answer in step.answers)
    assert tale.run.lamp.side == "B" and not tale.lamp


# --- reheat


def cooled() -> Tale:
    tale = heated()
    tale.until(Stage.SOAK, 1500)
    tale.does(ActKind.ENOUGH)
    tale.step()
    return tale


def test_reheat_counts_as_a_word_goes_on_with_the_budget_and_believes_the_probe_again() -> None:
    tale = cooled()
    tale.does(ActKind.UNPLUGGED)
    tale.does(ActKind.PROBE_OFF)
    assert tale.shown().face.source == "estimate"
    tale.wait(30)
    spent = tale.run.lamp.seconds["A"]
    tale.does(ActKind.REHEAT)
    assert tale.stage is Stage.PREHEAT and not tale.run.unplugged
    assert tale.shown().face.source == "probe"
    tale.wait(20)
    assert tale.lamp and tale.run.lamp.seconds["A"] > spent
    assert not tale.run.probe_off


def test_reheat_is_over_once_the_thinner_is_open() -> None:
    tale = cooled()
    tale.does(ActKind.UNPLUGGED)
    assert "REHEAT" in tale.open_acts()
    tale.does(ActKind.THINNED)
    assert "REHEAT" not in tale.open_acts()
    assert "thinner is open" in tale.refused(ActKind.REHEAT)
    tale.does(ActKind.STOP)
    assert "thinner was opened" in tale.refused(ActKind.RE_ARM)
    assert "RE-ARM" not in tale.open_acts()
    assert "thinner is open" in tale.shown().sentence.text
    tale.does(ActKind.RESUME)
    assert tale.stage is Stage.COOLDOWN


def test_the_days_check_wears_off_and_re_arm_then_asks_for_it() -> None:
    tale = in_stage(Stage.STOPPED, left=Stage.PREHEAT)
    tale.rig.day_check_at = tale.now
    assert tale.shown().press.asks == {}  # type: ignore[union-attr]
    tale.wait(90000, each=600)
    press = tale.shown().press
    assert press is not None and set(press.asks) == set(YES)
    assert "RE-ARM needs a yes to" in tale.refused(ActKind.RE_ARM)
    tale.does(ActKind.RE_ARM, **YES)
    tale.wait(PUNCTUAL)
    assert tale.lamp


def test_re_arm_is_not_for_a_stage_that_needs_no_lamp() -> None:
    tale = in_stage(Stage.STOPPED, left=Stage.HOLD)
    assert "press RESUME" in tale.refused(ActKind.RE_ARM)


# --- buttons


def test_a_stop_button_held_down_beats_everything_and_is_told_once() -> None:
    tale = heated()
    assert tale.lamp
    tale.stop = True
    step = tale.step(1.0, tale.act(ActKind.PRESENT))
    assert tale.stage is Stage.STOPPED and not step.commands.lamp
    assert "let it go" in tale.refused(ActKind.RE_ARM)
    tale.wait(10)
    told = [e for e in tale.of_kind(EventKind.ACT) if e.data["act"] == "STOP"]
    assert len(told) == 1
    tale.stop = False
    tale.step()
    tale.does(ActKind.RE_ARM)
    tale.wait(5)
    assert tale.lamp


def test_a_stop_in_the_same_second_as_a_re_arm_has_the_last_word() -> None:
    tale = in_stage(Stage.STOPPED, left=Stage.PREHEAT)
    step = tale.step(1.0, tale.act(ActKind.STOP), tale.act(ActKind.RE_ARM))
    assert [answer.accepted for answer in step.answers] == [True, True]
    assert tale.stage is Stage.STOPPED and not step.commands.lamp
    tale.wait(5)
    assert not tale.lamp


def test_a_stop_button_without_a_batch_is_one_act_and_resume_waits_for_it() -> None:
    empty = Tale()
    empty.stop = True
    empty.wait(5)
    assert len(empty.of_kind(EventKind.ACT)) == 1
    held = in_stage(Stage.STOPPED, left=Stage.HOLD)
    held.stop = True
    held.step()
    assert "let it go" in held.refused(ActKind.RESUME)


def test_next_stands_for_what_is_due_with_sticky_hands_and_never_warms_or_resumes() -> None:
    tale = in_stage(Stage.COAT)
    tale.next = True
    tale.step()
    assert tale.stage is Stage.BAG
    tale.next = True
    tale.step()
    assert tale.stage is Stage.PULLDOWN
    tale.next = True
    tale.step()
    assert tale.rig.zone.tidied_at is not None
    for left in (Stage.PREHEAT, Stage.HOLD):
        halted = in_stage(Stage.STOPPED, left=left)
        halted.next = True
        halted.wait(3)
        assert halted.stage is Stage.STOPPED
    first = Tale(run_in(Stage.COAT))
    first.next = True
    first.step()
    assert first.stage is Stage.COAT, "nothing was shown yet"


# --- corners of the guards themselves


def board() -> HeatEstimate:
    return first_estimate(made_sheet().coats[0], ROOM, ROOM, made_facts())


def test_guards_without_any_reading_or_before_any_switching_say_nothing() -> None:
    state = LampState()
    assert lamp_guards.tripped(state, 0.0, None, board(), GOAL) is None
    assert lamp_guards.tripped_by_hand(state, None, GOAL) is None
    assert not lamp.does_not_go_off(state, 0.0, None)
    assert not lamp_guards.note_sample(state, None)


def test_the_watch_on_a_dark_lamp_needs_readings_and_its_own_time() -> None:
    state = LampState(on=True)
    lamp.command(state, 0.0, False)
    assert not lamp.command(state, 0.0, False)
    assert not lamp.does_not_go_off(state, 100.0, None)
    assert not lamp.does_not_go_off(state, 100.0, Sample(300.0, 5.0))
    assert not lamp.does_not_go_off(state, 100.0, Sample(300.0, 99.0))
    assert not lamp.does_not_go_off(state, 101.0, Sample(300.0, 99.0))
    assert lamp.does_not_go_off(state, 140.0, Sample(302.5, 140.0))
    assert lamp.does_not_go_off(state, 190.0, Sample(303.0, 190.0))
    assert not lamp.does_not_go_off(state, 300.0, Sample(299.0, 300.0))
    assert not lamp.does_not_go_off(state, 310.0, Sample(310.0, 410.0))
