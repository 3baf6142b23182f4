"""The pretend rigs are wired as the settings say, whichever drivers are in them."""

from pathlib import Path

import pytest
from gpiozero import Device

from controller.batch.signals import Commands, Readings
from controller.daemon.rigs import open_pretend
from controller.hardware.raspberry_mock import MockedRaspberryRig
from controller.hardware.simulated import SimulatedRig
from controller.rehearsal.scenario import scenario
from controller.settings import Settings, default_settings_text, parse_settings
from controller.settings.panel import Infrared, Panel, Sense

BACK_ENDS = {"simulated": SimulatedRig, "mock": MockedRaspberryRig}


def opened(settings: Settings, backend: str, folder: Path) -> SimulatedRig | MockedRaspberryRig:
    """The rig of a good night with these settings."""
    told = settings.rig.model_copy(update={"backend": backend, "run_folder": folder})
    rig = open_pretend(settings.model_copy(update={"rig": told}), scenario("good-night"), 1).rig
    assert isinstance(rig, BACK_ENDS[backend])
    return rig


@pytest.fixture(autouse=True)
def gpiozero_as_found(monkeypatch: pytest.MonkeyPatch) -> None:
    """gpiozero's one global, put back after the test."""
    monkeypatch.setattr(Device, "pin_factory", None)


def senses(readings: Readings) -> tuple[bool | None, ...]:
    """What tells of the lamp and the trap."""
    return (readings.lamp_fed, readings.tilted, readings.cut_out_open, readings.trap_full)


@pytest.fixture
def documented() -> Settings:
    """The documented example, which wires all of panel and senses."""
    return parse_settings(default_settings_text(), "rig.example.toml")


@pytest.mark.parametrize("backend", BACK_ENDS)
def test_the_documented_rig_has_its_panel_and_its_senses(
    documented: Settings, backend: str, tmp_path: Path
) -> None:
    rig = opened(documented, backend, tmp_path)
    first = rig.read(0.0)
    assert senses(first) == (False, False, False, False)
    assert (first.stop_pressed, first.infrared) == (False, None)
    rig.apply(Commands(lamp=True, sounder=True))
    # the dead-man line stands still
    assert not rig.truth().lamp_lit and rig.truth().sounding
    rig.apply(Commands(lamp=True, dead_man=True))
    assert rig.truth().lamp_lit
    assert rig.read(1.0).lamp_fed is True
    rig.press_next()
    rig.press_stop()
    told = rig.read(2.0)
    assert (told.stop_pressed, told.next_pressed) == (True, True)
    rig.close()


@pytest.mark.parametrize("backend", BACK_ENDS)
def test_what_the_settings_leave_out_is_not_there(
    documented: Settings, backend: str, tmp_path: Path
) -> None:
    bare = documented.model_copy(update={"panel": Panel(), "sense": Sense()})
    rig = opened(bare, backend, tmp_path)
    rig.press_stop()
    told = rig.read(0.0)
    assert senses(told) == (None, None, None, None)
    assert not told.stop_pressed
    rig.apply(Commands(lamp=True))
    assert rig.truth().lamp_lit and rig.truth().contactor
    rig.close()


@pytest.mark.parametrize("backend", BACK_ENDS)
def test_an_infrared_thermometer_that_is_named_is_read(
    documented: Settings, backend: str, tmp_path: Path
) -> None:
    eye = Infrared(wired="wired", emissivity=0.9)
    rig = opened(documented.model_copy(update={"infrared": eye}), backend, tmp_path)
    seen = rig.read(0.0).infrared
    assert seen is not None
    # no board is under the lamp yet: the bench
    assert seen.value == pytest.approx(rig.truth().room, abs=0.5)
    rig.close()
