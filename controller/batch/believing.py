"""Which readings count: what a sensor could mean, corrected by what the bench check found, and
what was told by hand where none is wired.

A value outside its range, or none at all as NaN is, is no reading, as a driver's failure is none;
what follows from that is decided where each reading is used.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from controller.batch.signals import (
    AT_THEIR_WORD,
    Corrections,
    Readings,
    RigFacts,
    Role,
    Sample,
    Wiring,
)
from controller.science.constants import ZERO_CELSIUS

TEMPERATURES = (ZERO_CELSIUS - 20.0, ZERO_CELSIUS + 110.0)
"""What a probe in this shop can mean, [K]. Own."""
BAG_PRESSURES = (100.0, 115e3)
"""What a bag gauge can mean, [Pa]. Own."""
AIR_PRESSURES = (50e3, 110e3)
"""What a barometer can mean, up to 5500 m, [Pa]. Own."""
AHEAD = 2.0
"""How far a reader with its own thread may be ahead of the step, [s]; more is no reading. Own."""
PROBE_AGE = 4.0
"""Oldest reading of a wired face probe that is acted on, [s]: with a step each second the lamp is
off within 5 s of the last good sample. Own."""
TOLD_AGE = 300.0
"""Oldest face reading told by hand that a lamp in a person's hand is kept on for, [s]. Own."""
OLD = 60.0
"""Age at which a slow wired reading (room, film, barometer) is no longer used, [s]. Own."""
TOLD_HOLDS = 6 * 3600.0
"""How long a room, film or air pressure told by hand is taken to hold, [s]. Own."""


def believed(
    readings: Readings, now: float, told: Mapping[str, tuple[float, float]], facts: RigFacts
) -> Readings:
    """The readings that count at rig time `now`.

    told: readings by hand, role to (value SI, rig time); they stand in only where nothing is wired
    """
    by_hand = {name: Sample(value, at) for name, (value, at) in told.items()}
    readings = corrected(readings, facts.corrections)

    def probe(role: Role) -> Sample | None:
        found = readings.role(role) if role in facts.probes else by_hand.get(role)
        return _meant(found, now, TEMPERATURES)

    gauge = readings.bag if facts.gauge is Wiring.WIRED else by_hand.get("bag")
    counts = {
        "face": probe(Role.FACE),
        "back": probe(Role.BACK),
        "room": probe(Role.ROOM),
        "film": probe(Role.FILM),
        "bag": _meant(gauge, now, BAG_PRESSURES),
        "barometer": _meant(readings.barometer or by_hand.get("barometer"), now, AIR_PRESSURES),
        "infrared": _meant(readings.infrared, now, TEMPERATURES),
    }
    changed: dict[str, Any] = {
        name: it for name, it in counts.items() if it is not getattr(readings, name)
    }
    return replace(readings, **changed) if changed else readings


def corrected(readings: Readings, by: Corrections) -> Readings:
    """What the wired sensors read, with what the bench check found them to be off by."""

    if by is AT_THEIR_WORD:
        return readings

    def moved(sample: Sample | None, offset: float) -> Sample | None:
        return None if sample is None else Sample(sample.value + offset, sample.at)

    return replace(
        readings,
        face=moved(readings.face, by.face),
        back=moved(readings.back, by.back),
        room=moved(readings.room, by.room),
        film=moved(readings.film, by.film),
        bag=moved(readings.bag, by.bag),
    )


def _meant(sample: Sample | None, now: float, within: tuple[float, float]) -> Sample | None:
    if sample is None or not within[0] <= sample.value <= within[1]:
        return None
    return sample if sample.age(now) >= -AHEAD else None


def face_age_limit(facts: RigFacts) -> float:
    """Oldest face reading that is acted on, [s]: a probe's, or one told by hand."""
    return PROBE_AGE if Role.FACE in facts.probes else TOLD_AGE


def holds(sample: Sample | None, now: float, wired: bool) -> bool:
    """Whether a slow reading is young enough to be used."""
    return sample is not None and sample.age(now) <= (OLD if wired else TOLD_HOLDS)


def room_read(now: float, readings: Readings, facts: RigFacts) -> float | None:
    """Room temperature, [K]; None where nothing reads it."""
    room = readings.room
    if room is None or not holds(room, now, Role.ROOM in facts.probes):
        return None
    return room.value
