"""One preheat played from START until its lamp is off for good, and what caught a fault in it.

The real runner and engine over the pretend rig, as in a rehearsal, but no page, no operator's
errands and no record that outlives it: only the heat is played, one tick a second.
"""

from collections import deque
from dataclasses import dataclass

from controller.batch.acts import Act, ActKind
from controller.batch.second_opinion import gun_asked
from controller.batch.stages import Stage
from controller.batch.state import Run
from controller.hardware.rig import wired_probes
from controller.instant import Instant
from controller.planning.sheet_json import sheet_to_json
from controller.rehearsal.operator import STEADY_HANDS
from controller.rehearsal.preheat_draws import Preheat
from controller.rehearsal.rig import SIMULATED_RECORD, do_by_hand, facts_for, wired_as
from controller.runner import Runner
from controller.science.constants import ZERO_CELSIUS
from controller.store.log import MEMORY, Log

LONGEST = 3 * 3600.0
"""After which the person gives a heat up, [s]. Own."""
WORD_EACH = 240.0
"""How often the person says that they are there, [s]. Own."""
GUN_TAKES = 40.0
"""From the page's asking to the gun's reading, [s]. Own."""
AFTERGLOW = 15.0
"""How long after lamp-off the face may still warm, [s]. Own: the lamp fades with 1.5 s."""
HOUR = 3600.0
CLOSURES_IN = 300.0
"""Time over which the relay's closures are counted, [s]."""
LAMP_STAGES = (Stage.PREHEAT, Stage.SOAK)


@dataclass(frozen=True, slots=True)
class Heated:
    """How one preheat went."""

    ended: str
    """'soaked', 'given up', or the guard or alarm that ended it."""
    lamp_on_at: float
    """The lamp came on first, since START, [s]."""
    fault_at: float | None
    """The fault came, since START, [s]; None where there was none, or the heat was over before."""
    off_at: float
    """The lamp was told off for good, since START, [s]."""
    ended_at: float
    """The heat ended, or what ended it spoke, since START, [s]."""
    hottest: float
    """True face at its hottest, [K]."""
    plate_at: float | None
    """The cut-out's plate was hot enough to open it, since START, [s]; None for never."""
    closures: int
    """Most closures of the lamp's relay in 5 min."""
    gain: float
    """Lamp as the estimate found it, as a share of what was expected, [-]."""


def play(preheat: Preheat, *, cut_out: bool) -> Heated:
    """Play it to its end.

    cut_out: the lamp's own cut-out works; else a wire goes across it
    """
    heat = _Heat(preheat, cut_out)
    try:
        return heat.play()
    finally:
        heat.close()


def can_reach(preheat: Preheat) -> bool:
    """The true lamp brings the true face into the band within an hour of light."""
    plant = preheat.plant()
    plant.add_fault("cut_out_bridged")
    plant.place_under_lamp()
    hottest = plant.face
    for _ in range(60):
        plant.advance(HOUR / 60, True, False)
        hottest = max(hottest, plant.face)
    return hottest >= preheat.sheet.coats[0].heat.band_low


class _Heat:
    """One preheat being played."""

    def __init__(self, preheat: Preheat, cut_out: bool) -> None:
        self._preheat, self._plant = preheat, preheat.plant()
        if not cut_out:
            self._plant.add_fault("cut_out_bridged")
        settings = preheat.settings
        probes = frozenset(wired_probes(settings))
        self._rig = wired_as(settings, self._plant, preheat.seed, probes, preheat.lag)
        self._log = Log.open(MEMORY)
        self._now, self._count = 0.0, 0
        facts = facts_for(settings, probes, simulated=True, record=SIMULATED_RECORD, in_date=True)
        self._runner = Runner(self._rig, self._log, facts, self._instant())
        self._runner.on_accepted = lambda act, run: do_by_hand(
            self._rig, act.kind, None if run is None else run.coat
        )
        self._lamp_on_at: float | None = None
        self._fault_at: float | None = None
        self._plate_at: float | None = None
        self._off_at, self._hottest, self._closures = 0.0, 0.0, 0
        self._closed: deque[float] = deque()

    def play(self) -> Heated:
        self._tick([self._act(ActKind.PLAN, sheet=sheet_to_json(self._preheat.sheet), id="heat")])
        self._now += 1.0
        self._tick([self._act(ActKind.START, **STEADY_HANDS[ActKind.START])])
        start, word_at = self._now, self._now
        run = self._run()
        if run.stage not in LAMP_STAGES:
            raise RuntimeError("a drawn preheat's START was refused")
        ended, since, gain = None, 0.0, 1.0
        while ended is None:
            self._now += 1.0
            since = self._now - start
            if self._fault_at is None and since >= self._preheat.after:
                self._break(since)
            acts = []
            if self._now - word_at >= WORD_EACH:
                acts, word_at = [self._act(ActKind.PRESENT)], self._now
            elif self._gun_is_due(run):
                face = round(self._plant.face - ZERO_CELSIUS, 1)
                acts = [self._act(ActKind.READING, role="gun", value_c=face)]
            self._tick(acts)
            heat = self._runner.engine.heat
            gain = gain if heat is None else heat.gain
            self._watch(since)
            ended = self._ended(run, since)
        for _ in range(int(AFTERGLOW)):
            self._now += 1.0
            self._tick([])
            self._hottest = max(self._hottest, self._plant.face)
        faulty = self._preheat.case.fault is not None
        came = self._fault_at if faulty and (self._fault_at or 0.0) < self._off_at else None
        return Heated(
            ended=ended,
            lamp_on_at=self._lamp_on_at or 0.0,
            fault_at=came,
            off_at=self._off_at,
            ended_at=since,
            hottest=self._hottest,
            plate_at=self._plate_at,
            closures=self._closures,
            gain=gain,
        )

    def _run(self) -> Run:
        run = self._runner.engine.rig.run
        if run is None:
            raise RuntimeError("a drawn preheat was not planned")
        return run

    def _tick(self, acts: list[Act]) -> None:
        self._runner.tick(self._instant(), acts)

    def _instant(self) -> Instant:
        return Instant(self._now, self._now, self._now, "preheat", True)

    def _break(self, since: float) -> None:
        """What goes wrong does so now."""
        self._fault_at = since
        if self._preheat.case.fault is not None:
            self._rig.add_fault(self._preheat.case.fault, self._preheat.value)

    def _gun_is_due(self, run: Run) -> bool:
        asked_at = run.lamp.gun_asked_at
        return (
            self._preheat.case.gun
            and gun_asked(run)
            and asked_at is not None
            and self._now - asked_at >= GUN_TAKES
        )

    def _watch(self, since: float) -> None:
        """Take in what is so after a tick."""
        told = self._rig.outputs().lamp
        if told:
            self._lamp_on_at = since if self._lamp_on_at is None else self._lamp_on_at
            if since > self._off_at:
                self._closed.append(since)
            self._off_at = since + 1.0
        while self._closed and since - self._closed[0] > CLOSURES_IN:
            self._closed.popleft()
        self._closures = max(self._closures, len(self._closed))
        self._hottest = max(self._hottest, self._plant.face)
        lamp = self._plant.lamp
        if self._plate_at is None and lamp.plate >= lamp.parameters.cut_out_opens:
            self._plate_at = since

    def _ended(self, run: Run, since: float) -> str | None:
        """What ended it; None while the lamp may burn again."""
        if run.stage is Stage.STOPPED:
            return run.stop_cause or "stopped"
        latch = self._runner.engine.book.latch()
        if latch is not None:
            return latch
        if run.stage not in LAMP_STAGES:
            return "soaked"
        return "given up" if since >= LONGEST else None

    def _act(self, kind: ActKind, **values: str | float | bool) -> Act:
        self._count += 1
        run = self._runner.engine.rig.run
        return Act(
            id=f"person-{self._count}",
            kind=kind,
            batch=None if run is None else run.id,
            stage=None if run is None else str(run.stage),
            by="operator",
            values=dict(values),
        )

    def close(self) -> None:
        self._rig.close()
        self._log.close()
