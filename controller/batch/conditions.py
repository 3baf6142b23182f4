"""Which alarms have their cause now: the only place that decides it, guards aside.

Whether a cause means anything in the stage is not asked here: see `alarm_stages.py`. Nor is how
long it must last: see the table.
"""

from dataclasses import dataclass

from controller.batch import (
    bag,
    gauge_doubt,
    interlocks,
    lamp,
    second_opinion,
    senses,
    setting,
)
from controller.batch.alarm_row import Cause
from controller.batch.believing import PROBE_AGE
from controller.batch.signals import Wiring
from controller.batch.stages import Stage
from controller.batch.state import RigState, Run
from controller.batch.view import View

VACUUM_LEFT = frozenset({Stage.PULLDOWN, Stage.HOLD})
"""Stages whose interruption leaves a bag to a person."""
CHECK_SOON = 3.0
"""How long before the bench check or its proofs run out it is told, [d]. Own."""


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


Causes = dict[str, Cause]


def active(now: Situation) -> Causes:
    """What is wrong, by the alarm's name."""
    found: Causes = {}
    view, run = now.view, now.rig.run
    due = view.facts.check_due_in
    if view.facts.log_trouble is not None:
        found["record not written"] = Cause()
    if due is not None and due <= CHECK_SOON:
        found["check due"] = Cause()
    if now.found is not None:
        found[now.found] = Cause(once=True)
    if senses.burns_uncommanded(now.rig):
        found[_live(now.rig, view)] = Cause()
    if run is None:
        return found
    if now.guard is not None:
        values = {"settles": view.settles}
        if view.readings.face is not None:
            values["face"] = view.readings.face.value
        found[now.guard] = Cause(values, once=True)
    if second_opinion.disagrees(run) and run.lamp.seen is not None:
        found["probe disagrees"] = Cause({"seen": run.lamp.seen})
    for name in senses.at_the_lamp(now.rig, run):
        found[name] = Cause()
    if _lamp_burns_on(now.rig, run, view):
        found["lamp does not go off"] = Cause()
    _under_the_lamp(run, view, found)
    if run.mixed_at is not None and setting.pot_share(run) >= 1.0:
        found["pot life"] = Cause()
    if run.stage is Stage.INTERRUPTED:
        left = run.left in VACUUM_LEFT
        found["pump left to a person" if left else "work interrupted"] = Cause()
    if run.heats_itself:
        found["exotherm"] = Cause({"film": view.film})
    _bag(now.rig, run, view, found)
    found["too cold to set"] = Cause({"film": view.film}, setting.too_cold(run, view.now))
    return found


def _live(rig: RigState, view: View) -> str:
    """The alarm of a lamp whose line is live without a command."""
    zone = interlocks.ZoneView(rig.zone.wet, rig.zone.tidied_at, rig.zone.out_at)
    locked = interlocks.zone_locked(zone, view.now)
    return "lamp live beside solvent" if locked else "lamp does not go off"


def _lamp_burns_on(rig: RigState, run: Run, view: View) -> bool:
    if view.facts.lamp is Wiring.WIRED:
        return lamp.does_not_go_off(run.lamp, view.now, view.readings.face)
    return lamp.left_burning(run.lamp, view.now, rig.lamp_by_hand)


def _under_the_lamp(run: Run, view: View, found: Causes) -> None:
    face = view.readings.face
    stale = face is None or face.age(view.now) > PROBE_AGE
    if view.facts.lamp is Wiring.WIRED and stale:
        found["face probe lost"] = Cause()
    # Said only when it is what keeps the lamp dark: the first cause is the one to see to.
    if view.dark is not None and view.dark.id == "I-7 presence":
        found["nobody there"] = Cause()


def _bag(rig: RigState, run: Run, view: View, found: Causes) -> None:
    if senses.trap_is_full(rig):
        found[senses.TRAP] = Cause()
    off = gauge_doubt.zero_off(run, view)
    if off is not None:
        found["gauge zero moved"] = Cause({"off": off[0]}, off[1])
    held = view.bag
    if held is None or view.facts.gauge is not Wiring.WIRED:
        return
    if bag.gauge_lost(run.bag, view.now):
        found["bag gauge lost"] = Cause()
    if run.bag.frozen:
        found["gauge frozen"] = Cause()
    vacuum = {} if held.pressure is None else {"bag": held.air - held.pressure}
    if run.bag.runs_on:
        found["pump does not go off"] = Cause(vacuum)
    if run.bag.pull.small:
        found["pump feels no bag"] = Cause(vacuum)
    found["pump does not pull"] = Cause(vacuum, bag.no_pull(run.bag, held))
    found["vacuum lost"] = Cause(vacuum, bag.out_of_band(run.bag, held))
    # a film that heats itself drives air and vapour out of the wood: that rise is no hole
    if run.bag.leak is not None and not run.heats_itself:
        found["bag leaks"] = Cause({"rise": run.bag.leak})
    found["pump starts too often"] = Cause(past=bag.starts_too_many(run.bag, view.now))
