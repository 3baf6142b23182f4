"""The guards that know a heat under a wired lamp gone wrong.

They judge the probe's own readings; the estimate only says what a healthy heat would show. What
they cannot see, a probe that reads a share of the rise, is for the cut-out to catch.

"Tuned on the plant" below means: on drawn preheats, `warmdraw simulate --preheats`; what they came
to is in DEVELOPERS.md.
"""

from controller.batch.heat import HeatEstimate
from controller.batch.lamp import Goal, forget_watches
from controller.batch.signals import Sample
from controller.batch.state import LampState

PROOF_LIMIT = 75.0
"""Time from the start of the proof pulse within which the probe must show it, [s]. Own."""
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
ASTRAY = 4.0
"""How far a reading may be under what this heat should show, [K]. Own, tuned on the plant: a minute
after the proof healthy ones come to 2.6 K, probes that fell go on to 9 K and more."""
ASTRAY_READS = 3
"""Readings in a row that must be. Own."""
ASTRAY_WAIT = 60.0
"""From the proof, or a gap, until they count, [s]. Own, tuned on the plant: the estimate learns the
probe's lag meanwhile, and a healthy probe that lags 46 s where 20 s was guessed is 4.7 K under."""
TOO_STRONG = 1.6
"""Lamp as found for sure on this board, as a multiple of the one reckoned with, from which it is
another. Own, tuned on the plant: healthy ones came to 1.45, where a probe's lag was guessed."""
STRONG_TIME = 400.0
"""Time from the proof pulse's start in which that is judged, [s]. Own, tuned on the plant: later,
near the board's rest, lamp and losses are hard to tell apart, and healthy lamps came to 1.6 after
530 s and to 2.2 in the end; lamps that are too strong were told within 310 s."""
JUMP = 6.0
"""Step between two readings no board can make, [K]. Own."""
FROZEN_TIME = 60.0
"""Time one very same reading may stand in a heat whose lamp burns or was proved, [s]. Own."""
FROZEN_EXPECTED = 0.5
"""How far what the estimate expects must move in that time for the guard to speak, [K]. Own, tuned
on the plant: 8 counts of a probe."""
SILENCE = 10.0
"""Gap between two readings after which the next is no jump, whatever it says, [s]. Own."""


def note_sample(state: LampState, sample: Sample | None) -> bool:
    """Take a new reading in; True when it is one not seen before and no lone spike.

    A single reading that jumps and returns is an event of the wiring, not of the board.
    """
    if sample is None or sample.at == state.last_sample_at:
        return False
    if state.last_sample_at is not None and sample.at - state.last_sample_at > SILENCE:
        state.last_value = None
        state.astray, state.astray_from = 0, sample.at + ASTRAY_WAIT
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
    if not state.on and not state.proved:
        forget_watches(state)
        return _proof(state, now, sample)
    if fresh and _astray(state, sample, heat.probe):
        return "probe astray"
    if _frozen(state, now, sample, heat.probe):
        return "probe frozen"
    if state.on and state.changed_at is not None:
        if _fell(state, now - state.changed_at, sample, fresh):
            return "probe fell"
        if _no_rise(state, now, sample, goal.band_low, heat.settles_at()):
            return "no rise"
        if _too_strong(state, now, heat, goal):
            return "lamp too strong"
    else:
        state.highest = state.lowest = state.rise_from = None
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
    if state.highest is None or sample.value >= state.highest:
        state.highest = state.lowest = sample.value
    falls = state.lowest is None or sample.value <= state.lowest
    state.lowest = sample.value if falls else state.lowest
    return falls and on_for >= FALL_TIME and sample.value < state.highest - FALL


def _astray(state: LampState, sample: Sample, expected: float) -> bool:
    """The reading is far under what this heat should show, lamp on or between two pulses of it.

    In the band the lamp burns for seconds at a time, too short for a fall to be seen under it; and
    an estimate that half believes a fallen probe goes on pulsing a lamp the probe cannot see.
    """
    under = state.proved and sample.at >= state.astray_from and sample.value < expected - ASTRAY
    state.astray = state.astray + 1 if under else 0
    return state.astray >= ASTRAY_READS


def _too_strong(state: LampState, now: float, heat: HeatEstimate, goal: Goal) -> bool:
    """The lamp gives far more than was reckoned with, or the face is over the trip for sure.

    A probe that lags shows neither in time. Somebody who then arms the lamp again has seen to it:
    what it was found to give is what it is held against from there on.
    """
    if not state.proved or state.proof_from is None:
        return False
    reckoned = max(heat.expected_flux, state.flux_let_pass)
    found = heat.flux - heat.flux_sd
    strong = now - state.proof_from <= STRONG_TIME and found > TOO_STRONG * reckoned
    if not strong and heat.face - heat.face_sd < goal.trip:
        return False
    state.flux_let_pass = max(state.flux_let_pass, heat.flux)
    return True


def _proof(state: LampState, now: float, sample: Sample) -> str | None:
    """The pulse is passed the moment its rise is seen, and failed when its time is up.

    A rise from the lowest since: on a board that is still warm a probe that lags goes on falling
    for a while under the new light.
    """
    if state.proved or state.proof_from is None or state.proof_start is None:
        return None
    if sample.at > state.proof_from:
        state.proof_start = min(state.proof_start, sample.value)
        state.proved = sample.value - state.proof_start >= PROOF_RISE
    if state.proved:
        state.astray_from = sample.at + ASTRAY_WAIT
        return None
    return "lamp not seen" if now - state.proof_from >= PROOF_LIMIT else None


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
    """The very same reading for a minute in which a working probe would have moved.

    Up or down, and back again: in the band a lamp that comes and goes leaves no lasting change.
    """
    if state.same_from is None or sample.value != state.same_value:
        state.same_from, state.same_value = now, sample.value
        state.same_least = state.same_most = expected
    state.same_least = min(state.same_least, expected)
    state.same_most = max(state.same_most, expected)
    moved = state.same_most - state.same_least > FROZEN_EXPECTED
    return now - state.same_from >= FROZEN_TIME and moved
