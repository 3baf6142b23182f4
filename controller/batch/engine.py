"""The batch engine: one step takes in time, readings and acts, and says what the outputs do.

Sans I/O: it never asks for the time, never touches a wire or a disk, and the same calls give the
same answers. Read `stages.py` first, then `step` from top to bottom; what ends a stage without a
press is in `moving.py`.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from controller.batch import (
    bag,
    buttons,
    conditions,
    flash_off,
    lamp,
    moving,
    pumping,
    second_opinion,
    senses,
    setting,
)
from controller.batch.acts import Act, ActKind, Answer
from controller.batch.alarm_book import AlarmBook, muted, priority_of
from controller.batch.alarms import ALARMS
from controller.batch.believing import PROBE_AGE, believed
from controller.batch.desk import Desk
from controller.batch.events import Event, EventKind
from controller.batch.hearing import hear, named
from controller.batch.heat import CORRECTION, HeatEstimate
from controller.batch.journal import Figure, Journal
from controller.batch.looking import (
    dark_now,
    film_of,
    film_read,
    first_estimate,
    lit,
    room_of,
    view_of,
)
from controller.batch.signals import (
    OUTPUTS_OFF,
    Announcements,
    Commands,
    Readings,
    RigFacts,
    Role,
    Sample,
)
from controller.batch.stages import HALTED, HEATED, ORDER, Stage
from controller.batch.state import RigState, Run
from controller.batch.view import View
from controller.errors import StageError

COLD = 1.0
"""Difference to the room at which the heat's estimate ends in a hold, [K]. Own."""
FACE_KEPT = 30.0
"""Length of the face's history for the coat moment, [s]. Own."""
SLACK = 1.001
"""On a step cap, so that a step of just its length is no gap."""
BEAT = 1.0
"""Time between two steps under a lamp, [s]. Own."""
TOO_LATE = 2.0
"""How long after its time a step may come with a heat still to be trusted, [s]. Own."""
PUNCTUAL = 10
"""Steps in time after a late one before the lamp may burn again. Own."""
TICKS = {Stage.HOLD: 10.0, Stage.FLASHOFF: 600.0, Stage.FINISHED: 600.0}
"""Length of a simulated tick where it is not one second, [s]. Own."""
WAITS = frozenset({Stage.PLANNED, Stage.COOLDOWN, Stage.COAT, Stage.BAG, *HALTED})
"""Stages without lamp and pump that end with a press and nothing else."""
LONG_WAIT = 3600.0
"""Time in one of them after which a simulated tick is as long as its steps may be, [s]. Own."""

PAUSES = frozenset({"I-14 late", "I-19 gun", "I-20 look"})
"""Interlocks that come and go with nobody's hand at the probe."""


@dataclass(frozen=True, slots=True)
class Step:
    """What came out of a step."""

    commands: Commands
    """What the outputs shall do until the next."""
    events: tuple[Event, ...]
    """What happened, to be made durable before a lamp is lit."""
    answers: tuple[Answer, ...]
    """One for each act, in the order they were heard: STOP has the last word."""
    announcements: Announcements
    """What a person should hear."""


class Engine:
    """One rig and the batches on it."""

    def __init__(self, rig: RigState) -> None:
        """Goes on from a state; `RigState(now)` is an empty rig."""
        self.rig = rig
        self.book = AlarmBook(rig.alarms, rig.watches)
        self.view: View | None = None
        self.heat: HeatEstimate | None = None
        self.found: str | None = None
        """What a restart found, for the first step to say."""
        self.faces: list[Sample] = []
        """The face's last readings."""
        self._journal = Journal(rig)
        self._in_time = PUNCTUAL
        self._too_late = False
        if rig.run is not None and rig.run.heat is not None:
            self.heat = HeatEstimate.from_state(rig.run.heat)

    def state(self) -> RigState:
        """All that must outlive the process; belongs to the engine, so copy or write it at once."""
        if self.rig.run is not None:
            self.rig.run.heat = None if self.heat is None else self.heat.heat_state()
        return self.rig

    @property
    def tick(self) -> float:
        """Longest step that loses nothing on a simulated rig now, [s]."""
        run = self.rig.run
        if run is None:
            return 600.0 if self.rig.aside else 1.0
        if run.stage in WAITS and self.rig.now - run.since >= LONG_WAIT:
            return ORDER[run.stage].step_cap
        return TICKS.get(run.stage, BEAT)

    @property
    def _late(self) -> bool:
        """A step came too late for its stage, and too few have come in time since."""
        return self._in_time < PUNCTUAL

    def step(self, now: float, readings: Readings, acts: Sequence[Act], facts: RigFacts) -> Step:
        """Take one step to rig time `now`.

        Raises ValueError when time goes back: the caller's clock only goes forward.
        """
        if not now >= self.rig.now:
            raise ValueError(f"rig time went back from {self.rig.now} to {now} s")
        self._journal = Journal(self.rig)
        read, readings = readings, believed(readings, now, self.rig.told, facts)
        self._pass_time(now, readings, facts)
        senses.follow(self.rig, readings, facts)
        second_opinion.follow(self.rig, readings, facts, self.heat, self._journal)
        answers = self._listen(acts, readings, facts)
        if answers:
            # only a person tells readings by hand
            readings = believed(read, now, self.rig.told, facts)
        guard = moving.guard(self.rig, readings, facts, self.heat, self._journal, self._too_late)
        view = self._look(readings, facts)
        if moving.move_on(self.rig, view, self._journal):
            view = self._look(readings, facts)
        self._alarms(view, guard)
        commands = self._command(view)
        announced = Announcements(coat_now=self._calls(view))
        return Step(commands, tuple(self._journal.events), answers, announced)

    # --- what comes in

    def _pass_time(self, now: float, readings: Readings, facts: RigFacts) -> None:
        """Let clocks and estimates grow by what this step may stand for."""
        past, self.rig.now = self.rig.now, now
        run = self.rig.run
        seconds = self._credited(now - past, Stage.FINISHED if run is None else run.stage)
        room = room_of(now, readings, facts)
        if run is not None:
            burning = lit(run, self.rig, facts)
            self._reckon_heat(run, seconds, burning, readings, facts)
            if burning:
                # In a gap too: it may well have burned all the while.
                spent = run.lamp.seconds.get(run.lamp.side, 0.0)
                run.lamp.seconds[run.lamp.side] = spent + now - past
            setting.grow_older(run, now, seconds, film_of(now, run, readings, facts, self.heat))
            flash_off.air_out(run, seconds, room)
        for other in self.rig.aside:
            slow = min(now - past, ORDER[Stage.FLASHOFF].step_cap)
            setting.grow_older(other, now, slow, room)
            flash_off.air_out(other, slow, room)
        face = readings.face
        if face is not None and (not self.faces or face.at > self.faces[-1].at):
            self.faces.append(face)
        self.faces = [sample for sample in self.faces if now - sample.at <= FACE_KEPT]

    def _credited(self, seconds: float, stage: Stage) -> float:
        """The step, or its stage's cap where it is longer; the rest is a recorded gap."""
        cap = ORDER[stage].step_cap
        self._too_late = seconds > BEAT + TOO_LATE
        if seconds <= cap * SLACK:
            self._in_time = min(self._in_time + 1, PUNCTUAL)
            return seconds
        self._in_time = 0
        text = f"No step for {seconds:.0f} s; {cap:.0f} s of it are counted."
        self._journal.tell(EventKind.GAP, text, gap_s=seconds, counted_s=cap)
        return cap

    def _reckon_heat(
        self, run: Run, seconds: float, burning: bool, readings: Readings, facts: RigFacts
    ) -> None:
        """The board's estimate: from the first step under the lamp until it says no more."""
        now, face = self.rig.now, readings.face
        room = room_of(now, readings, facts)
        if self.heat is None and run.stage in HEATED:
            start = room if face is None else face.value
            self.heat = first_estimate(run.coat, start, room, facts)
        if self.heat is not None and self._heat_has_gone(self.heat, run, room, readings, facts):
            self.heat = None
        if self.heat is not None:
            # A reading told by hand comes once, so it waits for the estimate's next correction.
            youth = PROBE_AGE if Role.FACE in facts.probes else CORRECTION
            fresh = face is not None and face.age(now) <= youth
            self.heat.advance(seconds, burning, face.value if face and fresh else None, room)

    def _heat_has_gone(
        self, heat: HeatEstimate, run: Run, room: float, readings: Readings, facts: RigFacts
    ) -> bool:
        """Under the bag the estimate ends: a film probe knows better, or the board is cold."""
        if run.stage not in (Stage.HOLD, Stage.FLASHOFF, Stage.FINISHED):
            return False
        told = film_read(self.rig.now, readings, facts) is not None
        return told or abs(heat.mean - room) < COLD

    # --- what people say

    def _listen(
        self, acts: Sequence[Act], readings: Readings, facts: RigFacts
    ) -> tuple[Answer, ...]:
        """Hear the acts and the wired buttons: STOP last, so that nothing undoes it."""
        tapped = buttons.next_act(readings, self.rig, self.view, self._journal)
        said = [*acts, *([] if tapped is None else [tapped])]
        said.sort(key=lambda act: act.kind is ActKind.STOP)
        answers = [self._hear(act, readings, facts) for act in said]
        stop = buttons.stop_act(readings, self.rig)
        if stop is not None:
            answers.append(self._hear(stop, readings, facts))
        return tuple(answers)

    def _hear(self, act: Act, readings: Readings, facts: RigFacts) -> Answer:
        run = self.rig.run
        desk = Desk(self.rig.now, self.rig, readings, facts, self.book, self.heat)
        about = named(desk, act)
        before = None if about is None else about.stage
        who: dict[str, Figure] = {"act": str(act.kind), "by": act.by, "id": act.id}
        try:
            heard = hear(desk, act)
        except StageError as refusal:
            text = f"{act.kind} from {act.by} refused: {refusal}"
            self._journal.tell(EventKind.REFUSED, text, about, None, **who)
            return Answer(act.id, False, str(refusal))
        if self.rig.run is not run:
            self.heat, self.faces = None, []
        carried = {f"told_{name}": value for name, value in act.values.items() if name != "sheet"}
        # NEXT COAT and PLAN put another run in the place of the one they were said of.
        after = named(desk, act) or about
        self._journal.tell(
            EventKind.ACT, f"{act.kind} from {act.by}.", after, heard.at, **{**carried, **who}
        )
        if act.kind is ActKind.PLAN and after is not None:
            text = f"{after.sheet.name} is planned."
            self._journal.tell(EventKind.BATCH_PLANNED, text, simulated=facts.simulated)
        elif after is not None and before is not None:
            self._journal.stage(after, before)
        return Answer(act.id, True, heard.text)

    # --- what is shown and switched

    def _look(self, readings: Readings, facts: RigFacts) -> View:
        latch = self.book.latch()
        self.view = view_of(self.rig, readings, facts, self.heat, self.faces, latch, self._late)
        return self.view

    def _alarms(self, view: View, guard: str | None) -> None:
        causes = conditions.active(conditions.Situation(view, self.rig, guard, self.found))
        self.found = None
        raised, cleared = self.book.update(self.rig.now, causes, self.rig.run)
        for alarm in raised:
            priority = priority_of(alarm)
            self._journal.tell(
                EventKind.ALARM_RAISED,
                f"{priority}: {alarm.id}. {ALARMS[alarm.id].do}",
                alarm=alarm.id,
                priority=str(priority),
                follows=alarm.follows,
            )
        for alarm in cleared:
            text = f"{alarm.id}: cause gone."
            self._journal.tell(EventKind.ALARM_CLEARED, text, alarm=alarm.id)

    def _command(self, view: View) -> Commands:
        run, now = self.rig.run, self.rig.now
        sounder = self.book.sounding(now, self.rig.muted_until)
        if run is None:
            return replace(OUTPUTS_OFF, sounder=sounder)
        free = self._switch_lamp(run, view)
        self._switch_pump(run, view)
        called_at = now if run.coat_called_at is None else run.coat_called_at
        calling = self._calls(view) and not muted(called_at, now, self.rig.muted_until)
        return Commands(run.lamp.on, run.bag.pump_on, sounder or calling, dead_man=free)

    def _switch_lamp(self, run: Run, view: View) -> bool:
        """The lamp's whole path: an interlock says why not, or the band says whether.

        True while no interlock forbids it, lit or not: the lamp's contactor may be held.
        """
        dark = dark_now(self.rig, view.readings, view.facts, self.book.latch(), self._late)
        face = view.readings.face
        on = False
        if dark is None and self.heat is not None and face is not None:
            plan = run.coat.heat
            goal = lamp.Goal(plan.band_low, plan.band_high, plan.trip)
            on = lamp.wanted(run.lamp, view.now, face, self.heat, goal, view.facts)
        elif dark is not None and (dark.id not in PAUSES or not run.lamp.proved):
            # After a pause a proved probe sits where it sat; after all else it may not.
            lamp.start_proof_anew(run.lamp)
        if lamp.command(run.lamp, view.now, on):
            why = "" if dark is None else f": {dark.why}"
            self._journal.tell(EventKind.OUTPUT, f"Lamp {'on' if on else 'off'}{why}.", lamp=on)
        return dark is None

    def _switch_pump(self, run: Run, view: View) -> None:
        on = pumping.wanted(self.rig, run, view)
        why = pumping.barred(self.rig, run, view)
        if bag.set_pump(run.bag, view.now, on):
            said = "Pump on." if on else "Pump off." if why is None else f"Pump off: {why}."
            self._journal.tell(EventKind.OUTPUT, said, pump=on)

    def _calls(self, view: View) -> bool:
        """COAT NOW sounds."""
        return view.coat_now and self.rig.run is not None and self.rig.run.stage is Stage.COOLDOWN
