"""The batch engine: one step takes in time, readings and acts, and says what the outputs do.

Sans I/O: it never asks for the time, never touches a wire or a disk, and the same calls give the
same answers. Read `stages.py` first, then `step` from top to bottom. A little over 300 lines,
because a step is one story and is read in one go.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from controller.batch import bag, conditions, flash_off, interlocks, lamp, setting
from controller.batch.acts import Act, ActKind, Answer
from controller.batch.alarms import ALARMS, AlarmBook
from controller.batch.desk import Desk
from controller.batch.events import Event, EventKind
from controller.batch.hearing import hear
from controller.batch.heat import HeatEstimate
from controller.batch.looking import OLD, dark_now, room_of, view_of
from controller.batch.presses import next_press
from controller.batch.signals import (
    OUTPUTS_OFF,
    Announcements,
    Commands,
    Readings,
    RigFacts,
    Sample,
    Wiring,
)
from controller.batch.stages import HEATED, ORDER, Cause, Form, Stage, Use
from controller.batch.state import RigState, Run, Zone
from controller.batch.view import View
from controller.errors import StageError

COLD = 1.0
"""Difference to the room at which the heat's estimate ends in a hold, [K]. Own."""
FACE_KEPT = 30.0
"""Length of the face's history for the coat moment, [s]. Own."""
SLACK = 1.001
"""On a step cap, so that a step of just its length is no gap."""
PUMPED = (Stage.DRYPULL, Stage.PULLDOWN, Stage.HOLD)
"""Stages in which the bag is watched."""
TICKS = {Stage.HOLD: 10.0, Stage.FLASHOFF: 600.0, Stage.FINISHED: 600.0}
"""Length of a simulated tick where it is not one second, [s]. Own."""


@dataclass(frozen=True, slots=True)
class Step:
    """What came out of a step."""

    commands: Commands
    """What the outputs shall do until the next."""
    events: tuple[Event, ...]
    """What happened, to be made durable before a lamp is lit."""
    answers: tuple[Answer, ...]
    """One for each act, in the order they were heard: STOP first."""
    announcements: Announcements
    """What a person should hear."""


class Engine:
    """One rig and the batches on it."""

    def __init__(self, rig: RigState) -> None:
        """Goes on from a state; `RigState(now)` is an empty rig."""
        self.rig = rig
        self.book = AlarmBook(rig.alarms)
        self.view: View | None = None
        self.heat: HeatEstimate | None = None
        self.found: str | None = None
        """What a restart found, for the first step to say."""
        self.faces: list[Sample] = []
        """The face's last readings."""
        self._events: list[Event] = []
        self._late = False
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
        return 600.0 if run is None and self.rig.aside else TICKS.get(_stage(run), 1.0)

    def step(self, now: float, readings: Readings, acts: Sequence[Act], facts: RigFacts) -> Step:
        """Take one step to rig time `now`.

        Raises ValueError when time goes back: the caller's clock only goes forward.
        """
        if now < self.rig.now:
            raise ValueError(f"rig time went back from {self.rig.now} to {now} s")
        self._events = []
        readings = self._with_told(readings)
        stage_before = _stage(self.rig.run)
        self._pass_time(now, readings, facts)
        heard = self._acts(acts, readings)
        answers = tuple(self._hear(act, readings, facts) for act in heard)
        guard = self._guard(readings, facts)
        self._move_on(readings, facts)
        view = self._look(readings, facts)
        self._alarms(view, guard, stage_before)
        commands = self._command(view)
        return Step(commands, tuple(self._events), answers, self._announce())

    # --- what comes in

    def _acts(self, acts: Sequence[Act], readings: Readings) -> list[Act]:
        """The acts with the wired buttons' among them, every STOP first."""
        run, heard = self.rig.run, list(acts)
        if readings.next_pressed and run is not None:
            press = next_press(run, self.rig, self.view)
            if press is not None:
                heard.append(_from_button(ActKind(press.act), run, self.rig.now))
        if readings.stop_pressed and _stage(run) is not Stage.STOPPED:
            heard.append(_from_button(ActKind.STOP, run, self.rig.now))
        return sorted(heard, key=lambda act: act.kind is not ActKind.STOP)

    def _with_told(self, readings: Readings) -> Readings:
        """Readings told by hand stand in for the roles nothing is wired to."""
        told = {name: Sample(value, at) for name, (value, at) in self.rig.told.items()}
        if not told:
            return readings
        return replace(
            readings,
            face=readings.face or told.get("face"),
            back=readings.back or told.get("back"),
            room=readings.room or told.get("room"),
            film=readings.film or told.get("film"),
            bag=readings.bag or told.get("bag"),
            barometer=readings.barometer or told.get("barometer"),
        )

    def _pass_time(self, now: float, readings: Readings, facts: RigFacts) -> None:
        """Let clocks and estimates grow by what this step may stand for."""
        past, self.rig.now = self.rig.now, now
        run = self.rig.run
        seconds = self._credited(now - past, _stage(run) if run else Stage.FINISHED)
        room = room_of(now, readings)
        if run is not None:
            by_hand = facts.lamp is not Wiring.WIRED
            lit = self.rig.lamp_by_hand if by_hand else run.lamp.on
            if self.heat is None and run.stage in HEATED:
                self.heat = _estimate(run, readings, facts, room)
            if self.heat is not None and self._heat_has_gone(run, readings, room):
                self.heat = None
            if self.heat is not None:
                self.heat.advance(seconds, lit, _fresh_face(now, readings), room)
            if lit:
                spent = run.lamp.seconds.get(run.lamp.side, 0.0)
                run.lamp.seconds[run.lamp.side] = spent + seconds
            setting.grow_older(run, now, seconds, self._film(readings))
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
        self._late = seconds > cap * SLACK
        if not self._late:
            return seconds
        text = f"No step for {seconds:.0f} s; {cap:.0f} s of it are counted."
        self._tell(EventKind.GAP, text, gap_s=seconds, counted_s=cap)
        return cap

    def _heat_has_gone(self, run: Run, readings: Readings, room: float) -> bool:
        """Under the bag the estimate ends: a film probe knows better, or the board is cold."""
        if self.heat is None or run.stage not in (Stage.HOLD, Stage.FLASHOFF, Stage.FINISHED):
            return False
        film = readings.film
        told = film is not None and film.age(self.rig.now) <= OLD
        return told or abs(self.heat.mean - room) < COLD

    def _film(self, readings: Readings) -> float:
        """Temperature the mix sets at: film probe, else the board as reckoned, else the room."""
        film, run = readings.film, self.rig.run
        if film is not None and film.age(self.rig.now) <= OLD and run and run.sealed_at is not None:
            return film.value
        if run is not None and run.coating_at is not None and self.heat is not None:
            return self.heat.mean
        return room_of(self.rig.now, readings)

    def _hear(self, act: Act, readings: Readings, facts: RigFacts) -> Answer:
        run = self.rig.run
        desk = Desk(self.rig.now, self.rig, readings, facts, self.book, self.heat)
        who = {"act": str(act.kind), "by": act.by, "id": act.id}
        try:
            text = hear(desk, act)
        except StageError as refusal:
            self._tell(EventKind.REFUSED, f"{act.kind} from {act.by} refused: {refusal}", **who)
            return Answer(act.id, False, str(refusal))
        if self.rig.run is not run:
            self.heat, self.faces = None, []
        carried = {f"told_{name}": value for name, value in act.values.items() if name != "sheet"}
        self._tell(EventKind.ACT, f"{act.kind} from {act.by}.", **{**carried, **who})
        told = self._events[-1]
        self._events[-1] = replace(
            told,
            batch=act.batch or told.batch,
            happened_at=self.rig.now - act.ago if act.ago > 0 else None,
        )
        if act.kind is ActKind.PLAN and self.rig.run is not None:
            name = self.rig.run.sheet.name
            self._tell(EventKind.BATCH_PLANNED, f"{name} is planned.", simulated=facts.simulated)
        return Answer(act.id, True, text)

    # --- what follows

    def _guard(self, readings: Readings, facts: RigFacts) -> str | None:
        """Halt a heat that has gone wrong; the name of what tripped."""
        run = self.rig.run
        if run is None or self.heat is None or ORDER[run.stage].lamp is not Use.ALLOWED:
            return None
        plan = run.coat.heat
        trip = interlocks.trip_temperature(plan.trip, plan.band_high, facts)
        goal = lamp.Goal(plan.band_low, plan.band_high, trip)
        guard = lamp.tripped(run.lamp, self.rig.now, readings.face, self.heat, goal)
        if guard is not None:
            self._move(run, Cause.GUARD, guard)
            return guard
        side_seconds = run.lamp.seconds.get(run.lamp.side, 0.0)
        if side_seconds >= interlocks.lamp_budget(plan.lamp_on) and run.stage is Stage.PREHEAT:
            self._move(run, Cause.BUDGET_SPENT, "lamp time spent")
            return "lamp time spent"
        return None

    def _move(self, run: Run, why: Cause, cause: str | None = None) -> None:
        run.move(self.rig.now, why)
        run.stop_cause = cause

    def _move_on(self, readings: Readings, facts: RigFacts) -> None:
        """Everything that ends a stage without a press."""
        run = self.rig.run
        if run is not None and (run.stage in HEATED or run.stage in PUMPED):
            view = self._look(readings, facts)
            if run.stage in HEATED:
                self._move_on_heat(run, view)
            else:
                self._move_on_bag(run, view)
        if run is not None:
            self._move_on_setting(run)
        for other in (run, *self.rig.aside):
            if other is not None and other.stage is Stage.FLASHOFF and flash_off.done(other):
                self._finish(other)
        zone = self.rig.zone
        wet = interlocks.ZoneView(zone.wet, zone.tidied_at, zone.out_at)
        if zone.wet and not interlocks.zone_locked(wet, self.rig.now):
            self.rig.zone = Zone()
            self._tell(EventKind.NOTE, "The lamp's zone is clear again.")

    def _move_on_heat(self, run: Run, view: View) -> None:
        plan, face = run.coat.heat, view.readings.face
        age_limit = interlocks.SAMPLE_AGE_LIMIT if view.facts.lamp is Wiring.WIRED else OLD
        fresh = face is not None and face.age(view.now) <= age_limit
        seen = run.lamp.proved or view.facts.lamp is not Wiring.WIRED
        if run.stage is Stage.PREHEAT and face is not None and fresh and seen:
            if face.value >= plan.band_low:
                self._move(run, Cause.FACE_IN_BAND)
        elif run.stage is Stage.SOAK:
            spent = run.lamp.seconds.get(run.lamp.side, 0.0)
            if view.mean is not None and view.mean >= view.target_mean:
                self._move(run, Cause.HOT_THROUGH)
            elif spent >= interlocks.lamp_budget(plan.lamp_on):
                self._move(run, Cause.BUDGET_SPENT)
        elif run.stage is Stage.COOLDOWN and run.lamp_off_at is None:
            run.lamp_off_at, run.mean_at_off = view.now, view.mean
        elif run.stage is Stage.COOLDOWN and run.coat_called_at is None:
            if view.coat_now:
                run.coat_called_at = view.now
                self._tell(EventKind.COAT_NOW, "Coat now.", face_c=_celsius(view.face))

    def _move_on_bag(self, run: Run, view: View) -> None:
        if view.bag is None:
            return
        held, before = run.bag, run.bag.verdict
        bag.follow(held, view.bag)
        if run.stage in (Stage.DRYPULL, Stage.PULLDOWN):
            tight = bag.judge_gate(held, view.bag) == "tight"
            if tight and run.stage is Stage.PULLDOWN:
                run.form = Form.HELD
                self._move(run, Cause.BAG_TIGHT)
        elif run.stage is Stage.HOLD and run.form is Form.HELD:
            bag.watch_hold(held, view.bag)
        if held.verdict != before:
            self._tell(EventKind.GATE, f"Leak gate: {held.verdict}.", rise_pa_s=held.rise)
        if held.prove_by is not None and bag.proved(view.bag):
            held.prove_by = None
            self._tell(EventKind.NOTE, "The gauge proves the bag: the pump goes on by itself.")
        elif held.prove_by is not None and view.now >= held.prove_by:
            held.prove_by = None
            self._move(run, Cause.RESTART, "the gauge did not prove the bag")

    def _move_on_setting(self, run: Run) -> None:
        if run.coated_at is None:
            return
        resin = run.coat.resin
        if not run.gelled and run.has_set():
            run.gelled = True
            self._tell(EventKind.GEL, "The resin has gelled.", age_s=run.age)
        if not run.may_open and run.age >= resin.open_early and run.stage is Stage.HOLD:
            run.may_open = True
            self._tell(EventKind.MAY_OPEN, "The bag may be opened.", age_s=run.age)

    def _finish(self, run: Run) -> None:
        self._move(run, Cause.SOLVENT_OUT)
        if run.coat_index + 1 == len(run.sheet.coats):
            run.outcome = "finished"
        if run is self.rig.run:
            self.rig.zone.out_at = self.rig.now if self.rig.zone.wet else None
        text = f"{run.sheet.name}: the solvent is out."
        self._events.append(
            Event(self.rig.now, EventKind.STAGE, run.id, run.stage, text, {"from": "FLASHOFF"})
        )

    # --- what is shown and switched

    def _look(self, readings: Readings, facts: RigFacts) -> View:
        self.view = view_of(
            self.rig,
            readings,
            facts,
            self.heat,
            self.faces,
            self.book.latch(),
            self._late,
            self._film(readings),
        )
        return self.view

    def _alarms(self, view: View, guard: str | None, stage_before: Stage) -> None:
        run = self.rig.run
        if run is not None and run.stage is not stage_before:
            text = f"{stage_before} ends, {run.stage} begins."
            self._tell(EventKind.STAGE, text, **{"from": str(stage_before)})
            if run.since < self.rig.now:
                self._events[-1] = replace(self._events[-1], happened_at=run.since)
        active = conditions.active(conditions.Situation(view, self.rig, guard, self.found))
        self.found = None
        raised, cleared = self.book.update(self.rig.now, active)
        for alarm in raised:
            row = ALARMS[alarm.id]
            self._tell(
                EventKind.ALARM_RAISED,
                f"{row.priority}: {alarm.id}. {row.do}",
                alarm=alarm.id,
                priority=str(row.priority),
            )
        for alarm in cleared:
            self._tell(EventKind.ALARM_CLEARED, f"{alarm.id}: cause gone.", alarm=alarm.id)

    def _command(self, view: View) -> Commands:
        run = self.rig.run
        sounder = self.book.sounding(self.rig.now, self.rig.muted_until)
        if run is None:
            return replace(OUTPUTS_OFF, sounder=sounder)
        self._switch_lamp(run, view)
        self._switch_pump(run, view)
        calling = view.coat_now and run.stage is Stage.COOLDOWN
        return Commands(run.lamp.on, run.bag.pump_on, sounder or calling)

    def _switch_lamp(self, run: Run, view: View) -> None:
        """The lamp's whole path: an interlock says why not, or the band says whether."""
        dark = dark_now(self.rig, view.readings, view.facts, self.book.latch(), self._late)
        face = view.readings.face
        on = False
        if dark is None and self.heat is not None and face is not None:
            plan = run.coat.heat
            goal = lamp.Goal(plan.band_low, plan.band_high, plan.trip)
            on = lamp.wanted(run.lamp, view.now, face, self.heat, goal, view.facts)
        elif dark is not None:
            lamp.start_proof_anew(run.lamp)
        if lamp.command(run.lamp, view.now, on):
            why = "" if dark is None else f": {dark.why}"
            self._tell(EventKind.OUTPUT, f"Lamp {'on' if on else 'off'}{why}.", lamp=on)

    def _switch_pump(self, run: Run, view: View) -> None:
        allowed = (
            ORDER[run.stage].pump is Use.ALLOWED
            and (run.stage is not Stage.HOLD or run.form is Form.HELD)
            and run.bag.prove_by is None
            and view.facts.pump is not Wiring.ABSENT
            and view.bag is not None
        )
        testing = run.stage in (Stage.PULLDOWN, Stage.DRYPULL) and run.bag.verdict != "leaking"
        on = allowed and view.bag is not None and bag.pump_wanted(run.bag, view.bag, testing)
        if bag.set_pump(run.bag, view.now, on):
            self._tell(EventKind.OUTPUT, f"Pump {'on' if on else 'off'}.", pump=on)

    def _announce(self) -> Announcements:
        run, view = self.rig.run, self.view
        press = None if run is None else next_press(run, self.rig, view)
        return Announcements(
            coat_now=view is not None and view.coat_now and _stage(run) is Stage.COOLDOWN,
            press_due=press is not None and press.due,
        )

    def _tell(self, kind: EventKind, text: str, **data: str | float | bool | None) -> None:
        run = self.rig.run
        batch, stage = (None, None) if run is None else (run.id, str(run.stage))
        self._events.append(Event(self.rig.now, kind, batch, stage, text, data))


def _stage(run: Run | None) -> Stage:
    return Stage.PLANNED if run is None else run.stage


def _celsius(kelvin: float | None) -> float | None:
    return None if kelvin is None else round(kelvin - 273.15, 2)


def _fresh_face(now: float, readings: Readings) -> float | None:
    face = readings.face
    if face is None or face.age(now) > interlocks.SAMPLE_AGE_LIMIT:
        return None
    return face.value


def _from_button(kind: ActKind, run: Run | None, now: float) -> Act:
    name = None if run is None else run.id
    return Act(id=f"button-{kind}-{now:.3f}", kind=kind, batch=name, stage=None, by="button")


def _estimate(run: Run, readings: Readings, facts: RigFacts, room: float) -> HeatEstimate:
    """A first estimate of a board at rest: at the probe's reading, or at the room's."""
    board = run.coat.board
    face = readings.face
    start = face.value if face is not None else room
    return HeatEstimate(
        thickness=board.thickness,
        conductivity=board.conductivity,
        density=board.density,
        heat_capacity=board.heat_capacity,
        back_h=board.back_loss,
        face_h=board.face_loss,
        flux=facts.lamp_flux,
        probe_lag=facts.probe_lag,
        start=start,
        room=room,
    )
