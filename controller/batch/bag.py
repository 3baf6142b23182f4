"""The bag: when the pump runs, and whether what comes in is a leak or the wood.

Every pump-off stretch is a free test of the bag. A hole lets air in along a straight line; air and
vapour from the wood come in along a curve that flattens. The gate before the hold asks for five
minutes of it; the hold is then judged against what the gate let pass.
"""

from bisect import bisect_left

from controller.batch import pump_run
from controller.batch.bag_view import GAUGE_AGE_LIMIT, BagView
from controller.batch.signals import Wiring
from controller.batch.state import BagState
from controller.science.vacuum import straight_line, straight_rate

GATE_TIME = 300.0
"""Pump-off time the leak gate looks at; common practice, no source, [s]."""
GATE_AGAIN = 900.0
"""Wait before a gate that could not tell is asked again, [s]. Own."""
SETTLING = 20.0
"""Start of a pump-off stretch that is left out: the hose evens out, [s]. Own."""
SPACING = 5.0
"""Least time between two samples kept of a stretch, [s]. Own."""
KEPT = 600.0
"""Length of the stretch that is kept, [s]. Own."""
FADING = 0.85
"""A rise whose second half is this share of its first is wood, not a hole. Own."""
PULLED = 10e3
"""Vacuum a running pump must have made in PULL_TIME, [Pa]. Own."""
PULL_TIME = 60.0
"""[s]. Own."""
USELESS = 180.0
"""Longest a pump runs without effect before it rests, [s]. Own."""
USELESS_REST = 120.0
"""That rest, [s]. Own."""
OUT_MARGIN = 3e3
"""How far out of the hold band counts as lost, [Pa]. Own."""
BLIND_TIME = 1800.0
"""Longest the pump goes on as it was without a gauge, [s]. Own."""
WORSE = 1.5
"""A hold leaks when it rises this much faster than what the gate let pass. Own."""
LONG_ENOUGH = 270.0
"""Stretch that is enough to call a slow leak, [s]. Own."""
CLEAR_TIME = 120.0
"""Stretch that is enough to call a leak mended, [s]. Own."""
STARTS_LIMIT = 6
"""Pump starts an hour above which the bag leaks or the band is too narrow. Own."""
PROOF_SHARE = 0.3
"""Share of the target vacuum that proves a bag after a restart. Own."""
SLOW_PULL = 600.0
"""Pumping time without reaching the target after which the gate says leaking, [s]. Own."""
DRY_PULL_LONGEST = 3600.0
"""A dry pull that has told nothing by then tells nothing more: the pump rests, [s]. Own."""

WINDOWS = ((30.0, 170.0), (60.0, 85.0), (180.0, 25.0))
"""(length [s], rise [Pa/s]): rises so steep that no five minutes are needed. Own."""


def pump_wanted(state: BagState, view: BagView, testing: bool) -> bool:
    """Whether the pump should run now.

    testing: the leak gate is open, so a stretch is left alone until its time is up.
    Without a gauge a wired pump runs through: nothing could tell it when to start again.
    """
    if view.facts.gauge is not Wiring.WIRED:
        return True
    if view.pressure is None:
        lost = view.now - state.lost_since if state.lost_since is not None else 0.0
        return state.pump_on and lost < BLIND_TIME
    for_now = view.now - state.pump_changed_at if state.pump_changed_at is not None else 1e9
    if state.pump_on:
        useless = view.air - view.pressure < PULLED and for_now >= USELESS
        return view.pressure > view.plan.target and not useless
    rest = view.facts.pump_min_off
    if view.air - view.pressure < PULLED and state.starts:
        rest = max(rest, USELESS_REST)
    if for_now < rest:
        return False
    if not state.reached:
        return True
    if testing:
        return state.retest_at is not None and view.now >= state.retest_at
    return view.pressure >= view.plan.restart


def why_off(state: BagState, view: BagView | None) -> str:
    """Why a pump that nothing bars does not run, for the page."""
    if view is None or view.pressure is None:
        return "the gauge gives no reading"
    if not state.reached:
        return "it rests before it pulls again"
    return "the bag holds" if view.pressure < view.plan.restart else "the bag is being watched"


def set_pump(state: BagState, now: float, on: bool) -> bool:
    """Set the pump's command; True when it changed."""
    if on == state.pump_on:
        return False
    state.pump_on = on
    state.pump_changed_at = now
    if on:
        state.starts = [at for at in state.starts if now - at < 3600.0] + [now]
        if state.tried_from is None:
            state.tried_from = now
        state.retest_at = None
    state.rest_from = state.rest_first = state.rest_lowest = None
    state.stretch_from = None if on else now
    state.times.clear()
    state.pressures.clear()
    return True


def follow(state: BagState, view: BagView) -> None:
    """Take this step's reading in: the stretch, its rise, and how long things have been wrong."""
    if view.pressure is None:
        if state.lost_since is None:
            state.lost_since = view.now if view.sample is None else view.sample.at
        return
    state.lost_since = None
    if state.pump_on and view.pressure <= view.plan.target:
        # without a run of the pump a low gauge is no pulled bag: its hose may be shut
        state.reached = True
    if state.stretch_from is None or view.now - state.stretch_from < SETTLING:
        return
    if state.times and view.now - state.times[-1] < SPACING:
        return
    state.times.append(view.now)
    state.pressures.append(view.pressure)
    while state.times[-1] - state.times[0] > KEPT:
        del state.times[0], state.pressures[0]
    if len(state.times) >= 4:
        state.rise = straight_rate(state.times, state.pressures)


def does_not_come_down(state: BagState, now: float) -> bool:
    """Pulled for SLOW_PULL, in one run or in many, and still short of the target."""
    return not state.reached and state.tried_from is not None and now - state.tried_from > SLOW_PULL


def judge_gate(state: BagState, view: BagView) -> str | None:
    """What the leak gate says now; None while the stretch is too short for any answer.

    Sets the verdict, the rise let pass and when to ask again. Without a wired gauge it never
    answers: a figure told now and then is no rise.
    """
    if view.facts.gauge is not Wiring.WIRED:
        return None
    running = state.pump_on and state.pump_changed_at is not None
    if running and not state.reached and view.now - (state.pump_changed_at or 0) > SLOW_PULL:
        state.verdict = "leaking"
        return state.verdict
    steep = steep_rise(state)
    if steep is not None:
        state.rise, state.verdict = steep, "leaking"
        return state.verdict
    if state.stretch_from is None or view.now - state.stretch_from < GATE_TIME:
        return None
    if len(state.times) < 8 or state.rise is None or state.retest_at is not None:
        return None
    if not state.reached:
        # a bag that was never pulled keeps what it has, tight or not
        return None
    if state.runs_on or state.pull.small:
        # what a running pump holds, or a hose alone, proves nothing
        state.verdict = "cannot tell yet"
        state.retest_at = view.now + GATE_AGAIN
        return state.verdict
    limit = max(view.plan.leak_limit, 1.2 * (state.dry_rise or 0.0))
    if state.rise <= limit:
        state.verdict = "tight"
        state.accepted_rise = state.rise
    elif fading(state):
        state.verdict = "cannot tell yet"
        state.retest_at = view.now + GATE_AGAIN
    else:
        state.verdict = "leaking"
    return state.verdict


def fading(state: BagState) -> bool:
    """The rise flattens as air and vapour from the wood do, and a hole does not."""
    middle = len(state.times) // 2
    first = straight_rate(state.times[:middle], state.pressures[:middle])
    second = straight_rate(state.times[middle:], state.pressures[middle:])
    return second < FADING * first


def steep_rise(state: BagState) -> float | None:
    """The rise over one of the short windows where it is too steep to wait, [Pa/s]."""
    for length, limit in WINDOWS:
        start = bisect_left(state.times, state.times[-1] - length - 1e-6) if state.times else 0
        times, pressures = state.times[start:], state.pressures[start:]
        if len(times) < 4 or times[-1] - times[0] < 0.8 * length:
            continue
        # its error only takes from the rate
        if straight_rate(times, pressures) <= limit:
            continue
        rise = straight_line(times, pressures)
        if rise.rate - 3.0 * rise.rate_error > limit:
            return rise.rate
    return None


def watch_hold(state: BagState, view: BagView) -> None:
    """Judge a hold: a leak stands until a long enough stretch shows the bag tight again."""
    allowed = max(view.plan.leak_limit, WORSE * (state.accepted_rise or 0.0))
    steep = steep_rise(state)
    if steep is not None and steep > allowed:
        state.leak = steep
        return
    span = state.times[-1] - state.times[0] if state.times else 0.0
    if state.rise is None:
        return
    if span >= CLEAR_TIME and state.rise <= allowed:
        state.leak = None
    elif span >= LONG_ENOUGH and state.rise > allowed and not fading(state):
        state.leak = state.rise


def starts_too_many(state: BagState, now: float) -> float:
    """How many pump starts of the last hour are past what a good bag and a fair band need."""
    return sum(1 for at in state.starts if now - at < 3600.0) - (STARTS_LIMIT + 1)


def no_pull(state: BagState, view: BagView) -> float | None:
    """How much vacuum is lacking of what a minute of the pump must make, [Pa].

    Zero at the least where it runs above its target and gets no further. None while nothing can
    tell: the pump rests, or has just begun, and the bag is not better. So a pump that rests because
    it had no effect is not taken for one that was put right.
    """
    if view.pressure is None:
        return None
    lacks = PULLED - (view.air - view.pressure)
    began = state.pump_changed_at
    ran = state.pump_on and began is not None and view.now - began >= PULL_TIME
    if ran and pump_run.stalled(state, view):
        return max(lacks, 0.0)
    return lacks if ran or lacks < 0.0 else None


def out_of_band(state: BagState, view: BagView) -> float | None:
    """How far past a lost vacuum's limit the bag is, [Pa]; None where nothing reads it."""
    if view.pressure is None:
        return None
    return view.pressure - (view.plan.restart + OUT_MARGIN) if state.reached else -1e9


def proved(view: BagView) -> bool:
    """After a restart: the gauge shows that the bag has kept a good share of its vacuum."""
    if view.pressure is None:
        return False
    return view.air - view.pressure >= PROOF_SHARE * (view.air - view.plan.target)


def gauge_lost(state: BagState, now: float) -> bool:
    """The gauge has given no good reading for too long."""
    return state.lost_since is not None and now - state.lost_since >= GAUGE_AGE_LIMIT
