"""When the bag gauge itself is doubted: its zero has moved, or it stands still.

Zero. While the bag lies open to the air the gauge must read the air. Against a barometer read
within the minute 1 kPa is told and 3 kPa refuses the next pull; against the air that the altitude
alone gives, which weather moves by 3 kPa, it is 3 and 5 kPa.

Standing still. A bag that is tight may read the very same figure for hours on a converter of ten
bits, so time alone proves nothing; a pump that runs must move the figure. Found frozen is a gauge
whose figure is the same to the bit

- through the first half minute of a run of the pump, or
- for a minute in the midst of one.

Before the gel a held bag that has read the same figure for half an hour gets a test pulse: the
pump runs as in any hold, to its target, and stops at once where the figure moves and is there. So
a gauge that freezes in the hold is found within 31 min, or at the pump's next run where that comes
earlier. Two are not found: one that freezes less than that before the gel, and one that froze so
deep that the pump has no way left to ask, within 1.5 kPa of its own end or 1 kPa under the boil
limit (which has a margin of 6.8 kPa in it); that bag was last seen as deep as it gets.

Never called frozen is a healthy gauge with steps of up to 140 Pa (ten bits over 115 kPa) on a pump
that empties the bag with a time constant of up to 200 s: 1.5 kPa above the pump's end, half a
minute moves it by 1.5 steps. All figures own.
"""

from controller.batch.bag import PULLED
from controller.batch.bag_view import BagView
from controller.batch.believing import OLD
from controller.batch.looking import air_of
from controller.batch.signals import Readings, RigFacts, Wiring
from controller.batch.stages import Form, Stage
from controller.batch.state import BagState, Run
from controller.batch.view import View
from controller.errors import StageError

OPEN_STAGES = frozenset({Stage.PREHEAT, Stage.SOAK, Stage.COOLDOWN, Stage.COAT})
"""Stages in which the board is in no bag; in PLANNED and BAG it may have been in one already."""
ZERO_DOUBT, ZERO_REFUSED = 1e3, 3e3
"""Distance from the air that is told, and that refuses, beside a barometer, [Pa]. Own."""
COARSE_DOUBT, COARSE_REFUSED = 3e3, 5e3
"""The same where only the altitude gives the air, [Pa]. Own."""
STILL_RUN = 30.0
"""Start of a pump run that must move the gauge, and the longest test pulse, [s]. Own."""
STILL_MIDST = 60.0
"""Time within a run that must move it, [s]. Own."""
ROOM_TO_PULL = 1.5e3
"""Distance to the pump's own end at which half a minute of it must still show, [Pa]. Own."""
UNDER_BOIL = 1e3
"""How far into the boil limit's margin a test pulse may go, [Pa]. Own."""
STILL_HOLD = 1800.0
"""Time a held bag may read the same before the pump asks the gauge, [s]. Own."""


def follow(run: Run, view: View) -> None:
    """Take this step's reading of the gauge in, whatever the stage."""
    state, seen = run.bag, view.bag
    if seen is None or view.facts.gauge is not Wiring.WIRED:
        return
    if seen.pressure is None:
        state.same_from = state.same_value = None
    elif seen.pressure != state.same_value:
        state.same_value, state.same_from, state.frozen = seen.pressure, view.now, False
    elif _stood_still(state, seen):
        state.frozen = True


# --- zero


def _is_open(run: Run) -> bool:
    """The bag is open to the air for sure: never pulled, or not round a board."""
    never = run.stage is Stage.PLANNED and not run.bag.starts
    unsealed = run.stage is Stage.BAG and run.sealed_at is None
    return run.stage in OPEN_STAGES or never or unsealed


def _limits(readings: Readings, now: float) -> tuple[float, float]:
    barometer = readings.barometer
    beside = barometer is not None and barometer.age(now) <= OLD
    return (ZERO_DOUBT, ZERO_REFUSED) if beside else (COARSE_DOUBT, COARSE_REFUSED)


def _off(seen: BagView) -> float | None:
    return None if seen.pressure is None else abs(seen.air - seen.pressure)


def zero_off(run: Run, view: View) -> tuple[float, float] | None:
    """How far the open gauge is from the air, and how far that is past what is told, [Pa].

    None where no wired gauge lies open to the air, or it does not read.
    """
    seen = view.bag
    if seen is None or view.facts.gauge is not Wiring.WIRED or not _is_open(run):
        return None
    off = _off(seen)
    return None if off is None else (off, off - _limits(view.readings, view.now)[0])


def may_pull(run: Run, now: float, readings: Readings, facts: RigFacts) -> None:
    """Raises StageError where a bagged coat would begin on a gauge that does not read the air.

    A gauge that is silent now is silent in the night too, and then the resin is on the board.
    """
    plan = run.coat.bag
    if plan is None or facts.gauge is not Wiring.WIRED:
        return
    off = _off(BagView(now, readings.bag, air_of(now, readings, facts), plan, facts))
    if off is None:
        raise StageError(
            "the bag gauge gives no reading: look at its plug and its wire. A rig whose gauge a "
            'person reads says so in rig.toml: under [gauge], wired = "by hand"'
        )
    if off > _limits(readings, now)[1]:
        raise StageError(
            f"the bag gauge reads {off / 1e3:.1f} kPa away from the air: open bag and hose to the "
            "air; if it stays so, run warmdraw check --only gauge"
        )


# --- standing still


def _stood_still(state: BagState, seen: BagView) -> bool:
    """The pump runs and the figure does not move.

    Close to the air this is left to 'pump does not pull', which has more causes.
    """
    began, same, value = state.pump_changed_at, state.same_from, state.same_value
    if not state.pump_on or began is None or same is None or value is None:
        return state.frozen
    if seen.facts.pump is not Wiring.WIRED or seen.air - value < PULLED:
        return state.frozen
    if value < seen.plan.possible + ROOM_TO_PULL:
        return state.frozen
    whole = same <= began and seen.now - began >= STILL_RUN
    return state.frozen or whole or seen.now - max(same, began) >= STILL_MIDST


def pulse_wanted(run: Run, seen: BagView) -> bool:
    """The pump runs to ask the gauge: it has held one figure for long, and goes on holding it."""
    state = run.bag
    if run.stage is not Stage.HOLD or run.form is not Form.HELD or run.has_set():
        return False
    if seen.facts.gauge is not Wiring.WIRED or seen.facts.pump is not Wiring.WIRED:
        return False
    if state.same_from is None or seen.pressure is None or state.frozen:
        return False
    if not state.pump_on and state.pump_changed_at is not None:
        if seen.now - state.pump_changed_at < seen.facts.pump_min_off:
            return False
    if seen.pressure < max(seen.plan.possible + ROOM_TO_PULL, seen.plan.boil_limit - UNDER_BOIL):
        return False
    return seen.now - state.same_from >= STILL_HOLD
