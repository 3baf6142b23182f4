"""What the engine remembers of alarms; what follows from it is in `alarm_book.py`."""

from dataclasses import dataclass, field


@dataclass(slots=True)
class Shelf:
    """An alarm that a person has put aside for a while."""

    until: float
    """Rig time it comes back."""
    reason: str
    """Why, in the person's words."""
    urgency: int
    """How much it has mattered at the least since, see `alarm_stages.urgency`."""


@dataclass(slots=True)
class AlarmState:
    """One alarm that is not normal."""

    id: str
    since: float
    """When it was raised last."""
    active: bool = True
    """Its cause is there."""
    acknowledged_at: float | None = None
    cleared_at: float | None = None
    values: dict[str, float] = field(default_factory=dict)
    """Figures for its sentence, SI."""
    priority: str | None = None
    """Its priority now, where that is not the table's."""
    follows: str | None = None
    """Name of the alarm that came first, where this one came shortly after it."""
    suppressed: bool = False
    """It means nothing in the stage the work is in."""
    shelf: Shelf | None = None
    """Put aside by a person."""


@dataclass(slots=True)
class Watch:
    """How long one alarm's cause has been there or gone, and how often it came."""

    wrong_since: float | None = None
    """Since when its cause is there; None while it is not."""
    right_since: float | None = None
    """Since when the cause of one that stands is gone."""
    raised: list[float] = field(default_factory=list)
    """When it was raised lately."""
