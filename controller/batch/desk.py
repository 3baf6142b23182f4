"""Where acts are dealt with: the state they change and what may be looked at to decide."""

from dataclasses import dataclass

from controller.batch.acts import Act
from controller.batch.alarms import AlarmBook
from controller.batch.heat import HeatEstimate
from controller.batch.interlocks import ZoneView, zone_locked
from controller.batch.signals import Readings, RigFacts, Wiring
from controller.batch.stages import Stage
from controller.batch.state import RigState, Run
from controller.errors import StageError


@dataclass(frozen=True, slots=True)
class Desk:
    """One step's desk; made anew each step over the engine's state."""

    now: float
    """Rig time, [s]."""
    rig: RigState
    """What acts change."""
    readings: Readings
    """What the rig reads."""
    facts: RigFacts
    """What is true of the rig."""
    book: AlarmBook
    """The alarms that stand."""
    heat: HeatEstimate | None
    """The board's estimate."""

    def zone_locked(self) -> bool:
        """Solvent may be in the lamp's zone."""
        zone = self.rig.zone
        return zone_locked(ZoneView(zone.wet, zone.tidied_at, zone.out_at), self.now)

    def told_at(self, act: Act, not_before: float | None) -> float:
        """When a late-told act was true, [s]: never before the last fact that is known."""
        at = self.now - act.ago
        return at if not_before is None else max(at, not_before)


def only_in(run: Run, *allowed: Stage) -> None:
    """Raises StageError unless the batch is in one of these stages."""
    if run.stage not in allowed:
        raise StageError(f"this belongs to {', '.join(allowed)}; the batch is in {run.stage}")


def by_hand(wiring: Wiring, what: str) -> None:
    """Raises StageError unless a person switches this output."""
    if wiring is not Wiring.BY_HAND:
        raise StageError(f"the {what} is {wiring} on this rig: there is nothing to tell")
