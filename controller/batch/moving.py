"""What ends a stage without a press: guards, the face in its band, a tight bag, resin and solvent.

Called once a step, after the acts were heard; each function leaves its events in the journal.
"""

from controller.batch import (
    bag,
    exotherm,
    flash_off,
    gauge_doubt,
    interlocks,
    lamp,
    lamp_guards,
    pump_off,
    pump_run,
    second_opinion,
    senses,
    setting,
)
from controller.batch.bag_view import BagView
from controller.batch.believing import face_age_limit
from controller.batch.events import EventKind
from controller.batch.heat import HeatEstimate
from controller.batch.journal import Journal
from controller.batch.signals import Readings, RigFacts, Wiring
from controller.batch.stages import HEATED, ORDER, PUMPED, Form, Stage, Trigger, Use
from controller.batch.state import RigState, Run, Zone
from controller.batch.view import View
from controller.science.constants import ZERO_CELSIUS


def guard(
    rig: RigState,
    readings: Readings,
    facts: RigFacts,
    heat: HeatEstimate | None,
    journal: Journal,
    too_late: bool,
) -> str | None:
    """Halt a heat that has gone wrong; the name of what tripped.

    too_late: nobody minded the heat for longer than it may be trusted
    """
    run = rig.run
    if run is None or ORDER[run.stage].lamp is not Use.ALLOWED:
        return None
    sensed = senses.tripped(rig)
    if sensed is None and second_opinion.disagrees(run):
        sensed = "probe disagrees"
    if sensed is None and too_late and facts.lamp is Wiring.WIRED:
        sensed = "controller late"
    if sensed is not None:
        _move(rig, run, Trigger.GUARD, journal, sensed)
        return sensed
    if heat is None:
        return None
    plan = run.coat.heat
    trip = interlocks.trip_temperature(plan.trip, plan.band_high, facts)
    goal = lamp.Goal(plan.band_low, plan.band_high, trip)
    if facts.lamp is Wiring.WIRED:
        if facts.lamp_held and run.lamp.on:
            lamp.wait_with_it(run.lamp, rig.now)
        tripped = lamp_guards.tripped(run.lamp, rig.now, readings.face, heat, goal)
    else:
        tripped = lamp_guards.tripped_by_hand(run.lamp, readings.face, goal)
    if tripped is not None:
        _move(rig, run, Trigger.GUARD, journal, tripped)
        return tripped
    if run.stage is Stage.PREHEAT and _budget_spent(run):
        _move(rig, run, Trigger.BUDGET_SPENT, journal, "lamp time spent")
        return "lamp time spent"
    return None


def move_on(rig: RigState, view: View, journal: Journal) -> bool:
    """Everything that ends a stage without a press; True when the batch at the rig has moved."""
    run = rig.run
    before = None if run is None else run.stage
    if run is not None:
        gauge_doubt.follow(run, view)
        exotherm.follow(run, view)
        if view.bag is not None:
            pump_off.follow(run.bag, view.bag)
            pump_run.follow(run.bag, view.bag)
        if run.stage in HEATED:
            _heat(rig, run, view, journal)
        elif run.stage in PUMPED and view.bag is not None:
            _bag(rig, run, view, view.bag, journal)
        _setting(run, journal)
    for other in (run, *rig.aside):
        if other is not None and other.stage is Stage.FLASHOFF and flash_off.done(other):
            _finish(rig, other, journal)
    zone = rig.zone
    wet = interlocks.ZoneView(zone.wet, zone.tidied_at, zone.out_at)
    if zone.wet and not interlocks.zone_locked(wet, rig.now):
        rig.zone = Zone()
        journal.tell(EventKind.NOTE, "The lamp's zone is clear again.")
    return run is not None and run.stage is not before


def _move(
    rig: RigState, run: Run, why: Trigger, journal: Journal, cause: str | None = None
) -> None:
    before = run.stage
    run.move(rig.now, why)
    run.stop_cause = cause
    journal.stage(run, before)


def _budget_spent(run: Run) -> bool:
    spent = run.lamp.seconds.get(run.lamp.side, 0.0)
    return spent >= interlocks.lamp_budget(run.coat.heat.lamp_on)


def _heat(rig: RigState, run: Run, view: View, journal: Journal) -> None:
    if run.stage is Stage.PREHEAT:
        face = view.readings.face
        fresh = face is not None and face.age(view.now) <= face_age_limit(view.facts)
        seen = run.lamp.proved or view.facts.lamp is not Wiring.WIRED
        if seen and fresh and face is not None and face.value >= run.coat.heat.band_low:
            _move(rig, run, Trigger.FACE_IN_BAND, journal)
    elif run.stage is Stage.SOAK:
        if view.mean is not None and view.mean >= view.target_mean:
            _move(rig, run, Trigger.HOT_THROUGH, journal)
        elif _budget_spent(run):
            _move(rig, run, Trigger.BUDGET_SPENT, journal)
    elif run.lamp_off_at is None:
        if not rig.lamp_by_hand:
            run.lamp_off_at, run.mean_at_off = view.now, view.mean
    elif run.coat_called_at is None and view.coat_now and view.face is not None:
        run.coat_called_at = view.now
        face_c = round(view.face - ZERO_CELSIUS, 2)
        journal.tell(EventKind.COAT_NOW, "Coat now.", face_c=face_c)


def _bag(rig: RigState, run: Run, view: View, seen: BagView, journal: Journal) -> None:
    held, before = run.bag, run.bag.verdict
    bag.follow(held, seen)
    if run.stage is Stage.HOLD:
        if run.form is Form.HELD:
            bag.watch_hold(held, seen)
    elif bag.judge_gate(held, seen) == "tight" and run.stage is Stage.PULLDOWN:
        run.form = Form.HELD
        _move(rig, run, Trigger.BAG_TIGHT, journal)
    if held.verdict != before:
        journal.tell(EventKind.GATE, f"Leak gate: {held.verdict}.", rise_pa_s=held.rise)
    if held.prove_by is not None and bag.proved(seen) and not held.frozen:
        held.prove_by = None
        journal.tell(EventKind.NOTE, "The gauge proves the bag: the pump goes on by itself.")
    elif held.prove_by is not None and view.now >= held.prove_by:
        held.prove_by = None
        _move(rig, run, Trigger.RESTART, journal, "the gauge did not prove the bag")


def _setting(run: Run, journal: Journal) -> None:
    if run.coated_at is None:
        return
    if not run.gelled and run.has_set():
        run.gelled = True
        journal.tell(EventKind.GEL, "The resin has gelled.", age_s=run.age)
    old_enough = run.age >= run.coat.resin.open_early and setting.networked(run)
    if not run.may_open and old_enough and run.stage is Stage.HOLD:
        run.may_open = True
        journal.tell(EventKind.MAY_OPEN, "The bag may be opened.", age_s=run.age)


def _finish(rig: RigState, run: Run, journal: Journal) -> None:
    _move(rig, run, Trigger.SOLVENT_OUT, journal)
    if run.coat_index + 1 == len(run.sheet.coats):
        run.outcome = "finished"
    if run is rig.run and rig.zone.wet:
        rig.zone.out_at = rig.now
    journal.tell(EventKind.NOTE, f"{run.sheet.name}: the solvent is out.", run)
