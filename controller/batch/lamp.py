"""How the lamp warms a board: the band it holds, and the guards that know a heat gone wrong.

The guards judge the probe's own readings; the estimate only says what a healthy heat would show.
What they cannot see, a probe that reads a share of the rise, is for the cut-out to catch.
"""

from dataclasses import dataclass

from controller.batch.heat import HeatEstimate
from controller.batch.signals import RigFacts, Sample, Wiring
from controller.batch.state import LampState

PROOF_PULSE = 30.0
"""Lamp-on time of the proof pulse, [s]. Own."""
PROOF_LIMIT = 75.0
"""Time within which the probe must show it, [s]. Own."""
PROOF_RISE = 1.0
"""Rise that counts as seen, [K]. Own."""
NO_RISE_TIME = 120.0
"""Lamp-on time that must show a rise, [s]. Own."""
NO_RISE_MARGIN = 8.0
"""How far below its goal a reading must be for no rise to mean anything, [K]. Own."""
FALL = 1.5
"""Fall below its highest with the lamp on that means the probe or the bulb is off, [K]. Own."""
FALL_TIME = 20.0
"""Lamp-on time before a fall counts, [s]. Own."""
JUMP = 6.0
"""Step between two readings no board can make, [K]. Own."""
FROZEN_TIME = 60.0
"""Time one very same reading may stand with the lamp on, [s]. Own."""
FROZEN_EXPECTED = 0.5
"""Change the estimate must expect in that time for the guard to speak, [K]. Own."""
STUCK_WAIT = 90.0
"""Time after lamp-off before the watch begins, in which heat from the skin still spreads, [s]. Own.
"""
STUCK_WATCH = 90.0
"""Length of the watch, [s]. Own."""
HAND_RATE = 0.3
"""Rise that only a probe put back by hand makes, [K/s]. Own."""
PROBE_SETTLES = 45.0
"""Time a probe put back by hand takes to read right, [s]. Own."""
STUCK_RISE = 2.0
"""Rise in that watch that means the lamp still burns, [K]. Own."""
SILENCE = 10.0
"""Gap between two readings after which the next is no jump, whatever it says, [s]. Own."""
HAND_GRACE = 120.0
"""Time a person has to switch a lamp off by hand and say so, [s]. Own."""
HYSTERESIS = 0.75
"""How far inside the band the lamp is switched, [K]. Own."""
LOOK_AHEAD = 3.0
"""How far ahead the face is predicted before switching, [s]. Own."""


@dataclass(frozen=True, slots=True)
class Goal:
    """What the lamp is to do to this board."""

    band_low: float
    """[K]."""
    band_high: float
    """[K]."""
    trip: float
    """[K]."""


def note_sample(state: LampState, sample: Sample | None) -> bool:
    """Take a new reading in; True when it is one not seen before and no lone spike.

    A single reading that jumps and returns is an event of the wiring, not of the board.
    """
    if sample is None or sample.at == state.last_sample_at:
        return False
    if state.last_sample_at is not None and sample.at - state.last_sample_at > SILENCE:
        state.last_value = None
    state.last_sample_at = sample.at
    if state.last_value is not None and abs(sample.value - state.last_value) > JUMP:
        state.odd += 1
        if state.odd < 2:
            return False
    else:
        state.odd = 0
        state.last_value = sample.value
    return True


def tripped(
    state: LampState, now: float, sample: Sample | None, heat: HeatEstimate, goal: Goal
) -> str | None:
    """Name of the guard that trips on this step's reading; None when the heat looks healthy.

    Call it once a step with the newest good sample of a wired probe, stale or not.
    """
    fresh = note_sample(state, sample)
    if sample is None:
        return None
    if _over(state, sample, fresh, goal):
        return "face over trip"
    if state.odd >= 2:
        return "probe jumped"
    if not state.on or state.changed_at is None:
        state.highest = state.lowest = state.rise_from = state.same_from = None
        return _proof(state, now, sample)
    if _fell(state, now - state.changed_at, sample, fresh):
        return "probe fell"
    if _no_rise(state, now, sample, goal.band_low, heat.settles_at()):
        return "no rise"
    if _frozen(state, now, sample, heat.probe):
        return "probe frozen"
    return _proof(state, now, sample)


def tripped_by_hand(state: LampState, sample: Sample | None, goal: Goal) -> str | None:
    """The one guard of a lamp in a person's hand: readings too hot. The rest is that person's."""
    fresh = sample is not None and sample.at != state.last_sample_at
    if sample is None or not fresh:
        return None
    state.last_sample_at = sample.at
    return "face over trip" if _over(state, sample, fresh, goal) else None


def _over(state: LampState, sample: Sample, fresh: bool, goal: Goal) -> bool:
    """Two readings in a row at or over the trip."""
    if fresh:
        state.over = state.over + 1 if not sample.value < goal.trip else 0
    return state.over >= 2


def _fell(state: LampState, on_for: float, sample: Sample, fresh: bool) -> bool:
    """The reading falls under a burning lamp, and goes on falling.

    A probe that lags falls for a while too when the lamp comes on again over a skin that cooled
    faster than it could follow; but it turns, and then it is above its lowest since its highest.
    """
    if not fresh:
        return False
    if state.highest is None or sample.value > state.highest:
        state.highest = state.lowest = sample.value
    falls = state.lowest is None or sample.value <= state.lowest
    state.lowest = sample.value if falls else state.lowest
    return falls and on_for >= FALL_TIME and sample.value < state.highest - FALL


def _proof(state: LampState, now: float, sample: Sample) -> str | None:
    """The pulse is passed the moment its rise is seen, and failed when its time is up."""
    if state.proved or state.proof_from is None or state.proof_start is None:
        return None
    if sample.at > state.proof_from and sample.value - state.proof_start >= PROOF_RISE:
        state.proved = True
    elif now - state.proof_from >= PROOF_LIMIT:
        return "lamp not seen"
    return None


def _no_rise(state: LampState, now: float, sample: Sample, band_low: float, settles: float) -> bool:
    """Two minutes of lamp and less than a kelvin for it, well below where it should get to.

    Below the band, or below where a lamp settles that nearly gets there; one believed to settle far
    under the band is not waited for.
    """
    if (
        state.rise_from is None
        or state.rise_start is None
        or sample.value - state.rise_start >= PROOF_RISE
    ):
        state.rise_from, state.rise_start = now, sample.value
    hopeless = settles < band_low - NO_RISE_MARGIN
    far = hopeless or sample.value < min(band_low, settles) - NO_RISE_MARGIN
    return now - state.rise_from >= NO_RISE_TIME and far


def _frozen(state: LampState, now: float, sample: Sample, expected: float) -> bool:
    """The very same reading for a minute in which a working probe would have moved."""
    if state.same_from is None or state.same_expected is None or sample.value != state.same_value:
        state.same_from, state.same_value, state.same_expected = now, sample.value, expected
    return (
        now - state.same_from >= FROZEN_TIME
        and abs(expected - state.same_expected) > FROZEN_EXPECTED
    )


def wanted(
    state: LampState, now: float, sample: Sample, heat: HeatEstimate, goal: Goal, facts: RigFacts
) -> bool:
    """Whether the band asks for the lamp, the proof pulse and the relay's own times kept.

    Starts the proof pulse of a wired lamp when there was none, once the face is under the band; a
    board that is warm already is not driven over it for the proof's sake. The interlocks have the
    last word, not this.
    """
    if state.proof_from is None:
        if heat.face > goal.band_low:
            return False
        state.proof_from, state.proof_start = now, sample.value
    if not state.proved and facts.lamp is Wiring.WIRED:
        return now - state.proof_from < PROOF_PULSE and heat.face < goal.band_high
    for_now = now - (state.changed_at if state.changed_at is not None else -facts.lamp_min_off)
    if state.on:
        hot = heat.face_after(LOOK_AHEAD, LOOK_AHEAD) >= goal.band_high - HYSTERESIS
        return for_now < facts.lamp_min_on or not (hot or sample.value >= goal.band_high)
    if for_now < facts.lamp_min_off:
        return False
    return (
        heat.face_after(LOOK_AHEAD) <= goal.band_low + HYSTERESIS and sample.value < goal.band_high
    )


def command(state: LampState, now: float, on: bool) -> bool:
    """Set the lamp's command; True when it changed."""
    if on == state.on:
        return False
    state.on = on
    state.changed_at = now
    state.off_from = state.off_reading = state.off_last = state.off_last_at = None
    state.burns_on = False
    return True


def wait_with_it(state: LampState, now: float) -> None:
    """The command is ON and the output still dark: every watch on the lamp begins when it burns."""
    state.changed_at = now
    state.highest = state.lowest = state.rise_from = state.same_from = None
    if not state.proved:
        state.proof_from = state.proof_start = None


def start_proof_anew(state: LampState) -> None:
    """Forget the proof: the next time the lamp burns the probe has to show it again."""
    state.proved = False
    state.proof_from = state.proof_start = None
    state.highest = state.lowest = state.rise_from = state.same_from = None


def does_not_go_off(state: LampState, now: float, sample: Sample | None) -> bool:
    """The lamp was switched off and still burns, for the board still warms.

    A probe that is pressed back onto a warm board rises too, but faster than any board: then the
    watch waits until the probe has settled, and begins again.
    """
    if state.on or state.changed_at is None:
        return False
    if state.off_from is None:
        state.off_from = state.changed_at + STUCK_WAIT
    if sample is None or sample.age(now) > STUCK_WATCH or _touched(state, sample):
        return False
    if state.burns_on and state.off_reading is not None:
        # Found in the watch: it stands until the board is cooler than when the watch began.
        state.burns_on = sample.value > state.off_reading
        return state.burns_on
    if not state.off_from <= now <= state.off_from + STUCK_WATCH:
        return False
    if state.off_reading is None:
        state.off_reading = sample.value
    state.burns_on = sample.value - state.off_reading > STUCK_RISE
    return state.burns_on


def left_burning(state: LampState, now: float, told_on: bool) -> bool:
    """A lamp switched by hand was told off and nobody has said that it is.

    told_on: as the person said last
    """
    off = told_on and not state.on
    return off and (state.changed_at is None or now - state.changed_at > HAND_GRACE)


def _touched(state: LampState, sample: Sample) -> bool:
    """A hand is at the probe: it rises faster than a board; puts the watch off."""
    last, last_at = state.off_last, state.off_last_at
    state.off_last, state.off_last_at = sample.value, sample.at
    if last is None or last_at is None or sample.at <= last_at:
        return False
    if (sample.value - last) / (sample.at - last_at) <= HAND_RATE:
        return False
    state.off_from, state.off_reading = sample.at + PROBE_SETTLES, None
    state.burns_on = False
    return True
