"""How the alarms that stand are shown."""

from controller.batch.alarm_book import first_out, may_shelve, priority_of, state_of
from controller.batch.alarm_row import Priority
from controller.batch.alarm_state import AlarmState
from controller.batch.alarms import ALARMS
from controller.batch.presses import shelve_press
from controller.batch.snapshot import AlarmShown, Quantity, Sentence

KINDS = {
    "face": "temperature",
    "film": "temperature",
    "seen": "temperature",
    "settles": "temperature",
    "bag": "vacuum",
    "off": "vacuum",
    "rise": "pressure_rate",
}
"""Kinds of the figures alarms carry."""


def alarms_shown(standing: list[AlarmState]) -> tuple[AlarmShown, ...]:
    """The alarms that are not normal, in the order to read them."""
    return tuple(_alarm(alarm) for alarm in first_out(standing))


def _alarm(alarm: AlarmState) -> AlarmShown:
    row = ALARMS[alarm.id]
    values = {name: Quantity(kind=KINDS[name], value=value) for name, value in alarm.values.items()}
    return AlarmShown(
        id=alarm.id,
        priority=str(priority_of(alarm)),
        state=state_of(alarm),
        since=alarm.since,
        follows=alarm.follows,
        shelve=shelve_press() if alarm.shelf is None and may_shelve(alarm) else None,
        shelved_until=None if alarm.shelf is None else alarm.shelf.until,
        says=Sentence(text=row.says, values=values),
        cause=row.cause,
        do=row.do,
    )


def blind(standing: list[AlarmState]) -> str | None:
    """What is said where more than one alarm that would wake somebody is put aside."""
    shelved = [alarm for alarm in standing if alarm.shelf is not None]
    wakes = [alarm.id for alarm in shelved if priority_of(alarm) is not Priority.P3]
    if len(wakes) < 2:
        return None
    return f"Put aside, so nobody is woken for them: {', '.join(wakes)}. Look at the rig."
