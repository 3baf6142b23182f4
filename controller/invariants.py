"""What must never be, checked from outside: true outputs, true times, and what people said.

It shares nothing with the interlocks it judges: it reads no alarm, no latch and no zone of the
engine, but keeps its own short story from the acts that were accepted and the alarms that were
raised. S1: an energised lamp has every reason to be. S2: it is off two seconds after the first
reason is gone. S4: after a restart it stays off until a person re-arms. STOP is obeyed in one.
"""

from dataclasses import dataclass, field

from controller.batch.acts import Act, ActKind
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
PURGE_TIME = 180.0
"""Airing before a lamp where solvent was, [s]. From memory, to be checked."""
SETTLE_TIME = 600.0
"""Wait after the last wet thing left the zone, [s]. Own."""

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


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """The truth at one moment."""

    now: float
    """Rig time, [s]."""
    lamp: bool
    """The lamp's relay is energised."""
    pump: bool
    """The pump's relay is energised."""
    stage: str
    """Stage of the batch at the rig."""
    face: Sample | None
    """Newest good sample of the face probe, [K]."""
    trip: float
    """The sheet's trip, [K]."""
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
class Invariants:
    """One rig's story as an onlooker knows it."""

    unsafe: list[Breach] = field(default_factory=list)
    """Every breach, one for each time it begins."""
    word_at: float | None = None
    armed: bool = False
    stop_at: float | None = None
    wet: bool = False
    tidied_at: float | None = None
    out_at: float | None = None
    latched: set[str] = field(default_factory=set)
    burned: float = 0.0
    lit_at: float | None = None
    gone_since: float | None = None
    reported: str | None = None

    def heard(self, now: float, act: Act) -> None:
        """An act was accepted at rig time `now`."""
        if act.kind in WORDS:
            self.word_at = now
        if act.kind in ARMING:
            self.armed, self.stop_at = True, None
        if act.kind is ActKind.RESUME:
            self.stop_at = None
        if act.kind in (ActKind.FLIPPED, ActKind.NEXT_COAT, ActKind.PLAN):
            self.burned = 0.0
        if act.kind is ActKind.STOP:
            self.stop_at, self.armed = now, False
        if act.kind in (ActKind.THINNED, ActKind.COATING):
            self.wet, self.tidied_at, self.out_at = True, None, None
        if act.kind is ActKind.TIDIED:
            self.tidied_at = now
        if act.kind is ActKind.MOVED_OUT:
            self.out_at = now
        if act.kind is ActKind.ACKNOWLEDGE:
            self.latched.discard(str(act.values.get("alarm")))

    def happened(self, event: Event) -> None:
        """An event was recorded."""
        if event.kind is EventKind.ALARM_RAISED and event.data.get("priority") == "P1":
            self.latched.add(str(event.data.get("alarm")))
        if event.kind is EventKind.STAGE and event.stage == "FINISHED" and self.wet:
            self.out_at = event.at

    def restarted(self) -> None:
        """The controller came back: nobody's word holds any more."""
        self.word_at, self.armed, self.lit_at = None, False, None

    def see(self, seen: Seen) -> None:
        """Judge one moment; breaches go to `unsafe`."""
        if self.lit_at is not None:
            self.burned += seen.now - self.lit_at
        self.lit_at = seen.now if seen.lamp else None
        stopped = self.stop_at is not None and seen.now - self.stop_at > STOP_TIME
        if stopped and (seen.lamp or seen.pump):
            self._report("STOP", seen.now, "an output is energised after STOP")
            return
        gone = self._gone(seen) if seen.lamp else None
        if gone is None:
            self.gone_since = self.reported = None
            return
        self.gone_since = seen.now if self.gone_since is None else self.gone_since
        if not self.armed:
            self._report("S4", seen.now, "the lamp is energised and nobody armed it")
        elif seen.now - self.gone_since > S2_TIME:
            self._report("S2", seen.now, f"the lamp stays energised: {gone}")
        elif seen.stage not in ("PREHEAT", "SOAK"):
            self._report("S1", seen.now, f"the lamp is energised: {gone}")

    def _report(self, rule: str, now: float, what: str) -> None:
        if self.reported != rule:
            self.unsafe.append(Breach(rule, now, what))
        self.reported = rule

    def _gone(self, seen: Seen) -> str | None:
        """The first term of S1 that does not hold; None when all do."""
        word_time = WORD_TIME_CLOSE if seen.close_watch else WORD_TIME
        terms = (
            (seen.stage in ("PREHEAT", "SOAK"), f"the stage is {seen.stage}"),
            (self.armed, "nobody armed it"),
            (_within(seen.now, self.word_at, word_time), "nobody's word holds"),
            (
                seen.face is not None and _within(seen.now, seen.face.at, SAMPLE_TIME),
                "no good sample",
            ),
            (
                seen.face is not None and seen.face.value < min(seen.trip, TRIP),
                "the face is at the trip",
            ),
            (self._zone_clear(seen.now), "the zone is not clear"),
            (not self.latched, "an alarm is latched"),
            (self.burned <= FACE_TIME, "the face has had its lamp time"),
            (seen.record_in_date, "the record is out of date"),
        )
        return next((why for holds, why in terms if not holds), None)

    def _zone_clear(self, now: float) -> bool:
        if not self.wet:
            return True
        if self.tidied_at is None or self.out_at is None:
            return False
        last = max(self.tidied_at, self.out_at)
        return now - self.tidied_at >= PURGE_TIME and now - last >= SETTLE_TIME


def _within(now: float, at: float | None, limit: float) -> bool:
    return at is not None and now - at <= limit
