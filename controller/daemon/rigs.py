"""Opening the rig the settings name: the real one, or a pretended one with its plant."""

from collections.abc import Callable
from dataclasses import dataclass

from controller.batch.acts import Act, ActKind
from controller.batch.signals import RigFacts
from controller.batch.state import Run
from controller.commissioning.record import read_bench_record
from controller.daemon.facts import pretend_facts, real_facts
from controller.hardware.claimed import write_outputs
from controller.hardware.raspberry import RaspberryRig
from controller.hardware.raspberry_mock import MockedRaspberryRig
from controller.hardware.rig import Rig, wired_probes
from controller.hardware.simulated import SimulatedRig
from controller.instant import Instant
from controller.rehearsal.rig import board_for, do_by_hand, plant_for, sheet_for, wired_as
from controller.rehearsal.scenario import Scenario
from controller.settings import Settings


@dataclass(frozen=True, slots=True)
class Opened:
    """A rig, and what comes with it."""

    rig: Rig
    """Outputs claimed at OFF."""
    facts: Callable[[Instant], RigFacts]
    """What is true of it at a moment."""
    hands: Callable[[Act, Run | None], None] | None
    """Does to a pretend plant what a person told of the batch at the rig; None on a real rig."""


def open_real(settings: Settings, clock: Callable[[], float]) -> Opened:
    """The real rig. Raises InputError, BusyError or OutputError.

    clock: gives rig time, [s], for the threads that read the probes
    """
    facts = real_facts(settings, read_bench_record(settings.rig.state_folder))
    return Opened(RaspberryRig(settings, clock), facts, None)


def pretend_rig(
    settings: Settings, scenario: Scenario, seed: int
) -> MockedRaspberryRig | SimulatedRig:
    """The pretend rig of a scenario, with the real drivers in it for the back end `mock`.

    Raises InputError.
    """
    plant = plant_for(sheet_for(scenario, settings), scenario, settings, seed)
    probes = wired_probes(settings)
    if settings.rig.backend == "mock":
        return MockedRaspberryRig(
            plant,
            settings.rig.run_folder,
            probes,
            seed,
            gauge=settings.gauge.wired == "wired",
            infrared=settings.infrared,
            lamp_gpio=settings.lamp.line,
            pump_gpio=settings.pump.line,
            panel=settings.panel,
            sense=settings.sense,
            ids=probes,
        )
    write_outputs(settings.rig.run_folder, "simulated", {})
    return wired_as(settings, plant, seed, probes)


def open_pretend(settings: Settings, scenario: Scenario, seed: int) -> Opened:
    """The pretend rig of a scenario, and what comes with it.

    The plant is the scenario's; a batch that is planned lays its own board there. Raises
    InputError.
    """
    rig = pretend_rig(settings, scenario, seed)

    def hands(act: Act, run: Run | None) -> None:
        if act.kind is ActKind.PLAN and run is not None:
            rig.plant.lay(*board_for(run.sheet, scenario, seed))
        do_by_hand(rig, act.kind, None if run is None else run.coat)

    return Opened(rig, pretend_facts(settings, scenario.record), hands)
