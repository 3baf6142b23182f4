"""The pretend rig with what a rig's settings name wired to it."""

from collections.abc import Iterable

from controller.batch.signals import Role
from controller.hardware.plant import Plant
from controller.hardware.simulated import SimulatedRig
from controller.settings.panel import Infrared, Panel, Sense


def simulated_rig(
    plant: Plant,
    probes: Iterable[Role],
    seed: int,
    *,
    panel: Panel,
    sense: Sense,
    infrared: Infrared,
    gauge: bool = True,
    barometer: bool = True,
    lamp: bool = True,
    pump: bool = True,
    probe_lag: float = 8.0,
) -> SimulatedRig:
    """A simulated rig over a plant; panel, sense, infrared: where nothing is wired that is not
    named. The rest as it takes them itself."""
    return SimulatedRig(
        plant,
        probes,
        seed,
        gauge=gauge,
        barometer=barometer,
        infrared=infrared.wired == "wired",
        emissivity=infrared.emissivity,
        lamp_sense=sense.lamp is not None,
        tilt=sense.tilt is not None,
        cut_out=sense.cut_out is not None,
        trap=sense.trap is not None,
        stop=panel.stop is not None,
        next=panel.next is not None,
        sounder=panel.sounder is not None,
        dead_man=panel.dead_man is not None,
        lamp=lamp,
        pump=pump,
        probe_lag=probe_lag,
    )
