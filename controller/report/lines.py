"""The lines of a record in words: times people read, what an event carried, alarms and answers."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from math import floor
from zoneinfo import ZoneInfo

from controller.batch.acts import ActKind
from controller.batch.alarms import ALARMS
from controller.batch.events import Event, EventKind
from controller.quantities import People, say
from controller.quantities.said import OUNCE, ZERO_CELSIUS
from controller.report.account import Account
from controller.store.queries import Logged

SILENT = {"act", "by", "id", "alarm", "priority", "from", "lamp", "pump", "simulated"}
"""Carried by an event and in its sentence already."""
SOON = 60.0
"""Longest time between two switchings of one run, [s]. Own."""
FEW = 4
"""Switchings in a row that are still told one by one. Own."""
NO_ANSWER = {ActKind.ACKNOWLEDGE, ActKind.SHELVE, ActKind.MUTE, ActKind.PRESENT}
"""Acts that do nothing about an alarm's cause."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AlarmTold:
    """One alarm with what was done about it."""

    number: str
    """A1, A2, ... in the order they were raised."""
    name: str
    """Its name in the table of alarms."""
    priority: str
    """P1, P2 or P3."""
    raised_at: float
    """Rig time, [s]."""
    heard_at: float | None
    """Rig time somebody acknowledged it, [s]."""
    heard_by: str | None
    """Who."""
    cleared_at: float | None
    """Rig time its cause was gone, [s]."""
    done: tuple[str, ...]
    """The acts between, with who did them."""


def alarms_of(account: Account) -> tuple[AlarmTold, ...]:
    """Every alarm of a batch, in order."""
    events = [line.event for line in account.lines if line.event is not None]
    found: list[AlarmTold] = []
    for i, event in enumerate(events):
        if event.kind == EventKind.ALARM_RAISED:
            number = f"A{len(found) + 1}"
            found.append(_alarm(number, event, _until_next(event, events[i + 1 :])))
    return tuple(found)


def clock(utc: float, zone: str) -> str:
    """Hours, minutes and seconds on the wall, 07:40:05."""
    return f"{_there(utc, zone):%H:%M:%S}"


def day(utc: float, zone: str) -> str:
    """The day with its year, Tue 4 Nov 2025."""
    there = _there(utc, zone)
    return f"{there:%a} {there.day} {there:%b %Y}"


def date(utc: float, zone: str) -> str:
    """The day without its year, Tue 4 Nov."""
    there = _there(utc, zone)
    return f"{there:%a} {there.day} {there:%b}"


def on_the_scale(mass: float, units: People) -> str:
    """A weighing to the tenth of a gram or the thousandth of an ounce, however heavy the board.

    mass: or a difference of two, [kg]

    What the solvent takes with it is lost in whole grams.
    """
    if units.mass == "oz":
        return f"{mass / OUNCE:.3f} oz"
    return f"{1000 * mass:.1f} g"


def carried(event: Event, units: People) -> str:
    """The figures an event carries, in a person's units; empty without any."""
    return ", ".join(
        _figure(name, value, units)
        for name, value in event.data.items()
        if name not in SILENT and value is not None
    )


def told_late(account: Account) -> Iterator[tuple[Logged, Event, float]]:
    """Lines told late: the line, its event, and the rig time it was true, [s]."""
    for line in account.lines:
        event = line.event
        if event is not None and event.happened_at is not None:
            yield line, event, event.happened_at


def switched_runs(account: Account) -> list[list[Logged]]:
    """The lines one by one, but an output switched again and again in one list.

    A lamp that holds a band is switched every few seconds: the paper names the run, not each.
    """
    runs: list[list[Logged]] = []
    for line in account.lines:
        before = runs[-1][-1] if runs else line
        soon = line.told_utc - before.told_utc <= SOON
        if runs and soon and switched(line) and switched(line) == switched(before):
            runs[-1].append(line)
        else:
            runs.append([line])
    return [part for run in runs for part in ([run] if len(run) > FEW else [[one] for one in run])]


def switched(line: Logged) -> str | None:
    """'Lamp' or 'Pump' for a line that tells of its switching."""
    event = line.event
    if event is None or event.kind != EventKind.OUTPUT:
        return None
    return "Lamp" if "lamp" in event.data else "Pump"


def damaged(account: Account) -> list[int]:
    """Numbers of the lines that do not agree with their checksum."""
    return [line.seq for line in account.lines if line.event is None]


def _until_next(raised: Event, later: Sequence[Event]) -> list[Event]:
    """What followed, up to the next time the same alarm was raised."""
    found = []
    for event in later:
        again = event.kind == EventKind.ALARM_RAISED
        if again and event.data.get("alarm") == raised.data.get("alarm"):
            break
        found.append(event)
    return found


def _alarm(number: str, raised: Event, later: Sequence[Event]) -> AlarmTold:
    name = str(raised.data.get("alarm", "unnamed"))
    heard = next((event for event in later if _hears(event, name)), None)
    cleared = next(
        (
            event
            for event in later
            if event.kind == EventKind.ALARM_CLEARED and event.data.get("alarm") == name
        ),
        None,
    )
    over = max((event.at for event in (heard, cleared) if event is not None), default=float("inf"))
    row = ALARMS.get(name)
    known = "" if row is None else str(row.priority)
    return AlarmTold(
        number=number,
        name=name,
        priority=str(raised.data.get("priority", known)),
        raised_at=raised.at,
        heard_at=None if heard is None else heard.at,
        heard_by=None if heard is None else str(heard.data.get("by", "somebody")),
        cleared_at=None if cleared is None else cleared.at,
        done=tuple(
            f"{event.data.get('act')} from {event.data.get('by', 'somebody')}"
            for event in later
            if event.kind == EventKind.ACT
            and event.data.get("act") not in NO_ANSWER
            and event.at <= over
        ),
    )


def _hears(event: Event, name: str) -> bool:
    if event.kind == EventKind.ALARM_ACKNOWLEDGED:
        return event.data.get("alarm") == name
    return (
        event.kind == EventKind.ACT
        and event.data.get("act") == ActKind.ACKNOWLEDGE
        and event.data.get("told_alarm") == name
    )


def _figure(name: str, value: str | float | bool, units: People) -> str:
    bare = name.removeprefix("told_")
    if isinstance(value, bool):
        return f"{bare.replace('_', ' ')}: {'yes' if value else 'no'}"
    if not isinstance(value, int | float):
        return f"{bare.replace('_', ' ')}: {value}"
    if bare.endswith("_g"):
        words = bare.removesuffix("_g").replace("_", " ")
        return f"{words}: {on_the_scale(value / 1000, units)}"
    for ending, kind, factor, zero in (
        ("_pa_s", "pressure_rate", 1.0, 0.0),
        ("_pa", "pressure_abs", 1.0, 0.0),
        ("_c", "temperature", 1.0, ZERO_CELSIUS),
        ("_s", "duration", 1.0, 0.0),
    ):
        if bare.endswith(ending):
            words = bare.removesuffix(ending).replace("_", " ")
            return f"{words}: {say(value * factor + zero, kind, units)}"
    return f"{bare.replace('_', ' ')}: {value:g}"


def _there(utc: float, zone: str) -> datetime:
    return datetime.fromtimestamp(floor(utc), UTC).astimezone(ZoneInfo(zone))
