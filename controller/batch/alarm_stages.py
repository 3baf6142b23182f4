"""In which stages an alarm means anything: one table.

A cause outside them raises nothing, and an alarm that stands when its stages end falls silent. What
guards a lamp is in no row: that is never suppressed.
"""

from dataclasses import dataclass

from controller.batch.alarm_row import Priority
from controller.batch.alarms import ALARMS
from controller.batch.stages import PUMPED, Form, Stage
from controller.batch.state import Run


@dataclass(frozen=True, slots=True)
class Means:
    """Where one alarm means something. Elsewhere it is suppressed."""

    stages: frozenset[Stage]
    """In these."""
    halted: bool = False
    """Also while the work is halted that was in one of them."""
    vacuum: bool = False
    """Only as long as a vacuum is wanted: nothing any more after LET UP."""
    before_gel: bool = False
    """Nothing any more once the resin has set."""
    note_after_gel: bool = False
    """Once the resin has set a note for the morning."""
    most: frozenset[Stage] = frozenset()
    """Those of its stages in which it matters more than in the others."""


HOLD = frozenset({Stage.HOLD})
UNDER_LAMP = frozenset({Stage.PREHEAT, Stage.SOAK})
"""Stages in which a person stands beside a lamp."""
POT = frozenset({Stage.PREHEAT, Stage.SOAK, Stage.COOLDOWN, Stage.COAT})
"""Stages in which there is mix in a cup."""
INTERRUPTED = frozenset({Stage.INTERRUPTED})

MEANS: dict[str, Means] = {
    "face probe lost": Means(UNDER_LAMP),
    "nobody there": Means(UNDER_LAMP),
    "pot life": Means(POT, halted=True, most=frozenset({Stage.COAT})),
    "work interrupted": Means(INTERRUPTED | {Stage.COOLDOWN, Stage.COAT, Stage.BAG}),
    "pump left to a person": Means(INTERRUPTED, before_gel=True),
    "pump feels no bag": Means(PUMPED, vacuum=True, before_gel=True, most=HOLD),
    "pump does not pull": Means(PUMPED, vacuum=True, most=HOLD),
    "bag gauge lost": Means(PUMPED, vacuum=True, before_gel=True, most=HOLD),
    "gauge frozen": Means(PUMPED, vacuum=True, before_gel=True, most=HOLD),
    "trap full": Means(PUMPED, vacuum=True, before_gel=True, most=HOLD),
    "vacuum lost": Means(HOLD, vacuum=True, note_after_gel=True),
    "bag leaks": Means(HOLD, vacuum=True, before_gel=True),
    "pump starts too often": Means(HOLD, vacuum=True, before_gel=True),
    "too cold to set": Means(HOLD),
}
"""Alarms that do not mean something everywhere."""

WAKING = frozenset({"record not written"})
"""Notes that wake while a bag is held whose resin has not gelled: after a power cut a hold that is
not in the record is not gone on with, and the pump stays off."""

RANKS = {None: 0, Priority.P3: 1, Priority.P2: 2, Priority.P1: 3}


def priority_now(name: str, run: Run | None) -> Priority | None:
    """The alarm's priority with the batch at the rig as it is; None where it means nothing."""
    means, priority = MEANS.get(name), ALARMS[name].priority
    if name in WAKING and run is not None and run.form is Form.HELD:
        holds = run.stage is Stage.HOLD and not run.has_set()
        return Priority.P2 if holds else priority
    if means is None:
        return priority
    if run is None:
        return None
    stage = run.at_work if means.halted else run.stage
    if stage not in means.stages or (means.vacuum and run.form not in (None, Form.HELD)):
        return None
    if run.has_set() and means.before_gel:
        return None
    return Priority.P3 if run.has_set() and means.note_after_gel else priority


def urgency(name: str, run: Run | None) -> int:
    """How much the alarm matters with the batch as it is; more is more, 0 is nothing."""
    means, most = MEANS.get(name), 0
    if means is not None and run is not None and run.stage in means.most:
        most = 1
    rank = RANKS[priority_now(name, run)]
    return 2 * rank + most if rank else 0
