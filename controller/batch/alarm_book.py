"""The book of the alarms that stand now: raised, heard, cleared, and for how long they sound.

The states follow the ideas of ISA-18.2 and IEC 62682 (from memory, to be checked): normal,
unacknowledged, acknowledged, returned, latched, shelved, suppressed by the stage. The delays and
deadbands of the table are acted on here and nowhere else. An acknowledged alarm whose cause lasts
sounds again after ten minutes. One that was raised twice in ten minutes stands until its cause has
been gone for ten, so that no noise at a limit raises it a third time.
"""

from collections.abc import Mapping

from controller.batch.alarm_row import AlarmRow, Cause, Priority
from controller.batch.alarm_stages import RANKS, priority_now, urgency
from controller.batch.alarm_state import AlarmState, Shelf, Watch
from controller.batch.alarms import ALARMS
from controller.batch.state import Run

SOUND_AGAIN = 600.0
"""An acknowledged alarm whose cause lasts sounds again after this, [s]. Own."""
MUTE_TIME = 600.0
"""How long MUTE keeps the sounder quiet, [s]. Own."""
SHELF_LONGEST = 3600.0
"""Longest an alarm is put aside, [s]. Own."""
CHATTER_TIME = 600.0
"""Time in which an alarm is raised twice at most, [s]. Own."""
CHATTER_RAISES = 2
"""How often that is."""
FIRST_OUT = 120.0
"""Alarms this close after the first are taken to have its cause, [s]. Own."""

_ORDER = {name: number for number, name in enumerate(ALARMS)}

Changes = tuple[list[AlarmState], list[AlarmState]]
"""(raised this step, cleared this step)"""


class AlarmBook:
    """The alarms that stand, kept in a list and a table the engine saves."""

    def __init__(self, standing: list[AlarmState], watches: dict[str, Watch]) -> None:
        self.standing = standing
        self._watches = watches

    def find(self, name: str) -> AlarmState | None:
        """The alarm of that name, if it stands."""
        return next((alarm for alarm in self.standing if alarm.id == name), None)

    def update(self, now: float, causes: Mapping[str, Cause], run: Run | None) -> Changes:
        """Take in what is wrong now: (raised this step, cleared this step).

        causes: by the alarm's name        run: the batch at the rig

        A latched alarm whose cause is gone stands on until it is acknowledged.
        """
        raised: list[AlarmState] = []
        cleared: list[AlarmState] = []
        wrong = (name for name, cause in causes.items() if cause.there(False, 0.0))
        names = {*wrong, *self._watches, *(alarm.id for alarm in self.standing)}
        for name in sorted(names, key=_ORDER.__getitem__):
            self._follow(now, name, causes.get(name), run, raised, cleared)
        self.standing[:] = [
            alarm
            for alarm in self.standing
            if alarm.active or alarm.acknowledged_at is None or alarm.shelf is not None
        ]
        return raised, cleared

    def _follow(
        self,
        now: float,
        name: str,
        cause: Cause | None,
        run: Run | None,
        raised: list[AlarmState],
        cleared: list[AlarmState],
    ) -> None:
        row, alarm = ALARMS[name], self.find(name)
        stands = alarm is not None and alarm.active
        priority = priority_now(name, run)
        there = priority is not None and cause is not None and cause.there(stands, row.deadband)
        watch = self._watches.setdefault(name, Watch())
        watch.raised = [at for at in watch.raised if now - at < CHATTER_TIME]
        watch.wrong_since = _since(watch.wrong_since, there, now)
        watch.right_since = _since(watch.right_since, stands and not there, now)
        if there and cause is not None:
            if not stands and now - (watch.wrong_since or 0.0) >= row.on_delay:
                alarm = self._raise(now, name, alarm)
                raised.append(alarm)
                if not cause.once:
                    watch.raised.append(now)
            if alarm is not None and cause.values:
                alarm.values = dict(cause.values)
        elif stands and alarm is not None:
            gone_for = now - (watch.right_since or 0.0)
            if priority is None or gone_for >= _hold(row, alarm, watch):
                alarm.active, alarm.cleared_at, watch.right_since = False, now, None
                cleared.append(alarm)
        if alarm is not None:
            alarm.suppressed = priority is None
            if self._matters_more(now, alarm, priority, run) and alarm not in raised:
                raised.append(alarm)
        if watch == Watch():
            del self._watches[name]

    def _raise(self, now: float, name: str, alarm: AlarmState | None) -> AlarmState:
        if alarm is None:
            alarm = AlarmState(id=name, since=now)
            self.standing.append(alarm)
        alarm.active, alarm.since = True, now
        alarm.acknowledged_at = alarm.cleared_at = None
        alarm.follows = self._first_before(now, alarm)
        return alarm

    def _first_before(self, now: float, alarm: AlarmState) -> str | None:
        """The alarm that came first of those that one cause has brought shortly before."""
        firsts = [
            other
            for other in self.standing
            if other is not alarm
            and other.follows is None
            and now - other.since <= FIRST_OUT
            # a note is not what a warning follows from
            and (priority_of(other) is not Priority.P3 or priority_of(alarm) is Priority.P3)
        ]
        return min(firsts, key=lambda other: other.since).id if firsts else None

    def _matters_more(
        self, now: float, alarm: AlarmState, priority: Priority | None, run: Run | None
    ) -> bool:
        """Its priority rose, or its time on the shelf is over: it is to be heard anew.

        Sets its priority, and takes it off the shelf.
        """
        before = priority_of(alarm)
        if priority is not None:
            alarm.priority = None if priority is ALARMS[alarm.id].priority else str(priority)
        again = RANKS[priority_of(alarm)] > RANKS[before]
        if alarm.shelf is not None:
            matters = urgency(alarm.id, run)
            if now >= alarm.shelf.until or matters > alarm.shelf.urgency:
                alarm.shelf, again = None, True
                if not alarm.active:
                    # heard, and over
                    alarm.acknowledged_at = now
            else:
                alarm.shelf.urgency = min(alarm.shelf.urgency, matters)
        if not again or not alarm.active:
            return False
        alarm.since, alarm.acknowledged_at = now, None
        return True

    def acknowledge(self, now: float, name: str) -> AlarmState | None:
        """A person has heard it. None when no such alarm stands."""
        alarm = self.find(name)
        if alarm is None:
            return None
        alarm.acknowledged_at = now
        if not alarm.active:
            self.standing.remove(alarm)
        return alarm

    def shelve(
        self, now: float, alarm: AlarmState, seconds: float, why: str, run: Run | None
    ) -> None:
        """Put one that `may_shelve` aside for `seconds`."""
        alarm.shelf = Shelf(now + seconds, why, urgency(alarm.id, run))

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
            priority_of(alarm) is not Priority.P3
            and alarm.shelf is None
            and (not alarm.suppressed or ALARMS[alarm.id].latched)
            and not muted(alarm.since, now, muted_until)
            and (
                alarm.acknowledged_at is None
                or (alarm.active and now - alarm.acknowledged_at >= SOUND_AGAIN)
            )
            for alarm in self.standing
        )


def _since(was: float | None, so: bool, now: float) -> float | None:
    if not so:
        return None
    return now if was is None else was


def _hold(row: AlarmRow, alarm: AlarmState, watch: Watch) -> float:
    """How long the cause must be gone before the alarm clears, [s].

    Where a latched one chatters, the person who acknowledges it ends that.
    """
    heard = row.latched and alarm.acknowledged_at is not None
    chatters = len(watch.raised) >= CHATTER_RAISES and not heard
    return CHATTER_TIME if chatters else row.off_delay


def muted(since: float, now: float, muted_until: float | None) -> bool:
    """Whether MUTE still keeps what began at `since` quiet; all rig time, [s]."""
    if muted_until is None or now >= muted_until:
        return False
    return since <= muted_until - MUTE_TIME


def priority_of(alarm: AlarmState) -> Priority:
    """The alarm's priority now."""
    return ALARMS[alarm.id].priority if alarm.priority is None else Priority(alarm.priority)


def may_shelve(alarm: AlarmState) -> bool:
    """A person may put it aside: no P1, and nothing that holds the lamp off."""
    return priority_of(alarm) is not Priority.P1 and not ALARMS[alarm.id].latched


def state_of(alarm: AlarmState) -> str:
    """'unacknowledged', 'acknowledged', 'latched', 'returned', 'shelved' or 'suppressed'."""
    if alarm.shelf is not None:
        return "shelved"
    if alarm.active:
        return "unacknowledged" if alarm.acknowledged_at is None else "acknowledged"
    if ALARMS[alarm.id].latched:
        return "latched"
    return "suppressed" if alarm.suppressed else "returned"


def first_out(standing: list[AlarmState]) -> list[AlarmState]:
    """In the order a person should read them: by the worst of those one cause has brought, and of
    those the first one first."""

    def order(alarm: AlarmState) -> tuple[int, float, bool, float]:
        first = alarm.follows or alarm.id
        group = [other for other in standing if (other.follows or other.id) == first]
        worst = max(RANKS[priority_of(other)] for other in group)
        began = min(other.since for other in group)
        return -worst, began, alarm.follows is not None, alarm.since

    return sorted(standing, key=order)
