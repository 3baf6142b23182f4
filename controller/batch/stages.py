"""The order of work, as one table. A stage changes here and nowhere else.

Rule 1: a move that is not in MOVES does not happen; `after` refuses it and changes nothing.
Rule 2: STOP is no row of the table, because it is allowed everywhere.
Rule 3: what the outputs may do in a stage is read from ORDER, and from nothing else.
"""

from dataclasses import dataclass
from enum import StrEnum

from controller.batch.acts import ActKind
from controller.errors import StageError


class Stage(StrEnum):
    """Where a batch is in the order of work."""

    PLANNED = "PLANNED"
    DRYPULL = "DRYPULL"
    PREHEAT = "PREHEAT"
    SOAK = "SOAK"
    COOLDOWN = "COOLDOWN"
    COAT = "COAT"
    BAG = "BAG"
    PULLDOWN = "PULLDOWN"
    HOLD = "HOLD"
    FLASHOFF = "FLASHOFF"
    FINISHED = "FINISHED"
    STOPPED = "STOPPED"
    INTERRUPTED = "INTERRUPTED"


class Form(StrEnum):
    """How a hold is held."""

    HELD = "HELD"
    LET_UP = "LET UP"
    UNBAGGED = "UNBAGGED"


class Trigger(StrEnum):
    """Why a stage ends without a person's press."""

    FACE_IN_BAND = "face in the preheat band"
    HOT_THROUGH = "mean at the sheet's target"
    BUDGET_SPENT = "lamp budget spent"
    NO_BAG = "coated, and the sheet has no bag"
    BAG_TIGHT = "leak gate passed"
    SOLVENT_OUT = "solvent out"
    GUARD = "a guard tripped"
    RESTART = "the controller restarted"


class Use(StrEnum):
    """What a stage lets an output do."""

    OFF = "off"
    ALLOWED = "allowed"
    LOCKED = "locked"


@dataclass(frozen=True, slots=True)
class Row:
    """One stage: its outputs, its longest step, and how it ends."""

    lamp: Use
    """What the lamp may do."""
    pump: Use
    """What the pump may do."""
    step_cap: float
    """Longest time one step may stand for, [s]; longer is a recorded gap. Own."""
    moves: dict[ActKind | Trigger, Stage]
    """What ends the stage, and the stage that follows."""


BRISK = 2.0
"""Step cap where the lamp may be on or the coat moment runs, [s]. Own."""
STEADY = 10.0
"""Step cap of the other stages, [s]. Own."""
SLOW = 600.0
"""Step cap of days of flash-off, [s]. Own."""

ORDER: dict[Stage, Row] = {
    Stage.PLANNED: Row(
        Use.OFF,
        Use.OFF,
        STEADY,
        {ActKind.START: Stage.PREHEAT, ActKind.DRY_PULL: Stage.DRYPULL},
    ),
    Stage.DRYPULL: Row(
        Use.LOCKED,
        Use.ALLOWED,
        STEADY,
        {ActKind.DRY_PULL_DONE: Stage.PLANNED, Trigger.RESTART: Stage.PLANNED},
    ),
    Stage.PREHEAT: Row(
        Use.ALLOWED,
        Use.OFF,
        BRISK,
        {
            Trigger.FACE_IN_BAND: Stage.SOAK,
            Trigger.BUDGET_SPENT: Stage.STOPPED,
            Trigger.GUARD: Stage.STOPPED,
            Trigger.RESTART: Stage.INTERRUPTED,
        },
    ),
    Stage.SOAK: Row(
        Use.ALLOWED,
        Use.OFF,
        BRISK,
        {
            ActKind.ENOUGH: Stage.COOLDOWN,
            Trigger.HOT_THROUGH: Stage.COOLDOWN,
            Trigger.BUDGET_SPENT: Stage.COOLDOWN,
            Trigger.GUARD: Stage.STOPPED,
            Trigger.RESTART: Stage.INTERRUPTED,
        },
    ),
    Stage.COOLDOWN: Row(
        Use.OFF,
        Use.OFF,
        BRISK,
        {ActKind.COATING: Stage.COAT, ActKind.REHEAT: Stage.PREHEAT},
    ),
    Stage.COAT: Row(
        Use.LOCKED,
        Use.OFF,
        STEADY,
        {ActKind.COATED: Stage.BAG, Trigger.NO_BAG: Stage.HOLD},
    ),
    Stage.BAG: Row(Use.LOCKED, Use.OFF, STEADY, {ActKind.SEALED: Stage.PULLDOWN}),
    Stage.PULLDOWN: Row(
        Use.LOCKED,
        Use.ALLOWED,
        STEADY,
        {
            Trigger.BAG_TIGHT: Stage.HOLD,
            ActKind.ACCEPT: Stage.HOLD,
            ActKind.RESEAL: Stage.BAG,
            Trigger.RESTART: Stage.INTERRUPTED,
        },
    ),
    Stage.HOLD: Row(
        Use.LOCKED,
        Use.ALLOWED,
        STEADY,
        {
            ActKind.OPENED: Stage.FLASHOFF,
            ActKind.RESEAL: Stage.BAG,
            Trigger.RESTART: Stage.INTERRUPTED,
        },
    ),
    Stage.FLASHOFF: Row(Use.LOCKED, Use.OFF, SLOW, {Trigger.SOLVENT_OUT: Stage.FINISHED}),
    Stage.FINISHED: Row(Use.OFF, Use.OFF, SLOW, {ActKind.NEXT_COAT: Stage.PLANNED}),
    Stage.STOPPED: Row(
        Use.OFF,
        Use.OFF,
        STEADY,
        {ActKind.RE_ARM: Stage.PREHEAT, ActKind.ABANDON: Stage.FINISHED},
    ),
    Stage.INTERRUPTED: Row(
        Use.OFF,
        Use.OFF,
        STEADY,
        {ActKind.RE_ARM: Stage.PREHEAT, ActKind.ABANDON: Stage.FINISHED},
    ),
}
"""Every stage. RESUME is the one move not written as a row: it leads back to the stage left."""

HEATED = frozenset({Stage.PREHEAT, Stage.SOAK, Stage.COOLDOWN})
"""Stages before the first stroke in which the board is being heated or has just been."""
PUMPED = frozenset({Stage.DRYPULL, Stage.PULLDOWN, Stage.HOLD})
"""Stages in which vacuum is the work."""
WET = frozenset({Stage.COAT, Stage.BAG, Stage.PULLDOWN, Stage.HOLD, Stage.FLASHOFF})
"""Stages in which coated work may give off solvent."""
HALTED = frozenset({Stage.STOPPED, Stage.INTERRUPTED})
"""Stages that wait for a person before the work goes on."""


def after(stage: Stage, why: ActKind | Trigger, left: Stage | None = None) -> Stage:
    """The stage that follows.

    stage: the present one        why: the act or trigger that ends it
    left: the stage a halted batch was in, for RESUME

    Raises StageError, and changes nothing, where the table has no such move.

    >>> after(Stage.COAT, ActKind.COATED)
    <Stage.BAG: 'BAG'>
    """
    if why is ActKind.STOP:
        return stage if stage is Stage.FINISHED else Stage.STOPPED
    if why is ActKind.RESUME and stage in HALTED and left is not None:
        if ORDER[left].lamp is not Use.ALLOWED:
            return left
        raise StageError(f"{left} heats the board: press RE-ARM, not RESUME")
    try:
        return ORDER[stage].moves[why]
    except KeyError:
        raise StageError(f"{why} does not belong to {stage}") from None
