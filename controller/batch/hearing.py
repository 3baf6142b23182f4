"""What each act does, or why it is refused: one table. A refused act changes nothing."""

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


def hear(desk: Desk, act: Act) -> str:
    """Let the act have its effect; what to tell its sender. Raises StageError if refused."""
    if act.kind in OF_THE_RIG:
        return OF_THE_RIG[act.kind](desk, act)
    run = _named(desk, act)
    if act.stage not in (None, run.stage) and act.kind not in OF_ANY_STAGE:
        raise StageError(
            f"this was pressed in {act.stage} and the batch is in {run.stage}: look again"
        )
    return OF_A_BATCH[act.kind](desk, act, run)


def _named(desk: Desk, act: Act) -> Run:
    rig = desk.rig
    for run in [rig.run, *rig.aside]:
        if run is not None and run.id == act.batch:
            return run
    if rig.run is None:
        raise StageError("there is no batch at the rig: plan one first")
    raise StageError(f"the batch at the rig is {rig.run.sheet.name}: look again")
