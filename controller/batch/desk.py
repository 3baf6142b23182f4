"""Where acts are dealt with: the state they change and what may be looked at to decide."""

from dataclasses import dataclass

from controller.batch.acts import Act, ActKind
from controller.batch.alarm_book import AlarmBook
from controller.batch.heat import HeatEstimate
from controller.batch.interlocks import ZoneView, day_checked, resting, zone_locked
from controller.batch.signals import Readings, RigFacts, Wiring
from controller.batch.stages import Stage
from controller.batch.state import RigState, Run, Zone
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

    def day_checked(self) -> bool:
        """The day's first-heat check was confirmed."""
        return day_checked(self.facts, self.rig.day_check_at, self.now)

    def told_at(self, act: Act, run: Run) -> float:
        """Rig time an act was true, [s]: told late or not, never before the last fact known.

        That is the beginning of the stage, and the lamp's going off for what comes after it. Resin
        may have been mixed before the stage began, but not before START.
        """
        since = run.since
        if act.kind is ActKind.MIXED and run.started_at is not None:
            since = min(since, run.started_at)
        elif act.kind is ActKind.COATING and run.lamp_off_at is not None:
            since = max(since, run.lamp_off_at)
        return min(max(self.now - act.ago, since), self.now)


def rest_left(desk: Desk) -> float | None:
    """How much longer all stays off after too many restarts, [min]; None when it need not."""
    until = desk.rig.rest_until
    if until is None or not resting(until, desk.now):
        return None
    return (until - desk.now) / 60.0


def rested(desk: Desk) -> None:
    """Raises StageError while everything has to stay off after too many restarts."""
    minutes = rest_left(desk)
    if minutes is not None:
        raise StageError(
            "the controller came back too often: look at its supply and its plug; everything stays"
            f" off for another {minutes:.0f} min"
        )


def only_in(run: Run, *allowed: Stage) -> None:
    """Raises StageError unless the batch is in one of these stages."""
    if run.stage not in allowed:
        raise StageError(f"this belongs to {', '.join(allowed)}; the batch is in {run.stage}")


def by_hand(wiring: Wiring, what: str) -> None:
    """Raises StageError unless a person switches this output."""
    if wiring is not Wiring.BY_HAND:
        raise StageError(f"the {what} is {wiring} on this rig: there is nothing to tell")


def lamp_away(desk: Desk, run: Run, what: str) -> None:
    """Raises StageError unless the lamp is off and its plug out."""
    if run.lamp.on or desk.rig.lamp_by_hand or desk.readings.lamp_fed:
        raise StageError(f"the lamp is on: it must be off and unplugged before you {what}")
    if not run.unplugged and desk.facts.lamp is not Wiring.ABSENT:
        raise StageError(f"pull the lamp's plug and press UNPLUGGED before you {what}")


def wet(desk: Desk) -> None:
    """From here on solvent may be in the lamp's zone."""
    desk.rig.zone = Zone(wet=True)
