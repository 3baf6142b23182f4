"""A person at the rig, scripted: sees only what the page shows, and takes human times.

Delays are drawn in rig time from a seed: 60 to 240 s for a press, less for the word PRESENT of one
who stands there anyway, and 120 to 220 s in all from lamp-off to the first stroke. At night the
operator sleeps unless the sounder speaks.
"""

from collections.abc import Callable
from datetime import UTC, datetime
from random import Random
from zoneinfo import ZoneInfo

from controller.batch.acts import Act, ActKind, Answer
from controller.batch.snapshot import AlarmShown, Press, Snapshot

UNHURRIED = (60.0, 240.0)
"""How long an ordinary press takes, [s]. Own."""
AT_HAND = (10.0, 50.0)
"""How long a word, a reading or a switch takes one who stands beside it, [s]. Own."""
DIAL = (900.0, 3600.0)
"""How long a dial on a held bag is left unread, [s]. Own."""
HANDLING = (120.0, 218.0)
"""Lamp-off to first stroke in all, [s]; a press is heard a tick or two later. Own."""
WAKING = (180.0, 480.0)
"""From the sounder to standing at the rig at night, [s]. Own."""
UP, ABED = 6.5, 22.5
"""Told hours between which the operator is up. Own."""
PATIENCE = 900.0
"""How long the same alarm is tried to be put right before the batch is given up, [s]. Own."""
A_DAY = 86400.0
"""How long a batch is halted, or too cold to set, before it is given up, [s]. Own."""
STARTS_TRIED = 3
"""How often START is tried in vain before the work is left for another day. Own."""

TOO_COLD = "too cold to set"
"""The alarm of a shop in which nothing sets."""

SHARES = {
    ActKind.UNPLUGGED: 0.15,
    ActKind.MIXED: 0.4,
    ActKind.THINNED: 0.6,
    ActKind.COATING: 1.0,
}
"""When each step between lamp-off and first stroke is done, as a share of the handling time."""
BESIDE_IT = frozenset(
    {
        ActKind.PRESENT,
        ActKind.READING,
        ActKind.LAMP_ON,
        ActKind.LAMP_OFF,
        ActKind.PUMP_ON,
        ActKind.PUMP_OFF,
    }
)
"""What is told by one who stands there anyway."""
BESIDE_THE_LAMP = frozenset({"PREHEAT", "SOAK", "COOLDOWN"})
"""Stages in which the operator stands at the rig."""
STEADY_HANDS: dict[ActKind, dict[str, str | float | bool]] = {
    ActKind.START: {"plug_in_reach": True, "smoke_alarm": True, "aired": True},
    ActKind.ACCEPT: {"reason": "looked along the tape, good enough"},
    ActKind.OPENED: {"reason": "hard under the thumbnail"},
    ActKind.MOVED_OUT: {"place": "loft rack"},
}
"""What the operator says with a press."""


class Operator:
    """One person and the phone."""

    def __init__(
        self,
        seed: int,
        *,
        scale: Callable[[], float],
        gun: Callable[[], float] | None = None,
        dial: Callable[[], float] | None = None,
        mend: Callable[[str], None] = lambda alarm: None,
        dry_pull: bool = True,
    ) -> None:
        """scale: what the board weighs, [g]      mend: put right what the alarm names

        gun: what an infrared gun reads on the face, [degC]; None for a person who has none
        dial: what a dial gauge on the bag shows, absolute, [Pa]; None where there is none
        """
        self._rng = Random(seed)
        self._scale = scale
        self._gun, self._dial = gun, dial
        self._mend = mend
        self._dry_pull = dry_pull
        self._plans: dict[str, float] = {}
        self._stage: tuple[str, float] | None = None
        self._handling = self._rng.uniform(*HANDLING)
        self._lamp_off: float | None = None
        self._tried: dict[str, float] = {}
        self._dry_pulled = False
        self._last: Act | None = None
        self._starts_refused = 0
        self._too_cold_for_days = False
        self._count = 0

    @property
    def gives_up(self) -> bool:
        """START was refused too often: whatever it wants cannot be done here today."""
        return self._starts_refused >= STARTS_TRIED

    def hears(self, answer: Answer) -> None:
        """The answer to a press."""
        if self._last is None or answer.act != self._last.id:
            return
        if self._last.kind is ActKind.START:
            self._starts_refused = 0 if answer.accepted else self._starts_refused + 1

    def looks(self, shown: Snapshot) -> Act | None:
        """One look at the page; what is pressed now, if anything."""
        if shown.batch is None:
            return None
        stage = (shown.stage, shown.batch.since)
        if stage != self._stage:
            self._stage = stage
            kept = ("ack ", "PRESENT")
            self._plans = {act: at for act, at in self._plans.items() if act.startswith(kept)}
            if shown.stage == "COOLDOWN":
                self._tried.clear()
                self._lamp_off = shown.now
                self._handling = self._rng.uniform(*HANDLING)
        alarm = next((a for a in shown.alarms if a.state != "acknowledged"), None)
        if alarm is not None:
            return self._answers(shown, alarm) or self._word(shown)
        if shown.alarms and shown.stage in BESIDE_THE_LAMP and self._out_of_patience(shown):
            return self._act(shown, ActKind.STOP)
        if self.asleep(shown.stage, shown.told_utc, shown.time_zone):
            return None
        if shown.stage == "HOLD" and self._a_day_lost(shown):
            return self._act(shown, ActKind.STOP)
        for press in (shown.press, *shown.others):
            if press is not None and self._presses(shown, press):
                return self._act(shown, ActKind(press.act))
        return None

    def asleep(self, stage: str, told_utc: float, time_zone: str) -> bool:
        """Nothing but the sounder is heard, and a page without an alarm is not looked at."""
        if stage not in ("HOLD", "FLASHOFF", "FINISHED"):
            return False
        told = datetime.fromtimestamp(told_utc, UTC).astimezone(ZoneInfo(time_zone))
        return not UP <= told.hour + told.minute / 60 < ABED

    def _answers(self, shown: Snapshot, alarm: AlarmShown) -> Act | None:
        """Go to the rig, put it right if that can be, press ACKNOWLEDGE."""
        abed = self.asleep(shown.stage, shown.told_utc, shown.time_zone)
        spread = WAKING if abed else UNHURRIED
        if not self._is_time(shown, f"ack {alarm.id}", spread):
            return None
        if alarm.id == "nobody there":
            # nothing is broken, so nobody runs out of patience over it
            return self._act(shown, ActKind.PRESENT)
        self._mend(alarm.id)
        self._tried.setdefault(alarm.id, shown.now)
        return self._act(shown, ActKind.ACKNOWLEDGE, {"alarm": alarm.id})

    def _word(self, shown: Snapshot) -> Act | None:
        """Who looks after an alarm at the lamp still says so when asked."""
        if shown.stage not in BESIDE_THE_LAMP:
            return None
        asked = [p for p in (shown.press, *shown.others) if p is not None]
        for press in asked:
            if press.act == ActKind.PRESENT and self._presses(shown, press):
                return self._act(shown, ActKind.PRESENT)
        return None

    def _presses(self, shown: Snapshot, press: Press) -> bool:
        """Whether this press is made at this look."""
        kind = ActKind(press.act)
        if kind is ActKind.DRY_PULL:
            wanted = self._wants_dry_pull(shown) and self._is_time(shown, press.act, UNHURRIED)
            self._dry_pulled = self._dry_pulled or wanted
            return wanted
        if kind is ActKind.START and self._wants_dry_pull(shown):
            return False
        if kind is ActKind.ABANDON and (press.due or self._given_up(shown)):
            return self._is_time(shown, press.act, UNHURRIED)
        if kind is ActKind.READING and shown.stage not in BESIDE_THE_LAMP:
            spread = DIAL if shown.stage == "HOLD" else UNHURRIED
            return self._dial is not None and self._is_time(shown, press.act, spread)
        if not press.due or self._given_up(shown):
            return False
        if kind is ActKind.READING and self._gun is None:
            return False
        if kind in SHARES and shown.stage == "COOLDOWN":
            return self._in_the_cooldown(shown, kind)
        return self._is_time(shown, press.act, AT_HAND if kind in BESIDE_IT else UNHURRIED)

    def _wants_dry_pull(self, shown: Snapshot) -> bool:
        open_now = {press.act for press in (shown.press, *shown.others) if press is not None}
        return self._dry_pull and not self._dry_pulled and ActKind.DRY_PULL in open_now

    def _in_the_cooldown(self, shown: Snapshot, kind: ActKind) -> bool:
        since = 0.0 if self._lamp_off is None else shown.now - self._lamp_off
        if since < SHARES[kind] * self._handling:
            return False
        heat = shown.heat
        waiting = heat is not None and not heat.coat_now and (heat.opens_s or 0.0) > 0.0
        return not (kind is ActKind.COATING and waiting)

    def _given_up(self, shown: Snapshot) -> bool:
        """A lamp alarm came back for longer than anybody's patience, or a day went by in vain."""
        left = None if shown.batch is None else shown.batch.left
        if left is None:
            return False
        return (left in BESIDE_THE_LAMP and self._out_of_patience(shown)) or self._a_day_lost(shown)

    def _a_day_lost(self, shown: Snapshot) -> bool:
        """Halted for a day, or told a day ago that it is too cold to set, and it still is."""
        if shown.stage in ("STOPPED", "INTERRUPTED"):
            halted = shown.batch is not None and shown.now - shown.batch.since > A_DAY
            return halted or self._too_cold_for_days
        first = self._tried.get(TOO_COLD)
        stands = any(alarm.id == TOO_COLD for alarm in shown.alarms)
        self._too_cold_for_days = stands and first is not None and shown.now - first > A_DAY
        return self._too_cold_for_days

    def _out_of_patience(self, shown: Snapshot) -> bool:
        """An alarm that stands, or stood in this heat, was tried to be mended for too long."""
        return any(shown.now - first > PATIENCE for first in self._tried.values())

    def _is_time(self, shown: Snapshot, what: str, spread: tuple[float, float]) -> bool:
        at = self._plans.setdefault(what, shown.now + self._rng.uniform(*spread))
        if shown.now < at:
            return False
        del self._plans[what]
        return True

    def _act(
        self, shown: Snapshot, kind: ActKind, values: dict[str, str | float | bool] | None = None
    ) -> Act:
        self._count += 1
        said = dict(STEADY_HANDS.get(kind, {})) if values is None else values
        if kind is ActKind.WEIGHED:
            said = {"mass_g": round(self._scale(), 1), "what": "board"}
        at_the_bag = shown.stage not in BESIDE_THE_LAMP
        if kind is ActKind.READING and at_the_bag and self._dial is not None:
            said = {"role": "bag", "value_pa": self._dial()}
        elif kind is ActKind.READING and self._gun is not None:
            said = {"role": _aimed_at(shown), "value_c": round(self._gun(), 1)}
        self._last = Act(
            id=f"operator-{self._count:05d}",
            kind=kind,
            batch=None if shown.batch is None else shown.batch.id,
            stage=shown.stage,
            by="operator",
            values=said,
        )
        return self._last


def _aimed_at(shown: Snapshot) -> str:
    """What a reading of the face counts as: one beside the probe's, or the only one there is."""
    open_now = [press for press in (shown.press, *shown.others) if press is not None]
    asked = [press.asks for press in open_now if press.act == ActKind.READING]
    return "face" if all("role" in asks for asks in asked) else "gun"
