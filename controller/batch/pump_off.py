"""Whether a pump that was told off does go off, as far as the bag can tell.

With the pump at rest a bag only gets worse, or, while board and room cool, better by a pascal a
second at the most. So it is the first two minutes after the command that tell: a bag that goes on
falling through them is pumped. One that is pumped to the pump's own end already falls no more, and
tells by staying there, far below where a healthy pump had been told off. All figures own.
"""

from controller.batch.bag import SETTLING
from controller.batch.bag_view import BagView
from controller.batch.signals import Wiring
from controller.batch.state import BagState

WATCH = 140.0
"""From the command to the end of the look, [s]; its first SETTLING are left out."""
FALLEN = 500.0
"""Fall within it that only a pump makes, [Pa]."""
RISEN = 500.0
"""Rise above the lowest that shows the pump at rest after all, [Pa]."""
NEAR_END = 1e3
"""Distance to the pump's own end at which a bag may no more fall, [Pa]."""
FAR_BELOW = 3e3
"""How far under its target a bag is that a pump has not left in time, [Pa]."""
FLAT = 100.0
"""Rise through the look under which nothing seems to come in, [Pa]."""


def follow(state: BagState, seen: BagView) -> None:
    """Take this step's pressure in. Raises nothing: where nothing reads, nothing is told."""
    facts, pressure = seen.facts, seen.pressure
    if facts.gauge is not Wiring.WIRED or facts.pump is not Wiring.WIRED or state.pump_on:
        return
    if state.rest_from is None:
        # what was seen before a restart is no part of this rest
        state.rest_from, state.rest_first, state.rest_lowest = seen.now, None, None
    since = seen.now - state.rest_from
    if pressure is None or since < SETTLING:
        return
    if state.rest_first is None or state.rest_lowest is None:
        state.rest_first = state.rest_lowest = pressure
    state.rest_lowest = min(state.rest_lowest, pressure)
    if pressure - state.rest_lowest > RISEN:
        state.runs_on = False
    elif since <= WATCH and state.rest_first - pressure > FALLEN:
        state.runs_on = True
    elif since > WATCH and _stays(state, seen, pressure):
        state.runs_on = True


def _stays(state: BagState, seen: BagView, pressure: float) -> bool:
    """The bag lies at the pump's own end, where no healthy pump left it, and nothing comes in."""
    at_end = pressure <= seen.facts.pump_ultimate + NEAR_END
    flat = state.rest_first is not None and pressure - state.rest_first < FLAT
    return at_end and flat and pressure < seen.plan.target - FAR_BELOW
