"""The shop's air pressure from the chip's registers."""

import errno
import struct

import pytest
from fake_bus import RAW_PRESSURE, RAW_TEMPERATURE, FakeBmp280, FakeBus, P, T
from hypothesis import given
from hypothesis import strategies as st

from controller.errors import ReadingError
from controller.hardware.raspberry_barometer import (
    Barometer,
    Calibration,
    calibration,
    compensated,
)


def wired(chip: FakeBmp280, waited: list[float] | None = None) -> tuple[Barometer, FakeBus]:
    bus = FakeBus({0x76: chip})
    return Barometer(bus.i2c(), 0x76, pause=([] if waited is None else waited).append), bus


def test_the_worked_example_of_the_data_sheet_comes_out() -> None:
    temperature, pressure = compensated(Calibration(T, P), RAW_TEMPERATURE, RAW_PRESSURE)
    assert temperature - 273.15 == pytest.approx(25.08, abs=0.005)
    assert pressure == pytest.approx(100653.27, abs=0.005)


def test_the_calibration_is_read_low_byte_first_and_with_its_signs() -> None:
    assert calibration(struct.pack("<HhhHhhhhhhhh", *T, *P)) == Calibration(T, P)


@given(st.integers(300_000, 600_000))
def test_a_larger_count_is_less_pressure(raw: int) -> None:
    made = Calibration(T, P)
    more, less = (compensated(made, RAW_TEMPERATURE, count)[1] for count in (raw, raw + 100))
    assert less < more


@pytest.mark.parametrize("chip", [0x58, 0x60])
def test_it_sets_the_chip_up_once_and_then_only_reads(chip: int) -> None:
    fake, waited = FakeBmp280(chip), []
    barometer, _ = wired(fake, waited)
    for now in (1.0, 2.0, 3.0):
        sample = barometer.sample(now)
        assert sample.at == now
        assert sample.value == pytest.approx(100653.27, abs=0.005)
    # resting, then config, then measuring by itself: normal mode is both low bits of control
    assert [register for register, _ in fake.written] == [0xF4, 0xF5, 0xF4]
    assert fake.control[0] & 3 == 3
    # temperature once and pressure four times take 13.3 ms at most: the data sheet's formula,
    # 1.25 + 2.3 + (2.3 x 4 + 0.575) ms; from memory, to be checked
    assert sum(waited) == pytest.approx(0.015)


def test_a_chip_that_lost_its_supply_is_no_reading_and_is_set_up_anew() -> None:
    fake = FakeBmp280()
    barometer, _ = wired(fake)
    barometer.sample(0.0)
    fake.control[:] = bytes(2)
    with pytest.raises(ReadingError, match="barometer at 0x76: it has lost its settings"):
        barometer.sample(1.0)
    assert barometer.sample(2.0).value == pytest.approx(100653.27, abs=0.005)


def test_nothing_measured_yet_is_no_reading() -> None:
    fake = FakeBmp280()
    fake.raw_pressure = fake.raw_temperature = 0x80000
    with pytest.raises(ReadingError, match="measured nothing yet"):
        wired(fake)[0].sample(0.0)


@pytest.mark.parametrize("chip", [0x00, 0x55, 0xFF])
def test_another_chip_at_its_address_is_named_by_its_id(chip: int) -> None:
    with pytest.raises(ReadingError, match=f"its id is 0x{chip:02x}, no BMP280 or BME280"):
        wired(FakeBmp280(chip))[0].sample(0.0)


@pytest.mark.parametrize("made", [bytes(24), b"\xff" * 24, bytes(23)])
def test_an_empty_or_cut_calibration_is_no_reading(made: bytes) -> None:
    fake = FakeBmp280()
    fake.held[0x88] = made
    with pytest.raises(ReadingError, match=r"(calibration|answer) is (empty|cut short)"):
        wired(fake)[0].sample(0.0)


@pytest.mark.parametrize("raw", [0, 0xFFFFF])
def test_a_pressure_the_chip_cannot_measure_is_no_reading(raw: int) -> None:
    fake = FakeBmp280()
    fake.raw_pressure = raw
    with pytest.raises(ReadingError, match="kPa, outside 30 to 110 kPa"):
        wired(fake)[0].sample(0.0)


def test_a_bus_that_locked_up_is_a_reading_error_and_it_comes_back() -> None:
    barometer, bus = wired(FakeBmp280())
    barometer.sample(0.0)
    bus.broken = errno.ETIMEDOUT
    with pytest.raises(ReadingError, match="barometer at 0x76: the bus is held down"):
        barometer.sample(1.0)
    bus.broken = None
    assert barometer.sample(2.0).at == 2.0
