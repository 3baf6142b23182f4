"""How the lamp warms a board: the band it holds, its relay's own times, and a lamp that stays lit.

What knows a heat gone wrong while the lamp may burn is in `lamp_guards.py`.
"""

from dataclasses import dataclass

from controller.batch.heat import HeatEstimate
from controller.batch.signals import RigFacts, Sample, Wiring
from controller.batch.state import LampState

PROOF_PULSE = 30.0
"""Lamp-on time of the proof pulse, [s]. Own."""
CYCLE = 12.5
"""Shortest from one closing of the relay to the next, [s]. Own: 25 in 5 min, the most a contact
relay should make (own, too); with the 5 s of either way alone it came to 31. Tuned on the plant: at
15 s the face of a thin board fell too far between two closings to come into its band."""
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


def wanted(
    state: LampState, now: float, sample: Sample, heat: HeatEstimate, goal: Goal, facts: RigFacts
) -> bool:
    """Whether the band asks for the lamp, the proof pulse and the relay's own times kept.

    Starts the proof pulse of a wired lamp when there was none, once the face is under the band; a
    board that is warm already is not driven over it for the proof's sake. The interlocks have the
    last word, not this.
    """
    if not state.on and state.closed_at is not None and now - state.closed_at < CYCLE:
        return False
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
    state.closed_at = now if on else state.closed_at
    state.off_from = state.off_reading = state.off_last = state.off_last_at = None
    state.burns_on = False
    return True


def wait_with_it(state: LampState, now: float) -> None:
    """The command is ON and the output still dark: every watch on the lamp begins when it burns."""
    state.changed_at = now
    forget_watches(state)
    if not state.proved:
        state.proof_from = state.proof_start = None


def start_proof_anew(state: LampState) -> None:
    """Forget the proof: the next time the lamp burns the probe has to show it again."""
    state.proved = False
    state.proof_from = state.proof_start = None
    forget_watches(state)


def forget_watches(state: LampState) -> None:
    """What the guards saw of readings under this lamp no longer counts."""
    state.astray = 0
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
