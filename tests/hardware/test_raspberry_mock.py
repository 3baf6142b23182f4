"""The real drivers over mock lines and a pretend 1-Wire folder."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from gpiozero import Device
from hypothesis import given
from hypothesis import strategies as st

from controller.batch.signals import Commands, Role
from controller.errors import InputError
from controller.hardware.claimed import read_outputs
from controller.hardware.plant import Plant
from controller.hardware.raspberry_mock import MADE_UP_IDS, MockedRaspberryRig, crc8, scratchpad
from controller.hardware.raspberry_probes import LEAST, MOST, POWER_ON, checked_counts
from controller.hardware.simulated import SimulatedRig

pytestmark = pytest.mark.usefixtures("gpiozero_as_found")


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
        assert mine.barometer == theirs.barometer
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


def test_outputs_by_hand_are_not_claimed(tmp_path: Path) -> None:
    rig = MockedRaspberryRig(Plant(), tmp_path, lamp_gpio=None)
    rig.apply(Commands(lamp=True, pump=True))
    assert rig.outputs() == Commands(pump=True)
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
