"""The real drivers over mock lines and a pretend 1-Wire folder."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from gpiozero import Device
from hypothesis import given
from hypothesis import strategies as st

from controller.batch.signals import Commands, Readings, Role
from controller.errors import InputError
from controller.hardware.claimed import read_outputs
from controller.hardware.plant import Plant
from controller.hardware.raspberry_mock import MADE_UP_IDS, MockedRaspberryRig
from controller.hardware.raspberry_mock_w1 import crc8, scratchpad
from controller.hardware.raspberry_probes import LEAST, MOST, POWER_ON, checked_counts
from controller.hardware.simulated import SimulatedRig
from controller.hardware.simulated_wiring import simulated_rig
from controller.settings.panel import Infrared, Panel, Sense

pytestmark = pytest.mark.usefixtures("gpiozero_as_found")

INPUTS = {"stop": 22, "next": 23, "lamp": 12, "tilt": 13, "cut_out": 16, "trap": 26}
WHOLE: dict[str, Any] = {
    "panel": Panel(stop=22, next=23, sounder=24, dead_man=25),
    "sense": Sense(lamp=12, tilt=13, cut_out=16, trap=26),
    "infrared": Infrared(wired="wired", emissivity=0.93),
}
"""The documented example's lines, and an infrared thermometer."""
ACTS = {
    3: ("START",),
    8: ("TAP NEXT",),
    10: ("TILT LAMP",),
    12: ("RIGHT LAMP",),
    14: ("HEAT CUT-OUT",),
    16: ("RESET CUT-OUT",),
    18: ("PRESS STOP",),
    20: ("LET GO STOP",),
    27: ("PRESS STOP", "LET GO STOP"),
    33: ("LIFT FLOAT", "TAP NEXT"),
}
"""What a person does after the read of a second."""


@pytest.fixture
def rig(tmp_path: Path) -> Iterator[MockedRaspberryRig]:
    rig = MockedRaspberryRig(Plant(), tmp_path)
    yield rig
    rig.close()


def face_file(folder: Path) -> list[str]:
    return (folder / "w1" / MADE_UP_IDS[Role.FACE] / "w1_slave").read_text().splitlines()


def test_it_reads_what_the_pretend_rig_of_the_same_seed_reads(tmp_path: Path) -> None:
    told, truth = (
        MockedRaspberryRig(Plant(seed=5), tmp_path, seed=5),
        SimulatedRig(Plant(seed=5), seed=5),
    )
    faces = []
    for now in range(30):
        mine, theirs = told.read(float(now)), truth.read(float(now))
        assert theirs.face is not None and mine.face is not None
        faces.append(theirs.face.value)
        last = sorted(faces[-3:])
        # the median of three, as the driver of the real rig gives it, exact to the count
        assert mine.face.value == last[len(last) // 2]
        assert mine.barometer is not None and theirs.barometer is not None
        # the chip counts in some 0.17 Pa
        assert mine.barometer.value == pytest.approx(theirs.barometer.value, abs=0.2)
        assert mine.barometer is not None and theirs.barometer is not None
        # the chip counts in some 0.17 Pa
        assert mine.barometer.value == pytest.approx(theirs.barometer.value, abs=0.2)
        assert mine.bag is not None and theirs.bag is not None and mine.bag.at == float(now)
        # half a count of the converter, 3.3 V / 1024, on 2/3 of 4 V for 120 kPa
        assert mine.bag.value == pytest.approx(theirs.bag.value, abs=0.5001 * 145.02)
        if now % 5 == 0:
            assert mine.room == theirs.room
    told.close()


def test_the_lines_are_what_switches_the_plant(rig: MockedRaspberryRig) -> None:
    rig.read(0.0)
    rig.person_did("START")
    pin = Device.pin_factory.pin(17)
    pin.state = True
    rig.read(1.0)
    assert rig.truth().lamp_lit
    assert rig.outputs() == Commands(lamp=True)
    rig.off()
    assert not pin.state


def test_a_welded_contact_heats_on_though_the_line_is_off(rig: MockedRaspberryRig) -> None:
    rig.read(0.0)
    rig.person_did("START")
    rig.apply(Commands(lamp=True))
    rig.add_fault("lamp_stuck_on")
    rig.off()
    rig.read(1.0)
    assert rig.outputs() == Commands()
    assert rig.truth().lamp_lit


def test_a_silent_probe_is_a_garbled_file_and_a_trouble(
    rig: MockedRaspberryRig, tmp_path: Path
) -> None:
    rig.read(0.0)
    assert face_file(tmp_path)[0].endswith("YES")
    assert rig.troubles() == {}
    rig.add_fault("probe_silent", role=Role.FACE)
    rig.add_fault("gauge_silent")
    for now in range(1, 4):
        rig.read(float(now))
    assert face_file(tmp_path)[0].endswith("NO")
    assert sorted(rig.troubles()) == ["face", "gauge"]
    assert "garbled" in rig.troubles()["face"]
    assert "0.00 V, under 0.4 V: a wire is off" in rig.troubles()["gauge"]


def test_two_rigs_at_once_have_a_converter_each(tmp_path: Path) -> None:
    # gpiozero shares its mock SPI between all factories; ours must not be
    one, other = (MockedRaspberryRig(Plant(seed=n), tmp_path / str(n)) for n in (1, 2))
    one.read(0.0)
    one.person_did("SEALED")
    one.apply(Commands(pump=True))
    for now in range(1, 120):
        pulled, open_bag = one.read(float(now)).bag, other.read(float(now)).bag
    assert pulled is not None and open_bag is not None
    assert pulled.value < open_bag.value - 10e3
    one.close()
    assert other.read(120.0).bag is not None and other.troubles() == {}
    other.close()


def test_its_note_says_that_the_lines_are_mock(rig: MockedRaspberryRig, tmp_path: Path) -> None:
    outputs = read_outputs(tmp_path)
    assert (outputs.label, dict(outputs.lines)) == ("mock", {"lamp": 17, "pump": 27})


def test_outputs_by_hand_are_not_claimed_and_a_persons_to_switch(tmp_path: Path) -> None:
    rig = MockedRaspberryRig(Plant(), tmp_path, lamp_gpio=None)
    rig.apply(Commands(lamp=True, pump=True))
    assert rig.outputs() == Commands(pump=True)
    assert not rig.truth().lamp_lit
    rig.person_did("LAMP ON")
    assert rig.outputs() == Commands(pump=True)
    assert rig.truth().lamp_lit
    rig.close()


def test_what_a_whole_rig_tells_through_the_drivers_is_what_the_pretend_one_tells(
    tmp_path: Path,
) -> None:
    told = MockedRaspberryRig(Plant(seed=5), tmp_path, seed=5, **WHOLE)
    truth = simulated_rig(Plant(seed=5), Role, 5, **WHOLE)
    contacts, before = set(), Readings()
    for now in range(40):
        mine, theirs = told.read(float(now)), truth.read(float(now))
        # the drivers take a lean and a float for one only when the second reading finds it too
        leans, full = theirs.tilted and before.tilted, theirs.trap_full and before.trap_full
        before, theirs = theirs, replace(theirs, tilted=leans is True, trap_full=full is True)
        for rig in (told, truth):
            for kind in ACTS.get(now, ()):
                rig.person_did(kind)
            lit = 5 <= now < 25
            rig.apply(Commands(lamp=lit, pump=now > 30, sounder=now % 2 == 0, dead_man=lit))
        assert contacts_of(mine) == contacts_of(theirs)
        contacts.add(contacts_of(mine))
        # STOP lasts until it is told and turns both off at once
        assert energised(told) == energised(truth)
        assert mine.infrared is not None and theirs.infrared is not None
        assert mine.infrared.at == theirs.infrared.at
        # through a probe's count for the room, and another sum for the same radiation
        assert mine.infrared.value == pytest.approx(theirs.infrared.value, abs=0.05)
    assert len(contacts) >= 8
    told.close()


def energised(rig: MockedRaspberryRig | SimulatedRig) -> tuple[bool, ...]:
    """What is on by its line, and what truly burns, turns and sounds."""
    lines, truth = rig.outputs(), rig.truth()
    return (lines.lamp, lines.pump, truth.lamp_lit, truth.pump_running, truth.sounding)


def contacts_of(readings: Readings) -> tuple[bool | None, ...]:
    """What the contacts tell."""
    return (
        readings.lamp_fed,
        readings.tilted,
        readings.cut_out_open,
        readings.trap_full,
        readings.stop_pressed,
        readings.next_pressed,
    )


def test_contacts_stand_on_their_lines_and_a_broken_wire_is_the_bad_thing(tmp_path: Path) -> None:
    rig = MockedRaspberryRig(Plant(), tmp_path, **WHOLE)
    lines = {name: Device.pin_factory.pin(line) for name, line in INPUTS.items()}

    def low() -> set[str]:
        return {name for name, pin in lines.items() if not pin.state}

    rig.read(0.0)
    assert low() == {"stop", "tilt", "cut_out", "trap"}
    rig.apply(Commands(lamp=True, dead_man=True))
    assert low() == {"stop", "tilt", "cut_out", "trap", "lamp"}
    rig.person_did("HEAT CUT-OUT")
    rig.person_did("TILT LAMP")
    rig.person_did("LIFT FLOAT")
    assert low() == {"stop"}
    rig.add_fault("stop_wire_broken")
    assert low() == set()
    assert rig.read(1.0).stop_pressed
    assert not any(energised(rig))
    rig.clear_fault("stop_wire_broken")
    assert low() == {"stop"}
    rig.close()


def test_stop_is_off_in_the_moment_it_is_pressed(tmp_path: Path) -> None:
    rig = MockedRaspberryRig(Plant(), tmp_path, **WHOLE)
    rig.read(0.0)
    rig.apply(Commands(lamp=True, pump=True, dead_man=True))
    assert energised(rig) == (True, True, True, True, False)
    rig.press_stop()
    rig.press_stop(down=False)
    assert not any(energised(rig))
    rig.apply(Commands(lamp=True, dead_man=True))
    assert not rig.truth().lamp_lit
    assert rig.read(1.0).stop_pressed
    assert not rig.read(2.0).stop_pressed
    rig.close()


def test_the_edges_of_the_dead_man_line_hold_the_contactor_for_two_seconds(tmp_path: Path) -> None:
    rig = MockedRaspberryRig(Plant(), tmp_path, **WHOLE)
    rig.read(0.0)
    rig.person_did("START")
    pin = Device.pin_factory.pin(25)
    levels = []
    for now in range(1, 6):
        rig.apply(Commands(lamp=True, dead_man=True))
        levels.append(pin.state)
        rig.read(float(now))
        assert rig.truth().contactor and rig.truth().lamp_lit
    assert levels == [True, False, True, False, True]
    # a dead process: the lamp's line stays high, and nothing moves this one
    rig.read(6.0)
    assert rig.truth().lamp_lit
    rig.read(6.5)
    assert rig.outputs().lamp
    assert not rig.truth().contactor and not rig.truth().lamp_lit
    pin.state = not pin.state
    rig.read(7.0)
    assert rig.truth().lamp_lit
    rig.close()


def test_the_sounders_line_is_the_sounder(tmp_path: Path) -> None:
    rig = MockedRaspberryRig(Plant(), tmp_path, **WHOLE)
    rig.apply(Commands(sounder=True))
    assert Device.pin_factory.pin(24).state and rig.truth().sounding
    rig.off()
    assert not Device.pin_factory.pin(24).state and not rig.truth().sounding
    rig.close()


def test_a_silent_chip_on_i2c_is_a_trouble_and_its_last_word_stays(tmp_path: Path) -> None:
    rig = MockedRaspberryRig(Plant(), tmp_path, **WHOLE)
    last = rig.read(0.0)
    rig.add_fault("barometer_silent")
    rig.add_fault("infrared_silent")
    silent = rig.read(1.0)
    assert (silent.barometer, silent.infrared) == (last.barometer, last.infrared)
    assert sorted(rig.troubles()) == ["barometer", "infrared"]
    assert "nobody answers" in rig.troubles()["infrared"]
    rig.clear_fault("barometer_silent")
    rig.clear_fault("infrared_silent")
    again = rig.read(2.0)
    assert again.barometer is not None and again.infrared is not None
    assert (again.barometer.at, again.infrared.at) == (2.0, 2.0)
    assert rig.troubles() == {}
    rig.close()


def test_a_line_it_may_not_use_is_refused_as_on_the_real_rig(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="lamp on GPIO14"):
        MockedRaspberryRig(Plant(), tmp_path, lamp_gpio=14)


def test_the_check_byte_is_the_one_of_the_bus() -> None:
    # Maxim application note 27 works the first one through; the second is a DS18B20 just switched
    # on, as the kernel shows it; both from memory, to be checked
    assert crc8(bytes.fromhex("021cb801000000")) == 0xA2
    assert crc8(bytes.fromhex("50054b467fff0c10")) == 0x1C


@given(st.integers(LEAST * 16, MOST * 16).filter(lambda counts: counts != POWER_ON))
def test_what_the_pretend_chip_holds_the_driver_reads(counts: int) -> None:
    pad = scratchpad(counts)
    assert crc8(pad) == 0
    words = pad.hex(" ")
    assert checked_counts([f"{words} : crc={pad[8]:02x} YES", f"{words} t=0"]) == counts
