"""The face by infrared: the chip's words, their check byte, and the lamp."""

import pytest
from fake_bus import FakeBus, Registers
from hypothesis import given
from hypothesis import strategies as st

from controller.errors import ReadingError
from controller.hardware.raspberry_infrared import InfraredThermometer, packet_check

ROOM = 293.15


def word(register: int, value: int) -> bytes:
    low, high = value & 0xFF, value >> 8
    return bytes((low, high, packet_check(bytes((0xB4, register, 0xB5, low, high)))))


def wired(kelvin: float, emissivity: int = 0xFFFF) -> tuple[InfraredThermometer, Registers]:
    chip = Registers({0x07: word(0x07, round(kelvin / 0.02)), 0x24: word(0x24, emissivity)})
    return InfraredThermometer(FakeBus({0x5A: chip}).i2c(), emissivity=0.9), chip


def test_the_check_byte_is_the_one_of_smbus() -> None:
    # CRC-8/SMBUS: the nine digits give F4. Melexis, MLX90614 data sheet, the printed example of a
    # read: 3AD2 at address 5A, command 07, check byte 30. Both from memory, to be checked.
    assert packet_check(b"123456789") == 0xF4
    assert packet_check(bytes.fromhex("B407B5D23A")) == 0x30


def test_the_printed_example_of_the_chip_is_301_kelvin() -> None:
    # same source: 3AD2 is 301.16 K; a face of emissivity 1 needs no correction
    chip = Registers({0x07: bytes.fromhex("D23A30"), 0x24: word(0x24, 0xFFFF)})
    thermometer = InfraredThermometer(FakeBus({0x5A: chip}).i2c(), emissivity=1.0)
    sample = thermometer.sample(4.0, lamp_on=False, reflected=ROOM)
    assert (sample.value, sample.at) == (pytest.approx(301.16, abs=0.005), 4.0)


# signal = e T^4 + (1 - e) T0^4, solved apart with scipy and ht (derived, total radiation): 0.02 K.
# 62258 of 65535 is 0.95.
@pytest.mark.parametrize(
    ("celsius", "set_to", "expected"), [(50, 0xFFFF, 52.86), (50, 62258, 51.44)]
)
def test_it_corrects_from_what_the_chip_is_set_to(
    celsius: float, set_to: int, expected: float
) -> None:
    thermometer, _ = wired(celsius + 273.15, set_to)
    face = thermometer.sample(0.0, lamp_on=False, reflected=ROOM).value - 273.15
    # half a count of the chip, 0.01 K, comes on top
    assert face == pytest.approx(expected, abs=0.03)


def test_with_the_lamp_on_it_is_not_read() -> None:
    thermometer, chip = wired(320.0)
    chip.held.clear()
    with pytest.raises(ReadingError, match="the lamp is on"):
        thermometer.sample(0.0, lamp_on=True, reflected=ROOM)


@given(byte=st.integers(0, 2), bit=st.integers(0, 7))
def test_any_one_wrong_bit_is_no_reading(byte: int, bit: int) -> None:
    thermometer, chip = wired(320.0)
    good = chip.held[0x07]
    chip.held[0x07] = good[:byte] + bytes([good[byte] ^ 1 << bit]) + good[byte + 1 :]
    with pytest.raises(ReadingError, match="infrared at 0x5a: its answer is garbled"):
        thermometer.sample(0.0, lamp_on=False, reflected=ROOM)
    chip.held[0x07] = good
    assert thermometer.sample(1.0, lamp_on=False, reflected=ROOM).at == 1.0


def test_a_reading_the_chip_does_not_stand_by_is_none() -> None:
    thermometer, chip = wired(320.0)
    chip.held[0x07] = word(0x07, 0x8000 | 16000)
    with pytest.raises(ReadingError, match="does not stand by"):
        thermometer.sample(0.0, lamp_on=False, reflected=ROOM)


def test_a_stuck_bus_is_no_reading() -> None:
    for stuck in (b"\xff", b"\x00"):
        thermometer, chip = wired(320.0)
        chip.held[0x24] = chip.held[0x07] = stuck * 3
        with pytest.raises(ReadingError, match="garbled"):
            thermometer.sample(0.0, lamp_on=False, reflected=ROOM)


def test_an_emissivity_no_chip_has_is_no_reading() -> None:
    thermometer, _ = wired(320.0, emissivity=0)
    with pytest.raises(ReadingError, match="emissivity is set to"):
        thermometer.sample(0.0, lamp_on=False, reflected=ROOM)


def test_a_reading_no_face_can_give_is_a_reading_error() -> None:
    thermometer, _ = wired(250.0)
    with pytest.raises(ReadingError, match="infrared at 0x5a: 250 K was read"):
        thermometer.sample(0.0, lamp_on=False, reflected=500.0)
