"""The book of the alarms that stand now: raised, heard, cleared, and for how long they sound.

An acknowledged alarm whose cause lasts sounds again after ten minutes. The states follow the ideas
of ISA-18.2 and IEC 62682 (from memory, to be checked).
"""

from collections.abc import Mapping

from controller.batch.alarms import ALARMS, P3
from controller.batch.state import AlarmState

SOUND_AGAIN = 600.0
"""An acknowledged alarm whose cause lasts sounds again after this, [s]. Own."""
MUTE_TIME = 600.0
"""How long MUTE keeps the sounder quiet, [s]. Own."""


class AlarmBook:
    """The alarms that stand, kept in a list the engine saves."""

    def __init__(self, standing: list[AlarmState]) -> None:
        self.standing = standing

    def find(self, name: str) -> AlarmState | None:
        """The alarm of that name, if it stands."""
        return next((alarm for alarm in self.standing if alarm.id == name), None)

    def update(
        self, now: float, active: Mapping[str, Mapping[str, float]]
    ) -> tuple[list[AlarmState], list[AlarmState]]:
        """Take in what is wrong now: (raised this step, cleared this step).

        active: names of the alarms whose cause is there, each with its sentence's figures, SI.
        A latched alarm that was raised keeps its cause until it is acknowledged.
        """
        raised: list[AlarmState] = []
        for name, values in active.items():
            alarm = self.find(name)
            if alarm is None:
                alarm = AlarmState(id=name, since=now)
                self.standing.append(alarm)
                raised.append(alarm)
            elif not alarm.active:
                alarm.active, alarm.acknowledged_at, alarm.cleared_at = True, None, None
                raised.append(alarm)
            alarm.values = dict(values)
        cleared: list[AlarmState] = []
        for alarm in self.standing:
            if alarm.active and alarm.id not in active:
                alarm.active, alarm.cleared_at = False, now
                cleared.append(alarm)
        self.standing[:] = [
            alarm for alarm in self.standing if alarm.active or alarm.acknowledged_at is None
        ]
        return raised, cleared

    def acknowledge(self, now: float, name: str) -> AlarmState | None:
        """A person has heard it. None when no such alarm stands."""
        alarm = self.find(name)
        if alarm is None:
            return None
        alarm.acknowledged_at = now
        if not alarm.active:
            self.standing.remove(alarm)
        return alarm

    def latch(self) -> str | None:
        """Name of a standing alarm that holds the lamp off; None when there is none."""
        for alarm in self.standing:
            if ALARMS[alarm.id].latched:
                return alarm.id
        return None

    def sounding(self, now: float, muted_until: float | None) -> bool:
        """The sounder speaks: a P1 or P2 is unheard, or was heard long ago and still lasts.

        MUTE is for what stood when it was pressed; what is raised later is heard.
        """
        return any(
            ALARMS[alarm.id].priority is not P3
            and not muted(alarm.since, now, muted_until)
            and (
                alarm.acknowledged_at is None
                or (alarm.active and now - alarm.acknowledged_at >= SOUND_AGAIN)
            )
            for alarm in self.standing
        )


def muted(since: float, now: float, muted_until: float | None) -> bool:
    """Whether MUTE still keeps what began at `since` quiet; all rig time, [s]."""
    if muted_until is None or now >= muted_until:
        return False
    return since <= muted_until - MUTE_TIME


def state_of(alarm: AlarmState) -> str:
    """'unacknowledged', 'acknowledged', 'latched' or 'returned', as it is shown."""
    if alarm.active:
        return "unacknowledged" if alarm.acknowledged_at is None else "acknowledged"
    return "latched" if ALARMS[alarm.id].latched else "returned"
