"""What a run of the pump tells of the bag: that it gets no further, or that it feels too little.

A pump on a bag of volume V draws the pressure p towards its own end e by d ln(p - e)/dt = -S/V,
with S its speed; air that comes in only makes that slower. So a bag is never drawn down faster
than it was when it was first pulled. A gauge that falls several times as fast sits on a hose that
is pinched or has slipped off: the pump, and the gauge with it, no longer feel the bag. All figures
own, the law from memory.
"""

from math import log

from controller.batch.bag_view import BagView
from controller.batch.signals import Wiring
from controller.batch.state import BagState, PullState

STALL_TIME = 60.0
"""How long a pump runs on above its target without getting further, [s]."""
FURTHER = 200.0
"""Least fall that counts as getting further, [Pa]."""
SHARE = 0.05
"""The same, of what is left to the target, [-]: with less the pull would take 20 STALL_TIMEs."""
PIECE = 3e3
"""Fall a rate is reckoned from, [Pa]: some thirty times a gauge's noise."""
NEAREST = 1e3
"""Least distance to the pump's end that is reckoned with, [Pa]."""
SMALLER = 4.0
"""How many times as fast as it was first pulled a bag cannot be drawn down. Readings a second apart
may be wrong by twice, with the strongest pump on the smallest bag."""


def follow(state: BagState, seen: BagView) -> None:
    """Take this step's reading in. Raises nothing: where nothing reads, nothing is told."""
    pull, sample, pressure = state.pull, seen.sample, seen.pressure
    wired = seen.facts.gauge is Wiring.WIRED
    if not wired or not state.pump_on or sample is None or pressure is None:
        pull.lowest = pull.lowest_at = None
        # the last reading at rest is where the next run begins, were it only a second long
        pull.piece_at = sample.at if sample is not None and pressure is not None else None
        pull.piece_pressure = pressure
        pull.learnt = pull.learnt or (state.reached and pull.quickest is not None)
        return
    step = max(FURTHER, SHARE * (pressure - seen.plan.target))
    if pull.lowest is None or pressure < pull.lowest - step:
        pull.lowest, pull.lowest_at = pressure, seen.now
    if sample.at == pull.piece_at:
        return
    rate = _rate(pull, sample.at, pressure, seen.facts.pump_ultimate)
    if rate is None:
        return
    if not pull.learnt or pull.quickest is None:
        pull.quickest = max(rate, pull.quickest or 0.0)
    else:
        pull.small = rate > SMALLER * pull.quickest


def _rate(pull: PullState, at: float, pressure: float, end: float) -> float | None:
    """d ln(p - e)/dt over the newest piece, [1/s]; None while it is not long enough.

    at, pressure: rig time of the reading [s], and what it says, [Pa]      end: of the pump, [Pa]
    """
    before = pull.piece_pressure
    if before is None or pull.piece_at is None or pressure > before:
        pull.piece_at, pull.piece_pressure = at, pressure
        return None
    if before - pressure < PIECE:
        return None
    spent = at - pull.piece_at
    pull.piece_at, pull.piece_pressure = at, pressure
    return log(max(before - end, NEAREST) / max(pressure - end, NEAREST)) / spent


def stalled(state: BagState, seen: BagView) -> bool:
    """The pump runs above its target, and for a while it has not got any further.

    A gauge that does not move by one step tells of itself and not of the pump; and a pump in a
    person's hand was told, which is not yet to run.
    """
    since, still = state.pull.lowest_at, state.same_from
    return (
        state.pump_on
        and seen.facts.pump is Wiring.WIRED
        and (still is None or seen.now - still < STALL_TIME / 2.0)
        and since is not None
        and seen.pressure is not None
        and seen.pressure > seen.plan.target
        and seen.now - since >= STALL_TIME
    )
