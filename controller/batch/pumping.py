"""Whether the pump runs now: what bars it, in words, before the bag's own rules are asked."""

from controller.batch import bag, gauge_doubt, senses
from controller.batch.interlocks import resting
from controller.batch.signals import Wiring
from controller.batch.stages import ORDER, Form, Stage, Use
from controller.batch.state import RigState, Run
from controller.batch.view import View


def dry_pull_is_over(run: Run, now: float) -> bool:
    """The hour of the dry pull is up, whatever it has told."""
    return run.stage is Stage.DRYPULL and now - run.since >= bag.DRY_PULL_LONGEST


def barred(rig: RigState, run: Run, view: View) -> str | None:
    """Why the pump must be off whatever the bag asks for; None when it may run."""
    if ORDER[run.stage].pump is not Use.ALLOWED:
        return "this is no stage for the pump"
    if view.readings.stop_pressed:
        return "the STOP button is down"
    if resting(rig.rest_until, rig.now):
        return "the controller came back too often in ten minutes"
    if senses.trap_bars_pump(rig):
        return "the trap is full: the pump waits until it is empty and ACKNOWLEDGE is pressed"
    if run.stage is Stage.PULLDOWN and run.has_set():
        return "the resin has set: vacuum moves nothing any more"
    if dry_pull_is_over(run, rig.now):
        return "an hour of dry pull tells all that it can"
    if run.bag.prove_by is not None:
        return "the gauge has to prove the bag first"
    if run.stage is Stage.HOLD and run.form is not Form.HELD:
        return "there is no vacuum to hold"
    if run.bag.frozen:
        return "the gauge stands still, and nothing says how deep the pump would pull"
    return None


def wanted(rig: RigState, run: Run, view: View) -> bool:
    """Whether the pump should run until the next step."""
    seen = view.bag
    if seen is None or view.facts.pump is Wiring.ABSENT or barred(rig, run, view) is not None:
        return False
    if gauge_doubt.pulse_wanted(run, seen):
        return True
    testing = run.stage in (Stage.PULLDOWN, Stage.DRYPULL) and run.bag.verdict != "leaking"
    return bag.pump_wanted(run.bag, seen, testing)
