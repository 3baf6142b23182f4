"""What must never be, checked from outside: true outputs, true times, and what people said.

It shares nothing with the interlocks it judges: it reads no latch and no zone of the engine, but
keeps its own short story from the acts that were accepted and the alarms that were raised. S1: a
lamp is lit with every reason to be, and never outside its stages. S2: it is off two seconds after
the first reason is gone. S4: it burns only once a person armed it, after a restart anew. The line
that holds the lamp's contactor moves by the same rules, lit or not. STOP is obeyed in one second,
by the pump too. The reasons are TERMS, the rules RULES, what STOP darkens STOPPED. One long file,
so that whoever doubts the interlocks reads all of what judges them in one place.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from controller.batch.acts import DAY_CHECK, Act, ActKind
from controller.batch.events import Event, EventKind
from controller.batch.signals import Sample

S2_TIME = 2.0
"""Longest the lamp may stay energised when a reason is gone, [s]. Own."""
STOP_TIME = 1.0
"""Longest an output may stay energised after STOP, [s]. Own."""
WORD_TIME = 900.0
"""Longest one word from a person counts, [s]. Own."""
WORD_TIME_CLOSE = 300.0
"""The same on a rig in close watch, [s]. Own."""
SAMPLE_TIME = 5.0
"""Oldest face sample under a burning lamp, [s]. Own."""
FACE_TIME = 3600.0
"""Most lamp-on time of one face in one coat, [s]. Own."""
TRIP = 333.15
"""No setting gets a trip past this, [K]. Own."""
TRIP_CLOSE = 5.0
"""Above the band's top, what it is on a rig in close watch, [K]. Own."""
PURGE_TIME = 180.0
"""Airing before a lamp where solvent was, [s]. From memory, to be checked."""
FLAPS_LIMIT, FLAPS_TIME, FLAPS_REST = 3, 600.0, 900.0
"""With more restarts than this in so long, [s], nothing is energised for a while, [s]. Own."""
SETTLE_TIME = 600.0
"""Wait after the last wet thing left the zone, [s]. Own."""
DAY_TIME = 86400.0
"""How long the day's check counts, [s]. Own."""

WORDS = frozenset(
    {
        ActKind.START,
        ActKind.PRESENT,
        ActKind.FLIP,
        ActKind.FLIPPED,
        ActKind.REHEAT,
        ActKind.RE_ARM,
        ActKind.LAMP_ON,
    }
)
"""Acts that say somebody is at the lamp."""
ARMING = frozenset({ActKind.START, ActKind.REHEAT, ActKind.RE_ARM})
"""Acts that let a lamp burn at all."""
LAMP_STAGES = ("PREHEAT", "SOAK")
"""Stages a lamp may burn in."""
LATCHING = frozenset(
    {
        "face probe lost",
        "lamp not fed",
        "lamp not seen",
        "lamp too strong",
        "no rise",
        "probe jumped",
    }
)
"""Alarms that hold the lamp off until somebody acknowledged them, beside every P1."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """The truth at one moment."""

    now: float
    """Rig time, [s]."""
    lamp: bool
    """The lamp is energised: its relay's coil, or the lamp in truth."""
    pump: bool
    """The pump is energised: its relay's coil, or the pump in truth."""
    dead_man: bool = False
    """The line that holds the lamp's contactor moves."""
    stage: str
    """Stage of the batch at the rig."""
    face: Sample | None
    """Newest good sample of the face probe, [K]."""
    trip: float
    """The sheet's trip, [K]."""
    band_high: float
    """Top of the sheet's band, [K]."""
    record_in_date: bool
    """The bench record is in date."""
    close_watch: bool
    """The rig has no cut-out or dead-man."""


@dataclass(frozen=True, slots=True)
class Breach:
    """Something that must never be, and was."""

    rule: str
    """S1, S2, S4 or STOP."""
    at: float
    """Rig time, [s]."""
    what: str
    """In words."""


@dataclass(slots=True)
class Latch:
    """An alarm that holds the lamp off: until its cause is gone and somebody has heard it."""

    heard: bool = False
    gone: bool = False


@dataclass(slots=True)
class Held:
    """What may be energised only with every reason to be, and how long one has been gone."""

    on: str
    """What is said of it when it begins without a reason."""
    stays: str
    """What is said when it goes on without one."""
    was: bool = False
    """It was energised at the last look."""
    gone_since: float | None = None
    """Since when it has lacked a reason while energised."""
    reported: str | None = None
    """The rule that it is breaking."""


def _lamp() -> Held:
    return Held("the lamp is energised", "the lamp stays energised")


def _line() -> Held:
    return Held("the dead-man line moves", "the dead-man line goes on moving")


@dataclass(slots=True)
class Invariants:
    """One rig's story as an onlooker knows it."""

    unsafe: list[Breach] = field(default_factory=list)
    """Every breach, one for each time it begins."""
    word_at: float | None = None
    """When a person last said they are there."""
    checked_at: float | None = None
    """When a person last answered for all of the day's check."""
    armed: bool = False
    """A person let the lamp burn, and it has not left its stages since."""
    stop_at: float | None = None
    """When STOP was pressed; None once somebody let the work go on."""
    here: str | None = None
    """The batch that was planned at the rig last."""
    wet: str | None = None
    """The batch whose solvent or coat came into the zone last."""
    tidied_at: float | None = None
    """When its thinner was shut."""
    out_at: float | None = None
    """When it left the zone, or its solvent had."""
    latches: dict[str, Latch] = field(default_factory=dict)
    """Alarms that hold the lamp off."""
    burned: dict[str, float] = field(default_factory=dict)
    """Lamp-on time by side of the board, [s]."""
    side: str = "A"
    """The side under the lamp."""
    came_back: bool = False
    """The controller restarted, and nobody has looked since."""
    back_at: list[float] = field(default_factory=list)
    """The first look after each restart, [s]."""
    seen_at: float | None = None
    """The last look."""
    lamp: Held = field(default_factory=_lamp)
    """The lamp itself."""
    line: Held = field(default_factory=_line)
    """The dead-man line, which holds the lamp's contactor."""

    def heard(self, now: float, act: Act) -> None:
        """An act was accepted at rig time `now`."""
        if act.kind in WORDS:
            self.word_at = now
        if act.kind in ARMING:
            self.armed, self.stop_at = True, None
            if all(act.values.get(name) is True for name in DAY_CHECK):
                self.checked_at = now
        match act.kind:
            case ActKind.RESUME | ActKind.DRY_PULL:
                self.stop_at = None
            case ActKind.STOP:
                self.stop_at = now
            case ActKind.FLIPPED:
                self.side = "B" if self.side == "A" else "A"
            case ActKind.NEXT_COAT | ActKind.PLAN:
                self.burned, self.side = {}, "A"
                self.here = str(act.values.get("id", act.batch))
            case ActKind.THINNED | ActKind.COATING:
                self.wet, self.tidied_at, self.out_at = act.batch, None, None
            case ActKind.TIDIED:
                self.tidied_at = now
            case ActKind.MOVED_OUT if act.batch in (self.wet, self.here):
                # of a batch that is wet, or of what one before it left behind
                self._left_the_zone(now)
            case ActKind.ACKNOWLEDGE:
                self._latch_eases(str(act.values.get("alarm")), heard=True)

    def happened(self, event: Event) -> None:
        """An event was recorded."""
        alarm = str(event.data.get("alarm"))
        if event.kind is EventKind.ALARM_RAISED:
            if event.data.get("priority") == "P1" or alarm in LATCHING:
                self.latches[alarm] = Latch()
        elif event.kind is EventKind.ALARM_CLEARED:
            self._latch_eases(alarm, gone=True)
        elif event.kind is EventKind.STAGE and event.stage == "FINISHED":
            if event.data.get("from") == "FLASHOFF" and event.batch == self.wet:
                self._left_the_zone(event.at)

    def restarted(self, away: float | None) -> None:
        """The controller came back: nobody's word holds any more.

        away: how long nobody looked, [s]; None where no clock can tell
        """
        self.word_at, self.armed = None, False
        if away is None:
            self.checked_at = None
        self.lamp.was, self.line.was, self.seen_at = False, False, None
        self.came_back = True

    def see(self, seen: Seen) -> None:
        """Judge one moment; breaches go to `unsafe`."""
        if self.lamp.was and self.seen_at is not None:
            spent = self.burned.get(self.side, 0.0)
            self.burned[self.side] = spent + seen.now - self.seen_at
        self.seen_at = seen.now
        if self.came_back:
            self.came_back = False
            self.back_at.append(seen.now)
        stopped = self.stop_at is not None and seen.now - self.stop_at > STOP_TIME
        if stopped and any(on(seen) for on in STOPPED.values()):
            self._report(self.lamp, "STOP", seen.now, "an output is energised after STOP")
            self.lamp.was, self.line.was = seen.lamp, seen.dead_man
        elif self._flapped(seen.now) and any(on(seen) for on in STOPPED.values()):
            what = "an output is energised and the controller has just come back too often"
            self._report(self.lamp, "S4", seen.now, what)
        else:
            self._judge(seen, self.lamp, seen.lamp)
            self._judge(seen, self.line, seen.dead_man)
        if seen.stage not in LAMP_STAGES:
            self.armed = False

    def _flapped(self, now: float) -> bool:
        """The controller came back too often, the last time not long ago."""
        if not self.back_at or now - self.back_at[-1] >= FLAPS_REST:
            return False
        return sum(self.back_at[-1] - at < FLAPS_TIME for at in self.back_at) > FLAPS_LIMIT

    def _judge(self, seen: Seen, held: Held, on: bool) -> None:
        was_on, held.was = held.was, on
        gone = self.gone(seen) if on else None
        held.gone_since = None if gone is None else held.gone_since
        if gone is not None and held.gone_since is None:
            held.gone_since = seen.now
        for_long = held.gone_since is not None and seen.now - held.gone_since > S2_TIME
        case = Case(self.armed, gone, not was_on or seen.stage not in LAMP_STAGES, for_long)
        broken = next((rule for rule in RULES if on and rule.broken(case)), None)
        if broken is not None:
            words = broken.says.format(on=held.on, stays=held.stays, gone=gone)
            self._report(held, broken.name, seen.now, words)
        elif gone is None:
            held.reported = None

    def _report(self, held: Held, rule: str, now: float, what: str) -> None:
        if held.reported != rule:
            self.unsafe.append(Breach(rule, now, what))
        held.reported = rule

    def _left_the_zone(self, now: float) -> None:
        if self.out_at is None:
            self.out_at = now

    def _latch_eases(self, alarm: str, heard: bool = False, gone: bool = False) -> None:
        latch = self.latches.get(alarm)
        if latch is None:
            return
        latch.heard, latch.gone = latch.heard or heard, latch.gone or gone
        if latch.heard and latch.gone:
            del self.latches[alarm]

    def gone(self, seen: Seen) -> str | None:
        """The first reason to burn that does not hold, in words; None when all do."""
        term = next((term for term in TERMS if not term.holds(self, seen)), None)
        latches = ", ".join(self.latches)
        return None if term is None else term.why.format(stage=seen.stage, latches=latches)


def _within(now: float, at: float | None, limit: float) -> bool:
    return at is not None and now - at <= limit


def _waited(now: float, at: float | None, least: float) -> bool:
    return at is None or now - at >= least


@dataclass(frozen=True, slots=True)
class Term:
    """One reason a lamp must have to burn."""

    name: str
    """Short."""
    holds: Callable[[Invariants, Seen], bool]
    """It does, by what was told and what is seen."""
    why: str
    """Said when it does not."""


TERMS = (
    Term("stage", lambda told, seen: seen.stage in LAMP_STAGES, "the stage is {stage}"),
    Term(
        "word",
        lambda told, seen: _within(
            seen.now, told.word_at, WORD_TIME_CLOSE if seen.close_watch else WORD_TIME
        ),
        "nobody's word holds",
    ),
    Term("sample", lambda told, seen: seen.face is not None, "no good sample"),
    Term(
        "sample's age",
        lambda told, seen: seen.face is None or _within(seen.now, seen.face.at, SAMPLE_TIME),
        "no good sample",
    ),
    Term(
        "sheet's trip",
        lambda told, seen: seen.face is None or seen.face.value < seen.trip,
        "the face is at the trip",
    ),
    Term(
        "highest trip",
        lambda told, seen: seen.face is None or seen.face.value < TRIP,
        "the face is at the trip",
    ),
    Term(
        "close watch's trip",
        lambda told, seen: (
            not seen.close_watch
            or seen.face is None
            or seen.face.value < seen.band_high + TRIP_CLOSE
        ),
        "the face is at the trip",
    ),
    Term(
        "tidied",
        lambda told, seen: told.wet is None or told.tidied_at is not None,
        "the zone is not clear",
    ),
    Term(
        "moved out",
        lambda told, seen: told.wet is None or told.out_at is not None,
        "the zone is not clear",
    ),
    Term(
        "purged",
        lambda told, seen: told.wet is None or _waited(seen.now, told.tidied_at, PURGE_TIME),
        "the zone is not clear",
    ),
    Term(
        "settled",
        lambda told, seen: (
            told.wet is None
            or all(_waited(seen.now, at, SETTLE_TIME) for at in (told.tidied_at, told.out_at))
        ),
        "the zone is not clear",
    ),
    Term("latch", lambda told, seen: not told.latches, "latched: {latches}"),
    Term(
        "lamp time",
        lambda told, seen: told.burned.get(told.side, 0.0) <= FACE_TIME,
        "the face has had its lamp time",
    ),
    Term("record", lambda told, seen: seen.record_in_date, "the record is out of date"),
    Term(
        "day's check",
        lambda told, seen: _within(seen.now, told.checked_at, DAY_TIME),
        "the day's check is missing or a day old",
    ),
)
"""S1: every reason to burn, in the order they are told."""


@dataclass(frozen=True, slots=True)
class Case:
    """Something energised at one moment, as the rules look at it."""

    armed: bool
    gone: str | None
    """The reason that does not hold."""
    begins: bool
    """It was dark at the last look, or is outside the lamp's stages."""
    for_long: bool
    """The reason has been gone for more than S2_TIME."""


@dataclass(frozen=True, slots=True)
class Rule:
    """One way for what is energised to be unsafe."""

    name: str
    """As it is reported."""
    broken: Callable[[Case], bool]
    says: str


RULES = (
    Rule("S4", lambda case: not case.armed, "{on} and nobody armed it"),
    Rule("S1", lambda case: case.begins and case.gone is not None, "{on}: {gone}"),
    Rule("S2", lambda case: case.for_long, "{stays}: {gone}"),
)
"""What is asked of a lamp that burns and a line that moves; the first that is broken is told."""

STOPPED: Mapping[str, Callable[[Seen], bool]] = {
    "lamp": lambda seen: seen.lamp,
    "pump": lambda seen: seen.pump,
    "dead-man line": lambda seen: seen.dead_man,
}
"""What STOP darkens."""
