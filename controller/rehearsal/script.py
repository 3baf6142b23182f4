"""What a scenario has in store: when each fault, outage and absence is due, and what is over."""

from collections.abc import Callable

from controller.rehearsal.rig import PretendRig
from controller.rehearsal.scenario import Away, Moment, Outage, Scenario, ScriptedFault

Began = Callable[[str], float | None]
"""When a stage began first, [s]; None where it has not."""


class Script:
    """What is still to come, and what will pass."""

    def __init__(self, scenario: Scenario, began: Began) -> None:
        self._began = began
        self._faults = list(scenario.faults)
        self._passing: list[tuple[float, ScriptedFault]] = []
        self._outages = list(scenario.outages)
        self._away = list(scenario.away)
        self.away_until = 0.0
        """The operator is out of reach until then, [s]."""

    def comes(self, moment: Moment) -> None:
        """Put one more thing into the script."""
        match moment:
            case ScriptedFault():
                self._faults.append(moment)
            case Outage():
                self._outages.append(moment)
            case Away():
                self._away.append(moment)

    def until_next(self, now: float) -> float | None:
        """Time to the next thing, so that no long tick runs over it, [s]; None for no other."""
        dues = [self._due(m) for m in (*self._faults, *self._outages, *self._away)]
        dues += [ends for ends, _ in self._passing]
        return min((due - now for due in dues if due is not None and due > now), default=None)

    def breaks(self, now: float, rig: PretendRig) -> None:
        """Let break what is due, heal by itself what has lasted, and the operator go."""
        for fault in [f for f in self._faults if self._has_come(f, now)]:
            self._faults.remove(fault)
            rig.add_fault(fault.name, fault.value, fault.role)
            if fault.lasts is not None:
                self._passing.append((now + fault.lasts, fault))
        for ends, fault in [p for p in self._passing if p[0] <= now]:
            self._passing.remove((ends, fault))
            rig.clear_fault(fault.name, fault.role)
        for away in [a for a in self._away if self._has_come(a, now)]:
            self._away.remove(away)
            self.away_until = now + away.lasts

    def outages(self, now: float) -> list[Outage]:
        """The outages that are due; they are over with that."""
        due = [outage for outage in self._outages if self._has_come(outage, now)]
        for outage in due:
            self._outages.remove(outage)
        return due

    def _due(self, moment: Moment) -> float | None:
        began = self._began(moment.stage)
        return None if began is None else began + moment.after

    def _has_come(self, moment: Moment, now: float) -> bool:
        due = self._due(moment)
        return due is not None and now >= due
