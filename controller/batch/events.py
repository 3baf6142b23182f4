"""What happened: the lines of the record that are never lost once they are answered for."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum


class EventKind(StrEnum):
    """Kinds of event, each with one meaning for ever: the record is read back years later."""

    BATCH_PLANNED = "batch planned"
    STAGE = "stage"
    ACT = "act"
    REFUSED = "refused"
    OUTPUT = "output"
    ALARM_RAISED = "alarm raised"
    ALARM_ACKNOWLEDGED = "alarm acknowledged"
    ALARM_CLEARED = "alarm cleared"
    COAT_NOW = "coat now"
    NOTE = "note"
    GAP = "gap"
    RESTART = "restart"
    GATE = "leak gate"
    GEL = "gel"
    MAY_OPEN = "may be opened"
    CLOCK_STEP = "clock step"


@dataclass(frozen=True, slots=True)
class Event:
    """One thing that happened."""

    at: float
    """Rig time it was recorded, [s]."""
    kind: EventKind
    """What sort of thing."""
    batch: str | None
    """The batch it belongs to; None for the rig itself."""
    stage: str | None
    """The stage the batch was in, after the event."""
    text: str
    """One sentence a person can read, units filled in as SI."""
    data: Mapping[str, str | float | bool | None] = field(default_factory=dict)
    """Figures and names, with the unit in the name."""
    happened_at: float | None = None
    """Rig time it was true, where it was told late, [s]."""
