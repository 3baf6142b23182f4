"""Buttons, senses, sounder and dead-man, over gpiozero's mock lines."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from gpiozero.pins.mock import MockFactory, MockPin

from controller.batch.signals import Commands, Readings
from controller.errors import InputError, OutputError
from controller.hardware.claimed import read_outputs
from controller.hardware.raspberry_pins import Pins
from controller.hardware.raspberry_relays import Relays
from controller.hardware.raspberry_wires import Wires
from controller.settings.panel import Panel, Sense

pytestmark = pytest.mark.usefixtures("gpiozero_as_found")

PANEL = Panel(stop=22, next=23, sounder=24, dead_man=25)
SENSE = Sense(lamp=12, tilt=13, cut_out=16, trap=26)
WELL = (22, 13, 16, 26)
"""Contacts that are closed while all is well."""
GO = Commands(lamp=True, pump=True, dead_man=True)
LEVELS = Commands(lamp=True, pump=True)


class Mocked:
    """Wires over mock lines, and hands on their contacts."""

    def __init__(self, folder: Path, panel: Panel = PANEL, sense: Sense = SENSE) -> None:
        self.mock = MockFactory(revision="a02082", pin_class=MockPin)
        pins = Pins("mock", self.mock, self.mock)
        self.wires = Wires(pins, folder, lamp=17, pump=27, panel=panel, sense=sense)
        for line in WELL:
            self.close(line)

    def open(self, line: int) -> None:
        self.mock.pin(line).drive_high()

    def close(self, line: int) -> None:
        self.mock.pin(line).drive_low()

    def level(self, line: int) -> bool:
        return bool(self.mock.pin(line).state)

    def sensed(self) -> Readings:
        return self.wires.sensed(Readings())


@pytest.fixture
def rig(tmp_path: Path) -> Iterator[Mocked]:
    mocked = Mocked(tmp_path)
    yield mocked
    mocked.wires.close()


def test_a_press_of_stop_is_dark_before_anybody_reads_and_is_told_once(rig: Mocked) -> None:
    rig.wires.apply(GO)
    assert rig.level(17) and rig.level(27)
    rig.open(22)
    assert not (rig.level(17) or rig.level(27) or rig.level(25))
    rig.close(22)
    assert rig.sensed().stop_pressed
    assert not rig.sensed().stop_pressed


def test_what_was_decided_before_stop_was_told_does_not_come_on(rig: Mocked) -> None:
    rig.open(22)
    rig.close(22)
    rig.wires.apply(GO)
    assert rig.wires.outputs() == Commands()
    assert rig.sensed().stop_pressed
    rig.wires.apply(GO)
    assert rig.wires.outputs() == GO


def test_a_stop_that_falls_between_the_question_and_the_switching_has_the_last_word(
    rig: Mocked, monkeypatch: pytest.MonkeyPatch
) -> None:
    switch = Relays.switch

    def pressed_before(relays: Relays, lamp: bool, pump: bool, **others: bool) -> None:
        rig.open(22)
        rig.close(22)
        switch(relays, lamp, pump, **others)

    with monkeypatch.context() as gap:
        gap.setattr(Relays, "switch", pressed_before)
        rig.wires.apply(GO)
    assert not (rig.level(17) or rig.level(27) or rig.level(25))
    assert rig.sensed().stop_pressed


def test_a_stop_that_falls_into_a_reading_is_told_by_the_next_and_dark_till_then(
    rig: Mocked, monkeypatch: pytest.MonkeyPatch
) -> None:
    unbar = Relays.unbar

    def pressed_before(relays: Relays) -> None:
        rig.open(22)
        rig.close(22)
        unbar(relays)

    with monkeypatch.context() as gap:
        gap.setattr(Relays, "unbar", pressed_before)
        assert not rig.sensed().stop_pressed
    rig.wires.apply(GO)
    assert rig.wires.outputs() == Commands()
    assert rig.sensed().stop_pressed
    assert not rig.sensed().stop_pressed


def test_stop_does_not_silence_the_sounder(rig: Mocked) -> None:
    rig.wires.apply(Commands(lamp=True, sounder=True))
    rig.open(22)
    assert rig.level(24) and not rig.level(17)
    rig.wires.apply(Commands(lamp=True, sounder=True))
    assert rig.wires.outputs() == Commands(sounder=True)


def test_a_stop_button_held_down_or_a_broken_wire_keeps_it_dark(rig: Mocked) -> None:
    rig.open(22)
    for _ in range(3):
        assert rig.sensed().stop_pressed
        rig.wires.apply(GO)
        assert rig.wires.outputs() == Commands()


def test_a_stop_that_could_not_switch_is_raised_by_the_next_switching(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    rig = Mocked(tmp_path)
    rig.wires.apply(GO)
    with monkeypatch.context() as broken:
        broken.setattr(MockPin, "_set_state", _no_more)
        rig.open(22)
    rig.close(22)
    with pytest.raises(OutputError, match=r"lamp on GPIO17 could not be switched OFF"):
        rig.wires.apply(Commands())
    rig.wires.close()


def _no_more(pin: MockPin, value: bool) -> None:
    raise OSError("input/output error")


def test_next_is_told_once_however_long_it_is_held(rig: Mocked) -> None:
    assert not rig.sensed().next_pressed
    rig.close(23)
    assert rig.sensed().next_pressed
    assert not rig.sensed().next_pressed
    rig.open(23)
    assert not rig.sensed().next_pressed
    rig.close(23)
    rig.open(23)
    assert rig.sensed().next_pressed


@pytest.mark.parametrize(("line", "name"), [(12, "lamp_fed"), (16, "cut_out_open")])
def test_lamp_sense_and_cut_out_are_told_as_they_stand(rig: Mocked, line: int, name: str) -> None:
    closed = name == "lamp_fed"
    rig.close(line)
    assert getattr(rig.sensed(), name) is closed
    rig.open(line)
    assert getattr(rig.sensed(), name) is not closed
    rig.close(line)
    assert getattr(rig.sensed(), name) is closed


@pytest.mark.parametrize(("line", "name"), [(13, "tilted"), (26, "trap_full")])
def test_a_knock_or_a_wave_is_no_tilt_and_no_full_trap(rig: Mocked, line: int, name: str) -> None:
    told = []
    for opened in (False, True, False, True, True, True, False):
        (rig.open if opened else rig.close)(line)
        told.append(getattr(rig.sensed(), name))
    assert told == [False, False, False, False, True, True, False]


def test_what_is_not_wired_tells_nothing_and_is_not_claimed(tmp_path: Path) -> None:
    rig = Mocked(tmp_path, Panel(), Sense())
    assert rig.sensed() == Readings()
    rig.wires.apply(Commands(lamp=True, sounder=True, dead_man=True))
    assert rig.wires.outputs() == Commands(lamp=True)
    assert read_outputs(tmp_path).lines == {"lamp": 17, "pump": 27}
    assert not rig.level(24) and not rig.level(25)
    rig.wires.close()


def test_the_dead_man_moves_once_for_each_switching_and_stands_low_otherwise(rig: Mocked) -> None:
    seen = []
    for commands in (GO, GO, GO, Commands(), Commands(), GO, LEVELS):
        rig.wires.apply(commands)
        seen.append(rig.level(25))
    assert seen == [True, False, True, False, False, True, False]


def test_the_dead_man_stands_still_for_good_once_a_switching_failed(
    rig: Mocked, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A write that fails is the one fault whose OFF only the dead-man still brings about."""
    rig.wires.apply(GO)
    real = MockPin._set_state

    def stuck(pin: MockPin, value: bool) -> None:
        if pin.info.name != "GPIO17":
            real(pin, value)

    with monkeypatch.context() as broken:
        broken.setattr(MockPin, "_set_state", stuck)
        with pytest.raises(OutputError, match=r"lamp on GPIO17 was switched OFF and reads ON"):
            rig.wires.apply(Commands(dead_man=True))
    stood = rig.level(25)
    rig.wires.apply(GO)
    rig.wires.apply(Commands())
    rig.wires.off()
    assert rig.level(25) == stood is True
    assert not rig.wires.outputs().dead_man


def test_the_sounder_sounds_as_told_and_is_off_with_all_else(rig: Mocked) -> None:
    rig.wires.apply(Commands(sounder=True))
    assert rig.level(24) and rig.wires.outputs().sounder
    rig.wires.off()
    assert not rig.level(24)


@pytest.mark.parametrize(
    ("panel", "says"),
    [
        (Panel(stop=17), r"lamp and STOP button are both on GPIO17"),
        (Panel(stop=22, next=22), r"STOP button and NEXT button are both on GPIO22"),
    ],
)
def test_no_two_things_share_a_line(tmp_path: Path, panel: Panel, says: str) -> None:
    with pytest.raises(InputError, match=says):
        Mocked(tmp_path, panel)
