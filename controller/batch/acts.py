"""What a person can tell the engine: the acts, what each carries, and the answer it gets."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum


class ActKind(StrEnum):
    """The acts. There is no other way in."""

    PLAN = "PLAN"
    DRY_PULL = "DRY PULL"
    DRY_PULL_DONE = "DRY PULL DONE"
    START = "START"
    PRESENT = "PRESENT"
    FLIP = "FLIP"
    FLIPPED = "FLIPPED"
    ENOUGH = "ENOUGH"
    MIXED = "MIXED"
    UNPLUGGED = "UNPLUGGED"
    REHEAT = "REHEAT"
    THINNED = "THINNED"
    PROBE_OFF = "PROBE OFF"
    COATING = "COATING"
    COATED = "COATED"
    SEALED = "SEALED"
    RESEAL = "RESEAL"
    ACCEPT = "ACCEPT"
    LET_UP = "LET UP"
    OPENED = "OPENED"
    TIDIED = "TIDIED"
    MOVED_OUT = "MOVED OUT"
    WEIGHED = "WEIGHED"
    NEXT_COAT = "NEXT COAT"
    READING = "READING"
    LAMP_ON = "LAMP ON"
    LAMP_OFF = "LAMP OFF"
    PUMP_ON = "PUMP ON"
    PUMP_OFF = "PUMP OFF"
    STOP = "STOP"
    RE_ARM = "RE-ARM"
    RESUME = "RESUME"
    ABANDON = "ABANDON"
    ACKNOWLEDGE = "ACKNOWLEDGE"
    SHELVE = "SHELVE"
    MUTE = "MUTE"


@dataclass(frozen=True, slots=True, kw_only=True)
class Act:
    """One press, as it reaches the engine."""

    id: str
    """Chosen by the sender; the same id gets the same answer and has one effect."""
    kind: ActKind
    """What is said."""
    batch: str | None
    """The batch it is said of; None only for PLAN, STOP, ACKNOWLEDGE, SHELVE, MUTE and wired
    buttons."""
    stage: str | None
    """The stage the sender saw; None from a wired button or a shell that did not look."""
    by: str
    """Who says it, as it is written in the record."""
    ago: float = 0.0
    """How long before it was received it was true, [s]: 'COATED 6 min ago'."""
    values: Mapping[str, str | float | bool] = field(default_factory=dict)
    """What the act carries, by name with unit; see CARRIES."""


DAY_CHECK = {
    "plug_in_reach": "true: plug or stop switch within reach, and somebody stays",
    "smoke_alarm": "true: a smoke alarm is in the room",
    "aired": "true: no solvent open, room aired for 3 min",
}
"""Confirmed at each day's first heat."""

CARRIES: dict[ActKind, dict[str, str]] = {
    ActKind.START: DAY_CHECK,
    ActKind.REHEAT: DAY_CHECK,
    ActKind.RE_ARM: DAY_CHECK,
    ActKind.MIXED: {"a_g": "part A weighed in, [g]", "b_g": "part B weighed in, [g]"},
    ActKind.THINNED: {"thinner_g": "thinner weighed in, [g]"},
    ActKind.SEALED: {"used_g": "mass of mix on the board, [g]"},
    ActKind.ACCEPT: {"reason": "why the bag is good enough"},
    ActKind.OPENED: {"reason": "why it is opened before the open-from time"},
    ActKind.MOVED_OUT: {"place": "where the work is now, 3 m off or another room"},
    ActKind.WEIGHED: {"mass_g": "what the scale says, [g]", "what": "board, sister or coupon"},
    ActKind.READING: {
        "role": "face, back, room, film, bag, barometer or gun",
        "value_c": "temperature, [degC]",
        "value_pa": "absolute pressure, [Pa]",
    },
    ActKind.ACKNOWLEDGE: {"alarm": "the alarm's id"},
    ActKind.SHELVE: {
        "alarm": "the alarm's id",
        "reason": "why nobody needs to hear it",
        "minutes": "for how long, 60 at most, which is also what is taken where it is left out",
    },
}
"""What an act may carry. REHEAT and RE-ARM need the day's check only when it is a day old."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What the sender of an act hears."""

    act: str
    """The id of the act."""
    accepted: bool
    """True when it had its effect."""
    text: str
    """One sentence: what follows, or what to do instead."""
