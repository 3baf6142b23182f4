"""Which alarms have their cause now: the only place that decides it, guards aside."""

from dataclasses import dataclass

from controller.batch import bag, gauge_doubt, lamp, second_opinion, senses, setting
from controller.batch.believing import PROBE_AGE
from controller.batch.signals import Wiring
from controller.batch.stages import HALTED, Form, Stage
from controller.batch.state import RigState, Run
from controller.batch.view import View

POT_STAGES = frozenset({Stage.PREHEAT, Stage.SOAK, Stage.COOLDOWN, Stage.COAT})
"""Stages in which there is mix in a cup."""
PULLING = frozenset({Stage.PULLDOWN, Stage.HOLD})
"""Stages in which vacuum is the work."""


@dataclass(frozen=True, slots=True)
class Situation:
    """One step's look at what may be wrong."""

    view: View
    """What the step knows."""
    rig: RigState
    """What the engine remembers."""
    guard: str | None
    """The guard that tripped in this step."""
    found: str | None
    """What a restart has just found; None when there was none."""


Active = dict[str, dict[str, float]]


def active(now: Situation) -> Active:
    """Names of the alarms whose cause is there, each with the figures of its sentence, SI."""
    found: Active = {}
    view, run = now.view, now.rig.run
    if view.facts.log_trouble is not None:
        found["record not written"] = {}
    if now.found is not None:
        found[now.found] = {}
    if senses.burns_uncommanded(now.rig):
        found["lamp does not go off"] = {}
    if run is None:
        return found
    if now.guard is not None:
        found[now.guard] = {"settles": view.settles}
        if view.readings.face is not None:
            found[now.guard]["face"] = view.readings.face.value
    if second_opinion.disagrees(run) and run.lamp.seen is not None:
        found["probe disagrees"] = {"seen": run.lamp.seen}
    for name in senses.at_the_lamp(now.rig, run):
        found[name] = {}
    if _lamp_burns_on(now.rig, run, view):
        found["lamp does not go off"] = {}
    if run.stage in (Stage.PREHEAT, Stage.SOAK):
        _under_the_lamp(run, view, found)
    at_work = run.left if run.stage in HALTED else run.stage
    if at_work in POT_STAGES and run.mixed_at is not None and setting.pot_share(run) >= 1.0:
        found["pot life"] = {}
    if run.stage is Stage.INTERRUPTED:
        _interrupted(run, found)
    if view.bag is not None and run.stage in (Stage.DRYPULL, *PULLING):
        _bag(run, view, view.bag, found)
    if senses.trap_calls(now.rig, run):
        found[senses.TRAP] = {}
    off = None if view.bag is None else gauge_doubt.zero_moved(run, view.bag)
    if off is not None:
        found["gauge zero moved"] = {"off": off}
    if run.stage is Stage.HOLD and setting.stalled(run, view.now):
        found["too cold to set"] = {"film": view.film}
    return found


def _lamp_burns_on(rig: RigState, run: Run, view: View) -> bool:
    if view.facts.lamp is Wiring.WIRED:
        return lamp.does_not_go_off(run.lamp, view.now, view.readings.face)
    return lamp.left_burning(run.lamp, view.now, rig.lamp_by_hand)


def _interrupted(run: Run, found: Active) -> None:
    """A halted pump calls a person before the gel; after it the morning is early enough."""
    if run.left not in PULLING:
        found["work interrupted"] = {}
    elif not run.has_set():
        found["pump left to a person"] = {}


def _under_the_lamp(run: Run, view: View, found: Active) -> None:
    face = view.readings.face
    stale = face is None or face.age(view.now) > PROBE_AGE
    if view.facts.lamp is Wiring.WIRED and stale:
        found["face probe lost"] = {}
    # Said only when it is what keeps the lamp dark: the first cause is the one to see to.
    if view.dark is not None and view.dark.id == "I-7 presence":
        found["nobody there"] = {}


def _bag(run: Run, view: View, held: bag.BagView, found: Active) -> None:
    # After LET UP there is no vacuum to lose.
    if view.facts.gauge is not Wiring.WIRED or run.form is Form.LET_UP:
        return
    if bag.gauge_lost(run.bag, view.now) and not run.has_set():
        found["bag gauge lost"] = {}
    if gauge_doubt.still(run):
        found["gauge frozen"] = {}
    if held.pressure is None:
        return
    vacuum = {"bag": held.air - held.pressure}
    if bag.does_not_pull(run.bag, held):
        found["pump does not pull"] = vacuum
    # After the late end of the gel range a loss of vacuum is a note for the morning.
    if run.stage is not Stage.HOLD or run.has_set():
        return
    if bag.is_lost(run.bag, view.now):
        found["vacuum lost"] = vacuum
    if run.bag.leak is not None:
        found["bag leaks"] = {"rise": run.bag.leak}
    if bag.starts_too_often(run.bag, view.now):
        found["pump starts too often"] = {}
