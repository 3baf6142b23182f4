"""The rig's wired buttons as acts: NEXT stands for what is due, STOP has the last word."""

from controller.batch.acts import Act, ActKind
from controller.batch.events import EventKind
from controller.batch.journal import Journal
from controller.batch.presses import next_press
from controller.batch.signals import Readings
from controller.batch.stages import HALTED, Stage
from controller.batch.state import RigState, Run
from controller.batch.view import View


def next_act(readings: Readings, rig: RigState, view: View | None, journal: Journal) -> Act | None:
    """What the NEXT button says now; None when it was not tapped, or nothing waits for it.

    view: what the last step knew, as the person saw it
    """
    if not readings.next_pressed:
        return None
    press = None if rig.run is None else next_press(rig.run, rig, view)
    if press is None:
        journal.tell(EventKind.NOTE, "The NEXT button was tapped and nothing waits for it.")
        return None
    return _from("the NEXT button", ActKind(press.act), rig.run, rig.now)


def stop_act(readings: Readings, rig: RigState) -> Act | None:
    """What the STOP button says now: once when it goes down, and to whatever goes on while it is.

    Takes note of how the button stands.
    """
    was_down, rig.stop_down = rig.stop_down, readings.stop_pressed
    running = rig.run is not None and rig.run.stage not in (Stage.FINISHED, *HALTED)
    if not readings.stop_pressed or (was_down and not running):
        return None
    return _from("the STOP button", ActKind.STOP, rig.run, rig.now)


def _from(button: str, kind: ActKind, run: Run | None, now: float) -> Act:
    name = None if run is None else run.id
    return Act(id=f"button-{kind}-{now:.3f}", kind=kind, batch=name, stage=None, by=button)
