"""What each act does, or why it is refused: one table. A refused act changes nothing."""

from dataclasses import dataclass

from controller.batch.acts import Act, ActKind
from controller.batch.coat_acts import COAT_ACTS
from controller.batch.desk import Desk
from controller.batch.lamp_acts import LAMP_ACTS
from controller.batch.rig_acts import HALT_ACTS, RIG_ACTS
from controller.batch.state import Run
from controller.errors import StageError

OF_A_BATCH = {**LAMP_ACTS, **COAT_ACTS, **HALT_ACTS}
"""Acts that name a batch and the stage they were pressed in."""
OF_THE_RIG = RIG_ACTS
"""Acts of the rig: never refused for the batch or stage they name."""
OF_ANY_STAGE = frozenset(
    {ActKind.PRESENT, ActKind.LAMP_OFF, ActKind.PUMP_OFF, ActKind.WEIGHED, ActKind.TIDIED}
)
"""Acts that mean the same whatever the batch has moved on to since the screen was drawn."""
LATEST_TOLD = 86400.0
"""Longest ago an act can be told, [s]. Own."""


@dataclass(frozen=True, slots=True)
class Heard:
    """An act that had its effect."""

    text: str
    """What to tell its sender."""
    at: float
    """Rig time it was true, [s]: the time told, within what is known."""


def hear(desk: Desk, act: Act) -> Heard:
    """Let the act have its effect. Raises StageError if it is refused."""
    if act.kind is ActKind.STOP:
        return Heard(OF_THE_RIG[act.kind](desk, act), desk.now)
    if not 0.0 <= act.ago <= LATEST_TOLD:
        raise StageError("an act is told within a day: say how long ago it was")
    if act.kind in OF_THE_RIG:
        return Heard(OF_THE_RIG[act.kind](desk, act), desk.now - act.ago)
    run = named(desk, act)
    if run is None:
        raise StageError(_who_is_here(desk))
    if act.stage not in (None, run.stage) and act.kind not in OF_ANY_STAGE:
        raise StageError(
            f"this was pressed in {act.stage} and the batch is in {run.stage}: look again"
        )
    at = desk.told_at(act, run)
    return Heard(OF_A_BATCH[act.kind](desk, act, run), at)


def named(desk: Desk, act: Act) -> Run | None:
    """The batch an act is about: the one it names, or the one at the rig for acts of the rig."""
    rig = desk.rig
    if act.kind in OF_THE_RIG:
        return rig.run
    for run in [rig.run, *rig.aside]:
        if run is not None and run.id == act.batch:
            return run
    return None


def _who_is_here(desk: Desk) -> str:
    run = desk.rig.run
    if run is None:
        return "there is no batch at the rig: plan one first"
    return f"the batch at the rig is {run.sheet.name}: look again"
