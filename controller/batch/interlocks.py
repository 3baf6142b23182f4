"""What keeps the lamp dark: one table, read from top to bottom every step.

This is the lamp's OFF path. `lamp_forbidden` returns the first row that forbids; the engine
commands the lamp on only when it returns None, and the invariants check the outcome without
reading this file. A condition is written so that an unknown forbids.
"""

from collections.abc import Callable
from dataclasses import dataclass

from controller.batch.signals import RigFacts, Wiring
from controller.batch.stages import ORDER, Stage, Use
from controller.settings import TRIP_LIMIT

PRESENCE_LIMIT = 900.0
"""Longest the lamp burns on one word from a person, [s]. Own."""
PRESENCE_LIMIT_CLOSE = 300.0
"""The same on a rig without cut-out or dead-man, [s]. Own."""
LAMP_SECONDS_LIMIT = 3600.0
"""Most lamp-on time one face gets in one coat, whatever the sheet says, [s]. Own."""
BUDGET_FACTOR = 1.5
"""Lamp-on time a face gets, as a multiple of what the sheet expected. Own."""
CLOSE_TRIP_MARGIN = 5.0
"""Trip above the band's top on a rig without cut-out or dead-man, [K]. Own."""
PURGE = 180.0
"""Airing before a lamp may be lit where solvent was, [s]. From memory, to be checked."""
SETTLE = 600.0
"""Wait after the last wet thing left the zone, [s]. Own."""
DAY = 86400.0
"""How long the day's first-heat check counts, [s]. Own."""


@dataclass(frozen=True, slots=True)
class LampView:
    """All the lamp's interlocks look at."""

    now: float
    """Rig time, [s]."""
    stage: Stage | None
    """Of the batch at the rig; None without one."""
    word_age: float | None
    """Since a person last said they are there, [s]."""
    sample_age: float | None
    """Of the newest good face reading, [s]."""
    sample_limit: float
    """How old it may be, [s]."""
    reading: float | None
    """That reading, [K]."""
    trip: float | None
    """Face temperature at which the lamp is cut, [K]."""
    lamp_seconds: float
    """Lamp-on time of this face in this coat, [s]."""
    budget: float
    """What it may have, [s]."""
    latch: str | None
    """Name of the latched alarm that holds the lamp off; None when there is none."""
    zone_locked: bool
    """Solvent may be in the zone."""
    day_checked: bool
    """The day's first-heat check was confirmed."""
    flipping: bool
    """Hands are on the board."""
    unplugged: bool
    """The plug is out, so a command would only be a lie."""
    stop_down: bool
    """The wired STOP button is held down."""
    tilted: bool | None
    """The lamp leans or fell; None when no switch is wired."""
    cut_out_open: bool | None
    """The lamp's own cut-out is open; None when none is wired to be seen."""
    gun_asked: bool
    """The lamp pauses for a look at the face with an infrared gun."""
    looking: bool
    """The lamp pauses for the wired infrared thermometer."""
    late: bool
    """A step came too late for its stage, and too few have come in time since."""
    resting: bool
    """The controller came back too often, and everything stays off for a while."""
    facts: RigFacts
    """What is true of the rig."""


@dataclass(frozen=True, slots=True)
class Interlock:
    """One reason the lamp must be dark."""

    id: str
    """Short name, also in the record."""
    forbids: Callable[[LampView], bool]
    """True when it holds, and when it cannot be known."""
    why: str
    """Said beside the lamp: why it is off."""
    clears: str
    """How it comes to an end."""


def _not_within(value: float | None, limit: float) -> bool:
    """True unless the value is known and at or under the limit; NaN is not within."""
    return value is None or not value <= limit


def _not_under(value: float, limit: float | None) -> bool:
    """True unless the limit is known and the value under it; NaN is not under."""
    return limit is None or not value < limit


def day_checked(facts: RigFacts, check_at: float | None, now: float) -> bool:
    """The day's first-heat check was made; `check_at` and `now` are rig time, [s]."""
    return facts.day_check_done or (check_at is not None and now - check_at <= DAY)


def presence_limit(facts: RigFacts) -> float:
    """Longest the lamp burns on one word from a person, [s]."""
    return PRESENCE_LIMIT_CLOSE if facts.close_watch else PRESENCE_LIMIT


def lamp_budget(expected: float) -> float:
    """Lamp-on time one face may have, from the sheet's expectation, [s]."""
    return min(BUDGET_FACTOR * expected, LAMP_SECONDS_LIMIT)


def trip_temperature(sheet_trip: float, band_top: float, facts: RigFacts) -> float:
    """Face temperature at which the lamp is cut, [K]; no setting gets it past TRIP_LIMIT."""
    close = band_top + CLOSE_TRIP_MARGIN if facts.close_watch else TRIP_LIMIT
    return min(sheet_trip, close, TRIP_LIMIT)


INTERLOCKS: tuple[Interlock, ...] = (
    Interlock(
        "I-1 stage",
        lambda v: v.stage is None or ORDER[v.stage].lamp is not Use.ALLOWED,
        "this is no stage for the lamp",
        "when the batch reaches PREHEAT or SOAK",
    ),
    Interlock(
        "I-15 stop",
        lambda v: v.stop_down,
        "the STOP button is down",
        "when it is let go",
    ),
    Interlock(
        "I-1 none",
        lambda v: v.facts.lamp is Wiring.ABSENT,
        "this rig has no lamp",
        "on a rig with one",
    ),
    Interlock(
        "I-1 zone",
        lambda v: v.zone_locked or not v.facts.zone_clear,
        "solvent may be in the lamp's zone",
        "after TIDIED, the coated work moved out, 3 min of airing and 10 min of waiting",
    ),
    Interlock(
        "I-11 plug",
        lambda v: v.unplugged,
        "the lamp was told unplugged",
        "after REHEAT, with the plug back in",
    ),
    Interlock(
        "I-17 tilt",
        lambda v: v.tilted not in (None, False),
        "the lamp leans or lies",
        "when it stands, somebody has pressed ACKNOWLEDGE, and RE-ARM follows",
    ),
    Interlock(
        "I-18 cut-out",
        lambda v: v.cut_out_open not in (None, False),
        "its thermal cut-out is open",
        "when that was reset by hand, ACKNOWLEDGE was pressed, and RE-ARM follows",
    ),
    Interlock(
        "I-5 latch",
        lambda v: v.latch is not None,
        "an alarm holds it off",
        "when its cause is gone and somebody has pressed ACKNOWLEDGE",
    ),
    Interlock(
        "I-2 reading",
        lambda v: v.reading is None or _not_within(v.sample_age, v.sample_limit),
        "no face reading is young enough",
        "when good readings come in",
    ),
    Interlock(
        "I-5 trip",
        lambda v: v.reading is None or _not_under(v.reading, v.trip),
        "the face is at the trip temperature",
        "when the face has cooled and somebody has pressed ACKNOWLEDGE",
    ),
    Interlock(
        "I-7 presence",
        lambda v: _not_within(v.word_age, presence_limit(v.facts)),
        "nobody has said they are there",
        "when somebody presses PRESENT",
    ),
    Interlock(
        "I-6 budget",
        lambda v: not v.lamp_seconds < v.budget,
        "this face has had its lamp time",
        "with the next coat or face",
    ),
    Interlock(
        "I-4 hands",
        lambda v: v.flipping,
        "the board is being turned",
        "when somebody presses FLIPPED",
    ),
    Interlock(
        "I-19 gun",
        lambda v: v.gun_asked,
        "the face is to be read with an infrared gun, beside the probe",
        "when that READING is told, or by itself after 2 min",
    ),
    Interlock(
        "I-20 look",
        lambda v: v.looking,
        "the infrared thermometer looks at the face",
        "within half a minute",
    ),
    Interlock(
        "I-14 late",
        lambda v: v.late,
        "the controller was late",
        "when it has kept time for ten seconds",
    ),
    Interlock(
        "I-21 restarts",
        lambda v: v.resting,
        "the controller came back too often in ten minutes",
        "a quarter of an hour after the last time, with RE-ARM",
    ),
    Interlock(
        "I-16 record",
        lambda v: not (v.facts.record_in_date and v.day_checked),
        "the rig's record or the day's check is missing or out of date",
        "after warmdraw check, and with START's three confirmations",
    ),
)
"""Every reason, in the order it is told."""


def lamp_forbidden(view: LampView) -> Interlock | None:
    """The first reason the lamp must be dark now; None when it may burn."""
    for row in INTERLOCKS:
        if row.forbids(view):
            return row
    return None


def resting(rest_until: float | None, now: float) -> bool:
    """Everything stays off after too many restarts, at rig time `now`, [s]."""
    return rest_until is not None and not now >= rest_until


@dataclass(frozen=True, slots=True)
class ZoneView:
    """All the zone lock looks at."""

    wet: bool
    """Something wet was in it since it was last clear."""
    tidied_at: float | None
    """When the thinner was shut and the purge started, [s]."""
    out_at: float | None
    """When the coated work left, or its solvent had, [s]."""


def zone_free_at(zone: ZoneView) -> float | None:
    """Rig time from which the zone is clear; None while something still has to be told."""
    if zone.tidied_at is None or zone.out_at is None:
        return None
    return max(zone.tidied_at + PURGE, max(zone.tidied_at, zone.out_at) + SETTLE)


def zone_locked(zone: ZoneView, now: float) -> bool:
    """Solvent may be in the zone at rig time `now`."""
    free = zone_free_at(zone)
    return zone.wet and (free is None or not now >= free)
