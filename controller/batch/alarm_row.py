"""What a row of the alarm table says, and what a step finds of its cause."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum


class Priority(StrEnum):
    """How soon somebody is needed."""

    P1 = "P1"
    """Now, whoever is near: heat, fire, an output out of hand."""
    P2 = "P2"
    """Soon enough to wake for: the batch is being lost."""
    P3 = "P3"
    """Today."""


class Danger(StrEnum):
    """The kinds of P1: what a person who hears one must think of. There are no others."""

    RUNAWAY = "too hot"
    OUTPUT = "lamp out of control"
    BLIND = "heating without a sensor"
    FALLEN = "lamp fallen or cut out"
    VAPOUR = "lamp beside solvent"
    EXOTHERM = "resin heats itself"


@dataclass(frozen=True, slots=True)
class AlarmRow:
    """One alarm of the table."""

    priority: Priority
    says: str
    """What is wrong; {named} gaps are quantities of the alarm."""
    cause: str
    """What usually makes it so."""
    consequence: str
    """What happens if nobody comes."""
    do: str
    """What to do."""
    minutes_to_act: float
    """About how long there is for it."""
    latched: bool = False
    """Stays until acknowledged, and holds the lamp off."""
    danger: Danger | None = None
    """Of a P1: its kind."""
    on_delay: float = 0.0
    """How long its cause must be there before it is raised, [s]."""
    off_delay: float = 0.0
    """How long its cause must be gone before it counts as gone, [s]."""
    deadband: float = 0.0
    """How far back behind its limit the figure must come for that, in the figure's unit."""


@dataclass(frozen=True, slots=True)
class Cause:
    """One alarm's cause, as a step finds it. No Cause at all: it is not there."""

    values: Mapping[str, float] = field(default_factory=dict)
    """Figures for the alarm's sentence, SI."""
    past: float | None = 0.0
    """How far its figure is past the limit, under zero on the good side; None where nothing can
    tell now, so that what stands goes on standing."""
    once: bool = False
    """It happened in this step, and is news each time."""

    def there(self, stands: bool, deadband: float) -> bool:
        """Whether the alarm's cause is there.

        stands: the alarm stands, so the figure must come back by the deadband
        """
        if self.past is None:
            return stands
        return self.past > -deadband if stands and deadband else self.past >= 0.0
