"""Every back end as the contract's tests hold it: a rig, its time, and hands on its contacts."""

import importlib
import os
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from time import monotonic

import pytest
from pretend_pi import Bench

from controller.batch.signals import Readings
from controller.hardware.plant import Plant
from controller.hardware.raspberry import RaspberryRig
from controller.hardware.raspberry_mock import MockedRaspberryRig
from controller.hardware.rig import Rig
from controller.hardware.simulated import SimulatedRig
from controller.settings import default_settings_text, parse_settings, read_settings
from controller.settings.panel import Panel, Sense

RIG_TOML = "WARMDRAW_RIG"
"""The environment's name for a real rig's settings."""
HOW = (
    f"NOT RUN on a real rig. On the Pi, with control stopped and the plugs of lamp and pump OUT:"
    f" {RIG_TOML}=/etc/warmdraw/rig.toml .venv/bin/pytest -n0 -m wired tests/hardware"
)
PANEL = Panel(stop=22, next=23, sounder=24, dead_man=25)
SENSE = Sense(lamp=12, tilt=13, cut_out=16, trap=26)
CONTACTS = {"stop": 22, "next": 23, "tilt": 13, "cut_out": 16, "trap": 26}
"""What a hand can reach, by the settings' names, and the example rig's lines."""
ALL = frozenset({"lamp", "pump", "sounder", "dead_man"})
"""The outputs there are."""
ACTS = {
    ("tilt", False): "TILT LAMP",
    ("tilt", True): "RIGHT LAMP",
    ("cut_out", False): "HEAT CUT-OUT",
    ("cut_out", True): "RESET CUT-OUT",
    ("trap", False): "LIFT FLOAT",
    ("trap", True): "DROP FLOAT",
}
"""What opens or closes a contact of a pretend rig."""


@dataclass
class Held:
    """A rig in a test's hands."""

    rig: Rig
    move: Callable[[str, bool], None]
    """Closes a contact, or opens it."""
    clock: Callable[[], float]
    """Rig time, [s]; only forward."""
    outputs: frozenset[str] = field(default=ALL)
    """The outputs that are wired."""

    def read(self) -> Readings:
        """The readings of now."""
        return self.rig.read(self.clock())

    def tap(self) -> None:
        """Close NEXT, and let it open again."""
        self.move("next", True)
        self.move("next", False)


def seconds() -> Callable[[], float]:
    """A clock that a second passes on at each look."""
    ticks = iter(range(10**6))
    return lambda: float(next(ticks))


def pretended(rig: SimulatedRig | MockedRaspberryRig) -> Held:
    """A pretend rig."""

    def move(name: str, closed: bool) -> None:
        if name == "stop":
            rig.press_stop(down=not closed)
        elif name == "next":
            # the pretend rigs know a tap only whole
            if closed:
                rig.press_next()
        else:
            rig.person_did(ACTS[name, closed])

    return Held(rig, move, seconds())


def simulated(bare: bool) -> Held:
    """The simulated rig, with all or nothing beside lamp and pump."""
    there = not bare
    rig = SimulatedRig(
        Plant(),
        lamp_sense=there,
        tilt=there,
        cut_out=there,
        trap=there,
        stop=there,
        next=there,
        sounder=there,
        dead_man=there,
    )
    return pretended(rig)


def mocked(folder: Path, bare: bool) -> Held:
    """The real drivers over mock lines, with all or nothing beside lamp and pump."""
    panel, sense = (Panel(), Sense()) if bare else (PANEL, SENSE)
    return pretended(MockedRaspberryRig(Plant(), folder, panel=panel, sense=sense))


def over_the_standin(bench: Bench, bare: bool) -> Held:
    """The real back end over the file-backed stand-in for lgpio, as the example rig is wired."""
    text = default_settings_text().replace('"/run/warmdraw"', f'"{bench.run}"')
    told = parse_settings(text.replace('backend = "simulated"', 'backend = "raspberry"'))
    panel, sense = (Panel(), Sense()) if bare else (PANEL, SENSE)
    gauge = told.gauge.model_copy(update={"wired": "absent"})
    told = told.model_copy(update={"panel": panel, "sense": sense, "gauge": gauge})
    # a clock that stands still for the threads that read the probes: there are none to be read
    rig = RaspberryRig(told, lambda: 0.0, w1_folder=bench.folder / "w1")

    def move(name: str, closed: bool) -> None:
        importlib.import_module("lgpio").move_contact(CONTACTS[name], closed)

    return Held(rig, move, seconds())


def on_the_wires() -> Held:
    """The rig whose settings the environment names. Skips, and says how, where it names none."""
    path = os.environ.get(RIG_TOML)
    if not path:
        pytest.skip(HOW)
    told = read_settings(Path(path))
    began = monotonic()
    rig = RaspberryRig(told, lambda: monotonic() - began)
    wired = {
        "lamp": told.lamp.wired == "wired",
        "pump": told.pump.wired == "wired",
        "sounder": told.panel.sounder is not None,
        "dead_man": told.panel.dead_man is not None,
    }

    def move(name: str, closed: bool) -> None:
        pytest.skip(f"needs a hand on {name}: warmdraw check asks for one")

    outputs = frozenset(name for name, there in wired.items() if there)
    return Held(rig, move, lambda: monotonic() - began, outputs)
