"""The guards of a heat, each at its own edges: what trips, and the near miss that does not."""

from dataclasses import dataclass, replace
from typing import cast

import pytest
from made import ZERO, made_facts
from tale import ROOM, YES, Tale, heated, run_in

from controller.batch import lamp_guards
from controller.batch.acts import ActKind
from controller.batch.heat import HeatEstimate
from controller.batch.lamp import Goal, command, wait_with_it, wanted
from controller.batch.signals import Sample, Wiring
from controller.batch.stages import Stage
from controller.batch.state import LampState

# The edges are written out here: a threshold that moves has to move in two places.
PROOF_LIMIT, PROOF_RISE = 75.0, 1.0
NO_RISE_TIME, NO_RISE_MARGIN = 120.0, 8.0
FALL, FALL_TIME = 1.5, 20.0
ASTRAY, ASTRAY_READS, ASTRAY_WAIT = 4.0, 3, 60.0
TOO_STRONG, STRONG_TIME = 1.6, 400.0
JUMP, SILENCE = 6.0, 10.0
FROZEN_TIME, FROZEN_EXPECTED = 60.0, 0.5
CYCLE = 12.5
GOAL = Goal(43 + ZERO, 47 + ZERO, 57 + ZERO)
COOL = 30 + ZERO
"""A face on its way."""
HAIR = 2.0**-20
"""Just over or under an edge, [K] or [s]; a power of two, so that times add up."""


@dataclass
class Believed:
    """An estimate that says what it is told to say."""

    probe: float = COOL
    face: float = COOL
    face_sd: float = 0.5
    flux: float = 700.0
    flux_sd: float = 0.0
    expected_flux: float = 700.0
    settles: float = 90 + ZERO
    ahead: float = 0.0
    """How much the face moves in the look ahead, [K]."""

    def settles_at(self) -> float:
        return self.settles

    def face_after(self, seconds: float, lamp_seconds: float = 0.0) -> float:
        del seconds
        return self.face + (self.ahead if lamp_seconds else 0.0)

    @property
    def heat(self) -> HeatEstimate:
        return cast(HeatEstimate, self)


@dataclass
class Watch:
    """A lamp that burns on a probe it proved, and the readings it is told."""

    state: LampState
    believed: Believed
    now: float = 1000.0
    goal: Goal = GOAL

    def reads(self, kelvin: float, after: float = 1.0, *, old: bool = False) -> str | None:
        """One more reading; the guard that trips on it."""
        self.now += after
        at = self.state.last_sample_at if old and self.state.last_sample_at else self.now
        return lamp_guards.tripped(
            self.state, self.now, Sample(kelvin, at), self.believed.heat, self.goal
        )


def watch(*, on: bool = True, proved: bool = True, since: float = 100.0) -> Watch:
    """As it is this long, [s], after the last switching, at 1000 s."""
    state = LampState(on=on, proved=proved, changed_at=1000.0 - since, proof_from=950.0)
    state.proof_start = COOL
    return Watch(state, Believed())


# --- trip, jump and spike


def test_the_trip_itself_trips_on_its_second_reading_in_a_row() -> None:
    told = watch()
    told.believed.probe = told.goal.trip
    told.state.last_value = told.goal.trip - 1.0
    assert told.reads(told.goal.trip) is None
    assert told.reads(told.goal.trip, old=True) is None, "the same sample is not a second one"
    assert told.reads(told.goal.trip - HAIR) is None
    assert told.reads(told.goal.trip) is None
    assert told.reads(told.goal.trip) == "face over trip"
    assert told.reads(float("nan")) == "face over trip"


def test_a_lamp_in_a_hand_trips_on_the_same_two_readings_and_on_nothing_else() -> None:
    state = LampState()
    by_hand = lamp_guards.tripped_by_hand
    assert by_hand(state, Sample(GOAL.trip, 1.0), GOAL) is None
    assert by_hand(state, Sample(GOAL.trip, 1.0), GOAL) is None
    assert state.last_sample_at == 1.0 and state.over == 1
    assert by_hand(state, Sample(GOAL.trip, 2.0), GOAL) == "face over trip"
    assert by_hand(state, Sample(GOAL.trip, 2.0), GOAL) is None, "told once"
    assert by_hand(state, Sample(COOL, 3.0), GOAL) is None and state.over == 0


def test_a_step_of_just_the_jump_is_a_board_and_more_of_it_twice_is_not() -> None:
    told = watch(on=False)
    assert told.reads(COOL) is None
    assert told.reads(COOL + JUMP) is None and told.state.odd == 0
    assert told.reads(COOL) is None and told.state.odd == 0
    assert told.reads(COOL + JUMP + HAIR) is None and told.state.odd == 1
    assert told.reads(COOL) is None and told.state.odd == 0
    assert told.reads(COOL - JUMP - HAIR) is None and told.state.odd == 1
    assert told.state.last_value == COOL
    assert told.reads(COOL - JUMP - HAIR) == "probe jumped"


def test_a_lone_spike_is_not_looked_at_and_a_second_reading_of_it_is() -> None:
    state = LampState()
    assert lamp_guards.note_sample(state, Sample(COOL, 1.0))
    assert not lamp_guards.note_sample(state, Sample(COOL, 1.0))
    assert not lamp_guards.note_sample(state, Sample(COOL + 20.0, 2.0))
    assert lamp_guards.note_sample(state, Sample(COOL + 20.0, 3.0)) and state.odd == 2
    assert lamp_guards.note_sample(state, Sample(COOL, 4.0)) and state.odd == 0


@pytest.mark.parametrize(("gap", "jumps"), [(SILENCE, True), (SILENCE + HAIR, False)])
def test_only_after_a_silence_is_a_far_reading_no_jump(gap: float, jumps: bool) -> None:
    state = LampState()
    lamp_guards.note_sample(state, Sample(COOL, 100.0))
    state.astray = 2
    assert lamp_guards.note_sample(state, Sample(COOL + 20.0, 100.0 + gap)) is not jumps
    assert state.odd == int(jumps)
    later = 100.0 + gap + ASTRAY_WAIT
    assert (state.astray, state.astray_from) == ((2, 0.0) if jumps else (0, later))


# --- the proof


def proving() -> Watch:
    """A pulse that began at 1000 s, its lamp on."""
    told = watch(proved=False, since=0.0)
    told.state.proof_from = 1000.0
    return told


def test_a_rise_of_just_a_kelvin_proves_the_lamp_and_starts_the_wait_of_the_estimate() -> None:
    told = proving()
    assert told.reads(COOL + PROOF_RISE - HAIR) is None and not told.state.proved
    assert told.reads(COOL + PROOF_RISE) is None and told.state.proved
    assert told.state.astray_from == told.now + ASTRAY_WAIT


def test_a_probe_that_falls_on_for_a_while_under_the_new_light_is_proved_from_its_lowest() -> None:
    told = proving()
    assert told.reads(COOL - 1.0, 5.0) is None
    assert told.reads(COOL - 1.0 + PROOF_RISE - HAIR, 20.0) is None and not told.state.proved
    assert told.reads(COOL - 1.0 + PROOF_RISE, 5.0) is None and told.state.proved


def test_a_reading_from_before_the_pulse_proves_nothing() -> None:
    told = proving()
    told.now = 999.0
    assert told.reads(COOL + 3.0) is None and not told.state.proved
    assert told.reads(COOL + 3.0, HAIR) is None and told.state.proved


@pytest.mark.parametrize("on", [True, False])
def test_a_pulse_nobody_saw_fails_when_its_time_is_up_lit_or_dark(on: bool) -> None:
    told = proving()
    told.state.on = on
    assert told.reads(COOL + 0.2, PROOF_LIMIT - HAIR) is None
    assert told.reads(COOL + 0.3, HAIR) == "lamp not seen"


def test_a_lamp_that_was_never_to_prove_itself_is_not_judged_by_it() -> None:
    told = proving()
    told.state.proof_start = None
    assert told.reads(COOL, 200.0) is None
    told.state.proof_start, told.state.proof_from = COOL, None
    assert told.reads(COOL + 2.0) is None and not told.state.proved
    told.state.proof_from, told.state.proved = 1000.0, True
    assert told.reads(COOL + 2.1) is None


# --- a fall


def test_a_fall_wants_more_than_its_depth_and_twenty_seconds_of_lamp() -> None:
    told = watch(since=FALL_TIME - 3.0)
    told.believed.probe = COOL
    assert told.reads(COOL + 2.0) is None
    assert told.reads(COOL + 2.0 - FALL - HAIR) is None, "2 s short"
    assert told.reads(COOL + 2.0 - FALL - 2 * HAIR) == "probe fell"


def test_a_fall_of_just_its_depth_and_one_that_turns_are_let_pass() -> None:
    told = watch()
    assert told.reads(COOL + 2.0) is None
    assert told.reads(COOL + 2.0 - FALL) is None
    assert told.reads(COOL) == "probe fell"
    assert told.reads(COOL + 0.1) is None, "a probe that lags turns"
    assert told.reads(COOL + 0.1, old=True) is None
    assert told.reads(COOL) == "probe fell", "no higher than its lowest is no turn"


def test_a_higher_reading_begins_the_fall_anew() -> None:
    told = watch()
    assert [told.reads(COOL + kelvin) for kelvin in (2.0, 1.0, 3.0, 2.0)] == [None] * 4
    assert told.state.highest == COOL + 3.0 and told.state.lowest == COOL + 2.0


def test_a_reading_back_at_its_highest_begins_the_fall_anew() -> None:
    told = watch(since=FALL_TIME - 4.0)
    assert [told.reads(COOL + kelvin) for kelvin in (4.0, 1.0, 4.0)] == [None] * 3
    assert told.reads(COOL + 2.0) == "probe fell", "higher than its first low, and a fall"


def test_a_dark_lamp_forgets_what_was_highest() -> None:
    told = watch()
    told.reads(COOL + 2.0)
    command(told.state, told.now, False)
    assert told.reads(COOL + 1.0) is None
    assert (told.state.highest, told.state.lowest, told.state.rise_from) == (None,) * 3


# --- a probe that went astray


def test_three_readings_far_under_what_is_due_trip_lit_or_dark() -> None:
    for on in (True, False):
        told = watch(on=on)
        told.believed.probe = COOL + ASTRAY + HAIR
        assert [told.reads(COOL) for _ in range(ASTRAY_READS - 1)] == [None, None]
        assert told.reads(COOL, old=True) is None, "the same sample is not a third one"
        assert told.reads(COOL) == "probe astray"


def test_a_reading_just_that_far_under_is_let_pass_and_begins_the_count_anew() -> None:
    told = watch(on=False)
    told.believed.probe = COOL + ASTRAY + 1.0
    told.reads(COOL)
    told.reads(COOL)
    assert told.state.astray == 2
    assert told.reads(told.believed.probe - ASTRAY) is None and told.state.astray == 0
    assert [told.reads(COOL) for _ in range(ASTRAY_READS)] == [None, None, "probe astray"]


def test_the_estimate_has_its_time_after_the_proof_and_an_unproved_probe_is_not_judged() -> None:
    told = watch(on=False)
    told.believed.probe = COOL + 9.0
    told.state.astray_from = 1005.0
    assert [told.reads(COOL) for _ in range(6)] == [None] * 6
    assert told.state.astray == 2
    assert told.reads(COOL) == "probe astray"
    fresh = watch(proved=False)
    fresh.state.proof_from = None
    fresh.believed.probe = COOL + 9.0
    assert [fresh.reads(COOL + kelvin / 10) for kelvin in range(5)] == [None] * 5


def in_the_band() -> Tale:
    """A soak a while old, its lamp just dark after one of its short burns."""
    tale = heated()
    tale.until(Stage.SOAK, 1500)
    tale.wait(240)
    while not tale.lamp:
        tale.step()
    while tale.lamp:
        tale.step()
    assert tale.stage is Stage.SOAK and tale.now < 880
    return tale


def test_a_probe_that_slips_in_the_band_is_told_though_the_lamp_only_comes_and_goes() -> None:
    tale = in_the_band()
    for _ in range(20):
        tale.probe_off_by -= 0.3
        tale.step()
    tale.wait(10)
    assert tale.stage is Stage.STOPPED and tale.run.stop_cause == "probe astray"
    assert tale.raised() == ["probe astray"]
    assert "far under what this heat should show" in tale.shown().alarms[0].says.text
    assert "still stands" in tale.refused(ActKind.RE_ARM)
    tale.does(ActKind.ACKNOWLEDGE, alarm="probe astray")
    tale.does(ActKind.RE_ARM)
    assert tale.stage is Stage.PREHEAT and tale.run.lamp.astray == 0


def test_a_probe_that_comes_a_little_loose_in_the_band_is_let_pass() -> None:
    tale = in_the_band()
    tale.probe_off_by = -1.0
    tale.wait(60)
    assert not tale.raised() and tale.stage is Stage.SOAK


# --- no rise


def test_two_minutes_without_a_kelvin_trip_well_under_the_band() -> None:
    told = watch()
    told.reads(COOL)
    assert told.reads(COOL + PROOF_RISE - HAIR, NO_RISE_TIME - HAIR) is None
    told.believed.probe = COOL + PROOF_RISE - HAIR
    assert told.reads(COOL + PROOF_RISE - HAIR, HAIR) == "no rise"
    assert told.reads(COOL + PROOF_RISE) is None, "a kelvin begins the two minutes anew"
    assert told.state.rise_start == COOL + PROOF_RISE and told.state.rise_from == told.now


@pytest.mark.parametrize(
    ("settles", "under", "trips"),
    [
        (90 + ZERO, NO_RISE_MARGIN, False),
        (90 + ZERO, NO_RISE_MARGIN + HAIR, True),
        (GOAL.band_low - 3.0, NO_RISE_MARGIN + 3.0, False),
        (GOAL.band_low - 3.0, NO_RISE_MARGIN + 3.0 + HAIR, True),
        (GOAL.band_low - NO_RISE_MARGIN, 2 * NO_RISE_MARGIN, False),
        (GOAL.band_low - NO_RISE_MARGIN - HAIR, 2.0, True),
    ],
)
def test_how_far_under_counts_from_the_band_or_where_a_weak_lamp_settles(
    settles: float, under: float, trips: bool
) -> None:
    told = watch()
    told.believed.settles = settles
    reading = told.believed.probe = GOAL.band_low - under
    told.reads(reading)
    told.reads(reading + 0.01, 60.0)
    assert told.reads(reading, 60.0) == ("no rise" if trips else None)


# --- a frozen reading


def test_the_very_same_reading_for_a_minute_trips_where_more_than_half_a_kelvin_was_due() -> None:
    for on in (True, False):
        told = watch(on=on)
        told.believed.probe = COOL
        told.reads(COOL)
        told.believed.probe = COOL + FROZEN_EXPECTED + HAIR
        assert told.reads(COOL, FROZEN_TIME - HAIR) is None
        told.believed.probe = COOL
        assert told.reads(COOL, HAIR) == "probe frozen", "up and back is a move too"


def test_a_minute_in_which_just_half_a_kelvin_was_due_is_let_pass() -> None:
    told = watch(on=False)
    told.believed.probe = COOL - FROZEN_EXPECTED / 2
    told.reads(COOL)
    told.believed.probe = COOL + FROZEN_EXPECTED / 2
    assert told.reads(COOL, 90.0) is None
    told.believed.probe -= FROZEN_EXPECTED + HAIR
    assert told.reads(COOL) == "probe frozen"


def test_another_reading_begins_the_minute_anew() -> None:
    told = watch(on=False)
    told.reads(COOL)
    told.believed.probe = COOL + 2.0
    assert told.reads(COOL + 0.0625, 59.0) is None
    assert told.reads(COOL + 0.0625, 59.0) is None
    told.believed.probe = COOL + 2.6
    assert told.reads(COOL + 0.0625, 1.0) == "probe frozen"


def test_a_probe_in_hands_may_stand_still() -> None:
    told = watch(on=False, proved=False)
    told.state.proof_from = None
    told.reads(COOL)
    told.believed.probe = COOL - 3.0
    assert told.reads(COOL, 90.0) is None and told.state.same_from is None


def test_a_reading_that_freezes_in_the_band_is_told() -> None:
    tale = heated()
    tale.until(Stage.SOAK, 1500)
    frozen = tale.face
    tale.told = lambda readings: replace(readings, face=Sample(frozen, tale.now))
    tale.wait(200)
    assert tale.stage is Stage.STOPPED and tale.raised() == ["probe frozen"]


# --- a lamp too strong


def test_a_lamp_far_stronger_for_sure_than_reckoned_trips_once_and_is_let_pass_by_re_arm() -> None:
    told = watch()
    told.believed.flux = TOO_STRONG * 700.0 + 50.0
    told.believed.flux_sd = 50.0
    assert told.reads(COOL) is None, "just as strong as that"
    told.believed.flux += HAIR
    assert told.reads(COOL + 0.1) == "lamp too strong"
    assert told.state.flux_let_pass == told.believed.flux
    assert told.reads(COOL + 0.2) is None, "it is now held against what it was found to give"
    told.believed.flux = 50.0 + TOO_STRONG * told.state.flux_let_pass + HAIR
    assert told.reads(COOL + 0.3) == "lamp too strong"


def test_how_strong_a_lamp_is_is_judged_while_it_can_be_told_from_the_losses() -> None:
    told = watch()
    told.believed.flux = 2.0 * 700.0
    assert told.reads(COOL, STRONG_TIME - 50.0) == "lamp too strong"
    late = watch()
    late.believed.flux = 2.0 * 700.0
    assert late.reads(COOL, STRONG_TIME - 50.0 + HAIR) is None
    late.believed.face = GOAL.trip + late.believed.face_sd
    assert late.reads(COOL + 0.1) == "lamp too strong", "a face over the trip is always judged"


def test_a_face_over_the_trip_for_sure_trips_though_its_probe_lags() -> None:
    told = watch()
    told.believed.face = GOAL.trip + told.believed.face_sd - HAIR
    assert told.reads(COOL) is None
    told.believed.face = GOAL.trip + told.believed.face_sd
    told.believed.flux = 300.0
    assert told.reads(COOL + 0.1) == "lamp too strong"
    told.state.flux_let_pass = 900.0
    assert told.reads(COOL + 0.2) == "lamp too strong"
    assert told.state.flux_let_pass == 900.0


def test_a_lamp_that_is_dark_or_not_proved_is_not_called_strong() -> None:
    never = watch()
    never.state.proof_from = None
    for told in (watch(on=False), watch(proved=False), never):
        told.believed.flux = 5000.0
        assert [told.reads(COOL), told.reads(COOL + 0.1)] == [None, None]


def strong(flux: float) -> Tale:
    """A heat under a lamp other than the 700 W/m2 it is reckoned with."""
    tale = Tale(run_in(Stage.PLANNED))
    tale.flux = flux
    tale.step()
    tale.does(ActKind.START, **YES)
    while tale.stage is not Stage.STOPPED and tale.now < 300:
        tale.step()
    return tale


def test_a_lamp_hung_too_low_stops_the_heat_and_one_a_third_stronger_does_not() -> None:
    tale = strong(2.8 * 700.0)
    assert tale.stage is Stage.STOPPED and tale.raised() == ["lamp too strong"]
    assert tale.face < GOAL.trip, "before the reading is at the trip"
    assert "than under the lamp that was planned with" in tale.shown().alarms[0].says.text
    tale.does(ActKind.ACKNOWLEDGE, alarm="lamp too strong")
    tale.does(ActKind.RE_ARM)
    tale.wait(3)
    assert tale.raised() == ["lamp too strong"]
    assert not strong(1.33 * 700.0).raised()


# --- the relay's cycle, and a lamp that waits


def test_the_relay_closes_no_sooner_than_a_cycle_after_it_closed_last() -> None:
    facts = made_facts(lamp_min_on=1.0, lamp_min_off=1.0)
    state, believed = LampState(proved=True, proof_from=0.0), Believed()
    told = Sample(COOL, 0.0)
    assert wanted(state, 100.0, told, believed.heat, GOAL, facts)
    command(state, 100.0, True)
    command(state, 104.0, False)
    assert state.closed_at == 100.0
    assert not wanted(state, 100.0 + CYCLE - HAIR, told, believed.heat, GOAL, facts)
    assert wanted(state, 100.0 + CYCLE, told, believed.heat, GOAL, facts)


def test_no_five_minutes_of_a_soak_hold_more_than_25_closings() -> None:
    tale = heated(made_facts(lamp_min_on=1.0, lamp_min_off=1.0))
    tale.flux = 1100.0
    tale.until(Stage.SOAK, 1500)
    closings, was = [], tale.lamp
    for _ in range(600):
        tale.step()
        if tale.lamp and not was:
            closings.append(tale.now)
        was = tale.lamp
    busiest = max(sum(0 <= at - first < 300 for at in closings) for first in closings)
    assert 15 < busiest <= 25


def test_a_lamp_held_back_begins_every_watch_when_it_burns() -> None:
    told = watch()
    told.reads(COOL + 2.0)
    told.state.astray = 2
    wait_with_it(told.state, 1010.0)
    state = told.state
    assert (state.highest, state.lowest, state.rise_from, state.same_from) == (None,) * 4
    assert (state.astray, state.changed_at, state.proof_from) == (0, 1010.0, 950.0)


def test_a_lamp_held_back_in_its_pulse_begins_the_pulse_anew() -> None:
    told = proving()
    wait_with_it(told.state, 1010.0)
    assert told.state.proof_from is None and told.state.proof_start is None
    assert wanted(told.state, 1011.0, Sample(COOL, 1011.0), told.believed.heat, GOAL, made_facts())
    assert told.state.proof_from == 1011.0 and told.state.proof_start == COOL
    assert not told.state.proved and made_facts().lamp is Wiring.WIRED


def test_the_probe_of_a_cold_board_is_judged_from_the_room_up() -> None:
    tale = heated()
    assert tale.face > ROOM + PROOF_RISE and tale.run.lamp.astray_from > tale.now
