"""What the onlooker is shown of a rehearsal, and which faults are beyond any controller."""

from collections.abc import Mapping
from types import MappingProxyType

from controller.batch.state import Run
from controller.hardware.plant import PlantTruth
from controller.instant import Instant
from controller.invariants import Seen
from controller.rehearsal.rig import PretendRig
from controller.runner import Runner
from controller.settings import Settings

BEYOND: Mapping[str, frozenset[str]] = MappingProxyType(
    {
        "lamp": frozenset({"lamp_stuck_on", "lamp_inverted", "dead_man_stuck"}),
        "pump": frozenset({"pump_stuck_on"}),
    }
)
"""Faults by which an output runs that nobody commands: a contact that sticks or is wired the wrong
way, a contactor that is welded. No switching undoes them, so they are no breach of the rules;
everything else the plant does counts."""


def seen(
    now: Instant, runner: Runner, rig: PretendRig, truth: PlantTruth, settings: Settings
) -> Seen:
    """The truth after a tick, as the onlooker judges it.

    truth: what is so at `now`

    An output in a person's hand is that person's; of a wired one both its command and what it
    truly does count, the latter but for the faults of `BEYOND`.
    """
    run, view = runner.engine.rig.run, runner.engine.view
    outputs = rig.outputs()
    return Seen(
        now=now.rig,
        lamp=outputs.lamp or (settings.lamp.wired == "wired" and _runs("lamp", truth)),
        pump=outputs.pump or (settings.pump.wired == "wired" and _runs("pump", truth)),
        dead_man=outputs.dead_man,
        stage=stage_of(run),
        face=None if view is None else view.readings.face,
        trip=0.0 if run is None else run.coat.heat.trip,
        band_high=0.0 if run is None else run.coat.heat.band_high,
        record_in_date=runner.facts(now).record_in_date,
        close_watch=settings.rig.close_watch,
    )


def stage_of(run: Run | None) -> str:
    """Name of the stage at the rig; PLANNED before there is a batch."""
    return "PLANNED" if run is None else str(run.stage)


def _runs(output: str, truth: PlantTruth) -> bool:
    on = truth.lamp_lit if output == "lamp" else truth.pump_running
    return on and BEYOND[output].isdisjoint(truth.faults)
